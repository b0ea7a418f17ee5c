"""The job that is there before anything was uploaded: the sample photos of the project."""

from __future__ import annotations

from layout import format_length
from ui.by_hand import (
    DOOR_HEIGHT_IN,
    SETTING,
    USUAL_HEIGHT_IN,
    ByHand,
    HandOpening,
    by_hand_to_json,
)
from ui.corrections import Corrections, ReferenceMark
from ui.store import Store
from ui.words import Words
from vision.photo_privacy import without_position

MOST_SAMPLES = 4
"""Photographed walls of the sample job; the rest of the small basement was measured with a tape."""


def _measured_by_tape() -> tuple[ByHand, ...]:
    """An invented bath beside the den, and the den's ceiling."""
    return (
        ByHand(
            "studs", 96.0, USUAL_HEIGHT_IN, openings=(HandOpening("door", 30.0, 34.0, 0.0, DOOR_HEIGHT_IN),)
        ),
        ByHand("studs", 66.5, USUAL_HEIGHT_IN),
        ByHand("studs", 96.0, USUAL_HEIGHT_IN, openings=(HandOpening("window", 32.0, 32.0, 60.0, 20.0),)),
        ByHand("studs", 66.5, USUAL_HEIGHT_IN, from_end="right"),
        ByHand("joists", 96.0, 66.5, members_run="along"),
        ByHand("joists", 192.0, 148.5),
    )


def make_sample_job(store: Store, words: Words) -> str:
    """Put the sample job into the store and return its id; an empty job when no samples are installed."""
    job_id = store.new_job(words("job.sample_name"), {"sample": True})
    for number, (name, photo, corrections) in enumerate(_sample_walls()):
        store.add_surface(
            job_id,
            words("job.wall_name", letter=letter(number)),
            photo_jpeg=without_position(photo),
            corrections=corrections,
            settings={"sample": name, "room": words("job.sample_den")},
        )
    walls = len(store.job(job_id).surfaces)
    ceilings = 0
    for hand in _measured_by_tape():
        if hand.is_wall:
            name = words("job.wall_name", letter=letter(walls))
            walls += 1
        else:
            ceilings += 1
            name = words("walk.ceiling_name", n=ceilings)
        room = words("job.sample_den" if hand.length_in > 120 else "job.sample_bath")
        store.add_surface(job_id, name, settings={SETTING: by_hand_to_json(hand), "room": room})
    return job_id


def letter(number: int) -> str:
    """A, B, ... Z, AA, AB, ... for 0, 1, ..."""
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _sample_walls() -> list[tuple[str, bytes, Corrections]]:
    """Name, photo, and the tape that lies on the wall in it, marked as a user would mark it."""
    try:
        from sample_images import known_truth, photo_path, sample_names
    except ImportError:
        return []
    walls = []
    names = [name for name in sample_names() if known_truth(name)["wall"]["whole_in_photo"]]
    for name in names[:MOST_SAMPLES]:
        known = known_truth(name)
        reference, size = known["reference"], known["photo"]
        marks = None
        if reference["kind"] == "tape" and _inside(reference["marks_px"], size):
            start, end = ((float(x), float(y)) for x, y in reference["marks_px"])
            length_in = float(reference["length_in"])
            marks = ReferenceMark("tape", length_in, format_length(length_in), start, end)
        walls.append((name, photo_path(name).read_bytes(), Corrections(reference=marks)))
    return walls


def _inside(points_px: list[list[float]], size: dict[str, int]) -> bool:
    """Whether all points lie in the photo."""
    return all(0 <= x < size["width_px"] and 0 <= y < size["height_px"] for x, y in points_px)
