"""The framing of every surface of the open job, as the screens need it: photographed or entered by hand."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass

from layout import JobError
from layout import Surface as BoardedSurface
from ui import photos
from ui.bridge import NoWallError
from ui.job_plan import framing_of, hand_framing_of, plan_names
from ui.market import market_of
from ui.rough_marks import marks_matter
from ui.store import Job, Surface
from ui.wall_photos import WholeWall
from ui.work import WorkStopped
from vision import ReadingError


@dataclass(frozen=True)
class Framed:
    """One kept surface and its framing.

    Attributes
    ----------
    framing : layout.Surface or None
        None when it cannot be boarded yet.
    doubtful : int
        Members that the user should look at.
    read : bool
        False when its photo was not read yet.
    guessed : bool
        True when its scale is a guess: no length was given and no tape has settled it since.
    proposed : int
        Openings and boxes found in the photo that nobody has accepted yet.
    rough : bool
        True when most of its studs hang on two marks that were not set with care.
    """

    surface: Surface
    framing: BoardedSurface | None
    doubtful: int = 0
    read: bool = True
    guessed: bool = False
    proposed: int = 0
    rough: bool = False


MOST_FRAMED = 4_000
_framed: OrderedDict[tuple[object, ...], Framed] = OrderedDict()
_framed_lock = threading.Lock()
"""Framings made before, by surface, revision, name, market and reading: a large job is not framed anew for
each click on it."""


def framed_surfaces(job: Job, *, read_now: bool = False) -> tuple[Framed, ...]:
    """All surfaces of a job in their order; photos that were not read yet are read only with `read_now`."""
    names, market = plan_names(job), market_at_hand(job)
    photos.fetch_readings(job.surfaces)
    return tuple(framed(each, names[each.surface_id], market, read_now=read_now) for each in job.surfaces)


def market_at_hand(job: Job) -> str | None:
    """The market of a job; None where it cannot be read, so that nothing is boarded by another's rules."""
    try:
        return market_of(job.settings)
    except JobError:
        return None


def framed(surface: Surface, plan_name: str, market: str | None, *, read_now: bool = False) -> Framed:
    """One surface, called `plan_name` in the plan, of a job in this market."""
    if market is None:
        return Framed(surface, None)
    reading_keys = () if surface.photo_sha256 is None else photos.keys_of(surface)
    key = (surface.state, plan_name, market, reading_keys)
    with _framed_lock:
        if key in _framed:
            _framed.move_to_end(key)
            return _framed[key]
    made = _made(surface, plan_name, market, read_now)
    if made.framing is not None:
        with _framed_lock:
            _framed[key] = made
            while len(_framed) > MOST_FRAMED:
                _framed.popitem(last=False)
    return made


def photographed(surface: Surface, framing: BoardedSurface, wall: WholeWall) -> Framed:
    """A surface with the framing that its photos give."""
    return Framed(
        surface,
        framing,
        wall.doubtful,
        guessed=framing.guessed,
        proposed=len(wall.proposed),
        rough=marks_matter(wall.whole.reading),
    )


def _made(surface: Surface, plan_name: str, market: str, read_now: bool) -> Framed:
    try:
        by_hand = hand_framing_of(surface, plan_name, market)
        if by_hand is not None:
            doubtful = sum(not m.sure for m in by_hand.members)
            return Framed(surface, by_hand, doubtful, guessed=by_hand.guessed)
        if surface.photo_sha256 is None:
            return Framed(surface, None)
        if not read_now and not photos.is_read(surface):
            return Framed(surface, None, read=False)
        wall = photos.whole_wall(surface)
        reading = wall.whole.reading
        if reading.refused or reading.wall is None:
            return Framed(surface, None)
        return photographed(surface, framing_of(surface, reading, plan_name, market), wall)
    except WorkStopped:
        return Framed(surface, None, read=False)
    except (ReadingError, NoWallError, JobError):
        return Framed(surface, None)
