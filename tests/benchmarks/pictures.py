"""Every odd picture on its way through the app: a reading or one sentence, in how much memory and time.

    python -m tests.benchmarks.pictures [NAME ...]

Each case runs in a process of its own: the file is taken in (position dropped), loaded and read. Printed:
what came of it, the peak memory above that of the process before the file was opened, and processor seconds
beside those of the plain 12-megapixel JPEG. Memory is read from /proc (Linux).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from sample_images import photo_path, sample_names
from tests.benchmarks.served import twelve_megapixels
from tests.vision.photo_files import exif, jpeg_header_stating, png_bomb, saved, with_position

MOST_SECONDS = 300


def wall(width: int = 2000, height: int = 1500) -> Image.Image:
    """The demo wall at that size."""
    return Image.open(photo_path(sample_names()[0])).convert("RGB").resize((width, height))


def png16(channels: int) -> bytes:
    """16 bits a channel, by another library than the one that reads it."""
    wide = np.asarray(wall()).astype(np.uint16) * 257
    shape = {
        1: wide[..., 1],
        3: wide[..., ::-1],
        4: np.dstack([wide[..., ::-1], np.full(wide.shape[:2], 65535)]),
    }
    _, data = cv2.imencode(".png", shape[channels].astype(np.uint16))
    return data.tobytes()


def see_through() -> Image.Image:
    """A wall that fades out to the right."""
    image = wall().convert("RGBA")
    image.putalpha(Image.linear_gradient("L").rotate(90).resize(image.size))
    return image


def jpeg(image: Image.Image | None = None, **how: object) -> bytes:
    """A JPEG of the wall."""
    return saved(image or wall(), "JPEG", **{"quality": 90, **how})


def large(width: int, height: int, kind: str, **how: object) -> bytes:
    """A whole picture of one colour: small as a file, large when decoded."""
    return saved(Image.new("RGB", (width, height), (150, 140, 120)), kind, **how)


def lies(main: dict[int, object] | None = None, **detail: float) -> bytes:
    """A JPEG whose EXIF states what cannot be."""
    names = {"film_mm": 0xA405, "wide": 0xA002, "high": 0xA003, "zoom": 0xA404}
    return jpeg(exif=exif(main, {names[name]: value for name, value in detail.items()}))


def animated(kind: str, frames: int) -> bytes:
    """The wall first, then black."""
    more = [Image.new("RGB", (2000, 1500), (n % 256, 0, 0)) for n in range(frames - 1)]
    return saved(wall(), kind, save_all=True, append_images=more)


CASES: dict[str, Callable[[], bytes]] = {
    "12-megapixel JPEG": twelve_megapixels,
    **{f"EXIF orientation {n}": lambda n=n: jpeg(exif=exif({0x0112: n})) for n in range(1, 9)},
    "EXIF orientation 77": lambda: jpeg(exif=exif({0x0112: 77})),
    "progressive JPEG": lambda: jpeg(progressive=True),
    "grey JPEG": lambda: jpeg(wall().convert("L")),
    "CMYK JPEG": lambda: jpeg(wall().convert("CMYK")),
    "PNG": lambda: saved(wall(), "PNG"),
    "16-bit grey PNG": lambda: png16(1),
    "16-bit RGB PNG": lambda: png16(3),
    "16-bit RGBA PNG": lambda: png16(4),
    "palette PNG": lambda: saved(wall().quantize(64), "PNG"),
    "palette PNG, see-through": lambda: saved(wall().quantize(64), "PNG", transparency=3),
    "bilevel PNG": lambda: saved(wall().convert("1"), "PNG"),
    "see-through PNG": lambda: saved(see_through(), "PNG"),
    "see-through WebP": lambda: saved(see_through(), "WEBP"),
    "grey and alpha PNG": lambda: saved(see_through().convert("LA"), "PNG"),
    "animated PNG, 5 frames": lambda: animated("PNG", 5),
    "animated WebP, 60 frames": lambda: animated("WEBP", 60),
    "animated GIF": lambda: animated("GIF", 5),
    "TIFF": lambda: saved(wall(), "TIFF"),
    "HEIC": lambda: saved(wall(), "HEIF", quality=90),
    "HEIC without its library": lambda: saved(wall(), "HEIF", quality=90),
    "HEIC of 48 megapixels": lambda: saved(wall(8000, 6000), "HEIF", quality=50),
    "HEIC cut short": lambda: (lambda data: data[: len(data) // 2])(saved(wall(), "HEIF")),
    "two pictures in one JPEG": lambda: saved(wall(), "MPO", save_all=True, append_images=[wall(800, 600)]),
    "JPEG under a PNG's name": jpeg,
    "text under a JPEG's name": lambda: b"no picture at all\n" * 1000,
    "zero bytes": lambda: b"",
    "first half of a JPEG": lambda: (lambda data: data[: len(data) // 2])(jpeg()),
    "JPEG without its last bytes": lambda: jpeg()[:-3000],
    "first half of a PNG": lambda: (lambda data: data[: len(data) // 2])(saved(wall(), "PNG")),
    "1 x 1": lambda: saved(Image.new("RGB", (1, 1)), "PNG"),
    "30000 x 30000 PNG of 0.2 MB": lambda: png_bomb(30000, 30000),
    "30000 x 30000 stated in a JPEG": lambda: jpeg_header_stating(30000, 30000),
    "200-megapixel JPEG": lambda: large(16320, 12240, "JPEG", quality=30),
    "119-megapixel JPEG": lambda: large(12600, 9450, "JPEG", quality=30),
    "119-megapixel progressive JPEG": lambda: large(12600, 9450, "JPEG", quality=30, progressive=True),
    "50-megapixel progressive JPEG, 4:4:4": lambda: large(
        8160, 6120, "JPEG", quality=30, progressive=True, subsampling=0
    ),
    "50-megapixel JPEG of the wall": lambda: jpeg(wall(8160, 6120)),
    "119-megapixel JPEG of the wall": lambda: jpeg(wall(12600, 9450)),
    "50-megapixel PNG": lambda: large(8160, 6120, "PNG"),
    "50-megapixel WebP": lambda: large(8160, 6120, "WEBP", quality=30),
    "200-megapixel PNG": lambda: png_bomb(16320, 12240),
    "15000 x 250 strip": lambda: jpeg(wall(15000, 250)),
    "EXIF: focal length 0 mm": lambda: lies(film_mm=0),
    "EXIF: focal length 65535 mm": lambda: lies(film_mm=65535),
    "EXIF: focal length 3 mm": lambda: lies(film_mm=3),
    "EXIF: sizes of another picture": lambda: lies(film_mm=26, wide=9000, high=2000),
    "EXIF: smaller than it is": lambda: lies(film_mm=26, wide=640, high=480),
    "EXIF: ten times zoomed": lambda: lies(film_mm=26, zoom=10.0),
    "EXIF: garbage": lambda: jpeg(exif=b"Exif\0\0" + bytes(range(256)) * 200),
    "EXIF: position": lambda: jpeg(exif=with_position()),
}


def one(file: str) -> None:
    """What becomes of one file, as JSON."""
    from vision import PhotoError, ReadingError, load_photo, read_wall
    from vision.photo_privacy import without_position

    if file.endswith("without its library"):
        sys.modules["pillow_heif"] = None  # type: ignore[assignment]
    data = Path(file).read_bytes()
    before_mb, begun_s = peak_mb(), time.process_time()
    loaded_mb = loaded_s = 0.0
    try:
        kept = without_position(data)
        photo = load_photo(kept)
        loaded_mb, loaded_s = peak_mb() - before_mb, time.process_time() - begun_s
        reading = read_wall(photo)
        came = f"reading, {len(reading.members)} studs"
        if reading.refused:
            came = "sentence: " + reading.warnings[-1].message
    except (PhotoError, ReadingError) as refused:
        came = "sentence: " + str(refused)
    found = {"came": came, "mb": peak_mb() - before_mb, "s": time.process_time() - begun_s}
    print(json.dumps({**found, "loaded_mb": loaded_mb or found["mb"], "loaded_s": loaded_s or found["s"]}))


def peak_mb() -> float:
    """Highest resident memory of this process so far."""
    status = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in status if line.startswith("VmHWM")) / 1024


def main(names: list[str]) -> None:
    """Run the cases and print a line for each."""
    plain_s = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for name, make in CASES.items():
            if names and name not in names and plain_s:
                continue
            file = Path(folder) / name.replace("/", " ")
            file.write_bytes(make())
            done = subprocess.run(
                [sys.executable, "-m", "tests.benchmarks.pictures", "--one", str(file)],
                capture_output=True,
                text=True,
                timeout=MOST_SECONDS * 10,
                env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
                check=False,
            )
            if done.returncode:
                print(f"{name}: FAILED {done.stderr[-500:]}", flush=True)
                continue
            found = json.loads(done.stdout.splitlines()[-1])
            plain_s = plain_s or found["s"]
            print(
                f"{name:38s} load {found['loaded_mb']:5.0f} MB {found['loaded_s']:5.2f} s;"
                f" all {found['mb']:5.0f} MB {found['s'] / plain_s:5.2f} x; {found['came'][:170]}",
                flush=True,
            )
            file.unlink()


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(sys.argv[2])
    else:
        main(sys.argv[1:])
