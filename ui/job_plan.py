"""What a job's settings mean for its boards: what can be bought, each wall's choices, the plan."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Collection
from dataclasses import replace
from typing import Any

from layout import Board, Job, Plan, mm_to_in, plan_job, rules_for, stock_for
from layout import Surface as BoardedSurface
from layout.access import boards_that_come
from layout.offers import on_stock
from layout.order import Extra, ordered
from ui.bridge import surface_from_reading
from ui.buying import board_choice, buying_of
from ui.by_hand import by_hand_of, framing_by_hand
from ui.corners import with_corners
from ui.market import market_of, usual_for, usual_of
from ui.material import material_of
from ui.store import Job as KeptJob
from ui.store import Surface
from ui.wishes import wishes_of, with_wishes
from vision.reading import Reading

THICKNESS_IN = 0.5
"""1/2 in, or 12.5 mm: the common wall board; both are found by 1/2 in within the stock's tolerance."""
WIDTHS_IN = {"48in": 48.0, "54in": 54.0, "1200mm": mm_to_in(1200.0), "900mm": mm_to_in(900.0)}
"""Board widths to choose from, under the names kept in a wall's settings."""
LENGTHS_AT_FIRST_IN = {
    "48in": (96.0, 120.0, 144.0),
    "54in": (96.0, 120.0, 144.0),
    "1200mm": (mm_to_in(2400.0), mm_to_in(3000.0), mm_to_in(3600.0)),
    "900mm": (mm_to_in(1800.0),),
}
"""Taken as on sale until the user says otherwise: what most yards have (common practice, no source)."""
SAME_SIZE_IN = 1 / 32
SIDES_OF_A_ROOM = 4
MOST_PLANS = 64
_plans: OrderedDict[Job, Plan] = OrderedDict()
_plans_lock = threading.Lock()


def width_name(surface: Surface, market: str) -> str:
    """The board width chosen for a wall, as kept; the usual one of the market where none was."""
    name = surface.settings.get("board_width")
    return name if name in WIDTHS_IN else usual_for(market).widths[0]


def lengths_on_sale_in(width: str) -> tuple[float, ...]:
    """All lengths that boards of this width are made in, shortest first."""
    return tuple(
        sorted({b.length_in for b in _all_boards() if _same(b.width_in, WIDTHS_IN[width]) and _thick(b)})
    )


def lengths_bought_in(job: KeptJob, width: str) -> tuple[float, ...]:
    """The lengths of this width that the user can buy; of a width that the market does not sell, those that
    the user ticked all the same."""
    kept = (job.settings.get("lengths_in") or {}).get(width)
    if kept is None:
        return LENGTHS_AT_FIRST_IN[width] if width in usual_of(job.settings).widths else ()
    return tuple(length for length in lengths_on_sale_in(width) if any(_same(length, float(k)) for k in kept))


def lacks_lengths(job: KeptJob, surface: Surface) -> bool:
    """Whether no length is ticked in the board width chosen for this wall."""
    width = width_name(surface, market_of(job.settings))
    return buying_of(job.settings).supplier is None and not lengths_bought_in(job, width)


def not_sold(job: KeptJob, surface: Surface) -> bool:
    """Whether that is so because the market has no boards of that width."""
    width = width_name(surface, market_of(job.settings))
    return lacks_lengths(job, surface) and width not in usual_of(job.settings).widths


def stock_of(job: KeptJob) -> tuple[Board, ...]:
    """The boards that can be bought for this job and get in."""
    rooms = {room_of(surface) for surface in job.surfaces}
    return boards_that_come(boards_on_sale(job), buying_of(job.settings).ways, rooms)


def boards_on_sale(job: KeptJob) -> tuple[Board, ...]:
    """The list of the supplier bought from; without one the lengths ticked on the walls' screens, in
    every width, kind and thickness that a surface asks for."""
    supplier = buying_of(job.settings).supplier
    if supplier is not None:
        return supplier.boards
    market = market_of(job.settings)
    asked = {width_name(surface, market) for surface in job.surfaces}
    if not asked or any(not_sold(job, surface) for surface in job.surfaces):
        asked.add(usual_for(market).widths[0])  # what can be had there, for whoever looks for a remedy
    return _ticked(job, asked)


def usual_boards(job: KeptJob) -> tuple[Board, ...]:
    """What could be bought without a supplier in the usual width of the market, whatever width is chosen."""
    return _ticked(job, {usual_of(job.settings).widths[0]})


def _ticked(job: KeptJob, widths: Collection[str]) -> tuple[Board, ...]:
    """The lengths ticked on the walls' screens in these widths, in every kind and thickness asked for."""
    usual_in = usual_of(job.settings).thickness_in
    wanted = {board_choice(surface.settings, usual_in) for surface in job.surfaces}
    found = (
        replace(board, kind=kind)
        for kind, thickness_in in sorted({("regular", usual_in), *wanted})
        for width, width_in in WIDTHS_IN.items()
        if width in widths
        for board in _all_boards()
        if board.kind == "regular"
        and _same(board.thickness_in, thickness_in)
        and _same(board.width_in, width_in)
        and any(_same(board.length_in, length) for length in lengths_bought_in(job, width))
    )
    return tuple(dict.fromkeys(found))  # 1/2 in and 12.5 mm, asked for side by side, are the same boards


def room_of(surface: Surface) -> str:
    """The room a kept surface belongs to, as the user named it; "" when nobody said."""
    return str(surface.settings.get("room") or "")


def plan_names(job: KeptJob) -> dict[str, str]:
    """What each wall is called in the plan, by its id: its name, numbered where two have the same."""
    names: dict[str, str] = {}
    for surface in job.surfaces:
        name, number = surface.name, 1
        while name in names.values():
            number += 1
            name = f"{surface.name} ({number})"
        names[surface.surface_id] = name
    return names


def framing_of(surface: Surface, reading: Reading, plan_name: str, market: str) -> BoardedSurface:
    """The framing of one wall, called `plan_name` in the plan, with the board width chosen for it.

    `market` is that of its job. A height that the user measured with a tape goes before the one read off
    the photo.

    Raises
    ------
    NoWallError, JobError
        There is nothing to board, or it cannot be boarded; the text says why.
    """
    framed = surface_from_reading(
        reading,
        plan_name,
        name=plan_name,
        material=material_of(surface.settings),
        **_board_choices(surface, market),
    )
    measured_in = surface.settings.get("height_in")
    framed = replace(framed, height_in=float(measured_in)) if measured_in else framed
    return with_wishes(framed, wishes_of(surface.settings))


def hand_framing_of(surface: Surface, plan_name: str, market: str) -> BoardedSurface | None:
    """The framing of a surface entered by hand; None for one that was not. `market` is that of its job.

    Raises
    ------
    JobError
        What was entered cannot be boarded; the text says why.
    """
    hand = by_hand_of(surface.settings)
    if hand is None:
        return None
    framed = framing_by_hand(
        hand,
        plan_name,
        name=plan_name,
        material=material_of(surface.settings),
        **_board_choices(surface, market),
    )
    return with_wishes(framed, wishes_of(surface.settings))


def _board_choices(surface: Surface, market: str) -> dict[str, Any]:
    kind, thickness_in = board_choice(surface.settings, usual_for(market).thickness_in)
    return {
        "board_width_in": WIDTHS_IN[width_name(surface, market)],
        "board_kind": kind,
        "thickness_in": thickness_in,
    }


def boards_job(job: KeptJob, walls: tuple[BoardedSurface, ...], whole: KeptJob | None = None) -> Job:
    """The walls of a job with what can be bought for them: all that a plan depends on.

    `whole` is the job with those walls too that cannot be boarded, where `job` lacks them.
    """
    stock = stock_of(job)
    buying, names = buying_of(job.settings), plan_names(job)
    rooms = {names[surface.surface_id]: room_of(surface) for surface in job.surfaces}
    walls = _covered_at_the_walls(walls, rooms)
    walls = with_corners(walls, whole or job, plan_names(whole or job))
    planned = Job(
        walls, stock=stock, rules=rules_for(market_of(job.settings)), name=job.name, extra=buying.extra
    )
    return on_stock(planned, stock, buying.ways, rooms, own_list_of(job))


def own_list_of(job: KeptJob) -> tuple[Board, ...]:
    """The boards on sale where they are the job's own list; none where a supplier is bought from.

    Of a width that the own list lacks a surface gets no boards: others do not stand in unasked.
    """
    return boards_on_sale(job) if buying_of(job.settings).supplier is None else ()


def _covered_at_the_walls(
    surfaces: tuple[BoardedSurface, ...], rooms: dict[str, str]
) -> tuple[BoardedSurface, ...]:
    """Ceilings whose gap along the walls the wall boards will cover.

    Ceilings are boarded first, so at each wall a gap as wide as the wall's board is thick is covered: a
    12-ft board serves a ceiling 12 ft 1 in long (common practice, no source). Said only of rooms, named by
    the user, with walls on all four sides in the job: elsewhere a wall may stay bare.
    """
    thick: dict[str, list[float]] = {}
    for surface in surfaces:
        room = rooms.get(surface.id, "")
        if surface.kind == "wall" and room:
            thick.setdefault(room, []).append(surface.thickness_in)
    out = []
    for surface in surfaces:
        boards = thick.get(rooms.get(surface.id, ""), [])
        if surface.kind == "ceiling" and len(boards) >= SIDES_OF_A_ROOM:
            gap_in = min(boards)
            surface = replace(
                surface,
                covered_left_in=gap_in,
                covered_right_in=gap_in,
                covered_bottom_in=gap_in,
                covered_top_in=gap_in,
            )
        out.append(surface)
    return tuple(out)


def plan_boards(
    job: Job,
    progress: Callable[[float, str], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Plan:
    """The plan of a job; the same job is planned only once. One that was stopped is not kept."""
    known = planned(job)
    if known is not None:
        return known
    plan = plan_job(job, progress=progress, stop=stop)
    if stop is None or not stop():
        with _plans_lock:
            _plans[_without_extra(job)] = plan
            while len(_plans) > MOST_PLANS:
                _plans.popitem(last=False)
    return plan


def planned(job: Job) -> Plan | None:
    """The plan of a job that was planned before; other spares or bundles need no new one."""
    same = _without_extra(job)
    with _plans_lock:
        if same not in _plans:
            return None
        _plans.move_to_end(same)
        plan = _plans[same]
    return replace(plan, order=ordered(plan.sheets, job.extra))


def _without_extra(job: Job) -> Job:
    return replace(job, extra=Extra())


def plan_of(job: KeptJob, walls: tuple[BoardedSurface, ...]) -> Plan:
    """The plan of the walls of a job together."""
    return plan_boards(boards_job(job, walls))


def _all_boards() -> tuple[Board, ...]:
    return (*stock_for("us"), *stock_for("uk"))


def _thick(board: Board) -> bool:
    return board.kind == "regular" and _same(board.thickness_in, THICKNESS_IN)


def _same(one_in: float, other_in: float) -> bool:
    return abs(one_in - other_in) < SAME_SIZE_IN
