"""The files of commands: none that is read is written over, none that is written is left half done."""

from __future__ import annotations

import argparse
import errno
import json
import os
import stat
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, BinaryIO

from ui.command_options import UnusableInput
from ui.command_output import say

__all__ = ["opened", "read_file", "refuse_overwriting", "write_bytes", "write_json", "write_text", "writing"]

LARGEST_INPUT_BYTES = 250_000_000
STANDARD = "-"
_DEVICES = (("/", "dev"), ("/", "proc"))


# --- reading -----------------------------------------------------------------------------------------


def read_file(file: str) -> bytes:
    """All of a file; - is the standard input."""
    if file == STANDARD:
        content = _standard_input()
    else:
        with opened(file) as stream:
            content = stream.read(LARGEST_INPUT_BYTES + 1)
    if len(content) > LARGEST_INPUT_BYTES:
        raise UnusableInput(
            f"{file} is larger than {LARGEST_INPUT_BYTES // 1_000_000} MB: name another file."
        )
    return content


def _standard_input() -> bytes:
    if sys.stdin is None:
        raise UnusableInput("The standard input is closed: name a file instead of -.")
    try:
        return sys.stdin.buffer.read(LARGEST_INPUT_BYTES + 1)
    except OSError as fault:
        raise UnusableInput(f"The standard input cannot be read ({fault.strerror}): name a file.") from None


@contextmanager
def opened(file: str) -> Iterator[BinaryIO]:
    """A file to read from."""
    if Path(file).is_dir():
        raise UnusableInput(f"{file} is a folder: name a file in it.")
    try:
        # Not a with-statement: a fault of what reads the stream is not a fault of opening it.
        stream = Path(file).open("rb")  # noqa: SIM115
    except FileNotFoundError:
        raise UnusableInput(f"There is no file {file}: check the name and the folder.") from None
    except (OSError, ValueError) as fault:  # ValueError: a name with a NUL in it
        reason = getattr(fault, "strerror", None) or fault
        raise UnusableInput(f"{file} cannot be read ({reason}): check the file and its rights.") from None
    with stream:
        yield stream


# --- writing -----------------------------------------------------------------------------------------


def write_json(file: str, value: Any) -> None:
    """Write an object as JSON."""
    write_text(file, json.dumps(value, allow_nan=False, indent=1) + "\n")


def write_text(file: str, text: str, encoding: str = "utf-8") -> None:
    """Write text to a file; - is the standard output, which has an encoding of its own."""
    if file == STANDARD:
        say(text, end="")
    else:
        write_bytes(file, text.encode(encoding))


def write_bytes(file: str, content: bytes) -> None:
    """Write bytes to a file; - is the standard output."""
    if file == STANDARD:
        say("", end="")  # what was printed before comes first; tells of an output that is gone
        sys.stdout.buffer.write(content)
        return
    with writing(file) as stream:
        stream.write(content)


@contextmanager
def writing(file: str) -> Iterator[BinaryIO]:
    """A stream whose content takes the file's place once all of it is on the disk.

    Until then, and when anything fails, what was there stays as it was: a full disk or a press of Ctrl-C
    must not cost the job that the file held.

    Raises
    ------
    UnusableInput
        The file cannot be written; says why.
    """
    try:
        place = Path(os.path.realpath(file))  # a link goes on pointing there
        there = place.exists()
        # /dev/stdout, a pipe: what has no content of its own is written to as it is
        passing = (Path(file).exists() and not Path(file).is_file()) or Path(file).parts[:2] in _DEVICES
    except (OSError, ValueError) as fault:  # ValueError: a name with a NUL in it
        raise _unwritable(file, fault) from None
    try:
        if passing:
            with Path(file).open("wb") as stream:
                yield stream
            return
        if there and not os.access(place, os.W_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        handle, beside = tempfile.mkstemp(prefix=f".{place.name[:40]}.", dir=place.parent)
        try:
            with os.fdopen(handle, "wb") as stream:
                yield stream
                stream.flush()
                os.fsync(stream.fileno())
            Path(beside).chmod(stat.S_IMODE(place.stat().st_mode) if there else 0o666 & ~_umask())
            Path(beside).replace(place)
        except BaseException:
            with suppress(OSError):
                Path(beside).unlink()
            raise
    except OSError as fault:
        raise _unwritable(file, fault) from None


def _unwritable(file: str, fault: Exception) -> UnusableInput:
    reason = getattr(fault, "strerror", None) or fault
    return UnusableInput(f"{file} cannot be written ({reason}): name another file.")


def _umask() -> int:
    now = os.umask(0)
    os.umask(now)
    return now


# --- what must not be written over -------------------------------------------------------------------


def refuse_overwriting(options: argparse.Namespace) -> None:
    """Refuse a command that would write over a file that it reads, or over a file of another kind.

    Raises
    ------
    UnusableInput
        Names the file, before anything was read or written.
    """
    inputs, outputs = _inputs(options), _outputs(options)
    for number, (what, file) in enumerate(outputs):
        if any(_same_file(file, other) for other in inputs):
            raise UnusableInput(
                f"{what} would write over {file}, which this command reads: name another file."
            )
        for other_what, other in outputs[:number]:
            if _same_file(file, other):
                raise UnusableInput(f"{other_what} and {what} both name {file}: give each its own file.")
        kind = _KINDS.get((options.command, what), _KINDS.get(("", what)))
        if kind is not None and file != STANDARD and not _may_replace(file, kind):
            raise UnusableInput(
                f"{file} is there already and is no {kind}: name another file for the {kind}."
            )


_KINDS = {
    ("gather", "JOB"): "job file",
    ("job-file", "FILE"): "job file",
    ("pack", "FILE"): "packed job",
    ("", "--write-job"): "job file",
}
"""What a file named first on a command line, where it is easily forgotten or exchanged, must be to be
replaced."""


def _inputs(options: argparse.Namespace) -> list[str]:
    told = vars(options)
    files = [*told.get("photos", ()), *told.get("readings", ())]
    files += [told[name] for name in ("photo", "prices") if told.get(name)]
    if "job" in told and options.command != "gather" and not told.get("kept"):
        files.append(options.job)
    if options.command == "unpack":
        files.append(options.file)
    return files


def _outputs(options: argparse.Namespace) -> list[tuple[str, str]]:
    told = vars(options)
    files = [("JOB", options.job)] if options.command == "gather" else []
    if options.command in ("job-file", "pack"):
        files.append(("FILE", options.file))
    for name in ("write_job", "text", "csv", "pdf", "json"):
        if told.get(name) is not None:
            files.append((f"--{name.replace('_', '-')}", told[name]))
    return files


def _same_file(one: str, other: str) -> bool:
    """Whether two names are those of one file; - never is, nor a device such as /dev/null."""
    if STANDARD in (one, other):
        return False
    try:
        if Path(one).exists() and Path(other).exists():
            return Path(one).samefile(other) and Path(one).is_file()
        return os.path.realpath(one) == os.path.realpath(other)
    except (OSError, ValueError):
        return False  # what cannot be looked at is refused where it is opened, with the reason


def _may_replace(file: str, kind: str) -> bool:
    try:
        if not Path(file).is_file() or Path(file).stat().st_size == 0:
            return True
        if kind == "packed job":
            with zipfile.ZipFile(file) as packed:
                return "job.json" in packed.namelist()
        held = json.loads(Path(file).read_bytes().decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError, zipfile.BadZipFile, NotImplementedError):
        return False
    return isinstance(held, dict) and "version" in held and "surfaces" in held
