"""Rough openings by their framing: header, sill, trimmers and cripples between two full-height members.

A door or a window is framed by kings beside it, a header across, trimmers under the header's ends,
cripples over the header and under a sill (US Navy NAVEDTRA 14044; common practice). Between two neighbouring
full-height members every level piece is sought first; the short uprights stand in what these leave.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np

from vision.bay import ACROSS, FRONT, LEAST_FACE, Bay, Level, Part
from vision.extent import Upright
from vision.runs import runs_of
from vision.wall_picture import WallPicture

# Lengths in faces (1 1/2 in of timber). Tuning scenes: headers 3 1/2 to 9 1/4 in high over 27 to 60 in.
NARROWEST, WIDEST = 9.0, 90.0  # clear between the kings
WIDER_THAN_BAY = 16.0  # narrower ones may be a bay with blocking
TWO_PLATES = 2.5
HEADER_WITH_PLATES = 3.5  # high, with the top plates that it lies against
LEAST_UNDER_PLATES = 0.8  # of such a header alone, where another bay shows how high the plates are
LEAST_HEADER, PLAIN_HEADER = 0.7, 1.9  # a lone flat piece; one that cannot be blocking
HEADER_FROM = 0.55  # of the wall's height: no header's underside lies lower
LOWEST_DOOR_HEAD = 0.36  # of the wall's height, from the top: 80 in of 125 in; a lower one is a window's sill
LEAST_OPEN, LEAST_SHORT = 8.0, 1.3  # height of an opening; of the room for a cripple
BESIDE_KING = 0.6  # between a king's edge, as it was chosen, and its trimmer
BESIDE_KINGS = 2.2  # from a king's edge on no trimmer is left
MOST_PLIES = 3
# Clear width from which a header may rest on two trimmers at an end: narrower ones have one (jack studs, IRC
# Table R602.7, from memory: two from spans of 5 to 8 ft on).
TWO_TRIMMERS = 40.0
FURTHER_PLY = 0.85  # share of the height over which a second trimmer is seen
PLATE = 0.4  # share of plate along the floor, where one runs through
FAINT_FRONT, PLAIN_FRONT = 0.6, 0.85  # of one cripple; of two side by side, since a leaning pallet has less


@dataclass(frozen=True)
class RoughOpening:
    """An opening between the members round it, in the straightened picture.

    Attributes
    ----------
    left, right : float
        Columns between which it is clear.
    head, sill : float
        Header's underside and the sill's upper side (1.0: a door), 0 at the region's top and 1 at its bottom.
    trimmers, cripples : tuple of Upright
    """

    left: float
    right: float
    head: float
    sill: float
    trimmers: tuple[Upright, ...]
    cripples: tuple[Upright, ...]

    @property
    def short(self) -> tuple[Upright, ...]:
        """All its members that are not full-height."""
        return (*self.trimmers, *self.cripples)


def find_rough_openings(ups: list[Upright], picture: WallPicture, face_px: float) -> list[RoughOpening]:
    """Openings between neighbouring full-height members, left to right.

    Where the photo cuts a wall off it is read from its first to its last full-height member: an opening
    beyond is none of it.

    Parameters
    ----------
    ups : list of Upright
    picture : WallPicture
    face_px : float
        Width of one face, columns.
    """
    if picture.maps is None:
        return []
    tall = sorted((u.stretch for u in ups if u.full), key=lambda s: s.centre)
    bays = [
        (Bay(picture, picture.maps, a.right, b.left, face_px), max(a.plies, b.plies) > 1)
        for a, b in itertools.pairwise(tall)
    ]
    thick = _with_header([bay for bay, _ in bays])
    out = []
    for bay, double in bays:
        found = _opening(bay, double, thick)
        if found is None and (part := _under_header(bay)) is not None:
            found = _opening(part, False, thick)
        if found is not None:
            out.append(found)
    return out


def _with_header(bays: list[Bay]) -> float:
    """How thick, in faces, the top plates and a header against them are at least."""
    plates = [bay.faces(bay.under_top_plate) for bay in bays if bay.under_top_plate]
    if len(plates) < 2:
        return HEADER_WITH_PLATES
    return max(1.0, min(plates)) + LEAST_UNDER_PLATES  # a plate is a face high


def with_framing(ups: list[Upright], openings: list[RoughOpening]) -> list[Upright]:
    """The members with the openings' trimmers and cripples instead of what else was found short there."""

    def inside(u: Upright, o: RoughOpening) -> bool:
        ends = [o.left, o.right, *(end for s in o.short for end in (s.stretch.left, s.stretch.right))]
        return min(ends) <= u.stretch.centre <= max(ends)

    kept = [u for u in ups if u.full or not any(inside(u, o) for o in openings)]
    return sorted([*kept, *(u for o in openings for u in o.short)], key=lambda u: (u.stretch.centre, u.top))


def _under_header(bay: Bay) -> Bay | None:
    """The part of a bay that one level piece spans: where a king was missed, a header shows its place.

    None where no piece is wide and high enough for one.
    """
    columns = bay.columns()
    rows = bay.maps.across[bay.rows(0.0, 1 - HEADER_FROM), columns] > ACROSS
    least = NARROWEST * bay.face
    rows = rows[round(TWO_PLATES * bay.face_rows) :]
    longest = [max(runs_of(row), key=lambda r: r[1] - r[0]) for row in rows[rows.sum(1) > least]]
    wide = [run for run in longest if run[1] - run[0] > least]
    if len(wide) < LEAST_HEADER * bay.face_rows:
        return None
    left, right = (columns.start + float(np.median(ends)) for ends in zip(*wide, strict=True))
    return replace(bay, left=left, right=right)


def _opening(bay: Bay, double: bool, thick: float) -> RoughOpening | None:
    """The opening in a bay.

    `double` says that a member beside it has two plies, a trimmer among them; `thick`, in faces, from where
    on what lies at the top is more than plates.
    """
    header = _header(bay, thick) if NARROWEST <= bay.clear <= WIDEST else None
    if header is None:
        return None
    head = header.bottom
    sill = _sill(bay, head)
    if sill is None and head > LOWEST_DOOR_HEAD:
        return None
    left, right = _trimmers(bay, head, sill)
    trimmers = tuple(u for u in (left, right) if u is not None)
    clear_left = left.stretch.right if left else bay.left
    clear_right = right.stretch.left if right else bay.right
    cripples = _cripples(bay, bay.under_top_plate, header.top, bay.left, bay.right)
    if sill is not None:
        cripples += _cripples(bay, sill.bottom, bay.over_bottom_plate, clear_left, clear_right)
    plain = bay.faces(head - header.top) >= PLAIN_HEADER
    if bay.clear < WIDER_THAN_BAY:
        framed = len(trimmers) == 2 and plain
    elif header.top == 0.0:
        framed = bool(trimmers or cripples) or double or sill is not None
    else:
        framed = bool(trimmers or cripples) or (plain and (sill is not None or not _has_bottom_plate(bay)))
    if not framed:
        return None
    foot = sill.top if sill else 1.0
    return RoughOpening(clear_left, clear_right, head, foot, trimmers, tuple(cripples))


def _header(bay: Bay, thick: float) -> Level | None:
    """The highest level piece under the plates, or against them where it is thick enough.

    Where cripples stand between it and a lower one, that one is the header. A window's sill may lie as high
    as another's header, but no upright stands between it and the header.
    """
    found = [
        level
        for level in bay.levels
        if level.bottom <= 1 - HEADER_FROM
        and bay.faces(level.bottom - level.top) >= (thick if level.top == 0.0 else LEAST_HEADER)
    ]
    inside = BESIDE_KINGS * bay.face
    for upper, lower in itertools.pairwise(found):
        if not _cripples(bay, upper.bottom, lower.top, bay.left + inside, bay.right - inside):
            return upper
    return found[-1] if found else None


def _sill(bay: Bay, head: float) -> Level | None:
    below = [v for v in bay.levels if bay.faces(v.top - head) > LEAST_OPEN and v.bottom < 1.0]
    return below[0] if below else None


def _has_bottom_plate(bay: Bay) -> bool:
    part = bay.maps.plate[bay.rows(1.0 - 1.0 / bay.faces(1.0), 1.0), bay.columns(1.0)]
    return part.size > 0 and float(part.mean()) > PLATE


def _trimmers(bay: Bay, head: float, sill: Level | None) -> tuple[Upright | None, Upright | None]:
    """The trimmers beside either king, where they stand: under the header, seen above the sill."""
    part = bay.part(head, sill.top if sill else 1.0 - 1.0 / bay.faces(1.0))
    below = bay.part(sill.bottom, 1.0) if sill else None
    if part is None:
        return None, None
    out: list[Upright | None] = []
    for king, inward in ((bay.left, 1), (bay.right, -1)):
        inner = _trimmer_edge(part, king, inward)
        if inner is None:
            out.append(None)
            continue
        most = MOST_PLIES if bay.clear > TWO_TRIMMERS else 1
        plies = int(np.clip(round(abs(inner - king) / bay.face), 1, most))
        if abs(inner - king) > (plies + BESIDE_KING) * bay.face:
            inner = part.edge(king + inward * plies * bay.face)[0]
        while plies > 1 and part.seen(*sorted((inner, inner - inward * bay.face))) < FURTHER_PLY:
            plies -= 1  # a side face that was taken for a front one over part of its height
            inner = part.edge(king + inward * plies * bay.face)[0]
        left, right = sorted((inner, inner - inward * plies * bay.face))
        foot = 1.0
        if sill is not None and below is not None:
            a, b = max(0, round(left)), max(1, round(right))
            foot = 1.0 if below.column[a:b].mean() > FRONT else sill.top
        out.append(part.upright(left, right, plies, head, foot))
    return out[0], out[1]


def _trimmer_edge(part: Part, king: float, inward: int) -> float | None:
    """The column where the trimmers beside a king end towards the opening; None where there are none."""
    slack = BESIDE_KING * part.face
    near, far = king - inward * slack, king + inward * (MOST_PLIES * part.face + slack)
    for a, b in part.spans(min(near, far), max(near, far)):
        outer, inner = (a, b) if inward > 0 else (b, a)
        if abs(outer - king) <= slack + 1 and inward * (inner - king) >= LEAST_FACE * part.face:
            return part.edge(inner)[0]
    return None


def _cripples(bay: Bay, top: float, bottom: float, left: float, right: float) -> list[Upright]:
    """Short uprights between two level pieces, the plate among them; columns `left` to `right`."""
    part = bay.part(top, bottom) if bay.faces(bottom - top) >= LEAST_SHORT else None
    if part is None:
        return []
    reach = (0.0, bottom) if top == bay.under_top_plate else (top, 1.0)
    out = []
    for a, b in part.spans(left, right):
        plies = int(np.clip(round((b - a) / bay.face), 1, MOST_PLIES))
        middle, half = 0.5 * (a + b), 0.5 * plies * bay.face
        u = part.upright(middle - half, middle + half, plies, *reach)
        if u.stretch.front >= PLAIN_FRONT or (plies == 1 and u.stretch.front >= FAINT_FRONT):
            out.append(u)
    return out
