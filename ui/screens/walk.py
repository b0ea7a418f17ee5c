"""The walk-round: surfaces measured with a tape, one after the other, the boards counted as one goes."""

from __future__ import annotations

import streamlit as st

from layout import JobError, LengthError, Plan, format_length, mm_to_in, parse_length_in
from ui import desk, live, look
from ui.board_size import board_size
from ui.by_hand import (
    FRAMINGS,
    SETTING,
    USUAL_HEIGHT_IN,
    ByHand,
    by_hand_of,
    by_hand_to_json,
    framing_by_hand,
    measured,
    still_doubtful,
)
from ui.delivery_view import kind_name
from ui.first_job import make_sample_job
from ui.framed import Framed, framed_surfaces
from ui.job_plan import boards_job, plan_names, stock_of
from ui.material import SETTING as MATERIAL
from ui.material import TIMBER, material_of, material_to_json
from ui.opening_text import OpeningTextError, openings_from_text, openings_to_text
from ui.plain_faults import plain_fault
from ui.rooms import add_by_hand, next_name, room_of
from ui.screens.order import board_style, units
from ui.screens.order_parts import why_nothing
from ui.screens.walk_list import list_of_surfaces
from ui.screens.wall_parts import material_asked
from ui.screens.wishes_part import wishes
from ui.slips import Slip, length_slip, opening_slip
from ui.store import Job, Surface
from ui.words import Words
from ui.work import planned_boards

SPACINGS_IN = {
    "16 in": 16.0,
    "24 in": 24.0,
    "12 in": 12.0,
    "400 mm": mm_to_in(400.0),
    "600 mm": mm_to_in(600.0),
}


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    if job is None:
        desk.choose_job(make_sample_job(desk.store(), words))
        st.rerun()
    desk.say_now()
    st.header(words("walk.title"), anchor=False)
    st.caption(words("walk.how"))
    style = units(job)
    everything = framed_surfaces(job)
    left, right = st.columns([3, 2], gap="medium")
    with left:
        _form(job, words, style)
        _wishes(job, everything, words, style)
    with right:
        _count(job, everything, words, style)
    list_of_surfaces(job, everything, words, style)
    live.follow(job)


# --- entering ---------------------------------------------------------------------------------------


def _form(job: Job, words: Words, style: str) -> None:
    """One form for a new surface, or for the one that is being changed."""
    changed = next((s for s in job.surfaces if s.surface_id == st.session_state.get("walk_changes")), None)
    hand = by_hand_of(changed.settings) if changed else None
    last: dict[str, str] = st.session_state.setdefault("walk_last", {})
    # A new surface's form is emptied by the page itself, at the press: what is typed next, before the server
    # has answered, stays. So a field keeps its key; only what is taken over from the last surface, or was
    # refused and comes back as it was typed, makes it a new one.
    odd: dict[str, str] = {} if changed else st.session_state.get("walk_refused", {})
    turn = st.session_state.setdefault("walk_turn", 0)
    key = f"walk-{changed.surface_id if changed else turn}-"
    own_key = key if changed else f"{key}{abs(hash(tuple(last.items())))}-"
    with st.form(key + "form", border=True, clear_on_submit=changed is None):
        st.subheader(
            words("walk.change_title", name=look.plain(changed.name)) if changed else words("walk.new"),
            anchor=False,
        )
        framing = st.segmented_control(
            words("walk.what"),
            list(FRAMINGS),
            default=hand.framing if hand else odd.get("framing", last.get("framing", "studs")),
            format_func=lambda name: words(f"walk.framing_{name}"),
            key=own_key + "framing",
        )
        one, two = st.columns(2)
        length = one.text_input(
            words("walk.length"),
            format_length(hand.length_in, style) if hand else odd.get("length", ""),
            placeholder=words("walk.length_hint"),
            key=key + "length",
        )
        usual_height = last.get("height") or format_length(USUAL_HEIGHT_IN, style)
        height = two.text_input(
            words("walk.height"),
            format_length(hand.height_in, style) if hand else odd.get("height", usual_height),
            key=own_key + "height",
        )
        keeps_members = bool(hand and hand.members)
        choices = [*(["taken"] if keeps_members else []), *SPACINGS_IN]
        spacing = st.segmented_control(
            words("walk.spacing"),
            choices,
            default="taken" if keeps_members else odd.get("spacing", _spacing_name(hand, last)),
            format_func=lambda name: words("walk.keep_members") if name == "taken" else name,
            key=own_key + "spacing",
        )
        material = material_asked(
            material_of(changed.settings) if changed else odd.get("material", last.get("material", TIMBER)),
            own_key + "material",
            words,
        )
        openings = st.text_input(
            words("walk.openings"),
            openings_to_text(hand.openings, style) if hand else odd.get("openings", ""),
            placeholder=words("walk.openings_hint"),
            key=key + "openings",
        )
        st.caption(words("walk.openings_how"))
        settled = _settled(hand, words, key)
        room = st.text_input(
            words("walk.room"),
            room_of(changed) if changed else odd.get("room", last.get("room", "")),
            placeholder=words("walk.room_hint"),
            max_chars=60,
            key=own_key + "room",
        )
        with st.expander(words("walk.more")):
            first = st.text_input(
                words("walk.first"),
                format_length(hand.first_in, style)
                if hand and hand.first_in is not None
                else odd.get("first", ""),
                placeholder=words("walk.first_hint"),
                key=key + "first",
            )
            from_end = st.radio(
                words("walk.from_end"),
                ["left", "right"],
                index=int(hand.from_end == "right" if hand else odd.get("end") == "right"),
                format_func=lambda end: words(f"walk.from_{end}"),
                horizontal=True,
                key=key + "end",
            )
            run = st.radio(
                words("walk.run"),
                ["up", "along"],
                index=int(
                    hand.members_run == "along" if hand else odd.get("run", last.get("run")) == "along"
                ),
                format_func=lambda way: words(f"walk.run_{way}"),
                horizontal=True,
                key=own_key + "run",
            )
        pressed = st.form_submit_button(words("walk.save" if changed else "walk.add"), type="primary")
    if changed and st.button(words("walk.cancel")):
        del st.session_state["walk_changes"]
        st.rerun()
    if not pressed:
        if odd:
            st.error(odd["why"])
        return
    typed = {
        "framing": framing or "studs",
        "length": length,
        "height": height,
        "spacing": spacing or "16 in",
        "material": material,
        "openings": openings,
        "room": room,
        "first": first,
        "end": from_end,
        "run": run,
    }
    unit = "mm" if style == "mm" else "in"
    try:
        if not length.strip():
            raise LengthError(words("walk.length_wanted"))
        entered = ByHand(
            framing or "studs",
            _as_before(length, hand.length_in if hand else None, style, unit),
            _as_before(height, hand.height_in if hand else None, style, unit),
            SPACINGS_IN.get(spacing or "", hand.spacing_in if hand else 16.0),
            _as_before(first, hand.first_in if hand else None, style, unit) if first.strip() else None,
            from_end,
            run if framing != "studs" else "up",
            hand.openings
            if hand and openings == openings_to_text(hand.openings, style)
            else openings_from_text(openings, unit),
            hand.members if hand and spacing == "taken" else (),
        )
        if hand is not None:
            entered = measured(entered) if settled else still_doubtful(entered, hand)
        sides = ((length, hand.length_in if hand else None), (height, hand.height_in if hand else None))
        slip = _slip(entered, sides, style)
        if slip is not None:
            shown = {name: look.plain(text) for name, text in slip.values.items()}
            _refuse(changed, typed, words(f"walk.{slip.code}", **shown))
            return
        framing_by_hand(entered, "A", material=material)
    except OpeningTextError as fault:
        _refuse(changed, typed, words("walk.opening_odd", part=look.plain(fault.part)))
        return
    except LengthError as fault:
        _refuse(changed, typed, look.plain(words.said(str(fault))))
        return
    except JobError as fault:
        reason = look.plain(plain_fault(fault, words, board_style(style)))
        _refuse(changed, typed, words("walk.cannot", reason=reason))
        return
    made_of = {MATERIAL: material_to_json(material)}
    if changed is None:
        if st.session_state.pop("walk_refused", None):
            st.session_state["walk_turn"] = turn + 1
        name = next_name(job, words, wall=entered.is_wall)
        add_by_hand(desk.store(), job, entered, name, room.strip(), made_of)
        desk.say_later(words("walk.added", name=look.plain(name)))
        st.session_state["walk_last"] = {
            "framing": entered.framing,
            "height": height if entered.is_wall else last.get("height", ""),
            "spacing": spacing or "16 in",
            "material": material,
            "room": room.strip(),
            "run": run,
        }
    else:
        told = {SETTING: by_hand_to_json(entered), **made_of, "room": room.strip()}
        settings = {**changed.settings, **told}
        desk.store().save_surface(changed.surface_id, changed.revision, settings=settings)
        desk.say_later(words("walk.changed", name=look.plain(changed.name)))
        del st.session_state["walk_changes"]
    st.rerun()


def _settled(hand: ByHand | None, words: Words, key: str) -> bool:
    """What is doubtful about a wall that was mirrored, and whether a tape has settled it as it stands."""
    if hand is None or not (hand.guessed or hand.cut_off):
        return False
    for doubt in ("guessed", "cut_off"):
        if getattr(hand, doubt):
            st.warning(words(f"walk.{doubt}"))
    return st.checkbox(words("walk.measured"), key=key + "measured")


def _slip(entered: ByHand, sides: tuple[tuple[str, float | None], ...], style: str) -> Slip | None:
    """What to ask before this is believed; a side that was only shown and not touched is not asked about."""
    for text, before_in in sides:
        untouched = before_in is not None and text == format_length(before_in, style)
        slip = None if untouched else length_slip(text, style)
        if slip is not None:
            return slip
    return opening_slip(entered.openings, style)


def _refuse(changed: Surface | None, typed: dict[str, str], why: str) -> None:
    """Say why; a new surface's form, emptied at the press, comes back as it was typed."""
    if changed is not None:
        st.error(why)
        return
    st.session_state["walk_refused"] = {**typed, "why": why}
    st.session_state["walk_turn"] += 1
    st.rerun()


def _wishes(job: Job, everything: tuple[Framed, ...], words: Words, style: str) -> None:
    """The wishes for the surface that is being changed."""
    changed = st.session_state.get("walk_changes")
    each = next((each for each in everything if each.surface.surface_id == changed), None)
    if each is None:
        return
    framings = tuple(each.framing for each in everything if each.framing is not None)
    plan = planned_boards(boards_job(job, framings)) if framings and stock_of(job) else None
    name = plan_names(job)[each.surface.surface_id]
    rows = next((rows for rows in plan.surfaces if rows.id == name), None) if plan is not None else None
    if wishes(each.surface, each.framing, rows, words, style):
        st.rerun()


def _as_before(text: str, before_in: float | None, style: str, unit: str) -> float:
    """The length typed; one that was only shown and not touched stays exactly what it was."""
    if before_in is not None and text == format_length(before_in, style):
        return before_in
    return parse_length_in(text, unit)


def _spacing_name(hand: ByHand | None, last: dict[str, str]) -> str:
    if hand is None:
        kept = last.get("spacing", "16 in")
        return kept if kept in SPACINGS_IN else "16 in"
    return min(SPACINGS_IN, key=lambda name: abs(SPACINGS_IN[name] - hand.spacing_in))


# --- what there is so far ---------------------------------------------------------------------------


def _count(job: Job, everything: tuple[Framed, ...], words: Words, style: str) -> None:
    """The boards that the surfaces so far take, together."""
    st.subheader(words("walk.so_far"), anchor=False)
    framings = tuple(each.framing for each in everything if each.framing is not None)
    missing = [each.surface.name for each in everything if each.framing is None]
    if not framings:
        st.caption(words("walk.so_far_none"))
    elif not stock_of(job):
        st.warning(why_nothing(job, Plan(), words))
    else:
        plan = planned_boards(boards_job(job, framings))
        kinds = {line.kind for line in plan.order}
        look.table(
            (words("order.count"), words("order.sheet")),
            [
                (
                    str(line.count),
                    board_size(line.length_in, line.width_in, style, line.thickness_in)
                    + (f" {kind_name(line.kind, words)}" if len(kinds) > 1 else ""),
                )
                for line in plan.order
            ],
            classes=("count", ""),
        )
        more = sum(line.spare + line.to_fill for line in plan.order)
        if more:
            st.caption(words("walk.more_to_buy", n=more, all=sum(line.to_buy for line in plan.order)))
    if missing:
        st.caption(words("walk.left_out", names=look.plain(", ".join(missing))))
