"""Bands: a surface cut into courses, and what openings leave of each course.

From here on everything is whole thirty-seconds of an inch.  `s` runs across the members
(the direction of the rows), `t` along them; `Frame` says which is x and which is y.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from layout.framing import Surface
from layout.lengths import from_grid, to_grid
from layout.markets import Rules

__all__ = ["Band", "Frame", "Slab", "Void", "across_in", "frame_of", "slabs_of", "stack_bands", "voids_of"]


@dataclass(frozen=True, slots=True)
class Frame:
    """Axes of a surface: `s_is_x` is True when the rows run along x."""

    s_is_x: bool
    s_span: int
    t_span: int


@dataclass(frozen=True, slots=True)
class Band:
    """One course: from `low` to `high` across, hung as number `index`.

    `height` is what it takes of a board: the whole of it for a full course, though between
    its rounded edges there may be one step less.  `tapered_low` and `tapered_high` tell which
    long edges keep their taper; `joined` is how many of its edges meet another course.
    `low_in` and `high_in` are the edges in inches, not rounded where courses are full.
    """

    index: int
    low: int
    high: int
    height: int
    tapered_low: bool
    tapered_high: bool
    joined: int
    low_in: float
    high_in: float


@dataclass(frozen=True, slots=True)
class Void:
    """A rectangle that gets no board; `opening` is -1 for what lies outside the outline."""

    s_low: int
    s_high: int
    t_low: int
    t_high: int
    opening: int


@dataclass(frozen=True, slots=True)
class Slab:
    """A stretch of a band over which the boarded part stays the same.

    `parts` are the (low, high) intervals across that get board; empty when nothing does.
    """

    start: int
    end: int
    parts: tuple[tuple[int, int], ...]

    @property
    def boarded(self) -> int:
        return sum(high - low for low, high in self.parts)


def frame_of(surface: Surface) -> Frame:
    """Axes of a surface: rows run across the members."""
    s_is_x = surface.members_run == "up"
    width, height = to_grid(surface.width_in), to_grid(surface.height_in)
    return Frame(s_is_x, width, height) if s_is_x else Frame(s_is_x, height, width)


def stack_bands(
    surface: Surface, rules: Rules, frame: Frame, width_in: float, lengths_in: tuple[float, ...] = ()
) -> tuple[tuple[Band, ...], int, int]:
    """Courses of a surface in hanging order, and the boarded span (low, high) across.

    A wall is boarded from the ceiling line (its height less the ceiling board) down.  When
    whole boards leave a floor gap between the least and the most allowed, nothing is
    ripped; else the last course is ripped to leave the gap aimed at.  The gap is computed
    from the measured height, never from a nominal stud.  On a ceiling or soffit the gap lies
    at both sides, as the walls' boards cover it.

    Parameters
    ----------
    width_in : float
        Size across of a full course: the board's width, or its length when upright.
    lengths_in : tuple of float
        Lengths of upright boards: one that stands whole from floor gap to ceiling is taken
        as it is.
    """
    if surface.kind == "wall":
        high = frame.t_span - to_grid(surface.ceiling_board_in)
        aim = to_grid(rules.floor_gap_in if surface.floor_gap_in is None else surface.floor_gap_in)
        least, most = to_grid(rules.floor_gap_least_in), to_grid(rules.floor_gap_most_in)
        if surface.floor_gap_in is not None:
            least, most = min(least, aim), max(most, aim)
    else:
        high = frame.t_span
        sides = side_gaps(surface, rules, ("bottom", "top") if frame.s_is_x else ("left", "right"))
        aim, least, most = 0, 0, sum(allowed for _, allowed in sides)
    width_in = next((n for n in lengths_in if least <= high - to_grid(n) <= most), width_in)
    full = to_grid(width_in, "up")
    # Edges of full courses are rounded from where they are, so that metric widths do not add up to an error.
    count = int(from_grid(high) / width_in) + 1
    edges = [0, *(edge for n in range(1, count + 1) if (edge := to_grid(n * width_in)) <= high)]
    gap = high - edges[-1]
    heights = [full] * (len(edges) - 1)
    if not heights or not least <= gap <= most:
        gap = min(aim, max(high - 1, 0))
        edges = [edge for edge in edges if edge < high - gap]
        whole = high - gap == to_grid(len(edges) * width_in)
        last = full if whole else high - gap - edges[-1]
        short = to_grid(rules.min_strip_in) - last if len(edges) > 1 else 0
        if short > 0:
            edges = [0, *(edge - short for edge in edges[1:])]
            last += short
        heights = [full] * (len(edges) - 1) + [last]
        if short > 0:
            heights[0] = edges[1]
        edges.append(high - gap)
    elif surface.kind != "wall":
        at_low = _spread(gap, sides)
        high, gap = high - (gap - at_low), at_low
    from_top = surface.rows_from == "top" or (surface.rows_from == "auto" and surface.kind == "wall")
    start_in = across_in(surface, frame, high if from_top else gap)
    bands = []
    for index, height in enumerate(heights):
        near, far = edges[index], edges[index + 1]
        low, band_high = (high - far, high - near) if from_top else (gap + near, gap + far)
        first, last_row = index == 0, index == len(heights) - 1
        # A ripped edge goes where no course meets it: the first course's at the ceiling
        # line, the last one's at the floor.
        start_tapered = not (first and height < full and not last_row)
        end_tapered = not (last_row and height < full)
        joined = (not first) + (not last_row)
        near_in, far_in = (
            start_in + (-1 if from_top else 1) * n * width_in
            if edges[n] == to_grid(n * width_in)
            else across_in(surface, frame, edge)
            for n, edge in (
                (index, band_high if from_top else low),
                (index + 1, low if from_top else band_high),
            )
        )
        bands.append(
            Band(
                index,
                low,
                band_high,
                height,
                end_tapered if from_top else start_tapered,
                start_tapered if from_top else end_tapered,
                joined,
                max(0.0, min(near_in, far_in)),
                max(near_in, far_in),
            )
        )
    return tuple(bands), gap, high


def free_gap(rules: Rules) -> int:
    """What may be left at any end, covered or not."""
    return to_grid(rules.end_gap_in) if rules.on("covered_gap_counts_as_covered") else 0


def side_gaps(surface: Surface, rules: Rules, sides: tuple[str, str]) -> list[tuple[int, int]]:
    """For each of two sides (covered, allowed): the gap a neighbour covers there, and what may be left."""
    counts = rules.on("covered_gap_counts_as_covered")
    covers = [to_grid(getattr(surface, f"covered_{side}_in")) for side in sides]
    return [(covered, max(covered, free_gap(rules)) if counts else 0) for covered in covers]


def _spread(gap: int, sides: list[tuple[int, int]]) -> int:
    """The low side's part of a gap: as the two are covered, and no more on either than is allowed."""
    (covered, allowed), (other, other_allowed) = sides
    both = covered + other
    return min(allowed, max(gap * covered // both if both else gap, gap - other_allowed))


def across_in(surface: Surface, frame: Frame, at: int) -> float:
    """Inches across the rows; a wall is measured down from its ceiling line."""
    span_in = surface.height_in if frame.s_is_x else surface.width_in
    return from_grid(at) + (span_in - from_grid(frame.t_span)) if at > 0 else 0.0


def voids_of(surface: Surface, frame: Frame) -> tuple[Void, ...]:
    """Openings, what lies outside the outline, and where a board hung before stands in a corner."""
    voids = []
    for number, opening in enumerate(surface.openings):
        voids.append(
            _void(
                frame,
                to_grid(opening.left_in),
                to_grid(opening.right_in),
                to_grid(opening.bottom_in),
                to_grid(opening.top_in),
                number,
            )
        )
    for x_low, x_high, y_low, y_high in (*_outside(surface), *_taken(surface)):
        voids.append(_void(frame, x_low, x_high, y_low, y_high, -1))
    return tuple(voids)


def slabs_of(band: Band, voids: tuple[Void, ...], frame: Frame, free: int = 0) -> tuple[Slab, ...]:
    """The band cut at every edge of a void, with what is boarded in each stretch.

    A strip no wider than `free`, the gap that may be left at an opening, is left open: no board
    is notched round a doorway for 1/8 in under the ceiling.
    """
    inside = [v for v in voids if v.t_low < band.high and v.t_high > band.low]
    cuts = {0, frame.s_span}
    for void in inside:
        cuts.update(min(max(edge, 0), frame.s_span) for edge in (void.s_low, void.s_high))
    edges = sorted(cuts)
    slabs: list[Slab] = []
    for start, end in pairwise(edges):
        parts = [(band.low, band.high)]
        for void in inside:
            if void.s_low < end and void.s_high > start:
                parts = [
                    (low, high)
                    for old_low, old_high in parts
                    for low, high in (
                        (old_low, min(old_high, void.t_low)),
                        (max(old_low, void.t_high), old_high),
                    )
                    if low + free < high
                ]
        if slabs and slabs[-1].parts == tuple(parts):
            slabs[-1] = Slab(slabs[-1].start, end, tuple(parts))
        else:
            slabs.append(Slab(start, end, tuple(parts)))
    return tuple(slabs)


def _void(frame: Frame, x_low: int, x_high: int, y_low: int, y_high: int, opening: int) -> Void:
    if frame.s_is_x:
        return Void(x_low, x_high, y_low, y_high, opening)
    return Void(y_low, y_high, x_low, x_high, opening)


def _taken(surface: Surface) -> list[tuple[int, int, int, int]]:
    """Stretches at a wall's ends where the neighbouring wall's board already stands."""
    width, height = to_grid(surface.width_in), to_grid(surface.height_in)
    left, right = to_grid(surface.taken_left_in), to_grid(surface.taken_right_in)
    ends = [(0, left), (width - right, width)]
    return [(low, high, 0, height) for low, high in ends if low < high]


def _outside(surface: Surface) -> list[tuple[int, int, int, int]]:
    """Rectangles of the surface's bounding rectangle that lie outside its outline."""
    if not surface.outline:
        return []
    corners = [(to_grid(x), to_grid(y)) for x, y in surface.outline]
    sides = list(zip(corners, corners[1:] + corners[:1], strict=True))
    xs = sorted({0, to_grid(surface.width_in), *(x for x, _ in corners)})
    span = to_grid(surface.height_in)
    rectangles: list[tuple[int, int, int, int]] = []
    for x_low, x_high in pairwise(xs):
        middle = (x_low + x_high) / 2
        # Even-odd rule: the level sides above this stretch, in order, enter and leave.
        levels = sorted(a[1] for a, b in sides if a[1] == b[1] and min(a[0], b[0]) < middle < max(a[0], b[0]))
        edges = [0, *levels, span]
        for low, high in zip(edges[::2], edges[1::2], strict=False):
            if low < high:
                rectangles.append((x_low, x_high, low, high))
    return rectangles
