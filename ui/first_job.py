"""The job that is there before anything was uploaded: the sample photos of the project."""

from __future__ import annotations

from ui.store import Store
from ui.words import Words
from vision.photo_privacy import without_position


def make_sample_job(store: Store, words: Words) -> str:
    """Put the sample job into the store and return its id; an empty job when no samples are installed."""
    job_id = store.new_job(words("job.sample_name"), {"sample": True})
    for number, (name, photo) in enumerate(_sample_photos()):
        store.add_surface(
            job_id,
            words("job.wall_name", letter=letter(number)),
            photo_jpeg=without_position(photo),
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


def _sample_photos() -> list[tuple[str, bytes]]:
    try:
        from sample_images import photo_path, sample_names
    except ImportError:
        return []
    return [(name, photo_path(name).read_bytes()) for name in sample_names()]
