"""One long wall out of several overlapping photos, joined through the members they share.

Each photo's reading has its own left end and its own scale error. A pairing of neighbouring photos
says which member of the one is which of the other; all positions, offsets and scales then come out
of one weighted adjustment (least squares with the variances as weights, Mikhail & Ackermann 1976),
so that shared members are averaged by inverse variance and every ± is carried through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.advice import warning
from vision.bow import bow_warnings
from vision.checks import NONE_SURE
from vision.doubt import WIDE_SIGMA_IN
from vision.error_parts import LEAST_OWN_IN, ErrorParts, error_parts
from vision.joining_adjustment import Adjusted, Sighting, adjust
from vision.pairing import LEAST_SHARED, JoiningError, Pairing, pair_up
from vision.photo import Photo
from vision.plumb import plumb_warnings
from vision.reading import Member, Opening, Reading, Wall, Warning
from vision.wall_plane import WallPlane

DISAGREE_SHARE = 0.005
SETTLED_SHARE, LEAST_TO_SETTLE = 0.01, 3
MOST_OFF_SIGMAS = 4.0
OPENING_SAME_IN = 3.0
JOINED_DOUBT_WORDS = {
    "photos_differ": "the photos do not agree on its place",
    "carried_over": "its place was carried over from one photo to the next",
    "seen_once": "only one of the photos that look there shows it",
}


@dataclass(frozen=True)
class Joined:
    """One wall read off several photos.

    Attributes
    ----------
    members : tuple of Member
        Left to right, in inches from the wall's left end; `front_px` lies in the photo `photo_of`.
    photo_of : tuple of int
        For each member the photo, counted from 0 at the left, whose pixels `front_px` are.
    seen_in : tuple of tuple of int
        For each member every photo that shows it.
    wall : Wall
        `corners_px` on the left lie in the first photo, those on the right in the last.
    planes : tuple of WallPlane
        Per photo: its pixels to inches of the whole wall.
    offsets_in, offset_sigmas_in : tuple of float
        Where each photo's own zero lies along the wall.
    openings : tuple of Opening
    warnings : tuple of Warning
        Of all photos, and of the joining.
    readings : tuple of Reading
        As they were given.
    """

    members: tuple[Member, ...]
    photo_of: tuple[int, ...]
    seen_in: tuple[tuple[int, ...], ...]
    wall: Wall
    planes: tuple[WallPlane, ...]
    offsets_in: tuple[float, ...]
    offset_sigmas_in: tuple[float, ...]
    openings: tuple[Opening, ...]
    warnings: tuple[Warning, ...]
    readings: tuple[Reading, ...]


def join_readings(
    readings: Sequence[Reading],
    photos: Sequence[Photo] | None = None,
    same: Sequence[tuple[int, int] | None] | None = None,
) -> Joined:
    """Join overlapping photos of one wall, given from left to right.

    Parameters
    ----------
    readings : sequence of Reading
        Two or more.
    photos : sequence of Photo, optional
        The photos themselves; without them only a pattern of members that does not repeat decides.
    same : sequence of (int, int) or None, optional
        For each pair of neighbouring photos a member of the left one and the same member in the right
        one, as indices into `members`, where the user said so.

    Raises
    ------
    JoiningError
        A photo that was refused, an overlap that does not match or fits in several ways.
    """
    if len(readings) < 2:
        raise JoiningError("Joining needs two or more photos of the wall: give them from left to right.")
    told = same if same is not None else (None,) * (len(readings) - 1)
    if len(told) != len(readings) - 1 or (photos is not None and len(photos) != len(readings)):
        raise JoiningError("Give one photo per reading, and one shared stud for each two neighbours.")
    for k, reading in enumerate(readings):
        if reading.refused or reading.wall is None or reading.plane is None:
            why = reading.warnings[-1].message if reading.refused and reading.warnings else ""
            why = why or "It could not be read."
            raise JoiningError(f"Photo {k + 1} cannot be joined. {why} Take that one again.")
    pairings = [
        pair_up(
            readings[k], readings[k + 1], told[k], None if photos is None else (photos[k], photos[k + 1]), k
        )
        for k in range(len(readings) - 1)
    ]
    return _joined(tuple(readings), pairings)


def _joined(readings: tuple[Reading, ...], pairings: list[Pairing]) -> Joined:
    names = _common_names(readings, pairings)
    count = max(max(row) for row in names) + 1
    walls = [r.wall for r in readings]
    assert all(w is not None for w in walls)
    last = walls[-1]
    first = walls[0]
    assert last is not None
    assert first is not None
    parts = [error_parts(r.members) for r in readings]
    sightings = [
        Sighting(k, names[k][i], m.centre_in, float(parts[k].own_in[i]))
        for k, r in enumerate(readings)
        for i, m in enumerate(r.members)
    ]
    end_own = _end_own_in(readings[-1], last, parts[-1])
    sightings.append(Sighting(len(readings) - 1, count, last.length_in, end_own))
    done = adjust(
        sightings,
        [p.relative for p in parts],
        parts[0].origin_in,
        count + 1,
    )
    settled = _settled_scales(readings, pairings)
    warnings = [
        w
        for k, r in enumerate(readings)
        for w in r.warnings
        # Where a leaning or bowed stud stands is said in its own photo's inches.
        if not (
            w.code in ("wall_cut_off", "out_of_plumb", "out_of_square", "bowed")
            or (w.code == "assumed_spacing" and settled[k])
            or (w.code == "height_unsure" and not all(r.says("height_unsure") for r in readings))
        )
    ]
    if first.cut_left or last.cut_right:
        warnings.append(warning("wall_cut_off"))
    given = [not r.reference.assumed for r in readings]
    warnings += _disagreement(pairings, given)
    order = np.argsort(done.at_in[:count])
    members, photo_of, seen_in = [], [], []
    for name in order:
        shown = [(k, i) for k, row in enumerate(names) for i, n in enumerate(row) if n == name]
        member, k = _one_member(readings, shown, done, int(name), settled)
        members.append(member)
        photo_of.append(k)
        seen_in.append(tuple(k for k, _ in shown))
    warnings += [*plumb_warnings(members), *bow_warnings(members)]
    if any(m.sure for m in members):  # of one photo it may be true, of the whole wall it is not
        warnings = [w for w in warnings if w.code not in NONE_SURE]
    scales = 1.0 - done.stretch
    planes = tuple(
        r.plane.moved(float(scales[k]), float(done.offset_in[k]))
        for k, r in enumerate(readings)
        if r.plane is not None
    )
    weights = np.array([1 / max(w.height_sigma_in, 0.01) ** 2 for w in walls if w is not None])
    heights = np.array([scales[k] * w.height_in for k, w in enumerate(walls) if w is not None])
    wall = Wall(
        float(done.at_in[count]),
        float(done.sigma_in[count]),
        float(weights @ heights / weights.sum()),
        # The plates' outer edges, the main doubt, are the same in every photo: no gain from several.
        min(w.height_sigma_in for w in walls if w is not None),
        (first.corners_px[0], last.corners_px[1], last.corners_px[2], first.corners_px[3]),
        first.cut_left,
        last.cut_right,
    )
    return Joined(
        tuple(members),
        tuple(photo_of),
        tuple(seen_in),
        wall,
        planes,
        tuple(float(v) for v in done.offset_in),
        tuple(float(v) for v in done.offset_sigma_in),
        _openings(readings, scales, done.offset_in),
        tuple(dict.fromkeys(warnings)),
        readings,
    )


def _end_own_in(reading: Reading, wall: Wall, parts: ErrorParts) -> float:
    """The doubt of the wall's right end alone: what the length has beyond its share in the last member."""
    i = max(range(len(reading.members)), key=lambda k: reading.members[k].centre_in)
    own2 = float(parts.own_in[i]) ** 2
    rest = wall.length_sigma_in**2 - reading.members[i].sigma_in ** 2
    return float(np.sqrt(max(LEAST_OWN_IN**2, rest + own2)))


def _common_names(readings: tuple[Reading, ...], pairings: list[Pairing]) -> list[list[int]]:
    """One number per member of the wall, for each photo's members in turn."""
    names: list[list[int]] = [list(range(len(readings[0].members)))]
    free = len(names[0])
    for k, way in enumerate(pairings):
        shared = {q: p for p, q in way.pairs}
        row = []
        for q in range(len(readings[k + 1].members)):
            if q in shared:
                row.append(names[k][shared[q]])
            else:
                row.append(free)
                free += 1
        names.append(row)
    return names


def _one_member(
    readings: tuple[Reading, ...],
    shown: list[tuple[int, int]],
    done: Adjusted,
    name: int,
    settled: tuple[bool, ...],
) -> tuple[Member, int]:
    """The member as its best photo shows it, at its adjusted place."""

    def doubts_of(s: tuple[int, int]) -> tuple[str, ...]:
        return tuple(
            d for d in readings[s[0]].members[s[1]].doubts if not (d == "assumed_scale" and settled[s[0]])
        )

    # The photo that doubts it least shows it best: the others see it at their borders or hidden.
    k, i = min(shown, key=lambda s: (len(doubts_of(s)), readings[s[0]].members[s[1]].sigma_in))
    best = readings[k].members[i]
    doubts = doubts_of((k, i))
    at, sigma = float(done.at_in[name]), float(done.sigma_in[name])
    for q, j in shown:
        m = readings[q].members[j]
        here = done.offset_in[q] + (1.0 - done.stretch[q]) * m.centre_in
        if abs(here - at) > MOST_OFF_SIGMAS * max(sigma, 0.04) and abs(here - at) > 0.25:
            doubts = (*doubts, "photos_differ")
            break
    if len(shown) == 1 and not doubts and _in_overlap(readings, done, at, k):
        doubts = ("seen_once",)
    if sigma > WIDE_SIGMA_IN and "wide_error" not in doubts:
        # Every place counts from the first photo's left end, however well its own photo shows it.
        doubts = (*doubts, "wide_error")
    if all(q != 0 for q, _ in shown):
        # On validation cuts 0.86 of the joined places called sure were right, far from 0.995: until the
        # error carried through the joint is understood, nothing beyond the first photo is sure.
        doubts = (*doubts, "carried_over")
    return replace(best, centre_in=at, sigma_in=sigma, sure=not doubts, doubts=doubts), k


def _in_overlap(readings: tuple[Reading, ...], done: Adjusted, at_in: float, k: int) -> bool:
    """Whether a neighbouring photo shows this place too, clear of where it is cut off."""
    for q in (k - 1, k + 1):
        if 0 <= q < len(readings) and len(readings[q].members) > 1:
            own = [done.offset_in[q] + m.centre_in for m in readings[q].members]
            if min(own) + 1.0 < at_in < max(own) - 1.0:
                return True
    return False


def _settled_scales(readings: tuple[Reading, ...], pairings: list[Pairing]) -> tuple[bool, ...]:
    """Per photo, whether its scale rests on a length somebody gave, its own or a neighbour's.

    A guessed spacing (16 where it was 24 in) would be far off beside a neighbour that has a length.
    """
    settled = [not r.reference.assumed for r in readings]
    links = [len(w.pairs) >= LEAST_TO_SETTLE and abs(w.scale - 1.0) < SETTLED_SHARE for w in pairings]
    for _ in readings:
        for k, good in enumerate(links):
            if good and (settled[k] or settled[k + 1]):
                settled[k] = settled[k + 1] = True
    return tuple(settled)


def as_reading(joined: Joined) -> Reading:
    """The whole wall as one reading: its pixels are those of the photo named in `joined.photo_of`,
    its plane and size those of the first photo."""
    first = joined.readings[0]
    return replace(
        first,
        wall=joined.wall,
        plane=joined.planes[0],
        members=joined.members,
        openings=tuple(o for o in joined.openings if o.kind != "box"),
        boxes=tuple(o for o in joined.openings if o.kind == "box"),
        warnings=joined.warnings,
    )


def _disagreement(pairings: list[Pairing], given: list[bool]) -> list[Warning]:
    """Neighbouring photos whose lengths differ, where somebody gave both (`given`, one per photo)."""
    out = []
    for k, way in enumerate(pairings):
        if len(way.pairs) < LEAST_SHARED or not (given[k] and given[k + 1]):
            continue
        off = abs(way.scale - 1.0)
        if off >= DISAGREE_SHARE:
            out.append(
                Warning(
                    "references_disagree",
                    f"The references of photos {k + 1} and {k + 2} differ by {100 * off:.1f} %.",
                    "Check the length and the marks of both.",
                )
            )
    return out


def _openings(
    readings: tuple[Reading, ...], scales: NDArray[np.float64], offsets: NDArray[np.float64]
) -> tuple[Opening, ...]:
    out: list[Opening] = []
    for k, r in enumerate(readings):
        for o in (*r.openings, *r.boxes):
            moved = replace(
                o,
                left_in=float(offsets[k] + scales[k] * o.left_in),
                right_in=float(offsets[k] + scales[k] * o.right_in),
                bottom_in=float(scales[k] * o.bottom_in),
                top_in=float(scales[k] * o.top_in),
            )
            if not any(
                (moved.kind == "box") == (q.kind == "box")
                and moved.bottom_in < q.top_in
                and q.bottom_in < moved.top_in  # a box for a switch stands above one for an outlet
                and abs(moved.left_in - q.left_in) < OPENING_SAME_IN
                and abs(moved.right_in - q.right_in) < OPENING_SAME_IN
                for q in out
            ):
                out.append(moved)
    return tuple(sorted(out, key=lambda o: o.left_in))
