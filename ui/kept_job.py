"""A kept job as a job to board, without a browser: photos read, the user's changes laid over them."""

from __future__ import annotations

from functools import partial

from layout import Job, JobError
from layout import Surface as BoardedSurface
from ui.bridge import NoWallError
from ui.corrections import CorrectedWall, LinePx, correct
from ui.job_plan import boards_job, framing_of, hand_framing_of, plan_names, stock_of
from ui.market import market_of, spacings_to_assume_in
from ui.material import face_to_read_in
from ui.reading_json import key_to_read, reading_from_json, reading_to_json
from ui.store import Job as KeptJob
from ui.store import Store, Surface
from ui.tape_readings import with_lengths
from ui.wall_photos import SharedLine, find_shared, shared_from_json, shared_key, whole_wall
from vision import JoiningError, ReadingError, load_photo, measure_member, read_wall
from vision.reading import Member, Reading


class KeptJobError(ValueError):
    """A wall of a kept job that cannot be boarded; names the wall, says what to do."""


def job_to_board(store: Store, kept: KeptJob, whole: KeptJob | None = None) -> Job:
    """The job that `layout.plan_job` plans: the same as the app's order screen plans.

    `whole` is the job with the walls that were taken out of `kept` because they cannot be boarded.

    Raises
    ------
    KeptJobError
        One of its walls has no reading that can be built on, or no board gets in. Nothing is left out
        silently.
    """
    names, market = plan_names(kept), market_of(kept.settings)
    surfaces = tuple(surface_to_board(store, each, names[each.surface_id], market) for each in kept.surfaces)
    if not stock_of(kept):
        raise KeptJobError(
            "No board on the list gets in by the ways entered, or the list is empty: "
            "look at Ways in and Prices."
        )
    return boards_job(kept, surfaces, whole)


def surface_to_board(store: Store, surface: Surface, name: str, market: str) -> BoardedSurface:
    """One surface as it is planned, called `name`, in a job of this market.

    Raises
    ------
    KeptJobError
        It has no reading that can be built on.
    """
    try:
        by_hand = hand_framing_of(surface, name, market)
        if by_hand is not None:
            return by_hand
        if surface.photo_sha256 is None:
            raise KeptJobError(
                f"{surface.name}: it has no photo yet: add one in the app, or remove the wall."
            )
        wall = whole_wall(surface, partial(corrected_photo, store), partial(_shared, store))
        reading = wall.whole.reading
        if reading.refused:
            said = reading.warnings[-1].advice if reading.warnings else "Take the photo again."
            raise KeptJobError(f"{surface.name}: its reading was refused as unreliable. {said}")
        if wall.fault is not None:
            raise wall.fault
        return framing_of(surface, reading, name, market)
    except (ReadingError, NoWallError, JobError, JoiningError) as fault:
        raise KeptJobError(f"{surface.name}: {fault}") from fault


def corrected_photo(store: Store, photo: Surface, tapes: bool) -> CorrectedWall:
    """One photo of a wall with the user's changes over it, with its tape readings in it or without."""
    reading = kept_reading(store, photo)
    taken = photo.corrections.tape_readings if tapes else ()
    reading = with_lengths(reading, photo.corrections.second_for_reading(), taken)
    return correct(reading, photo.corrections, partial(_measured, reading, face_to_read_in(photo)))


def _shared(store: Store, left: Surface, right: Surface, pair: int) -> tuple[SharedLine, ...]:
    key = shared_key(key_to_read(left), key_to_read(right), pair)
    kept = store.reading(key)
    if kept is None:
        readings = [kept_reading(store, each) for each in (left, right)]
        seen = [load_photo(store.photo(each.photo_sha256 or ""), kept=True) for each in (left, right)]
        kept = find_shared(readings[0], readings[1], (seen[0], seen[1]), pair)
        store.keep_reading(key, kept)
    return shared_from_json(kept, pair)


def _measured(reading: Reading, face_in: float, line: LinePx) -> Member | None:
    """The stud on a line the user drew; None for a line that no longer lies on the wall (as in the app)."""
    try:
        return measure_member(reading, line[0], line[1], face_in=face_in)
    except ReadingError:
        return None


def kept_reading(store: Store, photo: Surface) -> Reading:
    """The reading of a kept photo by the user's reference and corners, and by what its wall is framed with;
    made anew only if not kept."""
    key = key_to_read(photo)
    kept = store.reading(key)
    if kept is not None:
        return reading_from_json(kept)
    marks = photo.corrections
    reading = read_wall(
        load_photo(store.photo(photo.photo_sha256 or ""), kept=True),
        reference=marks.reference.for_reading() if marks.reference else None,
        corners_px=marks.corners_px,
        face_in=face_to_read_in(photo),
        assumed_in=spacings_to_assume_in(photo),
    )
    store.keep_reading(key, reading_to_json(reading))
    return reading
