"""What the user changed on one photo of a wall, and the wall as it stands after those changes.

The truth of every mark is its place in the photo (upright pixels, origin at the centre of the
top-left pixel), never inches: a new tape length or a second reading of the photo then rescales the
marks instead of losing them. A mark that stands in for a member found in the photo remembers that
member's own line, so it finds it again after the photo was read anew.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np

from ui.tape_readings import TapeReading
from vision.reading import Member, Opening, PointPx, Reading, Reference
from vision.wall_plane import WallPlane

LinePx = tuple[PointPx, PointPx]
LineIn = tuple[tuple[float, float], tuple[float, float]]
QuadPx = tuple[PointPx, PointPx, PointPx, PointPx]

MOST_PROUD_IN = 12.0
"""Marks on a tape or level held against the studs stand at most so far in front of their faces."""
MOST_MARKS = 1_000
"""Marks of one kind on one wall: far more than a wall has studs, few enough to be measured in a moment."""
MOST_MARK_SIGMA_PX = 1_000.0
"""No mark is set on so small a picture that it is farther off than this."""
CLOSEST_MARKS_PX = 8.0
"""Two tape marks nearer than this are one spot: a fingertip's slip, and useless as a scale."""
SAME_MEMBER_IN = 1.0
"""Two lines nearer than this are the same member: less than one 1 1/2 in face, so never two of them."""


@dataclass(frozen=True)
class StudMark:
    """A stud the user placed: its front centre line (bottom end, top end), and whose place it takes.

    `corrects_px` is the line of the member found in the photo that this one replaces, None for a
    stud the user added.
    """

    mark_id: str
    front_px: LinePx
    corrects_px: LinePx | None = None


@dataclass(frozen=True)
class OpeningMark:
    """A door, window or electrical box the user marked: corners top left, top right, bottom right, bottom
    left."""

    mark_id: str
    kind: Literal["door", "window", "box"]
    corners_px: QuadPx
    corrects_px: QuadPx | None = None


@dataclass(frozen=True)
class ReferenceMark:
    """The known length as the user gave it.

    Attributes
    ----------
    kind : "tape" or "on_centre"
        Two marks and the length between them, or the spacing of the studs.
    length_in : float or None
        Inches; None while the marks stand but no length was typed yet (not used for reading then).
    length_text : str
        The length as it was typed, shown again unchanged.
    from_px, to_px : (x, y) or None
        The two marks; kept when the user switches to a spacing, so that switching back is free.
    stands_proud_in : float
        How far the marks stand in front of the studs' faces; 0 on them.
    from_sigma_px, to_sigma_px : float or None
        One standard deviation of where each mark is, by how large the photo was shown; None: unknown.
    """

    kind: Literal["tape", "on_centre"]
    length_in: float | None = None
    length_text: str = ""
    from_px: PointPx | None = None
    to_px: PointPx | None = None
    stands_proud_in: float = 0.0
    from_sigma_px: float | None = None
    to_sigma_px: float | None = None

    def for_reading(self) -> Reference | None:
        """The reference to read the photo by; None when it is not complete."""
        if self.length_in is None:
            return None
        if self.kind == "on_centre":
            return Reference.on_centre(self.length_in)
        if self.from_px is None or self.to_px is None:
            return None
        known = [s for s in (self.from_sigma_px, self.to_sigma_px) if s is not None]
        return Reference.tape(
            self.length_in,
            self.from_px,
            self.to_px,
            stands_proud_in=self.stands_proud_in,
            mark_sigma_px=float(np.sqrt(np.mean(np.square(known)))) if known else None,
        )

    def on_one_spot(self) -> bool:
        """Whether both marks are set, and too near to one another to measure by."""
        if self.from_px is None or self.to_px is None:
            return False
        return (
            float(np.hypot(self.from_px[0] - self.to_px[0], self.from_px[1] - self.to_px[1]))
            < CLOSEST_MARKS_PX
        )


@dataclass(frozen=True)
class Corrections:
    """Everything the user said about one photo. Immutable: undo keeps the earlier value."""

    studs: tuple[StudMark, ...] = ()
    removed_px: tuple[LinePx, ...] = ()
    confirmed_px: tuple[LinePx, ...] = ()
    openings: tuple[OpeningMark, ...] = ()
    removed_openings_px: tuple[QuadPx, ...] = ()
    corners_px: QuadPx | None = None
    reference: ReferenceMark | None = None
    tape_readings: tuple[TapeReading, ...] = ()
    second: ReferenceMark | None = None

    def second_for_reading(self) -> Reference | None:
        """The second known length, when it and the first are complete and two."""
        first = self.reference.for_reading() if self.reference else None
        second = None if self.second is None or self.second.on_one_spot() else self.second.for_reading()
        return None if first is None or first == second else second


@dataclass(frozen=True)
class ShownMember:
    """A member as the screens list it.

    `key` names it on the screen: a mark's id for the user's own, "photo-N" for one from the photo.
    `corrects_px` is the line in the photo that it stands for, None for a stud the user added.
    """

    key: str
    number: int
    member: Member
    yours: bool
    confirmed: bool
    corrects_px: LinePx | None


@dataclass(frozen=True)
class ShownOpening:
    """An opening as the screens list it, with its corners in the photo (top left, clockwise)."""

    key: str
    opening: Opening
    yours: bool
    corners_px: QuadPx
    corrects_px: QuadPx | None


@dataclass(frozen=True)
class CorrectedWall:
    """The reading with the user's changes in it: `reading.members` are those of `members`, in order."""

    reading: Reading
    members: tuple[ShownMember, ...] = field(default=())
    openings: tuple[ShownOpening, ...] = field(default=())


def correct(
    reading: Reading, corrections: Corrections, measure: Callable[[LinePx], Member | None]
) -> CorrectedWall:
    """Lay the user's changes over a reading.

    Parameters
    ----------
    reading : Reading
        What the photo said, read with `corrections.reference` and `corrections.corners_px`.
    corrections : Corrections
        The user's changes, in photo pixels.
    measure : callable
        Gives the Member for a line the user drew (bottom end, top end; photo pixels), or None for
        one that cannot stand on this wall: it is kept, and left out of what is shown.

    Returns
    -------
    CorrectedWall
        Members sorted by `centre_in` and numbered from 1. The user's word wins: a member found in
        the photo closer than `SAME_MEMBER_IN` to a stud of the user's, or to a line the user
        struck out, is left out; one near a confirmed line becomes sure. Without a plane (a photo
        that could not be measured) nothing can be placed and the reading is returned as it is.
    """
    plane = reading.plane
    if plane is None:
        return CorrectedWall(reading)

    gone_px = [m.corrects_px for m in corrections.studs if m.corrects_px] + list(corrections.removed_px)
    gone_px += [m.front_px for m in corrections.studs]
    lines_in = iter(
        _lines_in(plane, [*(m.front_px for m in reading.members), *gone_px, *corrections.confirmed_px])
    )
    found_in = [next(lines_in) for _ in reading.members]
    gone_in = [next(lines_in) for _ in gone_px]
    confirmed_in = list(lines_in)
    entries: list[tuple[str, Member, bool, bool, LinePx | None]] = []
    for index, found in enumerate(reading.members):
        if any(_same_place(found_in[index], line) for line in gone_in):
            continue
        confirmed = any(_same_place(found_in[index], line) for line in confirmed_in)
        if confirmed:
            found = replace(found, sure=True)
        entries.append((f"photo-{index}", found, False, confirmed, found.front_px))
    for mark in corrections.studs:
        placed = measure(mark.front_px)
        if placed is not None:
            entries.append((mark.mark_id, placed, True, False, mark.corrects_px))
    entries.sort(key=lambda entry: entry[1].centre_in)
    members = tuple(
        ShownMember(key, number, member, yours, confirmed, source)
        for number, (key, member, yours, confirmed, source) in enumerate(entries, start=1)
    )

    openings = _openings(reading, corrections, plane)
    return CorrectedWall(
        replace(
            reading,
            members=tuple(shown.member for shown in members),
            openings=tuple(shown.opening for shown in openings if shown.opening.kind != "box"),
            boxes=tuple(shown.opening for shown in openings if shown.opening.kind == "box"),
        ),
        members,
        openings,
    )


def _openings(reading: Reading, corrections: Corrections, plane: WallPlane) -> tuple[ShownOpening, ...]:
    gone = [m.corrects_px for m in corrections.openings if m.corrects_px]
    gone += list(corrections.removed_openings_px)
    shown = []
    for index, found in enumerate((*reading.openings, *reading.boxes)):
        corners_px = opening_corners_px(plane, found)
        if any(_overlap(plane, corners_px, quad) for quad in gone):
            continue
        shown.append(ShownOpening(f"photo-opening-{index}", found, False, corners_px, corners_px))
    for mark in corrections.openings:
        shown.append(
            ShownOpening(mark.mark_id, opening_from_px(plane, mark), True, mark.corners_px, mark.corrects_px)
        )
    return tuple(sorted(shown, key=lambda each: each.opening.left_in))


def _lines_in(plane: WallPlane, lines_px: Sequence[LinePx]) -> list[LineIn]:
    """Lines of the photo in wall inches, all in one pass: a large job has thousands of them."""
    if not lines_px:
        return []
    return [((a[0], a[1]), (b[0], b[1])) for a, b in plane.to_wall(lines_px).tolist()]


def _same_place(one: LineIn, other: LineIn) -> bool:
    """Whether two lines mark the same member: closer than `SAME_MEMBER_IN` along the wall."""
    height_in = (one[0][1] + one[1][1]) / 2
    return abs(_x_at(one, height_in) - _x_at(other, height_in)) < SAME_MEMBER_IN


def _x_at(line_in: LineIn, height_in: float) -> float:
    (x0, y0), (x1, y1) = line_in
    if abs(y1 - y0) < 1e-9:
        return (x0 + x1) / 2
    return x0 + (x1 - x0) * (height_in - y0) / (y1 - y0)


def opening_corners_px(plane: WallPlane, opening: Opening) -> QuadPx:
    """The four corners of an opening in the photo, top left first, clockwise."""
    corners = plane.to_photo(
        [
            (opening.left_in, opening.top_in),
            (opening.right_in, opening.top_in),
            (opening.right_in, opening.bottom_in),
            (opening.left_in, opening.bottom_in),
        ]
    )
    return quad_px(corners.tolist())


def opening_from_px(plane: WallPlane, mark: OpeningMark) -> Opening:
    """The opening in wall inches: the mean of each pair of corners gives an upright rectangle."""
    (tl, tr, br, bl) = plane.to_wall(mark.corners_px)
    left, right = sorted((float(tl[0] + bl[0]) / 2, float(tr[0] + br[0]) / 2))
    bottom, top = sorted((float(bl[1] + br[1]) / 2, float(tl[1] + tr[1]) / 2))
    return Opening(mark.kind, left, right, bottom, top, sure=True)


def _overlap(plane: WallPlane, one: QuadPx, other: QuadPx) -> bool:
    """Whether two openings are the same: they share more than half the width of the narrower one and some
    height, and neither is four times as wide as the other, as a door is beside a box."""
    a, b = plane.to_wall(one), plane.to_wall(other)
    shared = np.minimum(a.max(axis=0), b.max(axis=0)) - np.maximum(a.min(axis=0), b.min(axis=0))
    wide_a, wide_b = np.ptp(a[:, 0]), np.ptp(b[:, 0])
    narrow = min(wide_a, wide_b)
    return bool(shared[0] > 0.5 * narrow and shared[1] > 0 and max(wide_a, wide_b) < 4 * narrow)


def point_px(values: Any) -> PointPx:
    """A point of the photo; ValueError or TypeError when it is none, or lies far outside any photo."""
    x, y = (float(v) for v in values)
    if not (abs(x) < 1e6 and abs(y) < 1e6):  # also refuses NaN
        raise ValueError("a mark lies outside any photo")
    return (x, y)


def quad_px(values: Any) -> QuadPx:
    """Four points of the photo, each as `point_px`."""
    a, b, c, d = values
    return (point_px(a), point_px(b), point_px(c), point_px(d))
