"""``seamwright add-photo --wall``: one more photo of a wall of a kept job."""

from __future__ import annotations

import hashlib

from ui.command_options import UnusableInput
from ui.corrections import Corrections, LinePx
from ui.kept_job import corrected_photo
from ui.store import Store, Surface
from ui.store_rows import place_of
from ui.wall_photos import photos_of, telling


def add_further_photo(
    store: Store,
    wall: Surface,
    jpeg: bytes,
    known: Corrections,
    *,
    left: bool,
    same: tuple[int, int] | None,
) -> None:
    """Add a photo to a wall, at its right or left; the same photo again only says more about it.

    `same` names a stud of the photo it is joined with and the same stud in this one, counted in each photo
    from the left.

    Raises
    ------
    UnusableInput, StoreError, vision.ReadingError
        One sentence with the remedy.
    """
    sha256 = hashlib.sha256(jpeg).hexdigest()
    there = next((part for part in wall.more if part.photo_sha256 == sha256), None)
    if there is None:
        part_id = store.add_photo(wall.surface_id, wall.revision, jpeg, left=left)
    else:
        part_id = there.surface_id
    part = store.surface(part_id)
    if known != Corrections():
        store.save_surface(part_id, part.revision, corrections=known)
    if same is not None:
        _tell(store, store.surface(wall.surface_id), part_id, same)


def _tell(store: Store, wall: Surface, part_id: str, same: tuple[int, int]) -> None:
    photos = photos_of(wall)
    at = next(number for number, photo in enumerate(photos) if photo.surface_id == part_id)
    part, at_left = photos[at], place_of(photos[at].settings) < 0
    neighbour = at + 1 if at_left else at - 1
    theirs = _line(store, photos[neighbour], neighbour, same[0])
    ours = _line(store, part, at, same[1])
    shared = (ours, theirs) if at_left else (theirs, ours)
    store.save_surface(part_id, part.revision, settings=telling(wall, min(at, neighbour), shared))


def _line(store: Store, photo: Surface, at: int, number: int) -> LinePx:
    members = corrected_photo(store, photo, True).members
    if not 1 <= number <= len(members):
        raise UnusableInput(
            f"photo {at + 1} of the wall shows {len(members)} studs, there is no stud {number}: count them "
            "in that photo from the left."
        )
    return members[number - 1].member.front_px
