"""Peak memory of one reading, alone: ``python -m tests.benchmarks.one_reading PHOTO [PIXELS]``.

With PIXELS the photo is first enlarged to that many pixels (12e6: what phones take).
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

PHONE_PX = 12e6


def peak_mb(photo: Path, pixels: float = 0.0) -> float:
    """Peak memory (MB) of loading and reading one photo in a fresh Python process."""
    asked = [sys.executable, "-m", "tests.benchmarks.one_reading", str(photo), str(pixels)]
    said = subprocess.run(asked, check=True, capture_output=True, text=True)
    return float(said.stdout.split()[-1])


def main(photo: str, pixels: str = "0") -> None:
    from vision import Reference, load_photo, read_wall

    data = Path(photo).read_bytes()
    if float(pixels) > 0:
        data = _enlarged(data, float(pixels))
    read_wall(load_photo(data), Reference.on_centre(16.0))
    # not getrusage: its peak is handed on by the process that started this one
    status = Path("/proc/self/status").read_text()
    print(int(re.search(r"VmHWM:\s+(\d+) kB", status)[1]) / 1024)  # type: ignore[index]


def _enlarged(data: bytes, pixels: float) -> bytes:
    """The photo enlarged in another process: what that takes is not the reading's."""
    code = (
        "import sys, io, PIL.Image as I; im = I.open(io.BytesIO(sys.stdin.buffer.read())); "
        f"k = ({pixels} / (im.width * im.height)) ** 0.5; out = io.BytesIO(); "
        "im.resize((round(im.width * k), round(im.height * k)), I.BICUBIC).save(out, 'JPEG', quality=92); "
        "sys.stdout.buffer.write(out.getvalue())"
    )
    return subprocess.run([sys.executable, "-c", code], input=data, check=True, capture_output=True).stdout


if __name__ == "__main__":
    main(*sys.argv[1:])
