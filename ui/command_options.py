"""The options of the console command: their names, their meanings, and how each value is read."""

from __future__ import annotations

import argparse
import importlib.metadata
import math
import re
from typing import Any, NoReturn

from layout.lengths import is_metric, parse_length_in
from ui.buy_options import add_buy_commands
from ui.command_units import MetricLength, add_units
from ui.house_options import add_house_commands, add_material
from ui.option_values import from_one, number_told
from ui.site_options import add_site_commands


class UnusableInput(ValueError):  # noqa: N818 - what it says, in the words of the exit status
    """The input cannot be used; the text says what is wrong and what to do."""


def read_options(arguments: list[str]) -> argparse.Namespace:
    """The command and its options; `command` names the command.

    Raises
    ------
    UnusableInput
        The command line makes no sense; one sentence with the remedy.
    SystemExit
        After ``--help`` or ``--version``.
    """
    return _parser().parse_args([_shielded(argument) for argument in arguments])


class _OneLineParser(argparse.ArgumentParser):
    """argparse, but a wrong command line is one sentence with its remedy, not the whole usage."""

    def error(self, message: str) -> NoReturn:
        raise UnusableInput(f"{message.rstrip('.')}: see `{self.prog} --help`.")


def _parser() -> argparse.ArgumentParser:
    parser = _OneLineParser(
        prog="seamwright",
        description="From a photo of a framed wall to studs in inches, seams on studs and a sheet list.",
        epilog="Exit status: 0 done, 2 the input cannot be used, 3 the result is refused as unreliable or "
        "leaves a surface without boards.",
    )
    parser.add_argument("--version", action="version", version=f"seamwright {_version()}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    _add_studs(commands)
    _add_boards(commands)
    _add_gather(commands)
    _add_kept(commands)
    add_buy_commands(commands, _add_output)
    add_site_commands(commands, _add_output)
    add_house_commands(commands, _add_output, _add_json, _add_known, _length)

    app = commands.add_parser("app", help="open the app in the browser, for this machine only unless shared")
    app.add_argument("--port", type=_port, help="port to listen on (default: the first free from 8501)")
    app.add_argument("--no-browser", action="store_true", help="print the address instead of opening it")
    app.add_argument(
        "--share",
        action="store_true",
        help="let phones in the local network in: shows the address as a picture, asks for a one-time code",
    )
    app.set_defaults(command="app")
    return parser


def _add_studs(commands: Any) -> None:
    studs = commands.add_parser(
        "studs",
        help="find the studs in a photo of one framed wall",
        description="Find the studs in a photo of one framed wall, or in several that overlap. Give one "
        "known length; without any the standard spacing is taken from the photo and said to be assumed.",
    )
    studs.add_argument(
        "photos",
        metavar="PHOTO",
        nargs="+",
        help="JPEG, PNG, WebP or HEIC file, - for standard input; several overlapping photos of one long "
        "wall from left to right",
    )
    for name, target, kind, metavar, said in _STUDS_AGAIN:
        studs.add_argument(
            name,
            dest=target,
            type=_VALUES[kind],
            action="append",
            default=[],
            metavar=metavar,
            help=said,
        )
    _add_marks_off(studs)
    studs.add_argument("--on-centre", type=_length, metavar="LENGTH", help="standard spacing, such as 16in")
    studs.add_argument(
        "--corners",
        type=_point,
        nargs=4,
        action="append",
        default=[],
        metavar="X,Y",
        help="the wall's corners, roughly: top left, top right, bottom right, bottom left; "
        "with several photos once for each",
    )
    add_material(studs)
    studs.add_argument(
        "--face", type=_length, metavar="LENGTH", help="width of the studs' faces (1.5in, of steel 1.25in)"
    )
    _add_output(studs)
    studs.set_defaults(command="studs")


def _add_known(command: argparse.ArgumentParser) -> None:
    """The one known length of a photo, and the wall's corners."""
    command.add_argument(
        "--tape", type=_length, metavar="LENGTH", help="length between two marks, such as 96in"
    )
    command.add_argument(
        "--from", dest="mark_from", type=_point, metavar="X,Y", help="first mark, photo pixels"
    )
    command.add_argument("--to", dest="mark_to", type=_point, metavar="X,Y", help="second mark, photo pixels")
    _add_marks_off(command)
    command.add_argument("--on-centre", type=_length, metavar="LENGTH", help="standard spacing, such as 16in")
    command.add_argument(
        "--corners",
        type=_point,
        nargs=4,
        metavar="X,Y",
        help="the wall's corners, roughly: top left, top right, bottom right, bottom left",
    )


def _add_marks_off(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--marks-off",
        type=_pixels,
        metavar="PX",
        help="how far off the marks usually are, photo pixels, where they were set without much care",
    )


def marks_off_px(options: argparse.Namespace, taped: bool, shrunk_by: int = 1) -> float | None:
    """`--marks-off` in pixels of the photo as it was decoded; None where it was not given."""
    if options.marks_off is None:
        return None
    if not taped:
        raise UnusableInput("--marks-off is about the marks of a --tape: give both, or leave it out.")
    return float(options.marks_off) / shrunk_by


def _add_boards(commands: Any) -> None:
    boards = commands.add_parser("boards", help="plan the boards of a job and print the sheet list")
    boards.add_argument("job", metavar="JOB", help="job file (JSON), - for standard input")
    boards.add_argument(
        "--time-limit", type=_seconds, metavar="SECONDS", help="give the best plan found by then"
    )
    _add_output(boards)
    boards.set_defaults(command="boards")


def _add_gather(commands: Any) -> None:
    gather = commands.add_parser(
        "gather", help="put what `studs --json` wrote for several walls into one job file"
    )
    gather.add_argument("job", metavar="JOB", help="job file to write, - for standard output")
    gather.add_argument("readings", metavar="STUDS", nargs="+", help="files that `studs --json` wrote")
    gather.add_argument("--name", default="", help="name of the job")
    gather.add_argument("--market", choices=("us", "ca", "uk"), default="us", help="rules and stock of")
    gather.add_argument(
        "--board-width",
        type=_length,
        metavar="LENGTH",
        help="one that the market has: 48in (usual) or 54in, in the UK 1200mm (usual) or 900mm",
    )
    gather.add_argument(
        "--take-openings", action="store_true", help="accept the openings that the photos proposed"
    )
    _add_json(gather)
    gather.set_defaults(command="gather")


def _add_kept(commands: Any) -> None:
    jobs = commands.add_parser("jobs", help="list the jobs that the app keeps on this machine")
    jobs.add_argument("--archived", action="store_true", help="those put away")
    _add_json(jobs)
    jobs.set_defaults(command="jobs")
    job_file = commands.add_parser("job-file", help="write the job file of a kept job, for `boards`")
    job_file.add_argument("kept_job", metavar="JOB", help="its name, or its id as `jobs` lists it")
    job_file.add_argument("file", metavar="FILE", help="job file to write, - for standard output")
    _add_json(job_file)
    job_file.set_defaults(command="job-file")
    pack = commands.add_parser("pack", help="write a kept job with its photos to one file")
    pack.add_argument("kept_job", metavar="JOB", help="its name, or its id as `jobs` lists it")
    pack.add_argument("file", metavar="FILE", help="zip file to write")
    _add_json(pack)
    pack.set_defaults(command="pack")
    unpack = commands.add_parser("unpack", help="add a packed job to those kept on this machine")
    unpack.add_argument("file", metavar="FILE", help="zip file that `pack` wrote")
    _add_json(unpack)
    unpack.set_defaults(command="unpack")


def _add_json(command: argparse.ArgumentParser) -> None:
    command.add_argument("--json", metavar="FILE", help="write JSON instead of text, - for standard output")


def _add_output(command: argparse.ArgumentParser) -> None:
    _add_json(command)
    add_units(command)


# --- how a value is read


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
    length_in = _length_or_none(text)
    if length_in == 0:
        raise argparse.ArgumentTypeError(f"a length of {text.strip()!r} cannot be: give what the tape shows")
    return length_in


def _length_or_none(text: str) -> float:
    """A length that may be nothing: marks on the faces themselves stand 0in in front of them."""
    try:
        length_in = parse_length_in(text)
    except ValueError as fault:
        raise argparse.ArgumentTypeError(str(fault).rstrip(".")) from None
    if length_in < 0:
        raise argparse.ArgumentTypeError(f"a length of {text.strip()!r} cannot be: give what the tape shows")
    return MetricLength(length_in) if is_metric(text) else length_in


def _check(text: str) -> tuple[float, float]:
    near, equals, length = text.partition("=")
    if not equals:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a check: write where the member stands and what the tape shows there, "
            'such as 64in=64-1/4"'
        )
    return _length(near), _length(length)


def _same(text: str) -> tuple[int, int, int, int]:
    found = re.fullmatch(r"\s*(\d{1,4}):(\d{1,4})=(\d{1,4}):(\d{1,4})\s*", text)
    if not found:
        raise argparse.ArgumentTypeError(
            f"{text!r} names no stud in two photos: write LEFT:STUD=RIGHT:STUD, such as 1:7=2:2"
        )
    left, stud, right, other = (int(part) for part in found.groups())
    return left, stud, right, other


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not (0 < seconds < 1e6):
        raise argparse.ArgumentTypeError(f"{text!r} is no time: write seconds, such as 10")
    return seconds


def _pixels(text: str) -> float:
    from ui.corrections import MOST_MARK_SIGMA_PX  # here: it loads what reads photos

    try:
        pixels = float(text)
    except ValueError:
        pixels = math.nan
    if not 0 < pixels <= MOST_MARK_SIGMA_PX:
        raise argparse.ArgumentTypeError(
            f"{text.strip()!r} is no distance in the photo: write pixels, such as 2"
        )
    return pixels


def _port(text: str) -> int:
    number = number_told(text)
    if number is None or not 1024 <= number <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port: write a number from 1024 to 65535")
    return number


def _shielded(argument: str) -> str:
    """A point that begins with a minus sign, told apart from an option by a blank in front."""
    return f" {argument}" if re.match(r"-[\d.]", argument) else argument


def _version() -> str:
    try:
        return importlib.metadata.version("seamwright")
    except importlib.metadata.PackageNotFoundError:
        return "(not installed)"


_VALUES = {
    "length": _length,
    "length or none": _length_or_none,
    "point": _point,
    "number": from_one,
    "same": _same,
    "check": _check,
}
_STUDS_AGAIN = (
    ("--tape", "tape", "length", "LENGTH", "length between two marks, such as 96in; a second one checks it"),
    ("--from", "mark_from", "point", "X,Y", "first mark of each --tape, photo pixels"),
    ("--to", "mark_to", "point", "X,Y", "second mark of each --tape, photo pixels"),
    (
        "--marks-in-front",
        "marks_in_front",
        "length or none",
        "LENGTH",
        "how far the marks stand in front of the studs' faces (a level held on them: 1in)",
    ),
    (
        "--in-photo",
        "in_photo",
        "number",
        "N",
        "with several photos: in which one the marks of a --tape lie (1 is the leftmost)",
    ),
    (
        "--same",
        "same",
        "same",
        "LEFT:STUD=RIGHT:STUD",
        "with several photos: a stud that is in two neighbouring ones, such as 1:7=2:2",
    ),
    (
        "--check",
        "check",
        "check",
        "X=LENGTH",
        "one more tape reading, from the wall's left end to the middle of the member near X",
    ),
)
"""Options of `studs` that may be given again: name, where it is kept, kind of value, its form, its help."""
