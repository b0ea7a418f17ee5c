"""Load one photo: upright pixels, the focal length its camera stated, nothing else of its metadata.

The file is judged by its bytes, never by its name. Every fault of the file, of Pillow or of
pillow-heif leaves here as a `PhotoError` with one sentence.
"""

from __future__ import annotations

import hashlib
import io
import struct
import threading
import warnings
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from vision.focal_length import FocalDoubt, exif_number, focal_from_exif, focal_of_cut
from vision.torn_jpeg import lacks_data

# Header sizes above these are refused before a single pixel is decoded. JPEG may be larger because
# its decoder can shrink while decoding, so that the full picture is never held in memory.
LARGEST_JPEG_PX = 120_000_000
LARGEST_FULL_PX = 52_000_000
LEAST_SIDE_PX = 240
WORKING_LONG_SIDE_PX = 1600  # of the copy on which all but the edges' exact places is read
LARGEST_FILE_BYTES = 200_000_000
# A sequential JPEG spends at least one bit on the DC and one on the end of each 8 x 8 block
# (ITU-T T.81, F.1.2), and has at least 1.125 blocks per 64 pixels: 0.0044 bytes a pixel. So much is
# asked for before anything is decoded; whether a file that has it is whole, `lacks_data` tells.
LEAST_JPEG_BYTES_PER_PX = 0.0044

ORIENTATION, EXIF_IFD = 0x0112, 0x8769
_TURN = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
# What Pillow's decoders are known to raise on damaged files.
DECODER_FAULTS = (
    OSError,
    SyntaxError,
    ValueError,
    TypeError,
    KeyError,
    IndexError,
    AttributeError,
    EOFError,
    OverflowError,
    ZeroDivisionError,
    MemoryError,
    RuntimeError,
    NotImplementedError,
    AssertionError,
    struct.error,
    zlib.error,
    Image.DecompressionBombError,
)
# Several sessions may load at once; two decodes at a time bound the memory they take together.
_DECODING = threading.BoundedSemaphore(2)

# Pillow reports odd EXIF and big headers as Python warnings, which would land on the user's screen.
# Both cases are decided here.
warnings.filterwarnings("ignore", category=Image.DecompressionBombWarning)
warnings.filterwarnings("ignore", category=UserWarning, module=r"PIL\.")


class PhotoError(ValueError):
    """The file cannot be used as a photo; the text says why and what to do."""


@dataclass(frozen=True, eq=False)
class Photo:
    """One photo, upright. Positions, times and names in the file are not kept.

    Attributes
    ----------
    rgb : array (height_px, width_px, 3) of uint8, read-only
        The pixels, turned upright by the EXIF orientation.
    width_px, height_px : int
        Size of `rgb`; all pixel coordinates of the project refer to it.
    focal_px : float or None
        Focal length in pixels of `rgb`; None when unknown or not to be trusted.
    focal_doubt : str or None
        Why `focal_px` is None: "not_stated", "out_of_range", "cropped" (the picture is not the
        whole sensor) or "zoomed" (digital zoom).
    focal_guess_px : float or None
        About what a stated focal length that is not to be trusted makes it; None where it is to be, or where
        none that a lens has is stated.
    shrunk_by : int
        1, or the whole factor by which a very large JPEG was shrunk while decoding. Point x of the
        file's own pixels is ``(x + 0.5) / shrunk_by - 0.5`` here.
    sha256 : str
        Hex digest of the file's bytes.
    """

    rgb: NDArray[np.uint8]
    width_px: int
    height_px: int
    focal_px: float | None
    focal_doubt: FocalDoubt | None
    shrunk_by: int
    sha256: str
    focal_guess_px: float | None = None

    @cached_property
    def working_rgb(self) -> NDArray[np.uint8]:
        """The photo at a longer side of at most WORKING_LONG_SIDE_PX; made once, when first asked for."""
        return self.smaller(WORKING_LONG_SIDE_PX / max(self.width_px, self.height_px))

    def smaller(self, k: float) -> NDArray[np.uint8]:
        """The photo at `k` times its size; as it is where `k` is 1 or more."""
        if k >= 1:
            return self.rgb
        size = (round(self.width_px * k), round(self.height_px * k))
        return np.asarray(cv2.resize(self.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)


def load_photo(data: bytes, *, kept: bool = False) -> Photo:
    """Read the bytes of a JPEG, PNG, WebP or HEIC file into a `Photo`.

    Of an animated file the first frame is taken; transparent pixels are laid on white; grey,
    palette, CMYK and 16-bit pictures become 8-bit RGB.

    `kept` says that it was taken in before: whether it lost data on its way was asked then, and who keeps a
    torn one from before that was asked is not kept from the wall.

    Raises
    ------
    PhotoError
        Not a picture of these kinds, damaged, cut short, torn, too small or too large.
    """
    image = open_picture(data)
    width, height = image.size
    shrunk_by = _shrink_factor(image.format or "", width, height)
    exif, exif_ifd = exif_tags(image)
    with _DECODING:
        rgb = _decode(image, shrunk_by, _orientation(exif))
        if not kept and image.format in ("JPEG", "MPO") and lacks_data(data):
            raise PhotoError(
                "Part of this JPEG was lost on its way, so its picture is torn, shifted or grey in places: "
                "send it again from the phone, or take a new photo."
            )
    focal_px, doubt = focal_from_exif(exif_ifd, width, height)
    guess_px = None if doubt is None else focal_of_cut(exif_ifd, width, height)
    rgb.setflags(write=False)
    return Photo(
        rgb=rgb,
        width_px=rgb.shape[1],
        height_px=rgb.shape[0],
        focal_px=None if focal_px is None else focal_px / shrunk_by,
        focal_doubt=doubt,
        shrunk_by=shrunk_by,
        sha256=hashlib.sha256(data).hexdigest(),
        focal_guess_px=None if guess_px is None else guess_px / shrunk_by,
    )


def shrunk_by_of(data: bytes) -> int:
    """`Photo.shrunk_by` of these bytes, from the header alone: no pixel is decoded, no damage looked for.

    Raises
    ------
    PhotoError
        Not a picture of the kinds that `load_photo` reads, too small or too large.
    """
    image = open_picture(data)
    return _shrink_factor(image.format or "", *image.size)


def load_small(data: bytes, long_side_px: int) -> NDArray[np.uint8]:
    """Upright pixels of a photo for a list, shape (height, width, 3): at least `long_side_px` long, or the
    photo's own size.

    A JPEG is shrunk while it is decoded, at a fraction of the time and memory.

    Raises
    ------
    PhotoError
        As `load_photo`.
    """
    image = open_picture(data)
    exif, _ = exif_tags(image)
    image.draft(image.mode, (long_side_px, long_side_px))
    with _DECODING:
        return _decode(image, 1, _orientation(exif))


def open_picture(data: bytes) -> Image.Image:
    """The picture with its header read and its size accepted; no pixel decoded yet."""
    if len(data) == 0:
        raise PhotoError("The file is empty: choose the photo again, or take a new one.")
    if len(data) > LARGEST_FILE_BYTES:
        raise PhotoError(
            f"The file has {len(data) // 1_000_000} MB, the most is {LARGEST_FILE_BYTES // 1_000_000} MB: "
            "save the photo as a JPEG and choose that."
        )
    kind = picture_kind(data)
    if kind is None:
        raise PhotoError(
            "The file is not a JPEG, PNG, WebP or HEIC picture (whatever its name says): "
            "save the photo as one of these and choose that."
        )
    if kind == "HEIF":
        _register_heif()
    try:
        image = Image.open(io.BytesIO(data), formats=[kind])
    except Image.DecompressionBombError as fault:
        raise PhotoError(
            "The picture states far more pixels than a photo has: take it again with the phone's camera."
        ) from fault
    except (UnidentifiedImageError, *DECODER_FAULTS) as fault:
        raise PhotoError(_damaged(kind)) from fault
    _accept_size(kind, *image.size)
    if kind == "JPEG" and not image.info.get("progressive"):
        width, height = image.size
        least = LEAST_JPEG_BYTES_PER_PX * width * height * (1 if len(image.getbands()) > 1 else 2 / 3)
        if len(data) < least:
            raise PhotoError(_damaged(kind))
    return image


def picture_kind(data: bytes) -> Literal["JPEG", "PNG", "WEBP", "HEIF"] | None:
    """Pillow's name of the format the first bytes announce; None for any other file."""
    if data[:3] == b"\xff\xd8\xff":
        return "JPEG"
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return "PNG"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WEBP"
    heif_brands = {b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1"}
    if data[4:8] == b"ftyp" and data[8:12] in heif_brands:
        return "HEIF"
    return None


def _register_heif() -> None:
    try:
        from pillow_heif import register_heif_opener
    except ImportError as fault:
        raise PhotoError(
            "HEIC photos cannot be read here because the pillow-heif library is missing: "
            "install it with `pip install pillow-heif`, or save the photo as a JPEG."
        ) from fault
    register_heif_opener(thumbnails=False)


def _accept_size(kind: str, width: int, height: int) -> None:
    if min(width, height) < LEAST_SIDE_PX:
        raise PhotoError(
            f"The picture is only {width} x {height} pixels, at least {LEAST_SIDE_PX} on each side are "
            "needed: choose the original photo, not a thumbnail."
        )
    largest = LARGEST_JPEG_PX if kind == "JPEG" else LARGEST_FULL_PX
    if width * height > largest:
        raise PhotoError(
            f"The picture has {width} x {height} pixels, more than the {largest // 1_000_000} million a "
            f"{_spoken(kind)} may have here: take it with the camera's usual setting (about 12 megapixels)."
        )


def _shrink_factor(kind: str, width: int, height: int) -> int:
    if kind in ("JPEG", "MPO") and width * height > LARGEST_FULL_PX:
        return 2
    return 1


def _decode(image: Image.Image, shrunk_by: int, orientation: int) -> NDArray[np.uint8]:
    try:
        if shrunk_by > 1:
            width, height = image.size
            image.draft(image.mode, (width // shrunk_by, height // shrunk_by))
            if image.size != (-(-width // shrunk_by), -(-height // shrunk_by)):
                raise OSError("the decoder did not shrink as asked")
        image.load()
        picture = _to_rgb(image)
        if orientation in _TURN:
            picture = picture.transpose(_TURN[orientation])
        return np.array(picture, dtype=np.uint8)
    except DECODER_FAULTS as fault:
        raise PhotoError(_damaged(image.format or "")) from fault


def _to_rgb(image: Image.Image) -> Image.Image:
    if image.mode.startswith("I"):  # 16-bit grey; Pillow's own conversion clips instead of scaling
        grey = np.clip(np.asarray(image, dtype=np.int64) >> 8, 0, 255).astype(np.uint8)
        return Image.fromarray(grey).convert("RGB")
    if image.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in image.info:
        over = image.convert("RGBA")
        white = Image.new("RGB", over.size, (255, 255, 255))
        white.paste(over, mask=over.getchannel("A"))
        return white
    return image if image.mode == "RGB" else image.convert("RGB")


def exif_tags(image: Image.Image) -> tuple[dict[int, Any], dict[int, Any]]:
    """Main and Exif tags as plain dicts; empty when absent or unreadable (then: as if not stated)."""
    try:
        exif = image.getexif()
        return dict(exif), dict(exif.get_ifd(EXIF_IFD))
    except DECODER_FAULTS:
        return {}, {}


def _orientation(exif: Mapping[int, Any]) -> int:
    value = exif_number(exif.get(ORIENTATION))
    return int(value) if value is not None and value in range(1, 9) else 1


def _damaged(kind: str) -> str:
    remedy = "copy it again from the camera, or take a new photo"
    return f"The {_spoken(kind)} file is damaged or cut short: {remedy}."


def _spoken(kind: str) -> str:
    return {"WEBP": "WebP", "HEIF": "HEIC", "MPO": "JPEG"}.get(kind, kind)
