"""Which members of two overlapping photos of one wall are the same ones.

A way to overlap is a shift of the right photo along the wall. Studs at one spacing fit at every whole
bay, so the number that fit says little. What tells the true way is what is not even: gaps that are no
whole bays, doubled members, openings, the carpenter's scatter about the marks, members that one photo
shows and the other, looking at the same place, does not; and the faces themselves
(`vision.wall_strips`). Each speaks for a way with the log of how much likelier it is there than by
chance (Good 1950, weight of evidence); a way is taken only when it leads clearly.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.photo import Photo
from vision.reading import Member, Opening, Reading
from vision.scale import USUAL_SPACINGS_IN
from vision.wall_strips import Faces, faces_of, likeness

LEAST_SHARED = 2
NEAR_IN, NEAR_SHARE = 0.6, 0.012  # how far a shared member may be off, and more per inch from the first
UNMATCHED_SHARE = 0.5  # of the members in the overlap
BORDER_IN = 3.0  # a member this near the photo's border may be cut off
SAME_WAY_IN = 2.0
# Natural logs of likelihood ratios, by judgement and by 25 pairs of views cut from tuning scenes.
ODD_GAP, DOUBLED, OPENING, LONE, LONE_UNSURE = 2.5, 1.5, 3.0, -2.5, -0.5
CHANCE_SIGMA_IN, SAME_SIGMA_IN = 0.25, 0.13  # two studs on the same mark; one stud in two photos
LIKENESS_WEIGHT = 20.0
LEAST_EVIDENCE, LEAST_WITH_FACES, LEAST_LEAD = 4.0, 7.0, 3.0


class JoiningError(ValueError):
    """The photos cannot be joined; the text says why and what to do.

    `pair` is the number, from 0, of the left one of the two photos that do not fit (None where the fault
    lies in one photo alone): naming a stud that is in both may help there.
    """

    def __init__(self, message: str, *, pair: int | None = None) -> None:
        super().__init__(message)
        self.pair = pair


@dataclass(frozen=True)
class Pairing:
    """Members of a left photo and the same ones in the photo to its right, as (index, index).

    Attributes
    ----------
    pairs : tuple of (int, int)
    unmatched : float
        Members that only one photo shows where the other looks too; an unsure one counts a fifth.
    scale, offset_in : float
        Left inches = offset + scale * right inches.
    evidence : float
        Log of how much likelier these members agree here than by chance.
    """

    pairs: tuple[tuple[int, int], ...]
    unmatched: float
    scale: float
    offset_in: float
    evidence: float = 0.0


def pair_up(
    left: Reading,
    right: Reading,
    same: tuple[int, int] | None = None,
    photos: tuple[Photo, Photo] | None = None,
    number: int = 0,
) -> Pairing:
    """Which members of two neighbouring photos are the same.

    Parameters
    ----------
    left, right : Reading
        Not refused.
    same : (int, int), optional
        A member of the left photo and the same one in the right photo, by the user's word.
    photos : two Photo, optional
        Let the faces' own patterns be compared.
    number : int
        Of the left photo, counted from 0, for the sentences.

    Raises
    ------
    JoiningError
        No way fits, or several do and neither the pattern nor the pictures tell which.
    """
    if same is not None:
        return _told(left, right, same, number)
    ways = _ways(left, right)
    if not ways:
        raise JoiningError(
            f"Photos {number + 1} and {number + 2} do not match: no two studs of one stand as in the other. "
            "Take them again so that at least three studs are in both, or check the reference of each.",
            pair=number,
        )
    if photos is not None:
        faces = _faces(left, right, photos)
        ways = [
            replace(w, evidence=w.evidence + LIKENESS_WEIGHT * _likeness(left, right, faces, w)) for w in ways
        ]
        ways.sort(key=lambda w: -w.evidence)
    second = ways[1].evidence if len(ways) > 1 else 0.0
    least = LEAST_EVIDENCE if photos is None else LEAST_WITH_FACES
    if ways[0].evidence >= least and ways[0].evidence - max(0.0, second) >= LEAST_LEAD:
        return ways[0]
    raise JoiningError(
        f"Photos {number + 1} and {number + 2} fit in more than one way, since the studs stand at even "
        "spacing. Say which stud is in both: its number in the left photo and its number in the right one.",
        pair=number,
    )


def _told(left: Reading, right: Reading, same: tuple[int, int], number: int) -> Pairing:
    i, j = same
    if not (0 <= i < len(left.members) and 0 <= j < len(right.members)):
        raise JoiningError(
            f"Photos {number + 1} and {number + 2}: there is no such stud; count the studs in each photo "
            "from the left.",
            pair=number,
        )
    found = _pairing(left, right, i, j)
    if found is None or not _fits(found, least=1):
        raise JoiningError(
            f"Photos {number + 1} and {number + 2} do not match with stud {i + 1} of the left one as stud "
            f"{j + 1} of the right one: the studs beside them stand elsewhere. Name another pair, or correct "
            "the studs first.",
            pair=number,
        )
    return found


def _ways(left: Reading, right: Reading) -> list[Pairing]:
    """Every distinct way in which the two overlap, the likeliest first."""
    found = [_pairing(left, right, i, j) for i in range(len(left.members)) for j in range(len(right.members))]
    ways = [replace(w, evidence=_evidence(left, right, w)) for w in found if w and _fits(w, LEAST_SHARED)]
    kept: list[Pairing] = []
    for way in sorted(ways, key=lambda w: (-w.evidence, w.pairs)):
        if not any(abs(way.offset_in - k.offset_in) < SAME_WAY_IN for k in kept):
            kept.append(way)
    return kept


def _fits(way: Pairing, least: int) -> bool:
    return len(way.pairs) >= least and way.unmatched <= UNMATCHED_SHARE * len(way.pairs)


def shown_in(reading: Reading) -> tuple[float, float]:
    """From where to where along the wall, at mid-height, a photo shows it, in its own inches."""
    assert reading.plane is not None
    assert reading.wall is not None
    mid = 0.5 * reading.wall.height_in
    along = np.linspace(-20.0, reading.wall.length_in + 20.0, 160)
    x_px = reading.plane.to_photo(np.column_stack([along, np.full(len(along), mid)]))[:, 0]
    inside = along[(x_px >= -0.5) & (x_px <= reading.width_px - 0.5)]
    return (float(inside[0]), float(inside[-1])) if len(inside) else (0.0, reading.wall.length_in)


def _pairing(left: Reading, right: Reading, i: int, j: int) -> Pairing | None:
    """The pairing that follows from member `i` being member `j`; None where kinds or sides forbid it."""
    a, b = left.members, right.members
    if a[i].kind != b[j].kind or a[i].plies != b[j].plies or left.wall is None or right.wall is None:
        return None
    shift = a[i].centre_in - b[j].centre_in
    if shift < 1.0 or shift + right.wall.length_in < left.wall.length_in - NEAR_IN - 2.0:
        return None  # the right photo must show more on the right and less on the left
    pairs: list[tuple[int, int]] = []
    taken: set[int] = set()
    for p, m in enumerate(a):
        slack = NEAR_IN + NEAR_SHARE * abs(m.centre_in - a[i].centre_in)
        near = [
            q
            for q, n in enumerate(b)
            if q not in taken and n.kind == m.kind and abs(n.centre_in + shift - m.centre_in) < slack
        ]
        if near:
            q = min(near, key=lambda q: abs(b[q].centre_in + shift - m.centre_in))
            taken.add(q)
            pairs.append((p, q))
    xa = np.array([a[p].centre_in for p, _ in pairs])
    xb = np.array([b[q].centre_in for _, q in pairs])
    scale = 1.0
    if len(pairs) > 1 and np.ptp(xb) > 10:
        scale = float(np.clip(np.polyfit(xb, xa, 1)[0], 1 - 2 * NEAR_SHARE, 1 + 2 * NEAR_SHARE))
    offset = float(np.mean(xa - scale * xb))
    alone_a = [m for p, m in enumerate(a) if p not in {q for q, _ in pairs}]
    alone_b = [n for q, n in enumerate(b) if q not in taken]
    lone = _looked_at(alone_a, shown_in(right), shift) + _looked_at(alone_b, shown_in(left), -shift)
    unmatched = sum(1.0 if m.sure or m.plies > 1 else LONE_UNSURE / LONE for m in lone)
    return Pairing(tuple(pairs), unmatched, scale, offset)


def _looked_at(members: list[Member], other: tuple[float, float], shift: float) -> list[Member]:
    """Those of `members` that stand where the other photo looks, clear of its borders."""
    low, high = other[0] + BORDER_IN, other[1] - BORDER_IN
    return [m for m in members if low < m.centre_in - shift < high]


def _evidence(left: Reading, right: Reading, way: Pairing) -> float:
    """Log of how much likelier the two agree here than two stretches of studs that merely stand alike."""
    total = LONE * way.unmatched
    spacing = _spacing(left, right)
    for (p, _), (q, _) in itertools.pairwise(way.pairs):
        gap = left.members[q].centre_in - left.members[p].centre_in
        bays = round(gap / spacing)
        # An end member's middle is half a face off its mark.
        if abs(gap - bays * spacing) > 1.0 or bays == 0:
            total += ODD_GAP
    total += DOUBLED * sum(left.members[p].plies > 1 for p, _ in way.pairs)
    total += OPENING * _openings_agree(left.openings, right.openings, way, shown_in(left), shown_in(right))
    off = np.array(
        [
            left.members[p].centre_in - way.offset_in - way.scale * right.members[q].centre_in
            for p, q in way.pairs
        ]
    )
    return total + _scatter(off)


def _scatter(off_in: NDArray[np.float64]) -> float:
    """What the leftovers say: one stud seen twice leaves less than two studs set on like marks."""
    n = len(off_in)
    if n < 3:
        return 0.0
    free = (n - 2) / n  # offset and scale were fitted to them
    each = np.log(CHANCE_SIGMA_IN / SAME_SIGMA_IN) * free - 0.5 * np.minimum(off_in, 0.6) ** 2 * (
        SAME_SIGMA_IN**-2 - CHANCE_SIGMA_IN**-2
    )
    return float(np.maximum(each, -3.0).sum())


def _spacing(left: Reading, right: Reading) -> float:
    """The usual spacing that most gaps of both photos come nearest to."""
    gaps = np.concatenate(
        [np.diff([m.centre_in for m in r.members if m.kind == "full"]) for r in (left, right)]
    )
    gaps = gaps[gaps > 8.0]
    if not len(gaps):
        return USUAL_SPACINGS_IN[2]
    middle = float(np.median(gaps))
    return min(USUAL_SPACINGS_IN, key=lambda s: abs(s - middle))


def _openings_agree(
    left: tuple[Opening, ...],
    right: tuple[Opening, ...],
    way: Pairing,
    left_shown: tuple[float, float],
    right_shown: tuple[float, float],
) -> int:
    """Openings that both photos propose at one place."""
    return sum(
        abs(o.left_in - way.offset_in - way.scale * q.left_in) < 2.0
        and abs(o.right_in - way.offset_in - way.scale * q.right_in) < 2.0
        for o in left
        for q in right
        if o.right_in < left_shown[1] - BORDER_IN and q.left_in > right_shown[0] + BORDER_IN
    )


def _faces(left: Reading, right: Reading, photos: tuple[Photo, Photo]) -> Faces:
    assert left.plane is not None
    assert right.plane is not None
    assert left.wall is not None
    centres = (
        [m.centre_in for m in left.members if m.kind == "full"],
        [m.centre_in for m in right.members if m.kind == "full"],
    )
    return faces_of((photos[0].rgb, photos[1].rgb), (left.plane, right.plane), centres, left.wall.height_in)


def _likeness(left: Reading, right: Reading, faces: Faces, way: Pairing) -> float:
    """How like the faces are that this way takes for the same: those of full-height members."""
    at_left = {p: k for k, p in enumerate(i for i, m in enumerate(left.members) if m.kind == "full")}
    at_right = {q: k for k, q in enumerate(i for i, m in enumerate(right.members) if m.kind == "full")}
    pairs = [(at_left[p], at_right[q]) for p, q in way.pairs if p in at_left]
    # Few faces are alike by chance more easily than many.
    return likeness(faces, pairs) * len(pairs) / (len(pairs) + 1)
