"""Rows: for each stretch of a course, which pieces can span it, from seam to seam.

A `Segment` is a stretch of one course without interruption.  Its `stations` are the two
ends and every place where a seam is allowed; its `spans` are the pieces that may lie
between two stations.  The best plan is a path through the stations of every segment.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from layout.bands import (
    Band,
    Frame,
    Slab,
    Void,
    frame_of,
    free_gap,
    side_gaps,
    slabs_of,
    stack_bands,
    voids_of,
)
from layout.framing import Surface
from layout.lengths import from_grid, to_grid
from layout.markets import Prefs, Rules
from layout.stations import (
    BACKING_PRICE,
    Refusal,
    Station,
    joint_price,
    stations_of,
    with_backing,
    with_shifts,
)
from layout.stock import Board, steps_of

__all__ = [
    "BACKING_PRICE",
    "Eased",
    "Refusal",
    "Segment",
    "Span",
    "Station",
    "SurfaceRows",
    "place_in",
    "rows_of",
]


@dataclass(frozen=True, slots=True)
class Span:
    """A piece from one station to another.

    `length` is what it takes of a board: the distance less the gap allowed at a corner, a
    whole board where one lies between the two, or a step more where the rounded distance
    falls short of a whole board that fits.  `give` is how much longer it may be cut where
    its sheet has the room.  `height` is what it is ripped to, `seams` how many of its ends
    are at seams, `tapers` how many of its edges meet another course.
    """

    first: int
    last: int
    length: int
    height: int
    seams: int
    tapers: int
    give: int = 0


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of a course, its stations and the spans between them."""

    row: int
    start: int
    end: int
    gap_start: int
    gap_end: int
    slabs: tuple[Slab, ...]
    stations: tuple[Station, ...]
    spans: tuple[Span, ...]
    forced_length: int = 0


@dataclass(frozen=True, slots=True)
class Eased:
    """How often a surface that cannot keep a rule everywhere may break it, and no oftener.

    `unstaggered` counts pairs of seams of neighbouring courses that are too close to each
    other, `near_openings` seams at the places `near`: (course, thirty-seconds along it).
    """

    unstaggered: int
    near_openings: int = 0
    near: frozenset[tuple[int, int]] = frozenset()


@dataclass(frozen=True, slots=True)
class SurfaceRows:
    """Everything the optimum needs to know of one surface, in whole thirty-seconds.

    `eased` is None where the rules can be kept everywhere.
    """

    surface: Surface
    frame: Frame
    upright: bool
    bands: tuple[Band, ...]
    voids: tuple[Void, ...]
    segments: tuple[Segment, ...]
    refusals: tuple[Refusal, ...]
    boards: tuple[Board, ...]
    width: int
    low: int
    high: int
    stagger: int
    eased: Eased | None = None

    @property
    def end_joints(self) -> int:
        """Length of the joints in which boards that stand upright meet end to end, one course on another."""
        return sum(segment.stations[-1].seam_length for segment in self.segments)


def rows_of(
    surface: Surface,
    boards: tuple[Board, ...],
    rules: Rules,
    prefs: Prefs,
    upright: bool = False,
    backing: bool = False,
) -> SurfaceRows:
    """Stations and spans of every course of a surface.

    Parameters
    ----------
    boards : tuple of Board
        Boards of the surface's kind, thickness and width, shortest first, at least one.
    upright : bool
        Long edges parallel to the members: the "length" of a piece is then cut from the
        board's width, and a course is as high as the longest board at most.
    backing : bool
        Also allow seams where there is no member, at a price that is only paid where
        nothing else works; the plan then says that backing has to be put in.
    """
    frame = frame_of(surface)
    _, width = steps_of(boards[0])
    course_in = boards[-1].length_in if upright else boards[0].width_in
    upright_lengths_in = tuple(b.length_in for b in boards) if upright else ()
    bands, low, high = stack_bands(surface, rules, frame, course_in, upright_lengths_in)
    voids = voids_of(surface, frame)
    free = free_gap(rules)
    segments: list[Segment] = []
    refusals: list[Refusal] = []
    forced = dict(surface.wishes.row_lengths)
    for band in bands:
        slabs = slabs_of(band, voids, frame, free)
        wholes = _wholes(boards, upright, forced.get(band.index))
        lengths = tuple(steps for steps, _ in wholes)
        for start, end, stretch in _stretches(slabs):
            gaps = _gaps(surface, frame, rules, start, end)
            stations, refused = stations_of(surface, rules, prefs, band, voids, stretch, start, end, upright)
            refusals += refused
            if upright and band.index:
                before = bands[band.index - 1]
                line = band.high if before.low == band.high else band.low
                length = _meeting(stretch, slabs_of(before, voids, frame, free), line)
                last = replace(stations[-1], seam_length=length, price=joint_price(length, prefs))
                stations = (*stations[:-1], last)
            if backing:
                stations = with_backing(rules, prefs, band, voids, stretch, stations, upright)
            stations = with_shifts(surface, rules, stations, lengths, start, end)
            segments.append(
                Segment(
                    band.index,
                    start,
                    end,
                    *gaps,
                    stretch,
                    stations,
                    _spans(stations, band, stretch, wholes, gaps, rules, surface, frame, upright),
                    0 if band.index not in forced else lengths[0],
                )
            )
    return SurfaceRows(
        surface,
        frame,
        upright,
        bands,
        voids,
        tuple(segments),
        tuple(refusals),
        boards,
        width,
        low,
        high,
        to_grid(rules.stagger_in) if rules.on("seams_of_neighbouring_rows_are_staggered") else 0,
    )


def place_in(surface: Surface, frame: Frame, at: int) -> float:
    """Inches along the row, as measured where the place is an end or a member's centre."""
    if at == frame.s_span:
        return surface.width_in if frame.s_is_x else surface.height_in
    measured = (m.centre_in for m in surface.members if to_grid(m.centre_in) == at)
    return next(measured, from_grid(at))


def _wholes(
    boards: tuple[Board, ...], upright: bool, forced_in: float | None
) -> tuple[tuple[int, float], ...]:
    """Lengths that a piece can be whole in, along the row: (thirty-seconds, inches)."""
    if upright:
        return ((steps_of(boards[0])[1], boards[0].width_in),)
    wholes = tuple((steps_of(board)[0], board.length_in) for board in boards)
    if forced_in is not None:
        wanted = tuple(w for w in wholes if abs(w[0] - to_grid(forced_in)) <= 2)
        # A forced length that is not sold leaves no span at all: reported as a wish.
        return wanted or ((0, 0.0),)
    return wholes


def _stretches(slabs: tuple[Slab, ...]) -> list[tuple[int, int, tuple[Slab, ...]]]:
    """Runs of slabs with something to board, as (start, end, slabs)."""
    runs: list[list[Slab]] = []
    open_run = False
    for slab in slabs:
        if not slab.parts:
            open_run = False
        elif open_run:
            runs[-1].append(slab)
        else:
            runs.append([slab])
            open_run = True
    return [(run[0].start, run[-1].end, tuple(run)) for run in runs]


def _gaps(surface: Surface, frame: Frame, rules: Rules, start: int, end: int) -> tuple[int, int]:
    """Gaps allowed at the two ends: covered by a neighbour at a corner, else a small one."""
    free = free_gap(rules)
    low, high = side_gaps(surface, rules, ("left", "right") if frame.s_is_x else ("bottom", "top"))
    return low[1] if start == 0 else free, high[1] if end == frame.s_span else free


def _meeting(one: tuple[Slab, ...], two: tuple[Slab, ...], line: int) -> int:
    """How long two courses have board on both sides of the line between them."""
    return sum(
        max(0, min(a.end, b.end) - max(a.start, b.start))
        for a in one
        for b in two
        if any(line in part for part in a.parts) and any(line in part for part in b.parts)
    )


TRIM_IN = 1 / 64
"""A board this much longer than its place is not trimmed: half of what a tape shows."""


def _spans(
    stations: tuple[Station, ...],
    band: Band,
    stretch: tuple[Slab, ...],
    wholes: tuple[tuple[int, float], ...],
    gaps: tuple[int, int],
    rules: Rules,
    surface: Surface,
    frame: Frame,
    upright: bool,
) -> tuple[Span, ...]:
    """Pieces that a board can make between two stations, under the smallest-piece rule.

    Between two places a board apart there may be a step less than in the board, since each is
    rounded by itself; whether it fits is then asked of the lengths as measured.
    """
    places_in = [place_in(surface, frame, station.at) for station in stations]
    shortest = to_grid(rules.min_piece_in) if rules.on("no_sliver_at_a_seam") else 1
    longest = max(steps for steps, _ in wholes)
    last = len(stations) - 1
    spans: list[Span] = []
    for first, left in enumerate(stations[:-1]):
        for number in range(first + 1, len(stations)):
            right = stations[number]
            distance = right.at - left.at
            gap = (gaps[0] if first == 0 else 0) + (gaps[1] if number == last else 0)
            if distance - gap > longest:
                break
            seams = (first > 0) + (number < last)
            if not (seams and distance < shortest):
                room_in = places_in[number] - places_in[first] + TRIM_IN + 1e-9
                whole = [
                    steps
                    for steps, length_in in wholes
                    if distance - gap <= steps <= distance or (steps == distance + 1 and length_in <= room_in)
                ]
                length = whole[-1] if whole else max(1, distance - gap)
                height, tapers = _ripped(band, stretch, left.at, right.at)
                give = max(0, distance - length)
                spans.append(Span(first, number, length, height, seams, 0 if upright else tapers, give))
            if right.pinned:
                break
    return tuple(spans)


def _ripped(band: Band, stretch: tuple[Slab, ...], start: int, end: int) -> tuple[int, int]:
    """Size across of a piece and how many of its edges meet another course.

    A piece that lies wholly over or under an opening is ripped to what is boarded there.
    """
    low, high = band.high, band.low
    for slab in stretch:
        if slab.start < end and slab.end > start:
            low = min(low, slab.parts[0][0])
            high = max(high, slab.parts[-1][1])
    if (low, high) == (band.low, band.high):
        return band.height, band.joined
    return high - low, min(1, band.joined)
