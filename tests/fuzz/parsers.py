"""Every parser of foreign bytes, as a function that must answer or refuse, and do nothing else.

    python tests/fuzz/parsers.py job_file -runs=100000

runs one of them under a coverage-guided fuzzer (atheris; an extra of the project); options after the
name go to it. `tests/fuzz/test_corpus.py` puts the kept inputs through the same functions without it.
"""

from __future__ import annotations

import json
import resource
import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

CORPUS = Path(__file__).parent / "corpus"
MOST_MEMORY_KB = 2_500_000


def photo(data: bytes) -> None:
    """Bytes of a picture file."""
    from vision.photo import PhotoError, load_photo

    try:
        shown = load_photo(data)
    except PhotoError as refused:
        one_sentence(refused)
        return
    assert shown.rgb.shape == (shown.height_px, shown.width_px, 3)
    assert shown.focal_px is None or 0 < shown.focal_px < 1e6


def photo_privacy(data: bytes) -> None:
    """The same bytes on their way into the store."""
    from vision.photo import PhotoError, load_photo
    from vision.photo_privacy import without_position

    try:
        kept = without_position(data)
    except PhotoError as refused:
        one_sentence(refused)
        return
    load_photo(kept)
    assert without_position(kept) == kept


def length(data: bytes) -> None:
    """A length as people write it."""
    from layout.lengths import LengthError, format_length, parse_length_in

    text = data.decode("utf-8", "replace")
    try:
        length_in = parse_length_in(text)
    except LengthError as refused:
        one_sentence(refused)
        return
    assert 0 <= length_in <= 120_000
    for style in ("feet_inches", "inches", "mm"):
        shown = format_length(length_in, style)
        assert format_length(parse_length_in(shown), style) == shown


def job_file(data: bytes) -> None:
    """A job file of ``seamwright boards``."""
    from layout import JobError, read_job, write_job

    try:
        job = read_job(data)
    except JobError as refused:
        one_sentence(refused)
        return
    assert read_job(json.dumps(write_job(job), allow_nan=False)) == job


def studs_json(data: bytes) -> None:
    """What ``seamwright gather`` takes."""
    from layout import JobError
    from ui.gather import GatherError, gather

    try:
        gather([("wall", data)])
    except (GatherError, JobError) as refused:
        one_sentence(refused)


def archive(data: bytes) -> None:
    """A packed job."""
    from ui.job_archive import ArchiveError, unpack_job
    from ui.store import Store, StoreError

    folder = tempfile.mkdtemp()
    try:
        store = Store(folder)
        try:
            unpack_job(store, data)
        except (ArchiveError, StoreError) as refused:
            one_sentence(refused)
            assert store.jobs() == ()
    finally:
        shutil.rmtree(folder)


def corrections(data: bytes) -> None:
    """The user's marks as the browser sends them."""
    from ui.corrections import corrections_from_json, corrections_to_json

    try:
        document = json.loads(data)
        if not isinstance(document, dict):
            return
        marks = corrections_from_json(document)
    except (ValueError, KeyError, TypeError, RecursionError):
        return
    again = json.loads(json.dumps(corrections_to_json(marks), allow_nan=False))
    assert corrections_from_json(again) == marks


def price_list(data: bytes) -> None:
    """A supplier's table, as a file."""
    from layout import JobError
    from layout.prices import read_prices, write_prices

    try:
        write_prices(read_prices(data.decode("utf-8", "replace")))
    except JobError as refused:
        one_sentence(refused)


PARSERS: dict[str, Callable[[bytes], None]] = {
    each.__name__: each
    for each in (photo, photo_privacy, length, job_file, studs_json, archive, corrections, price_list)
}


def one_sentence(refused: Exception) -> None:
    """A refusal is one line that a person can read."""
    text = str(refused)
    if hasattr(refused, "field"):
        # A job's refusal quotes the field's name out of the file, line breaks and all; the command
        # prints it on one line.
        text = " ".join(text.split())
    assert text.strip()
    assert "\n" not in text
    assert len(text) < 1_000, text[:200]


def bounded(parser: Callable[[bytes], None], data: bytes) -> None:
    """Run a parser on one input and see that the memory of the process stays bounded."""
    parser(data)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss < MOST_MEMORY_KB


def fuzz(name: str, options: list[str]) -> None:
    """Hand one parser to the coverage-guided fuzzer, starting from the kept inputs."""
    import atheris

    with atheris.instrument_imports(include=["vision", "layout", "ui", "json", "zipfile"]):
        PARSERS[name](b"")
    found = Path(tempfile.gettempdir()) / f"seamwright-fuzz-{name}"
    found.mkdir(exist_ok=True)
    # What is found goes to the first folder, a scratch one; the kept inputs are only read.
    atheris.Setup(
        [sys.argv[0], *options, str(found), str(CORPUS / name)], lambda data: bounded(PARSERS[name], data)
    )
    atheris.Fuzz()


if __name__ == "__main__":
    fuzz(sys.argv[1], sys.argv[2:])
