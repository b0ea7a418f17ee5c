"""Picture files of every kind, made in memory for the tests of the photo path."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from PIL import Image

WIDTH, HEIGHT = 400, 300
RED, GREEN, BLUE, WHITE = (220, 30, 30), (30, 200, 30), (30, 30, 220), (250, 250, 250)


def quarters(width: int = WIDTH, height: int = HEIGHT) -> Image.Image:
    """Red top left, green top right, blue bottom left, white bottom right: no symmetry at all."""
    pixels = np.empty((height, width, 3), np.uint8)
    pixels[: height // 2, : width // 2] = RED
    pixels[: height // 2, width // 2 :] = GREEN
    pixels[height // 2 :, : width // 2] = BLUE
    pixels[height // 2 :, width // 2 :] = WHITE
    return Image.fromarray(pixels)


def saved(image: Image.Image, kind: str, **how: Any) -> bytes:
    """The bytes of `image` written as `kind` (a Pillow format name)."""
    if kind == "HEIF":
        from pillow_heif import register_heif_opener

        register_heif_opener(thumbnails=False)
    out = io.BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def exif(main: dict[int, Any] | None = None, detail: dict[int, Any] | None = None) -> bytes:
    """An EXIF block with these main tags and these tags of its Exif part."""
    block = Image.Exif()
    for tag, value in (main or {}).items():
        block[tag] = value
    if detail:
        part = block.get_ifd(0x8769)
        part.update(detail)
        block[0x8769] = part
    return block.tobytes()


def with_position() -> bytes:
    """An EXIF block that states where and with what the photo was taken."""
    block = Image.Exif()
    block[0x010F] = "Invented Cameras"
    block[0x0132] = "2026:01:02 03:04:05"
    gps = block.get_ifd(0x8825)
    gps.update({1: "N", 2: (51.0, 28.0, 38.0), 3: "W", 4: (0.0, 0.0, 5.0)})
    block[0x8825] = gps
    part = block.get_ifd(0x8769)
    part.update({0xA405: 26, 0x927C: b"maker's secret"})
    block[0x8769] = part
    return block.tobytes()


def mean_colours(rgb: np.ndarray) -> list[tuple[int, ...]]:
    """Mean colour of the four quarters: top left, top right, bottom left, bottom right."""
    h, w = rgb.shape[:2]
    parts = (
        rgb[: h // 2, : w // 2],
        rgb[: h // 2, w // 2 :],
        rgb[h // 2 :, : w // 2],
        rgb[h // 2 :, w // 2 :],
    )
    return [tuple(int(c) for c in part.reshape(-1, 3).mean(axis=0).round()) for part in parts]


def jpeg_header_stating(width: int, height: int) -> bytes:
    """A valid small JPEG whose header claims another size."""
    data = bytearray(saved(quarters(), "JPEG"))
    at = data.index(b"\xff\xc0")
    data[at + 5 : at + 7] = height.to_bytes(2, "big")
    data[at + 7 : at + 9] = width.to_bytes(2, "big")
    return bytes(data)


def png_bomb(width: int, height: int) -> bytes:
    """A tiny PNG of one colour that would fill width x height pixels when decoded."""
    import struct
    import zlib

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    packer = zlib.compressobj(9)
    row = b"\0" * (width // 8 + 2)
    body = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")
