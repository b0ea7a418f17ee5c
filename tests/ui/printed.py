"""What stands on printed pages."""

from __future__ import annotations

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
