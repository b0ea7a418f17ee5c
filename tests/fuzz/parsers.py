"""Every parser of foreign bytes, as a function that must answer or refuse, and do nothing else.

    python tests/fuzz/parsers.py job_file -runs=100000

runs one of them under a coverage-guided fuzzer (atheris; an extra of the project); options after the
name go to it. `tests/fuzz/test_corpus.py` puts the kept inputs through the same functions without it.
"""

from __future__ import annotations

import asyncio
import json
import resource
import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

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
    from ui.corrections_json import corrections_from_json, corrections_to_json

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


def job_document(data: bytes) -> None:
    """The text inside a packed job: settings, marks, prices, the work on site."""
    from ui.job_archive import ArchiveError, read_document
    from ui.store import StoreError
    from ui.store_rows import to_json

    try:
        document, surfaces, site = read_document(data)
        for kept in (document["settings"], site, *(settings for _, _, _, settings, _ in surfaces)):
            to_json(kept)
    except (ArchiveError, StoreError) as refused:
        one_sentence(refused)


def outbox(data: bytes) -> None:
    """What a phone counted and ticked off, in any order and as often as it likes."""
    from layout.delivery import TAPS as DELIVERY
    from layout.delivery import OrderedLine, delivery_of
    from layout.hanging_day import TAPS as HANGING
    from layout.hanging_day import progress_of
    from layout.site_taps import TapError, read_tap

    line = OrderedLine("regular-1/2-48-96", "regular", 0.5, 48.0, 96.0, 12)
    for allowed in (DELIVERY, HANGING):
        taps = []
        for each in as_list(data):
            try:
                taps.append(read_tap(each, allowed))
            except TapError as refused:
                one_sentence(refused)
        turned = [*reversed(taps), *taps]
        if allowed is DELIVERY:
            counted = delivery_of((line,), taps)
            if len({tap.id for tap in taps}) == len(taps):
                assert delivery_of((line,), turned) == counted
            assert counted.tallies[0].arrived >= 0
        else:
            progress_of(taps)


def edit(data: bytes) -> None:
    """An edit as the browser's editor sends it."""
    from ui.corrections import Corrections
    from ui.corrections_json import corrections_from_json, corrections_to_json
    from ui.editor_view import EditRefused, take_edit

    for each in as_list(data):
        if not isinstance(each, dict):
            continue
        try:
            after = take_edit({"corrections": each}, Corrections(), 4000, 3000)
        except EditRefused:
            continue
        text = json.dumps(corrections_to_json(after), allow_nan=False)
        assert corrections_from_json(json.loads(text)) == after


def buying(data: bytes) -> None:
    """The choices about buying in a job's settings."""
    from layout import JobError
    from ui.buying import buying_from_json, buying_to_json

    for each in as_list(data):
        try:
            taken = buying_from_json(each)
        except JobError as refused:
            one_sentence(refused)
            continue
        assert buying_from_json(json.loads(json.dumps(buying_to_json(taken), allow_nan=False))) == taken


def surface_settings(data: bytes) -> None:
    """The settings of a surface and of a job."""
    from layout import JobError
    from ui.by_hand import by_hand_from_json, by_hand_of, by_hand_to_json
    from ui.settings_check import check_job_settings, check_surface_settings

    for each in as_list(data):
        if not isinstance(each, dict):
            continue
        for check in (check_job_settings, check_surface_settings):
            try:
                check(each)
            except JobError as refused:
                one_sentence(refused)
                continue
            hand = by_hand_of(each) if check is check_surface_settings else None
            if hand is not None:
                assert by_hand_from_json(json.loads(json.dumps(by_hand_to_json(hand)))) == hand


def openings(data: bytes) -> None:
    """Doors and windows as one writes them down while walking."""
    from ui.opening_text import OpeningTextError, openings_from_text, openings_to_text

    try:
        found = openings_from_text(data.decode("utf-8", "replace"))
    except OpeningTextError as refused:
        one_sentence(refused)
        return
    shown = openings_to_text(found)
    assert openings_to_text(openings_from_text(shown)) == shown


def code_form(data: bytes) -> None:
    """The headers and the form by which a stranger asks to be let in: nobody without the code gets in."""
    from ui.sharing.doorkeeper import Doorkeeper
    from ui.sharing.gate import ENTER, Gate

    async def app(scope: Any, receive: Any, send: Any) -> None:
        raise AssertionError("a stranger reached the app")

    sent: list[dict[str, Any]] = []

    async def send(message: Any) -> None:
        sent.append(message)

    head, _, body = data.partition(b"\n\n")
    lines = [line.partition(b":") for line in head.split(b"\n")]
    headers = [(name.strip().lower(), value.strip()) for name, _, value in lines]
    door = Doorkeeper()
    for path in (ENTER, "/walls"):
        for kind in ("http", "websocket"):

            async def receive(kind: str = kind) -> dict[str, Any]:
                return (
                    {"type": "http.request", "body": body}
                    if kind == "http"
                    else {"type": "websocket.connect"}
                )

            scope = {"type": kind, "path": path, "method": "POST", "client": ("192.0.2.7", 5)}
            scope |= {"headers": [(b"host", b"192.0.2.1:8501"), *headers], "query_string": body[:50]}
            asyncio.run(Gate(app, door, frozenset({"192.0.2.1"}))(scope, receive, send))
    assert door.visitors() == 0
    assert all(
        message.get("status", 403) in (200, 401, 403, 421, 429) for message in sent if "status" in message
    )


def as_list(data: bytes) -> list[Any]:
    """The values of a JSON list; anything else is a list of none."""
    try:
        value = json.loads(data)
    except (ValueError, RecursionError):
        return []
    return value if isinstance(value, list) else [value]


PARSERS: dict[str, Callable[[bytes], None]] = {
    each.__name__: each
    for each in (
        photo,
        photo_privacy,
        length,
        job_file,
        studs_json,
        archive,
        corrections,
        price_list,
        job_document,
        outbox,
        edit,
        buying,
        surface_settings,
        openings,
        code_form,
    )
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

    with atheris.instrument_imports(include=["vision", "layout", "ui", "json", "zipfile", "urllib", "http"]):
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
