"""The commands that make and change kept jobs: surfaces by tape, rooms, names, copies."""

from __future__ import annotations

import argparse
import math
from dataclasses import asdict
from typing import Any

from layout import JobError, format_length, in_style, parse_length_in
from layout import Surface as BoardedSurface
from layout.board_choice import CUT_OFF, GUESSED
from layout.stock import THICKEST_IN, THINNEST_IN
from ui.board_size import board_size
from ui.by_hand import ByHand, framing_by_hand
from ui.command_options import UnusableInput
from ui.command_units import style_of
from ui.corners import SETTING as CORNERS
from ui.corners import walls_of, ways_for, ways_of
from ui.corrections import Corrections
from ui.further_photo import add_further_photo
from ui.job_plan import WIDTHS_IN
from ui.kept_job import KeptJobError, job_to_board, surface_to_board
from ui.market import SETTING as MARKET
from ui.market import market_of, market_to_json, usual_of
from ui.material import SETTING as MATERIAL
from ui.material import STEEL, TIMBER, material_in, material_to_json
from ui.opening_text import OpeningTextError, openings_from_text
from ui.option_values import number_told
from ui.rooms import add_by_hand, add_mirrored, copy_room, next_name, room_of, rooms_of
from ui.site_plan import SitePlan, site_plan
from ui.store import Job, Store, Surface
from ui.wishes import SETTING as WISHES
from ui.wishes import KeptWishes, lost, wishes_of, wishes_to_json
from ui.words import Words
from vision.photo_privacy import without_position

__all__ = ["add_photo", "change_job", "job_json", "measure", "so_far_json", "so_far_text"]


def change_job(store: Store, options: argparse.Namespace, job_id: str) -> tuple[Job, str]:
    """Do `new-job`, `rename`, `copy`, `put-away` or `bring-back`; returns the job then, and what to print."""
    if options.command == "new-job":
        settings = {} if options.market is None else {MARKET: market_to_json(options.market)}
        job_id = store.new_job(options.name, settings)
    elif options.command == "copy":
        job_id = store.copy_job(job_id, options.name)
    elif options.command == "rename":
        store.save_job(job_id, store.job(job_id).revision, name=options.name)
    else:
        store.save_job(job_id, store.job(job_id).revision, archived=options.command == "put-away")
    job = store.job(job_id)
    if options.command in ("put-away", "bring-back"):
        return job, f"“{job.name}” was {'put away' if job.archived else 'brought back'}."
    return job, f"{job_id[:8]}  {job.name}"


def job_json(job: Job) -> dict[str, Any]:
    """A kept job in short, as the commands that make, rename or carry it print it."""
    return {
        "id": job.job_id,
        "name": job.name,
        "surfaces": len(job.surfaces),
        "archived": job.archived,
        "market": market_of(job.settings),
    }


def measure(store: Store, options: argparse.Namespace, job_id: str) -> SitePlan:
    """Do `measure`, `mirror`, `copy-room`, `market`, `corners` or `change`; returns the job's plan then."""
    job = store.job(job_id)
    if options.command == "measure":
        _add_measured(store, job, options)
    elif options.command == "mirror":
        _add_mirror(store, job, options)
    elif options.command == "market":
        settings = {**job.settings, MARKET: market_to_json(options.market)}
        store.save_job(job.job_id, job.revision, settings=settings)
    elif options.command == "corners":
        _say_corners(store, job, options)
    elif options.command == "change":
        _change(store, job, options)
    elif options.name.strip() == options.room:
        raise UnusableInput(f"{options.room!r} is the room that is copied: give the new one another name.")
    elif not copy_room(store, job, options.room, options.name):
        raise _no_room(job, options.room)
    return site_plan(store, store.job(job_id))


def add_photo(
    store: Store, job_id: str, options: argparse.Namespace, content: bytes, known: Corrections
) -> SitePlan:
    """Do `add-photo`: the photo as it is kept, with what is `known` about it; returns the job's plan then."""
    job = store.job(job_id)
    if options.wall is not None:
        return _add_further_photo(store, job, options, content, known)
    if options.left or options.same:
        raise UnusableInput("--left and --same tell of a further photo of a wall: add --wall NAME.")
    settings = _told(options) | ({"room": options.room} if options.room else {})
    if options.height is not None:
        text = format_length(options.height)
        settings |= {"height_in": options.height, "height_text": text}
    name = options.name or next_name(job, Words("en"), wall=True)
    store.add_surface(
        job_id, name, photo_jpeg=without_position(content), corrections=known, settings=settings
    )
    return site_plan(store, store.job(job_id))


def _add_further_photo(
    store: Store, job: Job, options: argparse.Namespace, content: bytes, known: Corrections
) -> SitePlan:
    if options.name or options.room or options.height is not None or _told(options):
        raise UnusableInput(
            "--wall names a wall that has its name, room, height, material and boards already."
        )
    wall = _only_surface(job, options.wall)
    if wall.photo_sha256 is None:
        raise UnusableInput(f"{options.wall!r} has no photo of its own that another could be joined with.")
    jpeg = without_position(content)
    add_further_photo(store, wall, jpeg, known, left=options.left, same=options.same)
    return site_plan(store, store.job(job.job_id))


def _add_measured(store: Store, job: Job, options: argparse.Namespace) -> None:
    try:
        hand = ByHand(
            options.framing,
            options.length,
            options.height,
            options.on_centre or usual_of(job.settings).spacing_in,
            options.first,
            "right" if options.from_right else "left",
            "along" if options.along and options.framing != "studs" else "up",
            openings_from_text(";".join(options.opening)),
        )
        framing_by_hand(hand, "A", material=options.material or TIMBER)
        span_in = hand.length_in if hand.members_run == "up" else hand.height_in
    except (OpeningTextError, JobError) as fault:
        raise UnusableInput(str(fault)) from fault
    if options.first is not None and options.first >= span_in:
        raise UnusableInput(
            f"--first {format_length(options.first)} lies beyond the far end, which is "
            f"{format_length(span_in)} away: measure from the end to the second member's centre."
        )
    name = options.name or next_name(job, Words("en"), wall=hand.is_wall)
    add_by_hand(store, job, hand, name, options.room, _told(options))


def _told(options: argparse.Namespace) -> dict[str, Any]:
    """Kind and thickness of a surface's boards and what it is framed with, as far as they were told."""
    thick_in = options.thickness
    if thick_in is not None and not THINNEST_IN <= thick_in <= THICKEST_IN:
        raise UnusableInput(
            f"no gypsum board is {format_length(thick_in, to=1 / 32)} thick: give --thickness as on the "
            "board, such as 1/2in or 5/8in."
        )
    told = {
        "board_kind": options.board,
        "thickness_in": options.thickness,
        MATERIAL: None if options.material is None else material_to_json(options.material),
    }
    return {name: value for name, value in told.items() if value is not None}


def _no_room(job: Job, room: str) -> UnusableInput:
    rooms = ", ".join(repr(name) for name in rooms_of(job) if name) or "none yet"
    return UnusableInput(f"there is no room called {room!r}: the job's rooms are {rooms}.")


def _say_corners(store: Store, job: Job, options: argparse.Namespace) -> None:
    if not options.room or options.room not in rooms_of(job):
        raise _no_room(job, options.room)
    count = len(walls_of(job, options.room))
    if count < 2:
        raise UnusableInput(f"{options.room!r} has {count} walls in the job: add those that meet first.")
    ways = {room: way for room, way in ways_of(job.settings).items() if room != options.room}
    if options.way != "unsaid":
        round_it = not options.open and options.way in ways_for(count)
        ways[options.room] = options.way if round_it else f"{options.way}_open"
    store.save_job(job.job_id, job.revision, settings={**job.settings, CORNERS: ways})


def _change(store: Store, job: Job, options: argparse.Namespace) -> None:
    told = _told(options)
    if options.width is not None:
        told["board_width"] = options.width
    if options.room is not None:
        told["room"] = options.room.strip()
    wished = _wished(options)
    if not told and wished is None:
        raise UnusableInput(
            "nothing to change was given: add --board, --width, --material, --room, --seam-at or another."
        )
    found = [surface for surface in job.surfaces if surface.name == options.surface]
    if not found:
        raise _no_surface(job, options.surface, "no surface is")
    for surface in found:
        settings = {**surface.settings, **told}
        if wished is not None:
            _refuse_lost(store, job, surface, wished, options)
            before = KeptWishes() if options.no_wishes else wishes_of(settings)
            settings[WISHES] = wishes_to_json(_together(before, wished, options))
        store.save_surface(surface.surface_id, surface.revision, settings=settings)


def _wished(options: argparse.Namespace) -> KeptWishes | None:
    """The wishes on the command line; None when it holds none."""
    seams, lengths = [
        tuple((_row(row), parse_length_in(place)) for row, place in given)
        for given in (options.seam_at, options.row_length)
    ]
    wished = KeptWishes("auto", "auto", seams, tuple(options.no_seam_at), lengths)
    told = options.no_wishes or options.rows_from or options.boards_run
    return wished if told or wished != KeptWishes() else None


def _row(text: str) -> int:
    row = number_told(text)
    if not row:
        raise UnusableInput(f"{text!r} is no row: rows are counted 1, 2, ... in the order they are hung.")
    return row - 1


def _together(before: KeptWishes, more: KeptWishes, options: argparse.Namespace) -> KeptWishes:
    """Wishes added to those kept; a row has one length, the last that was said."""
    return KeptWishes(
        options.rows_from or before.rows_from,
        options.boards_run or before.boards_run,
        tuple(dict.fromkeys((*before.seams, *more.seams))),
        tuple(dict.fromkeys((*before.no_seam_in, *more.no_seam_in))),
        tuple(sorted(dict((*before.row_lengths, *more.row_lengths)).items())),
    )


def _refuse_lost(
    store: Store, job: Job, surface: Surface, wished: KeptWishes, options: argparse.Namespace
) -> None:
    try:
        framing = surface_to_board(store, surface, surface.name, market_of(job.settings))
    except KeptJobError as fault:
        raise UnusableInput(str(fault)) from fault
    style = style_of(options, kept=job)
    # upright or across, no row is narrower than the board but the last
    board_in = framing.board_width_in or min(WIDTHS_IN.values())
    most = math.ceil(max(framing.width_in, framing.height_in) / board_in)
    for row, _ in (*wished.seams, *wished.row_lengths):
        if row >= most:
            raise UnusableInput(
                f"{surface.name} has no row {row + 1}: it takes at most {most} rows of boards."
            )
    for place_in in lost(framing, wished):
        near = sorted({m.centre_in for m in framing.members}, key=lambda at: abs(at - place_in))[:2]
        raise UnusableInput(
            f"{surface.name} has no stud at {format_length(place_in, style)}: "
            f"the nearest are at {' and '.join(format_length(at, style) for at in sorted(near))}."
        )


def _no_surface(job: Job, name: str, what: str) -> UnusableInput:
    names = ", ".join(repr(surface.name) for surface in job.surfaces) or "none yet"
    return UnusableInput(f"{what} called {name!r}: the job has {names}.")


def _only_surface(job: Job, name: str) -> Surface:
    found = [surface for surface in job.surfaces if surface.name == name]
    if len(found) != 1:
        raise _no_surface(job, name, "several surfaces are" if found else "no surface is")
    return found[0]


def _add_mirror(store: Store, job: Job, options: argparse.Namespace) -> None:
    surface = _only_surface(job, options.surface)
    one = Job(job.job_id, job.name, job.archived, job.settings, job.revision, (surface,))
    try:
        (framing,) = job_to_board(store, one).surfaces
    except KeptJobError as fault:
        raise UnusableInput(str(fault)) from fault
    name = options.name or next_name(job, Words("en"), wall=framing.kind == "wall")
    add_mirrored(store, job, surface, framing, name, room_of(surface))


def so_far_text(found: SitePlan, style: str) -> str:
    """The surfaces, and the boards they take so far."""
    lines = [
        f"{surface.name or surface.id}: {format_length(surface.width_in, style)} x "
        f"{format_length(surface.height_in, style)}, {len(surface.members)} members"
        + (" of steel" if material_in(surface) == STEEL else "")
        + _unsure(surface)
        for surface in found.job.surfaces
    ]
    lines.append("Boards so far:")
    lines += [
        f"  {line.count:>3}  "
        f"{board_size(line.length_in, line.width_in, style, line.thickness_in)} {line.kind}"
        for line in found.plan.order
    ]
    lines += [
        f"{head}: {in_style(f'{w.message} {w.advice}', style)}"
        for head, code in (
            ("May be wrong", GUESSED),
            ("May be too few", CUT_OFF),
            ("Note", "wish_impossible"),
        )
        for w in found.plan.warnings
        if w.code == code
    ]
    return "\n".join([*lines, *(f"Not counted: {in_style(why, style)}" for why in found.unboarded)])


def _unsure(surface: BoardedSurface) -> str:
    count = sum(not member.sure for member in surface.members)
    return f", {count} of them not sure: look at them in the app" if count else ""


def so_far_json(found: SitePlan) -> dict[str, Any]:
    """The same as JSON."""
    return {
        "market": found.job.rules.market,
        "surfaces": [
            {
                "id": surface.id,
                "room": found.rooms.get(surface.id, ""),
                "kind": surface.kind,
                "length_in": surface.width_in,
                "height_in": surface.height_in,
                "members": len(surface.members),
                "material": material_in(surface),
                "not_sure": sum(not member.sure for member in surface.members),
                "guessed": surface.id in found.guessed,
            }
            for surface in found.job.surfaces
        ],
        "boards": [
            {
                "kind": line.kind,
                "thickness_in": line.thickness_in,
                "width_in": line.width_in,
                "length_in": line.length_in,
                "count": line.count,
                "spare": line.spare,
                "to_fill": line.to_fill,
            }
            for line in found.plan.order
        ],
        "left_out": list(found.unboarded),
        "warnings": [asdict(warning) for warning in found.plan.warnings],
    }
