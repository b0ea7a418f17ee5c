"""What commands print and how they end: exit status, one line on standard error, outputs that are gone."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from typing import TextIO

__all__ = ["DONE", "REFUSED", "STOPPED", "UNUSABLE", "OutputError", "complain", "give_up", "say"]

DONE, UNUSABLE, REFUSED, STOPPED = 0, 2, 3, 130


class OutputError(Exception):
    """The standard output takes nothing (any more); the text says why and what to do."""


def say(text: str, end: str = "\n") -> None:
    """Print to the standard output at once, so that a full disk is told where it happens.

    Raises
    ------
    OutputError, BrokenPipeError
        It cannot be written; its reader has left.
    """
    if sys.stdout is None:
        raise OutputError("The standard output is closed: leave it open, or write to a file.")
    try:
        print(text, end=end, flush=True)
    except BrokenPipeError:
        raise
    except OSError as fault:
        raise OutputError(f"The output cannot be written ({fault.strerror}): send it elsewhere.") from None


def complain(sentence: str, status: int) -> int:
    """Say on standard error what is wrong and what to do, in one line; returns the exit status."""
    if sys.stderr is not None:  # else print would take the standard output
        try:
            print(" ".join(f"seamwright: {sentence}".split()), file=sys.stderr, flush=True)
        except OSError:
            give_up(sys.stderr)  # nobody can be told; the exit status still tells
    return status


def give_up(stream: TextIO | None) -> None:
    """Send what is left in a stream nowhere: Python would fail on it once more at its end."""
    if stream is not None:
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
