"""The parts of the wall's screen around the photo."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from layout import LengthError, Plan, SurfacePlan, format_length, in_style, parse_length_in
from layout.framing import MATERIALS
from ui import desk, look, photos, places
from ui.board_size import board_size
from ui.corrections import CorrectedWall, Corrections, ReferenceMark
from ui.edge import draw_again
from ui.editor_view import SPACINGS_IN
from ui.market import Usual
from ui.material import FACE_IN, TIMBER, material_of, material_to_json
from ui.material import SETTING as MATERIAL
from ui.plus_minus import along_wall, plus_minus
from ui.rooms import room_of
from ui.screens.boards_part import width_text
from ui.screens.order import say_notes
from ui.screens.upload import taken, upload_key
from ui.screens.wall_state import DISAGREE, FACES_DOUBTFUL, HEIGHT_UNSURE
from ui.slips import length_slip
from ui.store import Surface
from ui.wall_photos import proposed_openings
from ui.words import Words
from vision import Reading
from vision.reading import Wall

SHORTEST_WALL_IN, TALLEST_WALL_IN = 12.0, 480.0
CONTRADICTS_SIGMAS, CONTRADICTS_IN = 4.0, 1.5
"""A tape and a photo this far apart do not speak of the same wall (one in 16,000 by chance; by judgement)."""
PROUD_IN = (0.0, 0.25, 0.5, 1.0)
"""How far marks usually stand in front of the faces: a hanging tape 1/4 to 1/2 in, a level held there 1 in
(by judgement, no source)."""


def sheets(plan: Plan, rows: SurfacePlan, words: Words, style: str) -> None:
    """The sheets that pieces of this wall are cut from."""
    st.subheader(words("wall.sheets"), anchor=False)
    counts: dict[tuple[float, float, float], int] = {}
    shared = 0
    for sheet in plan.sheets:
        owners = {cut.surface for cut in sheet.cuts}
        if rows.id in owners:
            size = (sheet.thickness_in, sheet.width_in, sheet.length_in)
            counts[size] = counts.get(size, 0) + 1
            shared += len(owners) > 1
    if not counts:
        st.write(words("wall.no_boards"))
    else:
        look.table(
            (words("order.count"), words("order.sheet")),
            [
                (
                    str(count),
                    board_size(length, width, style, thickness),
                )
                for (thickness, width, length), count in sorted(counts.items())
            ],
            classes=("count", ""),
        )
        if shared:
            st.caption(words("wall.shared_one") if shared == 1 else words("wall.shared", n=shared))
    say_notes([note for note in plan.warnings if note.surface in ("", rows.id)], words, style)


def framed_in(surface: Surface, reading: Reading, words: Words, style: str) -> None:
    """What the wall is framed with: steel's faces are narrower, so its photos are read again."""
    now = material_of(surface.settings)
    about = words("material.help", **{name: format_length(FACE_IN[name], style) for name in MATERIALS})
    chosen = material_asked(now, f"material-{surface.surface_id}-{now}", words, about)
    if chosen != now:
        desk.keep_settings(surface, **{MATERIAL: material_to_json(chosen)})
        draw_again()
    # read as the wrong one, a right length makes the faces look like those of a wrong length
    if any(warning.code in FACES_DOUBTFUL for warning in reading.warnings):
        st.caption(words("material.if_steel" if now == TIMBER else "material.if_timber"))


def material_asked(now: str, key: str, words: Words, about: str | None = None) -> str:
    """One choice, timber or steel; what it was while neither is pressed."""
    chosen = st.segmented_control(
        words("material.asked"),
        list(MATERIALS),
        default=now,
        format_func=lambda name: words(f"material.{name}"),
        help=about,
        key=key,
    )
    return chosen or now


def height_contradicts(measured_in: float, wall: Wall) -> bool:
    """Whether a height from a tape is too far from the photo's for both to be right."""
    apart_in = abs(measured_in - wall.height_in)
    return apart_in > max(CONTRADICTS_SIGMAS * wall.height_sigma_in, CONTRADICTS_IN)


def measured_height(surface: Surface, reading: Reading, words: Words, style: str) -> None:
    """The wall's height from a tape: a quarter inch decides whether two rows reach or a strip is needed."""
    if reading.wall is None:
        return
    read = f"{format_length(reading.wall.height_in, style)} {plus_minus(reading.wall.height_sigma_in, style)}"
    before = str(surface.settings.get("height_text", ""))
    text = st.text_input(
        words("wall.height", read=read),
        before,
        placeholder=words.in_units("wall.height_hint", style),
        key=f"height-{surface.surface_id}",
    ).strip()
    if text == before:
        kept_in = surface.settings.get("height_in")
        for warning in reading.warnings:
            if warning.code == HEIGHT_UNSURE and not kept_in:
                st.caption(f"**{words.said(warning.message)}** {words.said(warning.advice)}")
        if kept_in and height_contradicts(float(kept_in), reading.wall):
            typed = format_length(float(kept_in), style)
            st.warning(words("wall.height_contradicts", typed=typed, read=read))
        return
    try:
        height_in = parse_length_in(text, "mm" if style == "mm" else "in") if text else None
        slip = length_slip(text, style) if text else None
        if slip is not None:
            raise LengthError(words(f"walk.{slip.code}", **slip.values))
        if height_in is not None and not SHORTEST_WALL_IN <= height_in <= TALLEST_WALL_IN:
            raise LengthError(words("wall.height_odd", text=format_length(height_in, style)))
    except LengthError as fault:
        st.warning(look.plain(words.said(str(fault))))
        return
    desk.keep_settings(surface, height_text=text, height_in=height_in)
    draw_again()


def boxes_not_cut_out(wall: CorrectedWall, words: Words) -> None:
    """How many proposed boxes the boards have no hole for."""
    count = sum(each.kind == "box" for each in proposed_openings(wall))
    if count:
        st.warning(words("wall.box_proposed") if count == 1 else words("wall.boxes_proposed", n=count))


def cuts(rows: SurfacePlan, words: Words, style: str) -> None:
    """Each piece in hanging order: its length, its height when ripped, the seam at its right end."""
    if not rows.rows:
        return
    with st.expander(words("wall.rows"), expanded=False):
        lines = []
        for number, row in enumerate(rows.rows, start=1):
            seams = {round(seam.position_in, 3): seam for seam in row.seams}
            for piece in row.pieces:
                seam = seams.get(round(piece.right_in, 3))
                ripped = piece.height_in if piece.height_in > 0 else row.top_in - row.bottom_in
                full = abs(ripped - row.board_width_in) < 1 / 64
                lines.append(
                    (
                        str(piece.number),
                        words("wall.row", n=number),
                        format_length(piece.length_in, style)
                        + (
                            ""
                            if full
                            else ", " + words("wall.piece_rip", height=format_length(ripped, style))
                        ),
                        words("wall.seam_on", n=seam.member_id, place=along_wall(seam.position_in, style))
                        if seam
                        else "",
                    )
                )
        look.table(
            (
                words("wall.piece_head"),
                words("wall.row_head"),
                words("wall.cut_head"),
                words("wall.seam_head"),
            ),
            lines,
            classes=("count", "fixed", "", ""),
        )


def why_seams(rows: SurfacePlan, words: Words, style: str) -> None:
    """Why each seam is where it is, and the next best place."""
    seams = [(number, seam) for number, row in enumerate(rows.rows, start=1) for seam in row.seams]
    if not seams:
        return
    seams_in = [seam.position_in for _, seam in seams]
    with st.expander(words("wall.why_seams", n=len(seams))):
        for number, seam in seams:
            why, instead = (in_style(text, style, seams_in) for text in (seam.reason, seam.next_best))
            said = f"{words.said(why)} {words.said(instead)}"
            st.markdown(f"- **{words('wall.row', n=number)}** {look.plain(said)}")


def known_length(surface: Surface, reading: Reading, usual: Usual, words: Words, style: str) -> None:
    """The one known length: a tape between two marks, the spacing, or nothing; the spacings `usual` where
    the house is come first."""
    reference = surface.corrections.reference
    used = reading.reference
    with st.expander(words("wall.known_length"), expanded=reading.scale_guessed):
        if reference is None and not used.assumed:
            st.write(words("photos.scale_from_other"))
        elif reading.scale_guessed:
            st.write(words("wall.known_assumed", spacing=along_wall(used.length_in, style)))
        elif used.assumed:
            st.write(words("wall.known_by_reading"))
        elif used.kind == "tape":
            st.write(words("wall.known_is_tape", length=format_length(used.length_in, style)))
        else:
            st.write(words("wall.known_is_spacing", spacing=format_length(used.length_in, style)))
        options = ["none", "tape", *usual.own_first(SPACINGS_IN)]
        now = "none"
        if reference is not None:
            now = "tape" if reference.kind == "tape" else _spacing_name(reference.length_in)
        chosen = st.radio(
            words("wall.known_how"),
            options,
            index=options.index(now),
            format_func=lambda name: _reference_name(name, words),
            key=f"reference-{surface.surface_id}-{now}",
        )
        if (chosen == "tape" and now != "tape") or (chosen == "tape" and reference and not reference.from_px):
            st.info(words("wall.known_tape_how"))
        elif chosen != now:
            _keep_reference(surface, chosen)
            draw_again()
        if reference is not None and reference.kind == "tape" and reference.from_px is not None:
            _where_marks_lie(surface, reference, words("wall.marks_where"), words, style)
        second = surface.corrections.second_for_reading()
        if second is not None and surface.corrections.second is not None:
            agrees = not reading.says(DISAGREE)
            code = "wall.second_agrees" if agrees else "wall.second"
            st.write(words(code, length=format_length(second.length_in, style)))
            _where_marks_lie(
                surface, surface.corrections.second, words("wall.second_marks"), words, style, second=True
            )


def _where_marks_lie(
    surface: Surface, reference: ReferenceMark, label: str, words: Words, style: str, *, second: bool = False
) -> None:
    """Whether the two marks lie on the studs' faces or stand in front of them: nearer looks longer."""
    options = sorted({*PROUD_IN, reference.stands_proud_in})
    chosen = st.radio(
        label,
        options,
        index=options.index(reference.stands_proud_in),
        format_func=lambda proud_in: (
            words("wall.marks_front", far=along_wall(proud_in, style)) if proud_in else words("wall.marks_on")
        ),
        key=f"proud-{second}-{surface.surface_id}-{reference.stands_proud_in}",
    )
    if chosen != reference.stands_proud_in:
        mine = desk.bench(surface)
        marked, before = replace(reference, stands_proud_in=chosen), surface.corrections
        after = replace(before, second=marked) if second else replace(before, reference=marked)
        desk.keep_corrections(surface.surface_id, after)
        mine.revision += 1
        draw_again()


def _keep_reference(surface: Surface, chosen: str) -> None:
    mark = None if chosen == "none" else ReferenceMark("on_centre", SPACINGS_IN[chosen])
    mine = desk.bench(surface)
    desk.keep_corrections(surface.surface_id, replace(surface.corrections, reference=mark))
    mine.revision += 1


def _spacing_name(length_in: float | None) -> str:
    return min(SPACINGS_IN, key=lambda name: abs(SPACINGS_IN[name] - (length_in or 16.0)))


def _reference_name(name: str, words: Words) -> str:
    if name in ("none", "tape"):
        return words(f"wall.known_{name}")
    return words("wall.known_spacing", spacing=width_text(name))


def studs(wall: CorrectedWall, words: Words, style: str) -> None:
    """The studs as a list."""
    size = wall.reading.wall
    with st.expander(words("wall.studs_head", n=len(wall.members))):
        if size is not None:
            st.write(
                words(
                    "wall.found",
                    n=len(wall.members),
                    length=format_length(size.length_in, style),
                    length_pm=plus_minus(size.length_sigma_in, style)[2:],
                    height=format_length(size.height_in, style),
                    height_pm=plus_minus(size.height_sigma_in, style)[2:],
                )
            )
        rows: list[tuple[str, ...]] = []
        look_at: set[int] = set()
        for shown in wall.members:
            if shown.yours:
                state = words("wall.stud_yours")
            elif shown.confirmed:
                state = words("wall.stud_kept")
            elif shown.member.sure:
                state = words("wall.stud_sure")
            else:
                state = "◆ " + words("wall.stud_look")
                look_at.add(len(rows))
            rows.append(
                (
                    str(shown.number),
                    f"{along_wall(shown.member.centre_in, style)} {plus_minus(shown.member.sigma_in, style)}",
                    state,
                )
            )
        look.table(
            (words("wall.stud_number"), words("wall.stud_centre"), words("wall.stud_doubt")),
            rows,
            classes=("fixed", "", ""),
            look=frozenset(look_at),
        )
        st.caption(words("wall.stud_note"))


def name_photo_remove(surface: Surface, words: Words) -> None:
    """Rename a wall, read another photo of it, or take it out of the job."""
    with st.expander(words("wall.more")):
        name = st.text_input(
            words("wall.rename"), surface.name, max_chars=120, key=f"name-{surface.surface_id}"
        )
        if name.strip() and name.strip() != surface.name:
            desk.store().save_surface(surface.surface_id, surface.revision, name=name)
            st.rerun()
        room = st.text_input(
            words("walk.room"),
            room_of(surface),
            placeholder=words("walk.room_hint"),
            max_chars=60,
            key=f"room-{surface.surface_id}",
        ).strip()
        if room != room_of(surface):
            desk.keep_settings(surface, room=room)
            st.rerun()
        key = upload_key("photo")
        upload = st.file_uploader(words("wall.new_photo"), type=photos.PHOTO_KINDS, key=key)
        jpeg = taken(upload, key, words)
        if jpeg is not None:
            desk.store().save_surface(
                surface.surface_id, surface.revision, photo_jpeg=jpeg, corrections=Corrections()
            )
            st.rerun()
        if st.button(words("wall.remove"), key=f"remove-{surface.surface_id}"):
            revision = desk.store().save_surface(surface.surface_id, surface.revision, removed=True)
            st.session_state["removed_wall"] = (surface.surface_id, revision, surface.name)
            st.session_state.pop("surface_id", None)
            places.go("job")
