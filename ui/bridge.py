"""From the wall that was read to the framing to be boarded, and from the boards back onto the photo.

The only place where types of `vision` become types of `layout`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from layout import framing
from layout.board_choice import CUT_OFF, GUESSED
from layout.plan_types import Row, SurfacePlan
from ui.material import TIMBER
from vision.reading import Reading
from vision.wall_plane import WallPlane

PolylinePx = tuple[tuple[float, float], ...]

SAMPLE_STEP_IN = 4.0
"""A straight edge is drawn through points this far apart, so that it follows the lens's bending."""


class NoWallError(ValueError):
    """The reading holds no wall to board; the text says what to do."""


@dataclass(frozen=True)
class PieceShape:
    """A piece of board on the photo.

    Attributes
    ----------
    outline_px : closed polyline (the first point is not repeated)
    cutouts_px : tuple of such polylines
    label_px : (x, y)
        Where its length is written: the middle of the piece.
    number, sheet, row : int
        As in the plan; rows count from 0 in hanging order.
    length_in : float
    """

    outline_px: PolylinePx
    cutouts_px: tuple[PolylinePx, ...]
    label_px: tuple[float, float]
    number: int
    sheet: int
    row: int
    length_in: float


@dataclass(frozen=True)
class SeamShape:
    """A seam on the photo: the line where two pieces of a row meet."""

    line_px: PolylinePx
    member_id: str
    sure: bool
    row: int
    position_in: float


@dataclass(frozen=True)
class BoardShapes:
    """Everything of a surface's plan that is drawn over its photo."""

    pieces: tuple[PieceShape, ...]
    seams: tuple[SeamShape, ...]


def surface_from_reading(
    reading: Reading, surface_id: str, *, name: str = "", material: str = TIMBER, **choices: Any
) -> framing.Surface:
    """The framing of the wall in `reading`, the user's changes already in it.

    Parameters
    ----------
    reading : Reading
        As read, or `CorrectedWall.reading`.
    surface_id, name : str
        The surface's name within the job, and its name for people.
    material : {"timber", "steel"}
        What the wall is framed with; the photo was read by the width of its faces.
    **choices
        Other fields of `layout.framing.Surface`: `board_width_in`, `board_kind`, `boxes`,
        `wishes` and so on. The ceiling is taken to hang first, its boards 1/2 in thick.

    Returns
    -------
    layout.framing.Surface
        Members are numbered from 1 at the left, as on the screen. Openings that nobody accepted
        yet go along with ``sure=False``; boxes that nobody accepted are left out. A wall that runs out
        of the photo is said to be `cut_off`. A member that stands at the wall's very end but was read
        a hair outside is moved to where its face is flush with the end.

    Raises
    ------
    NoWallError
        The photo could not be read, so there is nothing to board.
    layout.framing.JobError
        The framing is one that cannot be boarded (a stud far outside the corners, …).
    """
    wall = reading.wall
    if wall is None or reading.plane is None:
        raise NoWallError(
            "This photo has no wall that can be boarded: mark the wall's four corners, or give a tape length."
        )
    members = tuple(
        framing.Member(
            id=str(number),
            centre_in=_pulled_inside(member.centre_in, member.face_in, wall.length_in),
            sigma_in=member.sigma_in,
            face_in=member.face_in,
            plies=member.plies,
            kind=member.kind,
            sure=member.sure,
            bottom_in=member.bottom_in if member.kind == "partial" else None,
            top_in=member.top_in if member.kind == "partial" else None,
            material=material,
        )
        for number, member in enumerate(sorted(reading.members, key=lambda m: m.centre_in), start=1)
    )
    openings = tuple(
        framing.Opening(
            id=str(number),
            left_in=opening.left_in,
            right_in=opening.right_in,
            bottom_in=opening.bottom_in,
            top_in=opening.top_in,
            kind=opening.kind,
            sure=opening.sure,
        )
        for number, opening in enumerate(sorted(reading.openings, key=lambda o: o.left_in), start=1)
    )
    boxes = tuple(
        framing.Box(str(number), box.left_in, box.right_in, box.bottom_in, box.top_in)
        for number, box in enumerate(sorted(reading.boxes, key=lambda o: o.left_in), start=1)
        if box.sure  # no board is cut for a box that nobody accepted
    )
    choices.setdefault("boxes", boxes)
    codes = {warning.code for warning in reading.warnings}
    choices.setdefault("cut_off", CUT_OFF in codes)
    choices.setdefault("guessed", GUESSED in codes)
    choices.setdefault("ceiling_board_in", framing.USUAL_CEILING_BOARD_IN)
    return framing.Surface(
        id=surface_id,
        name=name,
        width_in=wall.length_in,
        height_in=wall.height_in,
        members=members,
        openings=openings,
        **choices,
    )


def _pulled_inside(centre_in: float, face_in: float, length_in: float) -> float:
    """Centre of a member whose face pokes out of the wall by at most one face, moved flush."""
    low, high = face_in / 2, length_in - face_in / 2
    if low > high or centre_in < low - face_in or centre_in > high + face_in:
        return centre_in
    return min(max(centre_in, low), high)


def board_shapes_px(
    plan: SurfacePlan, plane: WallPlane, between_in: tuple[float, float] | None = None
) -> BoardShapes:
    """The plan of one wall as lines in the photo (upright pixels), lens distortion included.

    `between_in` says from where to where along the wall the photo shows it, when it does not show all:
    what lies beyond is left out, since a lens's distortion means nothing far outside the picture.
    """
    pieces, seams = [], []
    for number, row in enumerate(plan.rows):
        low, high = (-math.inf, math.inf) if between_in is None or row.direction != "x" else between_in
        for whole in row.pieces:
            if whole.right_in <= low or whole.left_in >= high:
                continue
            piece = replace(
                whole,
                left_in=max(whole.left_in, low),
                right_in=min(whole.right_in, high),
                cutouts=tuple(h for h in whole.cutouts if h.left_in >= low and h.right_in <= high),
            )
            # A piece that was cut down says so itself; 0 and 0 mean as high as its row.
            bottom, top = piece.bottom_in, piece.top_in
            if top <= bottom:
                bottom, top = row.bottom_in, row.top_in
            middle = _in_wall(row, (piece.left_in + piece.right_in) / 2, (bottom + top) / 2)
            pieces.append(
                PieceShape(
                    outline_px=_rectangle_px(plane, row, piece.left_in, piece.right_in, bottom, top),
                    cutouts_px=tuple(
                        _rectangle_px(plane, row, hole.left_in, hole.right_in, hole.bottom_in, hole.top_in)
                        for hole in piece.cutouts
                    ),
                    label_px=_points_px(plane, [middle])[0],
                    number=piece.number,
                    sheet=piece.sheet,
                    row=number,
                    length_in=whole.length_in,
                )
            )
        for seam in row.seams:
            if not low <= seam.position_in <= high:
                continue
            ends = [_in_wall(row, seam.position_in, across) for across in (row.bottom_in, row.top_in)]
            seams.append(
                SeamShape(
                    _points_px(plane, _sampled(ends)), seam.member_id, seam.sure, number, seam.position_in
                )
            )
    return BoardShapes(tuple(pieces), tuple(seams))


def _in_wall(row: Row, along_in: float, across_in: float) -> tuple[float, float]:
    """Wall x, y of a place in a row (`Row.direction` "y" exchanges the two)."""
    return (along_in, across_in) if row.direction == "x" else (across_in, along_in)


def _rectangle_px(
    plane: WallPlane, row: Row, left: float, right: float, bottom: float, top: float
) -> PolylinePx:
    corners = [
        _in_wall(row, along, across)
        for along, across in ((left, bottom), (right, bottom), (right, top), (left, top), (left, bottom))
    ]
    return _points_px(plane, _sampled(corners)[:-1])


def _sampled(points_in: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """The same line with points at most `SAMPLE_STEP_IN` apart."""
    out = [points_in[0]]
    for (x0, y0), (x1, y1) in pairwise(points_in):
        steps = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / SAMPLE_STEP_IN))
        out += [(x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps) for i in range(1, steps + 1)]
    return out


def _points_px(plane: WallPlane, points_in: list[tuple[float, float]]) -> PolylinePx:
    return tuple((float(x), float(y)) for x, y in plane.to_photo(np.array(points_in)))


def in_file_px(reading: Reading, shrunk_by: int) -> Reading:
    """The reading with its pixel figures in the file's own pixels instead of the shrunk photo's.

    The plane and the reference keep the shrunk photo's pixels; only what is printed is turned.
    """
    if shrunk_by == 1:
        return reading

    def big(point: tuple[float, float]) -> tuple[float, float]:
        return ((point[0] + 0.5) * shrunk_by - 0.5, (point[1] + 0.5) * shrunk_by - 0.5)

    wall = reading.wall
    if wall is not None:
        a, b, c, d = (big(point) for point in wall.corners_px)
        wall = replace(wall, corners_px=(a, b, c, d))
    return replace(
        reading,
        width_px=reading.width_px * shrunk_by,
        height_px=reading.height_px * shrunk_by,
        wall=wall,
        members=tuple(
            replace(member, front_px=(big(member.front_px[0]), big(member.front_px[1])))
            for member in reading.members
        ),
    )
