"""What stands on printed pages."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest


def text_of(file: Path) -> str:
    """The text of a PDF; the test is skipped where no pdftotext is installed."""
    try:
        return subprocess.run(
            ["pdftotext", str(file), "-"], capture_output=True, text=True, check=True
        ).stdout
    except FileNotFoundError:
        pytest.skip("no pdftotext on this machine")


def paper_of(file: Path) -> str:
    """ "a4" or "letter": the size of the pages of a PDF (ISO 216; ANSI/ASME Y14.1)."""
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", file.read_bytes())
    (size,) = {tuple(round(float(points) / 72 * 25.4) for points in box) for box in boxes}
    return {(210, 297): "a4", (216, 279): "letter"}[size]
