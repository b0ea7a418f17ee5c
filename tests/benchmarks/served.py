"""The app's server as a benchmark sees it: its address, its peak memory, its processor time (Linux)."""

from __future__ import annotations

import io
import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from sample_images import photo_path, sample_names

ROOT = Path(__file__).parents[2]
PHOTO_PX = (4000, 3000)


@dataclass(frozen=True)
class Served:
    """A running server."""

    port: int
    process: subprocess.Popen[bytes]

    @property
    def address(self) -> str:
        """Where a browser finds it."""
        return f"http://127.0.0.1:{self.port}"

    def cpu_s(self) -> float:
        """Processor seconds used so far, all threads."""
        fields = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def peak_mb(self) -> float:
        """Highest resident memory so far."""
        status = Path(f"/proc/{self.process.pid}/status").read_text()
        return next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM")) / 1024


@contextmanager
def served(data_folder: Path, cores: int | None = None) -> Iterator[Served]:
    """The app on a free port of this machine over a store of its own, on the first `cores` cores."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "streamlit", "run", "ui/app.py", "--server.headless=true"]
    log = data_folder / "server.log"
    with log.open("wb") as out:
        process = subprocess.Popen(
            [*command, f"--server.port={port}"],
            cwd=ROOT,
            env={**os.environ, "SEAMWRIGHT_DATA": str(data_folder)},
            stdout=out,
            stderr=subprocess.STDOUT,
        )
    if cores is not None:
        os.sched_setaffinity(process.pid, set(range(cores)))
    server = Served(port, process)
    try:
        for _ in range(600):
            try:
                urllib.request.urlopen(f"{server.address}/_stcore/health", timeout=2).read()
                break
            except OSError:
                time.sleep(0.1)
        yield server
    finally:
        process.terminate()
        process.wait(20)
        said = log.read_text(errors="replace")
        if "Traceback" in said:
            print(said[said.index("Traceback") :][:3000])


def twelve_megapixels(number: int = 0) -> bytes:
    """The demo wall enlarged to 4000 x 3000 pixels with a camera's grain of its own: no two are alike."""
    wall = Image.open(photo_path(sample_names()[0])).convert("RGB").resize(PHOTO_PX, Image.Resampling.BICUBIC)
    grain = np.random.default_rng(number).normal(0, 3, (PHOTO_PX[1], PHOTO_PX[0], 1)).astype(np.float32)
    out = io.BytesIO()
    noisy = np.clip(np.asarray(wall, np.float32) + grain, 0, 255).astype(np.uint8)
    Image.fromarray(noisy).save(out, "JPEG", quality=90)
    return out.getvalue()
