"""What the tests of the console command share."""

from __future__ import annotations

from pathlib import Path

from tests.ui import walls
from ui.command_line import main
from vision.reading import Reference, TapeCheck

ROOT = Path(__file__).parents[2]


class Asked:
    """What the command asked the reader for, and what the reader is to answer."""

    def __init__(self) -> None:
        self.answer = walls.reading()
        self.reference: Reference | None = None
        self.corners_px: object = None
        self.face_in = 0.0
        self.checks: tuple[TapeCheck, ...] = ()
        self.second: Reference | None = None

    def read_wall(self, photo, reference=None, corners_px=None, *, face_in=1.5, checks=(), second=None):
        self.second = second
        self.reference, self.corners_px, self.face_in, self.checks = reference, corners_px, face_in, checks
        return self.answer


def refused(capsys, arguments: list[str], status: int = 2) -> str:
    """Run a command that must fail; returns its one line on standard error."""
    assert main(arguments) == status
    err = capsys.readouterr().err
    assert err.endswith("\n")
    assert err.count("\n") == 1, "one line"
    assert "Traceback" not in err
    return err.strip()
