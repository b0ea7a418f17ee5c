"""Photo bytes fit for keeping: the pixels and what reading them needs, no position, time or name."""

from __future__ import annotations

import io
import re
from typing import Any

from PIL import Image

from vision.focal_length import (
    FOCAL_35,
    FOCAL_MM,
    PIXEL_X,
    PIXEL_Y,
    PLANE_UNIT,
    PLANE_X,
    PLANE_Y,
    ZOOM,
)
from vision.photo import EXIF_IFD, ORIENTATION, exif_tags, load_photo, open_picture

_KEPT_EXIF = (FOCAL_35, FOCAL_MM, PIXEL_X, PIXEL_Y, PLANE_X, PLANE_Y, PLANE_UNIT, ZOOM)
# Segments that say how to decode the pixels: JFIF density, ICC profile, Adobe's colour transform.
_KEPT_APPS = {0xE0: b"JFIF\0", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}
_START_OF_SCAN, _END_OF_IMAGE, _COMMENT = 0xDA, 0xD9, 0xFE
# Inside entropy-coded data FF 00 is a stuffed FF and FF D0..D7 a restart mark (ITU-T T.81, B.1.1.2).
_MARKER = re.compile(rb"\xff+([^\x00\xd0-\xd7\xff])")


def without_position(data: bytes, *, kept: bool = False) -> bytes:
    """The same photo as a JPEG that carries no position, time, device name, note or second picture.

    A JPEG keeps its compressed pixels bit for bit; only the segments around them go. PNG, WebP and
    HEIC are decoded and written as JPEG (quality 95, full colour resolution). The orientation, the
    focal length, the sensor's resolution, the stated size and the digital zoom stay. `kept` as in
    `load_photo`.

    Raises
    ------
    PhotoError
        The bytes cannot be used as a photo (see `vision.photo.load_photo`).
    """
    image = open_picture(data)
    exif, exif_ifd = exif_tags(image)
    if image.format in ("JPEG", "MPO"):
        stripped = _strip_jpeg(data, _small_exif(exif.get(ORIENTATION, 1), exif_ifd))
        # damaged pixels, or a stream the walk below cut wrongly, are refused here
        load_photo(stripped, kept=kept)
        return stripped
    out = io.BytesIO()
    upright = Image.fromarray(load_photo(data).rgb)
    upright.save(out, "JPEG", quality=95, subsampling=0)
    return _strip_jpeg(out.getvalue(), _small_exif(1, exif_ifd))


def _small_exif(orientation: Any, exif_ifd: dict[int, Any]) -> bytes:
    """An APP1 body ("Exif", two zeros, TIFF) with the few tags a reading needs."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation if orientation in range(1, 9) else 1
    few = exif.get_ifd(EXIF_IFD)
    for tag in _KEPT_EXIF:
        value = exif_ifd.get(tag)
        if isinstance(value, (int, float)) or hasattr(value, "numerator"):
            few[tag] = value
    exif[EXIF_IFD] = few
    body = exif.tobytes()
    return body if body.startswith(b"Exif\0\0") else b"Exif\0\0" + body


def _strip_jpeg(data: bytes, exif_body: bytes) -> bytes:
    """Copy a JPEG stream from SOI to its first EOI, leaving out what is not needed to decode it."""
    out = bytearray(b"\xff\xd8\xff\xe1" + (len(exif_body) + 2).to_bytes(2, "big") + exif_body)
    at = 2
    while at < len(data):
        found = _MARKER.match(data, at)
        if found is None:
            break
        marker = found[1][0]
        at = found.end()
        if marker == _END_OF_IMAGE:
            out += b"\xff\xd9"
            break
        length = int.from_bytes(data[at : at + 2], "big")
        segment = data[at : at + length]
        at += length
        if _keeps(marker, segment[2:]):
            out += bytes((0xFF, marker)) + segment
        if marker == _START_OF_SCAN:
            after = _MARKER.search(data, at)
            end = after.start() if after else len(data)
            out += data[at:end]
            at = end
    return bytes(out)  # a stream cut short gets no end mark, so that decoding still notices


def _keeps(marker: int, body: bytes) -> bool:
    if marker == _COMMENT:
        return False
    if 0xE0 <= marker <= 0xEF:
        return marker in _KEPT_APPS and body.startswith(_KEPT_APPS[marker])
    return True
