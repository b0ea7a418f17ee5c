"""Rooms of a job: surfaces copied, mirrored, and gathered under the room's name."""

from __future__ import annotations

from typing import Any

from layout import JobError
from layout import Surface as BoardedSurface
from ui.by_hand import SETTING, ByHand, by_hand_of, by_hand_to_json, mirrored, taken_over
from ui.corners import SETTING as CORNERS
from ui.corners import ways_of
from ui.first_job import letter
from ui.site_plan import room_of
from ui.store import Job, Store, Surface
from ui.wishes import SETTING as WISHES
from ui.wishes import KeptWishes, mirrored_wishes, wishes_of, wishes_to_json
from ui.words import Words

__all__ = ["add_by_hand", "add_mirrored", "copy_room", "room_of", "rooms_of"]


def rooms_of(job: Job) -> tuple[str, ...]:
    """The rooms of a job in the order of their first surface."""
    return tuple(dict.fromkeys(room_of(surface) for surface in job.surfaces))


def next_name(job: Job, words: Words, *, wall: bool) -> str:
    """A name that no surface of the job has yet: Wall A, B, ..., Ceiling 1, 2, ..."""
    taken = {surface.name for surface in job.surfaces}
    number = 0
    while True:
        name = (
            words("job.wall_name", letter=letter(number))
            if wall
            else words("walk.ceiling_name", n=number + 1)
        )
        if name not in taken:
            return name
        number += 1


def add_by_hand(
    store: Store, job: Job, hand: ByHand, name: str, room: str, settings: dict[str, Any] | None = None
) -> str:
    """Put a surface entered by hand at the end of a job; returns its id."""
    kept = {**(settings or {}), SETTING: by_hand_to_json(hand)}
    if room:
        kept["room"] = room
    return store.add_surface(job.job_id, name, settings=kept)


def add_mirrored(
    store: Store, job: Job, surface: Surface, framing: BoardedSurface | None, name: str, room: str
) -> str:
    """Add the mirror image of a surface: the other face of a partition, or a room built in reverse.

    A photographed wall is taken over with the members and openings that its `framing` has now, and with what
    is doubtful about them.

    Raises
    ------
    JobError
        There is no framing to mirror yet.
    """
    hand = by_hand_of(surface.settings)
    if hand is None:
        if framing is None:
            raise JobError(surface.name, "it has no framing to mirror yet: read its photo first.")
        hand = taken_over(framing)
    # the height measured by tape is in the framing already
    settings = {k: v for k, v in surface.settings.items() if k not in ("height_in", "height_text", "sample")}
    wishes = wishes_of(settings)
    if wishes != KeptWishes() and hand.members_run == "up":
        settings[WISHES] = wishes_to_json(mirrored_wishes(wishes, hand.length_in))
    return add_by_hand(store, job, mirrored(hand), name, room, settings)


def copy_room(store: Store, job: Job, room: str, new_room: str) -> int:
    """Copy all surfaces of a room, photos and marks included, under another room's name.

    Returns how many were copied. Photos are shared, not doubled.
    """
    count = 0
    for surface in job.surfaces:
        if room_of(surface) != room:
            continue
        photo = None if surface.photo_sha256 is None else store.photo(surface.photo_sha256)
        store.add_surface(
            job.job_id,
            surface.name,
            photo_jpeg=photo,
            corrections=surface.corrections,
            settings={**surface.settings, "room": new_room},
            more=surface.more,
        )
        count += 1
    ways = ways_of(job.settings)
    if count and room in ways:
        now = store.job(job.job_id)
        store.save_job(
            job.job_id, now.revision, settings={**now.settings, CORNERS: {**ways, new_room: ways[room]}}
        )
    return count
