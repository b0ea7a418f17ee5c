"""The console command ``seamwright``: studs from a photo, boards from a job, and the app.

Exit status: 0 done; 2 the input cannot be used; 3 the result is refused as unreliable. Both are said
in one line on standard error.
"""

from __future__ import annotations

import argparse
import importlib.metadata
import json
import math
import os
import re
import sys
from pathlib import Path
from typing import Any, NoReturn

from layout.lengths import parse_length_in

DONE, UNUSABLE, REFUSED, STOPPED = 0, 2, 3, 130
LARGEST_INPUT_BYTES = 250_000_000
# For developers: with this variable set a fault of the program shows where it happened.
TRACEBACK_VARIABLE = "SEAMWRIGHT_TRACEBACK"


class UnusableInput(ValueError):  # noqa: N818 - what it says, in the words of the exit status
    """The input cannot be used; the text says what is wrong and what to do."""


def main(arguments: list[str] | None = None) -> int:
    """Run the command with these arguments (those of the process by default); returns the exit status."""
    given = sys.argv[1:] if arguments is None else arguments
    try:
        status = _run(given)
        sys.stdout.flush()  # a reader who left early must show here, not at the interpreter's end
        return status
    except KeyboardInterrupt:
        return _complain("Stopped.", STOPPED)
    except BrokenPipeError:
        # The reader of a pipe (`| head`) has gone: keep the interpreter from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except ValueError as fault:  # every refusal of the project is one: photo, marks, length, job
        if os.environ.get(TRACEBACK_VARIABLE):
            raise
        return _complain(str(fault), UNUSABLE)
    except Exception as fault:
        if os.environ.get(TRACEBACK_VARIABLE):
            raise
        return _complain(_fault_sentence(fault), UNUSABLE)


def _run(given: list[str]) -> int:
    try:
        options = _parser().parse_args([_shielded(argument) for argument in given])
    except SystemExit as leaving:  # argparse after --help or --version
        return int(leaving.code or 0)
    return int(options.run(options))


def _complain(sentence: str, status: int) -> int:
    print(" ".join(f"seamwright: {sentence}".split()), file=sys.stderr)
    return status


def _fault_sentence(fault: Exception) -> str:
    from ui.launch import LaunchError
    from ui.store_schema import StoreError

    if isinstance(fault, (StoreError, LaunchError)):
        return str(fault)
    if isinstance(fault, MemoryError):
        return "The memory does not suffice for this: close other programs, or use a smaller photo."
    return (
        f"The program failed on this input ({type(fault).__name__}: {fault}): please report it with the "
        f"input; with {TRACEBACK_VARIABLE}=1 it shows where."
    )


# --- the commands ------------------------------------------------------------------------------------


def _studs(options: argparse.Namespace) -> int:
    from ui.bridge import in_file_px
    from ui.studs_report import studs_json, studs_table
    from vision import load_photo, read_wall
    from vision.reading import TapeCheck

    photo = load_photo(_read_bytes(options.photo))
    reading = read_wall(
        photo,
        reference=_reference(options, photo.shrunk_by),
        corners_px=None
        if options.corners is None
        else tuple(_in_photo(corner, photo.shrunk_by) for corner in options.corners),
        face_in=options.face,
        checks=tuple(TapeCheck(near_in=near, length_in=length) for near, length in options.check),
    )
    reading = in_file_px(reading, photo.shrunk_by)
    if options.json is not None:
        _write_json(options.json, studs_json(reading, photo))
    elif not reading.refused:
        print(studs_table(reading, _style(options)))
    if reading.refused:
        said = "; ".join(f"{w.message} {w.advice}" for w in reading.warnings[:2])
        return _complain(said or "The photo could not be read reliably: take another one.", REFUSED)
    return DONE


def _boards(options: argparse.Namespace) -> int:
    from layout import plan_job, plan_to_json, read_job
    from ui.boards_report import boards_table
    from ui.studs_report import finite

    job = read_job(_read_bytes(options.job))
    plan = plan_job(job, time_limit_s=options.time_limit)
    if options.json is not None:
        _write_json(options.json, finite(plan_to_json(plan)))
    else:
        print(boards_table(plan, _style(options)))
    unplanned = [surface.id for surface in plan.surfaces if not surface.rows]
    if unplanned:
        said = "; ".join(f"{w.message} {w.advice}" for w in plan.warnings if w.surface in unplanned)
        return _complain(said or f"No plan for {', '.join(unplanned)}: check its size and boards.", REFUSED)
    return DONE


def _gather(options: argparse.Namespace) -> int:
    from layout import write_job
    from ui.gather import gather

    walls = [(Path(file).stem, _read_bytes(file)) for file in options.readings]
    job = gather(
        walls,
        name=options.name,
        market=options.market,
        board_width_in=options.board_width,
        take_openings=options.take_openings,
    )
    _write_json(options.job, write_job(job))
    if options.job != "-":
        print(f"{options.job}: {len(job.surfaces)} walls. Next: seamwright boards {options.job}")
    return DONE


def _app(options: argparse.Namespace) -> int:
    from ui.launch import start_app

    return start_app(options.port, open_browser=not options.no_browser)


# --- what the options mean ---------------------------------------------------------------------------


def _reference(options: argparse.Namespace, shrunk_by: int) -> Any:
    from vision.reading import Reference

    marks = (options.mark_from, options.mark_to)
    if options.tape is not None:
        if options.on_centre is not None:
            raise UnusableInput("--tape and --on-centre exclude each other: give the one you know best.")
        if None in marks:
            raise UnusableInput("--tape needs its two marks: add --from X,Y and --to X,Y in photo pixels.")
        return Reference.tape(
            options.tape,
            _in_photo(options.mark_from, shrunk_by),
            _in_photo(options.mark_to, shrunk_by),
            stands_proud_in=options.marks_in_front,
        )
    if marks != (None, None):
        raise UnusableInput("--from and --to mark a length: add --tape LENGTH, or leave them out.")
    return None if options.on_centre is None else Reference.on_centre(options.on_centre)


def _in_photo(point: tuple[float, float], shrunk_by: int) -> tuple[float, float]:
    """A point of the file's pixels in the pixels of the photo as it was decoded."""
    return ((point[0] + 0.5) / shrunk_by - 0.5, (point[1] + 0.5) / shrunk_by - 0.5)


def _style(options: argparse.Namespace) -> str:
    return "mm" if options.mm else "feet_inches"


def _point(text: str) -> tuple[float, float]:
    parts = text.strip().split(",")
    try:
        x, y = (float(part) for part in parts)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text.strip()!r} is not a point: write X,Y in photo pixels, such as 1204,733"
        ) from None
    if not (math.isfinite(x) and math.isfinite(y)):
        raise argparse.ArgumentTypeError(f"{text.strip()!r} is not a point in the photo: write X,Y in pixels")
    return x, y


def _length(text: str) -> float:
    try:
        length_in = parse_length_in(text)
    except ValueError as fault:
        raise argparse.ArgumentTypeError(str(fault).rstrip(".")) from None
    if length_in <= 0:
        raise argparse.ArgumentTypeError(f"a length of {text.strip()!r} cannot be: give what the tape shows")
    return length_in


def _check(text: str) -> tuple[float, float]:
    near, equals, length = text.partition("=")
    if not equals:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a check: write where the member stands and what the tape shows there, "
            'such as 64in=64-1/4"'
        )
    return _length(near), _length(length)


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not (0 < seconds < 1e6):
        raise argparse.ArgumentTypeError(f"{text!r} is no time: write seconds, such as 10")
    return seconds


def _port(text: str) -> int:
    if not text.isdigit() or not 1024 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port: write a number from 1024 to 65535")
    return int(text)


def _shielded(argument: str) -> str:
    """A point that begins with a minus sign, told apart from an option by a blank in front."""
    return f" {argument}" if re.match(r"-[\d.]", argument) else argument


# --- files -------------------------------------------------------------------------------------------


def _read_bytes(file: str) -> bytes:
    try:
        if file == "-":
            return sys.stdin.buffer.read(LARGEST_INPUT_BYTES)
        path = Path(file)
        if path.is_dir():
            raise UnusableInput(f"{file} is a folder: name a file in it.")
        with path.open("rb") as stream:
            return stream.read(LARGEST_INPUT_BYTES)
    except FileNotFoundError:
        raise UnusableInput(f"There is no file {file}: check the name and the folder.") from None
    except OSError as fault:
        raise UnusableInput(f"{file} cannot be read ({fault.strerror}): check the file's rights.") from None


def _write_json(file: str, value: Any) -> None:
    text = json.dumps(value, allow_nan=False, indent=1, ensure_ascii=False) + "\n"
    if file == "-":
        sys.stdout.write(text)
        sys.stdout.flush()
        return
    try:
        Path(file).write_text(text, encoding="utf-8")
    except OSError as fault:
        raise UnusableInput(f"{file} cannot be written ({fault.strerror}): name another file.") from None


# --- the parser --------------------------------------------------------------------------------------


class _OneLineParser(argparse.ArgumentParser):
    """argparse, but a wrong command line is one sentence with its remedy, not the whole usage."""

    def error(self, message: str) -> NoReturn:
        raise UnusableInput(f"{message.rstrip('.')}: see `{self.prog} --help`.")


def _parser() -> argparse.ArgumentParser:
    parser = _OneLineParser(
        prog="seamwright",
        description="From a photo of a framed wall to studs in inches, seams on studs and a sheet list.",
        epilog="Exit status: 0 done, 2 the input cannot be used, 3 the result is refused as unreliable.",
    )
    parser.add_argument("--version", action="version", version=f"seamwright {_version()}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    _add_studs(commands)
    _add_boards(commands)
    _add_gather(commands)

    app = commands.add_parser("app", help="open the app in the browser, for this machine only")
    app.add_argument("--port", type=_port, help="port to listen on (default: the first free from 8501)")
    app.add_argument("--no-browser", action="store_true", help="print the address instead of opening it")
    app.set_defaults(run=_app)
    return parser


def _add_studs(commands: Any) -> None:
    studs = commands.add_parser(
        "studs",
        help="find the studs in a photo of one framed wall",
        description="Find the studs in a photo of one framed wall. Give one known length; without any "
        "the standard spacing is taken from the photo and said to be assumed.",
    )
    studs.add_argument("photo", metavar="PHOTO", help="JPEG, PNG, WebP or HEIC file, - for standard input")
    studs.add_argument(
        "--tape", type=_length, metavar="LENGTH", help="length between two marks, such as 96in"
    )
    studs.add_argument(
        "--from", dest="mark_from", type=_point, metavar="X,Y", help="first mark, photo pixels"
    )
    studs.add_argument("--to", dest="mark_to", type=_point, metavar="X,Y", help="second mark, photo pixels")
    studs.add_argument(
        "--marks-in-front",
        type=_length,
        default=0.0,
        metavar="LENGTH",
        help="how far the marks stand in front of the studs' faces (a level held on them: 1in)",
    )
    studs.add_argument("--on-centre", type=_length, metavar="LENGTH", help="standard spacing, such as 16in")
    studs.add_argument(
        "--corners",
        type=_point,
        nargs=4,
        metavar="X,Y",
        help="the wall's corners, roughly: top left, top right, bottom right, bottom left",
    )
    studs.add_argument(
        "--face", type=_length, default=1.5, metavar="LENGTH", help="width of the studs' faces (1.5in)"
    )
    studs.add_argument(
        "--check",
        type=_check,
        action="append",
        default=[],
        metavar="X=LENGTH",
        help="one more tape reading, from the wall's left end to the middle of the member near X; "
        "may be given again",
    )
    _add_output(studs)
    studs.set_defaults(run=_studs)


def _add_boards(commands: Any) -> None:
    boards = commands.add_parser("boards", help="plan the boards of a job and print the sheet list")
    boards.add_argument("job", metavar="JOB", help="job file (JSON), - for standard input")
    boards.add_argument(
        "--time-limit", type=_seconds, metavar="SECONDS", help="give the best plan found by then"
    )
    _add_output(boards)
    boards.set_defaults(run=_boards)


def _add_gather(commands: Any) -> None:
    gather = commands.add_parser(
        "gather", help="put what `studs --json` wrote for several walls into one job file"
    )
    gather.add_argument("job", metavar="JOB", help="job file to write, - for standard output")
    gather.add_argument("readings", metavar="STUDS", nargs="+", help="files that `studs --json` wrote")
    gather.add_argument("--name", default="", help="name of the job")
    gather.add_argument("--market", choices=("us", "ca", "uk"), default="us", help="rules and stock of")
    gather.add_argument(
        "--board-width", type=_length, default=48.0, metavar="LENGTH", help="48in, 54in, 1200mm"
    )
    gather.add_argument(
        "--take-openings", action="store_true", help="accept the openings that the photos proposed"
    )
    gather.set_defaults(run=_gather)


def _add_output(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--json", metavar="FILE", help="write JSON instead of a table, - for standard output"
    )
    command.add_argument("--mm", action="store_true", help="print millimetres in the table")


def _version() -> str:
    try:
        return importlib.metadata.version("seamwright")
    except importlib.metadata.PackageNotFoundError:
        return "(not installed)"


if __name__ == "__main__":
    sys.exit(main())
