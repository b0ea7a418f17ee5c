"""From a kept photo to what the screens show of it: picture, reading, measured studs. All cached."""

from __future__ import annotations

import base64
import io
import threading
from collections import OrderedDict
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import streamlit as st
from numpy.typing import NDArray
from PIL import Image
from streamlit import runtime

from ui.corrections import CorrectedWall, LinePx, correct
from ui.desk import store
from ui.editor_view import PhotoShown
from ui.market import spacings_to_assume_in
from ui.material import face_to_read_in
from ui.reading_json import key_to_read, reading_from_json, reading_to_json
from ui.store import Store, Surface
from ui.tape_readings import TapeReading, with_lengths
from ui.wall_photos import (
    SharedLine,
    WholeWall,
    can_be_joined,
    find_shared,
    photos_of,
    shared_from_json,
    shared_key,
    told_of,
)
from ui.wall_photos import whole_wall as joined_wall
from ui.work import AT_ONCE, READINGS, Report, wait_for
from vision import ReadingError, load_photo, measure_member, read_wall
from vision.photo import Photo, load_small
from vision.photo_privacy import without_position
from vision.reading import Member, Reading, Reference

MOST_DECODED = 3
_photos: OrderedDict[str, Photo] = OrderedDict()
_photos_lock = threading.Lock()
PHOTO_KINDS = ["image/*", "heic", "heif"]
"""What the uploader offers to choose. "image/*" makes phones offer their camera; bytes are judged later."""
SHOWN_LONG_SIDE_PX = 2400
"""The browser gets a picture of this size: sharp at four times on a phone, a few hundred kB."""
SMALL_LONG_SIDE_PX = 288
MOST_SMALL = 1_000
_small: OrderedDict[str, bytes] = OrderedDict()
_small_lock = threading.Lock()
MOST_READINGS = 1_000
_readings: OrderedDict[str, Reading] = OrderedDict()
_readings_lock = threading.Lock()
MarkKey = tuple[str, Reference | None, tuple[TapeReading, ...], LinePx]
MOST_MARKS = 10_000
_marks: OrderedDict[MarkKey, Member | None] = OrderedDict()
_marks_lock = threading.Lock()
MOST_WHOLES = 200
_wholes: OrderedDict[tuple[object, ...], WholeWall] = OrderedDict()
_wholes_lock = threading.Lock()


def photo_of(sha256: str) -> Photo:
    """The photo's pixels; the last few stay decoded."""
    return _decoded(store(), sha256)


def _decoded(kept_in: Store, sha256: str) -> Photo:
    # keyed by the file's digest, in a cache of our own: work beside the page needs it too
    with _photos_lock:
        if sha256 in _photos:
            _photos.move_to_end(sha256)
            return _photos[sha256]
    photo = load_photo(kept_in.photo(sha256), kept=True)
    with _photos_lock:
        _photos[sha256] = photo
        while len(_photos) > MOST_DECODED:
            _photos.popitem(last=False)
    return photo


@st.cache_data(max_entries=20, show_spinner=False)
def _shown_jpeg(sha256: str, long_side_px: int) -> tuple[bytes, int, int]:
    photo = photo_of(sha256)
    return _jpeg(photo.rgb, long_side_px), photo.width_px, photo.height_px


def fetch_thumbnails(surfaces: Iterable[Surface]) -> None:
    """Have the small pictures of these walls at hand, two at a time: decoding leaves Python's lock alone."""
    wanted = dict.fromkeys(surface.photo_sha256 for surface in surfaces if surface.photo_sha256)
    with _small_lock:
        missing = [sha256 for sha256 in wanted if sha256 not in _small]
    if missing:
        kept_in = store()
        with ThreadPoolExecutor(AT_ONCE) as pool:
            for made in [pool.submit(_small_jpeg, kept_in, sha256) for sha256 in missing]:
                made.exception()  # a damaged photo is spoken of in its own line


def _small_jpeg(kept_in: Store, sha256: str) -> bytes:
    with _small_lock:
        if sha256 in _small:
            _small.move_to_end(sha256)
            return _small[sha256]
    jpeg = _jpeg(load_small(kept_in.photo(sha256), SMALL_LONG_SIDE_PX), SMALL_LONG_SIDE_PX)
    with _small_lock:
        _small[sha256] = jpeg
        while len(_small) > MOST_SMALL:
            _small.popitem(last=False)
    return jpeg


def _jpeg(rgb: NDArray[np.uint8], long_side_px: int) -> bytes:
    picture = Image.fromarray(rgb)
    picture.thumbnail((long_side_px, long_side_px), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=82)
    return out.getvalue()


def photo_shown(sha256: str) -> PhotoShown:
    """The picture for the editor; call it in every run that shows it (the address lives one run)."""
    jpeg, width_px, height_px = _shown_jpeg(sha256, SHOWN_LONG_SIDE_PX)
    return PhotoShown(_address(jpeg, sha256), width_px, height_px)


def thumbnail(sha256: str) -> str:
    """Address of a small JPEG for lists; call it in every run that shows it."""
    return _address(_small_jpeg(store(), sha256), f"small-{sha256}")


def _address(jpeg: bytes, place: str) -> str:
    # Streamlit's own store of media files keeps the picture out of every message to the browser.
    # One picture per `place` and session: a second one takes the first one's room.
    # It is not a documented interface; without a running server a data address does.
    if runtime.exists():
        return str(runtime.get_instance().media_file_mgr.add(jpeg, "image/jpeg", place))
    return "data:image/jpeg;base64," + base64.b64encode(jpeg).decode()


def taken_in(upload: bytes, key: str) -> bytes:
    """An uploaded photo as it is kept: a JPEG without position; PhotoError when it is none."""

    def strip(report: Report) -> bytes:
        report("photo")
        return without_position(upload)

    return wait_for(key, strip)


def wants_reading(surface: Surface) -> bool:
    """Whether a photo of the wall must be read (again), and that was not tried in vain already; also
    whether it must be found out which studs two of them share."""
    vain = st.session_state.get("unreadable", ())
    keys = keys_of(surface)
    return any(_kept_reading(key) is None and key not in vain for key in keys) or (
        len(keys) > 1 and all(_kept_reading(key) is not None for key in keys) and _wants_pairing(surface)
    )


def is_read(surface: Surface) -> bool:
    """Whether the readings that the wall needs now are already there."""
    return all(_kept_reading(key) is not None for key in keys_of(surface)) and not _wants_pairing(surface)


def _wants_pairing(surface: Surface) -> bool:
    if not surface.more:
        return False
    keys = keys_of(surface)
    readings = [_kept_reading(key) for key in keys]
    if not all(reading is not None and can_be_joined(reading) for reading in readings):
        return False
    wanted = [
        shared_key(keys[pair], keys[pair + 1], pair)
        for pair in range(len(keys) - 1)
        if told_of(surface, pair) is None
    ]
    return len(store().readings(wanted)) < len(wanted)


def _kept_reading(key: str) -> Reading | None:
    """The reading of that key, if one was made; the last ones stay at hand."""
    with _readings_lock:
        if key in _readings:
            _readings.move_to_end(key)
            return _readings[key]
    kept = store().readings((key,)).get(key)
    return None if kept is None else _have(key, reading_from_json(kept))


def _have(key: str, reading: Reading) -> Reading:
    with _readings_lock:
        _readings[key] = reading
        while len(_readings) > MOST_READINGS:
            _readings.popitem(last=False)
    return reading


def fetch_readings(surfaces: Iterable[Surface]) -> None:
    """Have the kept readings of many walls at hand, by one question to the store instead of hundreds."""
    wanted = {key for surface in surfaces if surface.photo_sha256 for key in keys_of(surface)}
    with _readings_lock:
        wanted -= _readings.keys()
    for key, kept in store().readings(wanted).items():
        _have(key, reading_from_json(kept))


def reading_of(surface: Surface) -> Reading:
    """The reading of a photo with the user's reference and corners and by what the wall is framed with; kept,
    so made only once."""
    key = key_to_read(surface)
    kept = _kept_reading(key)
    if kept is not None:
        return kept
    corrections = surface.corrections
    reference = corrections.reference.for_reading() if corrections.reference else None
    face_in, assumed_in = face_to_read_in(surface), spacings_to_assume_in(surface)
    kept_in = store()

    def read(report: Report) -> Reading:
        report("photo")
        photo = _decoded(kept_in, surface.photo_sha256 or "")
        reading = read_wall(
            photo,
            reference=reference,
            corners_px=corrections.corners_px,
            face_in=face_in,
            assumed_in=assumed_in,
            progress=report,
        )
        kept_in.keep_reading(key, reading_to_json(reading))
        return reading

    return wait_for(key, read, READINGS)


def keys_of(surface: Surface) -> tuple[str, ...]:
    """The keys of the readings that a photographed wall needs now, one for each of its photos."""
    return tuple(key_to_read(photo) for photo in photos_of(surface))


def _measured(key: MarkKey, reading: Reading, face_in: float) -> Member | None:
    """The member on a line the user drew, `key` naming the reading, the lengths in it and the line."""
    with _marks_lock:
        if key in _marks:
            _marks.move_to_end(key)
            return _marks[key]
    try:
        member = measure_member(reading, *key[-1], face_in=face_in)
    except ReadingError:
        member = None
    with _marks_lock:
        _marks[key] = member
        while len(_marks) > MOST_MARKS:
            _marks.popitem(last=False)
    return member


def corrected_wall(surface: Surface, tapes: bool = True) -> CorrectedWall:
    """The wall of one photo as it stands now: read, then the user's changes laid over it.

    `tapes` is False for a photo to be joined with others: tape readings count from the whole wall's end.

    Raises
    ------
    ReadingError
        The user's reference or corners cannot be used; the text says why.
    """
    key = key_to_read(surface)
    try:
        reading = reading_of(surface)
    except ReadingError:
        st.session_state.setdefault("unreadable", set()).add(key)
        raise
    second = surface.corrections.second_for_reading()
    taken = surface.corrections.tape_readings if tapes else ()
    reading = with_lengths(reading, second, taken)
    face_in = face_to_read_in(surface)

    def measure(line: LinePx) -> Member | None:
        return _measured((key, second, taken, line), reading, face_in)

    return correct(reading, surface.corrections, measure)


def whole_wall(surface: Surface) -> WholeWall:
    """The wall out of all its photos, as it stands now.

    Raises
    ------
    ReadingError
        The user's reference or corners of one of them cannot be used; the text says why.
    """
    if not surface.more:
        return joined_wall(surface, corrected_wall, _shared)
    told = tuple(told_of(surface, pair) for pair in range(len(surface.more)))
    key = (keys_of(surface), tuple(photo.corrections for photo in photos_of(surface)), told)
    with _wholes_lock:
        if key in _wholes:
            _wholes.move_to_end(key)
            return _wholes[key]
    made = joined_wall(surface, corrected_wall, _shared)
    with _wholes_lock:
        _wholes[key] = made
        while len(_wholes) > MOST_WHOLES:
            _wholes.popitem(last=False)
    return made


def _shared(left: Surface, right: Surface, pair: int) -> tuple[SharedLine, ...]:
    """The studs that two neighbouring photos share, as the pictures show; kept, so looked for only once."""
    key = shared_key(key_to_read(left), key_to_read(right), pair)
    kept_in = store()
    kept = kept_in.reading(key)
    if kept is None:
        readings = [reading_of(each) for each in (left, right)]

        def look(report: Report) -> dict[str, Any]:
            report("join")
            seen = [_decoded(kept_in, each.photo_sha256 or "") for each in (left, right)]
            found = find_shared(readings[0], readings[1], (seen[0], seen[1]), pair)
            kept_in.keep_reading(key, found)
            return found

        kept = wait_for(key, look, READINGS)
    return shared_from_json(kept, pair)


def line_fault(surface: Surface, line: LinePx) -> str:
    """Why a line the user drew cannot be a stud of this wall; "" when it can."""
    try:
        reading = reading_of(surface)
        measure_member(reading, line[0], line[1])
    except ReadingError as fault:
        return str(fault)
    return ""
