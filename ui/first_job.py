"""The job that is there before anything was uploaded: the sample photos of the project."""

from __future__ import annotations

from layout import format_length
from ui.corrections import Corrections, ReferenceMark
from ui.store import Store
from ui.words import Words
from vision.photo_privacy import without_position

MOST_SAMPLES = 4
"""Walls of the sample job: a small room."""


def make_sample_job(store: Store, words: Words) -> str:
    """Put the sample job into the store and return its id; an empty job when no samples are installed."""
    job_id = store.new_job(words("job.sample_name"), {"sample": True})
    for number, (name, photo, corrections) in enumerate(_sample_walls()):
        store.add_surface(
            job_id,
            words("job.wall_name", letter=letter(number)),
            photo_jpeg=without_position(photo),
            corrections=corrections,
            settings={"sample": name},
        )
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
        from sample_images import photo_path, sample_names, truth
    except ImportError:
        return []
    walls = []
    names = [name for name in sample_names() if truth(name)["wall"]["whole_in_photo"]]
    for name in names[:MOST_SAMPLES]:
        known = truth(name)
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
