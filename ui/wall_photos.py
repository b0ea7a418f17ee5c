"""A long wall in several photos: each with its own marks, joined through the studs they share.

Every photo is corrected by itself; what the user took off it or put on it stays with it. The joined
wall is what boards are planned from, and each photo is shown in the inches of the whole wall. Pure
functions: `ui.photos` and `ui.kept_job` bring the readings.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ui.corrections import CorrectedWall, LinePx, ShownMember, ShownOpening
from ui.corrections_json import line_from_json
from ui.rough_marks import ROUGH, marks_matter
from ui.store_rows import Surface, place_of
from vision import Joined, JoiningError, as_reading, join_readings
from vision.checks import fuse_checks, with_lengths_in
from vision.pairing import pair_up
from vision.photo import Photo
from vision.reading import Member, Opening, Reading, TapeCheck
from vision.wall_plane import WallPlane

SAME_STUD_IN = 1.0
"""A stud named by its line is found again this near to it: less than a face (as `ui.corrections`)."""
SAME_OPENING_IN = 3.0

SharedLine = tuple[LinePx, LinePx]
"""One stud in two neighbouring photos: its line in the left one and in the right one, photo pixels."""


@dataclass(frozen=True)
class WholeWall:
    """A wall as it stands, out of one photo or several.

    Attributes
    ----------
    whole : CorrectedWall
        What boards are planned from. Where the photos cannot be joined: the wall's own photo alone.
    views : tuple of CorrectedWall
        One per photo, from left to right; joined: in the inches and stud numbers of the whole wall.
    shared : int
        Studs that more than one photo shows.
    fault : JoiningError or None
        Why the photos are not joined.
    settled : bool
        Whether the scale rests on a length somebody gave.
    """

    whole: CorrectedWall
    views: tuple[CorrectedWall, ...]
    shared: int = 0
    fault: JoiningError | None = None
    settled: bool = False

    @property
    def proposed(self) -> tuple[Opening, ...]:
        """Doors, windows and boxes that the photos propose and nobody has accepted yet."""
        return proposed_openings(self.whole)

    @property
    def roughly_marked(self) -> tuple[int, ...]:
        """Numbers of the photos whose known length should be marked again; of one photo none is said."""
        if len(self.views) < 2 or self.fault is not None or not marks_matter(self.whole.reading):
            return ()
        return tuple(n for n, view in enumerate(self.views, start=1) if view.reading.says(ROUGH))

    def marks_again(self, view: CorrectedWall) -> bool:
        """Whether the known length of this photo, one of `views`, should be marked again: the wall says."""
        if len(self.views) < 2 or self.fault is not None:
            return marks_matter(view.reading)
        return any(view is self.views[n - 1] for n in self.roughly_marked)

    @property
    def doubtful(self) -> int:
        """What the user should look at: studs that are not sure, photos that are not joined."""
        return sum(not m.sure for m in self.whole.reading.members) + (self.fault is not None)


def proposed_openings(wall: CorrectedWall) -> tuple[Opening, ...]:
    """Doors, windows and boxes that a photo proposes and nobody has accepted yet."""
    return tuple(each for each in (*wall.reading.openings, *wall.reading.boxes) if not each.sure)


def photos_of(surface: Surface) -> tuple[Surface, ...]:
    """All photos of a wall from left to right, the wall's own among them."""
    left = [part for part in surface.more if place_of(part.settings) < 0]
    return (*left, surface, *surface.more[len(left) :])


def outer_of(surface: Surface, pair: int) -> Surface:
    """Of two neighbouring photos, `pair` and the next one, the one farther from the wall's own photo: it
    keeps the user's word on which stud is in both."""
    photos = photos_of(surface)
    return photos[pair + 1] if pair + 1 > photos.index(surface) else photos[pair]


def told_of(surface: Surface, pair: int) -> SharedLine | None:
    """The stud that the user said is in both photos of a pair; None when nobody said (of these two)."""
    photos, outer = photos_of(surface), outer_of(surface, pair)
    same = outer.settings.get("same")
    inner = photos[pair] if outer is photos[pair + 1] else photos[pair + 1]
    if not same or same["neighbour"] != inner.photo_sha256:
        return None
    own, other = line_from_json(same["own_px"]), line_from_json(same["neighbour_px"])
    return (other, own) if outer is photos[pair + 1] else (own, other)


def telling(surface: Surface, pair: int, shared: SharedLine) -> dict[str, Any]:
    """The settings of `outer_of` the pair with the user's word in them."""
    photos, outer = photos_of(surface), outer_of(surface, pair)
    right = outer is photos[pair + 1]
    inner = photos[pair] if right else photos[pair + 1]
    own, other = (shared[1], shared[0]) if right else shared
    same = {"neighbour": inner.photo_sha256, "own_px": own, "neighbour_px": other}
    return {**outer.settings, "same": same}


def check_photo_settings(settings: dict[str, Any]) -> None:
    """Refuse settings of a further photo that cannot be read: ValueError, KeyError or TypeError."""
    place = settings.get("place")
    if not isinstance(place, int) or isinstance(place, bool) or not 0 < abs(place) < 100:
        raise ValueError("a further photo lies left or right of the wall's own")
    same = settings.get("same")
    if same is not None:
        if not isinstance(same["neighbour"], str):
            raise TypeError("a photo is named by its digest")
        line_from_json(same["own_px"])
        line_from_json(same["neighbour_px"])


def renamed(settings: dict[str, Any], digests: Mapping[str, str]) -> dict[str, Any]:
    """The settings of a further photo where photos go by other digests, as after unpacking."""
    same = settings.get("same")
    if not same:
        return settings
    return {**settings, "same": {**same, "neighbour": digests.get(same["neighbour"], same["neighbour"])}}


def shared_lines(
    left: Reading, right: Reading, photos: tuple[Photo, Photo] | None, pair: int
) -> tuple[SharedLine, ...]:
    """The studs that the pictures themselves show to be the same ones, the middle one first.

    Raises
    ------
    JoiningError
        No way fits, or several do.
    """
    found = pair_up(left, right, None, photos, pair).pairs
    middle = (len(found) - 1) / 2
    nearest = sorted(range(len(found)), key=lambda k: (abs(k - middle), k))
    return tuple((left.members[found[k][0]].front_px, right.members[found[k][1]].front_px) for k in nearest)


def whole_wall(
    surface: Surface,
    corrected: Callable[[Surface, bool], CorrectedWall],
    found: Callable[[Surface, Surface, int], Sequence[SharedLine]],
) -> WholeWall:
    """The wall out of all its photos; out of its own alone, with the reason, where they do not fit.

    Parameters
    ----------
    surface : Surface
    corrected : callable
        Gives a photo with the user's changes over it, with its tape readings in it or without.
    found : callable
        Given two neighbouring photos and their number, the studs that the pictures show to be the same
        ones, the surest first; raises JoiningError when they do not tell.
    """
    own = corrected(surface, True)
    if not surface.more:
        return WholeWall(own, (own,), settled=not own.reading.reference.assumed)
    photos = photos_of(surface)
    walls = [corrected(photo, False) for photo in photos]
    try:
        shared: list[Sequence[SharedLine]] = []
        if all(can_be_joined(wall.reading) for wall in walls):
            for pair in range(len(walls) - 1):
                told = told_of(surface, pair)
                shared.append((told,) if told else found(photos[pair], photos[pair + 1], pair))
        return join_walls(surface, walls, shared)
    except JoiningError as fault:
        alone = tuple(own if photo is surface else corrected(photo, True) for photo in photos)
        return WholeWall(own, alone, 0, fault, not own.reading.reference.assumed)


def can_be_joined(reading: Reading) -> bool:
    """Whether a photo was read well enough to be joined with others."""
    return not reading.refused and reading.wall is not None and reading.plane is not None


def shared_key(left_key: str, right_key: str, pair: int) -> str:
    """The key under which `shared_to_json` is kept for two readings, named by their own keys."""
    return hashlib.sha256(f"in both: {left_key} {right_key} {pair}".encode()).hexdigest()


def find_shared(
    left: Reading, right: Reading, photos: tuple[Photo, Photo] | None, pair: int
) -> dict[str, Any]:
    """What `shared_lines` finds, or why not, as plain JSON: looking takes seconds, so it is kept."""
    try:
        return {"lines": shared_lines(left, right, photos, pair)}
    except JoiningError as fault:
        return {"lines": [], "fault": str(fault)}


def shared_from_json(data: dict[str, Any], pair: int) -> tuple[SharedLine, ...]:
    """What `find_shared` found; JoiningError where it found none."""
    if "fault" in data:
        raise JoiningError(str(data["fault"]), pair=pair)
    return tuple((line_from_json(left), line_from_json(right)) for left, right in data["lines"])


def join_walls(
    surface: Surface, walls: Sequence[CorrectedWall], shared: Sequence[Sequence[SharedLine]]
) -> WholeWall:
    """The whole wall out of its photos.

    Parameters
    ----------
    surface : Surface
        With its further photos.
    walls : sequence of CorrectedWall
        Each photo with the user's changes, before any tape reading: those count from the end of the whole
        wall. In the order of `photos_of`.
    shared : sequence of sequence of SharedLine
        Per two neighbours the studs that may be the same, the surest first.

    Raises
    ------
    JoiningError
        The photos do not fit.
    """
    readings = [wall.reading for wall in walls]
    if not all(map(can_be_joined, readings)):
        join_readings(readings)  # says which of them is to be taken again
    same = [_same(readings[k], readings[k + 1], lines, k) for k, lines in enumerate(shared)]
    joined = join_readings(readings, None, same)
    before = as_reading(joined)
    fused = fuse_checks(before, _tape_checks(surface, joined))
    reading = with_lengths_in(before, fused)
    planes = [plane.moved(fused.factor, fused.offset_in) for plane in joined.planes]
    shown = _whose(walls, joined)
    members = [_by_the_user(m, s) for m, s in zip(reading.members, shown, strict=True)]
    settled = not any("assumed_scale" in m.doubts for m in members)
    reference = next((r.reference for r in readings if not r.reference.assumed), readings[0].reference)
    views_openings = [_openings(wall, plane) for wall, plane in zip(walls, planes, strict=True)]
    openings = _one_of_each([o.opening for view in views_openings for o in view])
    reading = replace(
        reading,
        members=tuple(members),
        reference=reference if settled else replace(reference, assumed=True),
        openings=tuple(o for o in openings if o.kind != "box"),
        boxes=tuple(o for o in openings if o.kind == "box"),
    )
    whole = CorrectedWall(
        reading,
        tuple(
            replace(s[k], number=number, member=member)
            for number, (member, s, k) in enumerate(
                zip(members, shown, joined.photo_of, strict=True), start=1
            )
        ),
    )
    views = tuple(
        _view(whole, walls[k], planes[k], [i for i, s in enumerate(shown) if k in s], views_openings[k])
        for k in range(len(walls))
    )
    return WholeWall(whole, views, sum(len(s) > 1 for s in shown), None, settled)


def _same(left: Reading, right: Reading, lines: Sequence[SharedLine], pair: int) -> tuple[int, int]:
    """The surest stud of `lines` that still stands in both readings and fits."""
    fault = JoiningError(
        f"Photos {pair + 1} and {pair + 2} fit in more than one way, since the studs stand at even "
        "spacing. Say which stud is in both: its number in the left photo and its number in the right one.",
        pair=pair,
    )
    for left_px, right_px in lines:
        i, j = stud_at(left, left_px), stud_at(right, right_px)
        if i is None or j is None:
            continue
        try:
            pair_up(left, right, (i, j), None, pair)
        except JoiningError as no_fit:
            fault = no_fit
        else:
            return i, j
    raise fault


def stud_at(reading: Reading, line: LinePx) -> int | None:
    """Index of the stud on a line of the photo; None when none stands there."""
    if reading.plane is None or not reading.members:
        return None
    lines = reading.plane.to_wall([*line, *(p for m in reading.members for p in m.front_px)])
    middles = lines[:, 0].reshape(-1, 2).mean(axis=1)
    off = abs(middles[1:] - middles[0])
    nearest = int(off.argmin())
    return nearest if off[nearest] < SAME_STUD_IN else None


def _tape_checks(surface: Surface, joined: Joined) -> list[TapeCheck]:
    checks = []
    for part, plane in zip(photos_of(surface), joined.planes, strict=True):
        for taken in part.corrections.tape_readings:
            (x0, _), (x1, _) = plane.to_wall(taken.front_px)
            checks.append(TapeCheck(near_in=float(x0 + x1) / 2, length_in=taken.length_in))
    return checks


def _whose(walls: Sequence[CorrectedWall], joined: Joined) -> list[dict[int, ShownMember]]:
    """For each member of the whole wall, left to right, how each photo that shows it shows it."""
    rows = [iter(wall.members) for wall in walls]  # the order along the wall is the same in every photo
    return [{k: next(rows[k]) for k in seen} for seen in joined.seen_in]


def _by_the_user(member: Member, shown: dict[int, ShownMember]) -> Member:
    """The user's word wins; where photos do not agree on a place it is wanted in each of them."""
    told = [s.yours or s.confirmed for s in shown.values()]
    wins = all(told) if "photos_differ" in member.doubts else any(told)
    return replace(member, sure=True) if wins else member


def _openings(wall: CorrectedWall, plane: WallPlane) -> tuple[ShownOpening, ...]:
    """A photo's openings in inches of the whole wall."""
    out = []
    for shown in wall.openings:
        (tl, tr, br, bl) = plane.to_wall(shown.corners_px)
        left, right = sorted((float(tl[0] + bl[0]) / 2, float(tr[0] + br[0]) / 2))
        out.append(replace(shown, opening=replace(shown.opening, left_in=left, right_in=right)))
    return tuple(out)


def _one_of_each(openings: list[Opening]) -> list[Opening]:
    """Each opening once, however many photos show it; what the user accepted or marked goes first."""
    out: list[Opening] = []
    for each in sorted(openings, key=lambda o: not o.sure):
        if not any(
            (each.kind == "box") == (other.kind == "box")
            and abs(each.left_in - other.left_in) < SAME_OPENING_IN
            and abs(each.right_in - other.right_in) < SAME_OPENING_IN
            for other in out
        ):
            out.append(each)
    return sorted(out, key=lambda o: o.left_in)


def _view(
    whole: CorrectedWall,
    wall: CorrectedWall,
    plane: WallPlane,
    at: list[int],
    openings: tuple[ShownOpening, ...],
) -> CorrectedWall:
    """One photo, its own lines and marks, in inches and stud numbers of the whole wall; `at` names its
    studs among those of the whole wall."""
    members = []
    for index, shown in zip(at, wall.members, strict=True):
        there = whole.members[index]
        member = replace(
            shown.member,
            centre_in=there.member.centre_in,
            sigma_in=there.member.sigma_in,
            sure=there.member.sure,
            doubts=there.member.doubts,
        )
        members.append(replace(shown, number=there.number, member=member))
    own, size = wall.reading.wall, whole.reading.wall
    assert own is not None
    assert size is not None
    reading = replace(
        whole.reading,
        width_px=wall.reading.width_px,
        height_px=wall.reading.height_px,
        reference=replace(wall.reading.reference, assumed=whole.reading.reference.assumed),
        wall=replace(size, corners_px=own.corners_px),
        plane=plane,
        members=tuple(s.member for s in members),
        openings=tuple(o.opening for o in openings if o.opening.kind != "box"),
        boxes=tuple(o.opening for o in openings if o.opening.kind == "box"),
        # whose marks are to be set again is said at that photo alone
        warnings=tuple(w for w in whole.reading.warnings if w.code != ROUGH or wall.reading.says(ROUGH)),
    )
    return CorrectedWall(reading, tuple(members), openings)
