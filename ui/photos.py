"""From a kept photo to what the screens show of it: picture, reading, measured studs. All cached."""

from __future__ import annotations

import base64
import io

import streamlit as st
from PIL import Image
from streamlit import runtime

from ui.corrections import CorrectedWall, Corrections, LinePx, correct
from ui.desk import store
from ui.editor_view import PhotoShown
from ui.reading_json import reading_from_json, reading_key, reading_to_json
from ui.store import Surface
from vision import ReadingError, load_photo, measure_member, read_wall
from vision.photo import Photo
from vision.reading import Member, Reading

PHOTO_KINDS = ["image/*", "heic", "heif"]
"""What the uploader offers to choose. "image/*" makes phones offer their camera; bytes are judged later."""
SHOWN_LONG_SIDE_PX = 2400
"""The browser gets a picture of this size: sharp at four times on a phone, a few hundred kB."""


@st.cache_resource(max_entries=3, show_spinner=False)
def photo_of(sha256: str) -> Photo:
    """The photo's pixels. Keyed by the file's digest: hashing large arrays by sampling misses changes."""
    return load_photo(store().photo(sha256))


@st.cache_data(max_entries=40, show_spinner=False)
def _shown_jpeg(sha256: str, long_side_px: int) -> tuple[bytes, int, int]:
    photo = photo_of(sha256)
    picture = Image.fromarray(photo.rgb)
    picture.thumbnail((long_side_px, long_side_px), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=82)
    return out.getvalue(), photo.width_px, photo.height_px


def photo_shown(sha256: str) -> PhotoShown:
    """The picture for the editor; call it in every run that shows it (the address lives one run)."""
    jpeg, width_px, height_px = _shown_jpeg(sha256, SHOWN_LONG_SIDE_PX)
    return PhotoShown(_address(jpeg, sha256), width_px, height_px)


def thumbnail(sha256: str) -> str:
    """Address of a small JPEG for lists; call it in every run that shows it."""
    return _address(_shown_jpeg(sha256, 288)[0], f"small-{sha256}")


def _address(jpeg: bytes, place: str) -> str:
    # Streamlit's own store of media files keeps the picture out of every message to the browser.
    # One picture per `place` and session: a second one takes the first one's room.
    # It is not a documented interface; without a running server a data address does.
    if runtime.exists():
        return str(runtime.get_instance().media_file_mgr.add(jpeg, "image/jpeg", place))
    return "data:image/jpeg;base64," + base64.b64encode(jpeg).decode()


def is_read(surface: Surface) -> bool:
    """Whether the reading that the wall needs now is already there."""
    return store().reading(_key(surface.photo_sha256 or "", surface.corrections)) is not None


def reading_of(sha256: str, corrections: Corrections) -> Reading:
    """The reading of a photo with the user's reference and corners; kept, so made only once."""
    key = _key(sha256, corrections)
    kept = store().reading(key)
    if kept is not None:
        return reading_from_json(kept)
    reference = corrections.reference.for_reading() if corrections.reference else None
    reading = read_wall(photo_of(sha256), reference=reference, corners_px=corrections.corners_px)
    store().keep_reading(key, reading_to_json(reading))
    return reading


def _key(sha256: str, corrections: Corrections) -> str:
    reference = corrections.reference.for_reading() if corrections.reference else None
    return reading_key(sha256, reference, corrections.corners_px)


@st.cache_data(max_entries=2000, show_spinner=False)
def _measured(key: str, line: LinePx, _reading: Reading) -> Member | None:
    try:
        return measure_member(_reading, line[0], line[1])
    except ReadingError:
        return None


def corrected_wall(surface: Surface) -> CorrectedWall:
    """The wall of a photo as it stands now: read, then the user's changes laid over it.

    Raises
    ------
    ReadingError
        The user's reference or corners cannot be used; the text says why.
    """
    sha256 = surface.photo_sha256 or ""
    reading = reading_of(sha256, surface.corrections)
    key = _key(sha256, surface.corrections)
    return correct(reading, surface.corrections, lambda line: _measured(key, line, reading))


def line_fault(surface: Surface, line: LinePx) -> str:
    """Why a line the user drew cannot be a stud of this wall; "" when it can."""
    try:
        reading = reading_of(surface.photo_sha256 or "", surface.corrections)
        measure_member(reading, line[0], line[1])
    except ReadingError as fault:
        return str(fault)
    return ""
