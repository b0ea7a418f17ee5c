"""Options of the commands that make and change kept jobs: surfaces by tape, rooms, names, copies."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from typing import Any

from layout.framing import MATERIALS
from layout.markets import MARKETS
from layout.prices import KINDS
from ui.by_hand import FRAMINGS

BOARD_WIDTHS = ("48in", "54in", "1200mm", "900mm")

__all__ = ["HOUSE_COMMANDS", "add_house_commands", "add_material"]

HOUSE_COMMANDS = (
    "new-job",
    "rename",
    "copy",
    "put-away",
    "bring-back",
    "market",
    "add-photo",
    "measure",
    "mirror",
    "copy-room",
    "corners",
    "change",
)


def _stud_in_both(text: str) -> tuple[int, int]:
    found = re.fullmatch(r"\s*(\d{1,4})\s*=\s*(\d{1,4})\s*", text)
    if not found:
        raise argparse.ArgumentTypeError(
            f"{text!r} names no stud in two photos: write STUD=STUD, such as 7=2"
        )
    return int(found[1]), int(found[2])


def add_house_commands(
    commands: Any,
    add_output: Callable[[argparse.ArgumentParser], None],
    add_json: Callable[[argparse.ArgumentParser], None],
    add_known: Callable[[argparse.ArgumentParser], None],
    length: Callable[[str], float],
) -> None:
    """Add the commands; `length` reads a length option, `add_output` adds what all tables share,
    `add_json` the JSON of what prints no table, `add_known` what is known about a photo.
    """
    new = commands.add_parser("new-job", help="start an empty job that is kept on this machine")
    new.add_argument("name", metavar="NAME")
    new.add_argument(
        "--market", choices=MARKETS, help="where the house is: rules, boards on sale, units, paper (us)"
    )
    add_json(new)
    new.set_defaults(command="new-job")
    for name, more, about in (
        ("rename", True, "give a kept job another name"),
        ("copy", True, "copy a kept job with its photos"),
        ("put-away", False, "put a kept job away"),
        ("bring-back", False, "bring back a job that was put away"),
    ):
        command = commands.add_parser(name, help=about)
        _add_job(command)
        if more:
            command.add_argument("name", metavar="NAME")
        add_json(command)
        command.set_defaults(command=name)
    photo = commands.add_parser(
        "add-photo", help="add a photographed wall to a kept job, and print the boards so far"
    )
    _add_job(photo)
    photo.add_argument("photo", metavar="PHOTO", help="JPEG, PNG, WebP or HEIC file, - for standard input")
    add_known(photo)
    photo.add_argument("--height", type=length, metavar="LENGTH", help="the wall's height by tape")
    add_material(photo)
    _add_board(photo, length)
    photo.add_argument("--room", default="", help="the room it belongs to")
    photo.add_argument("--name", default="", help="its name (Wall A, Wall B, ... by default)")
    photo.add_argument(
        "--wall",
        metavar="NAME",
        help="one more photo of this wall of the job, taken further right, to be joined",
    )
    photo.add_argument("--left", action="store_true", help="with --wall: taken further left")
    photo.add_argument(
        "--same",
        type=_stud_in_both,
        metavar="STUD=STUD",
        help="with --wall: a stud of the photo beside it and the same stud in this one, each counted in its "
        "photo from the left; the photo may be named again to say so",
    )
    add_output(photo)
    photo.set_defaults(command="add-photo")
    _add_measure(commands, add_output, length)
    _add_changes(commands, add_output, length)
    mirror = commands.add_parser("mirror", help="add the mirror image of a surface of a kept job")
    _add_job(mirror)
    mirror.add_argument("surface", metavar="SURFACE", help="its name")
    mirror.add_argument("--name", default="", help="name of the new surface")
    add_output(mirror)
    mirror.set_defaults(command="mirror")
    room = commands.add_parser("copy-room", help="copy all surfaces of a room within a kept job")
    _add_job(room)
    room.add_argument("room", metavar="ROOM")
    room.add_argument("name", metavar="NAME", help="the new room's name")
    add_output(room)
    room.set_defaults(command="copy-room")


def _add_changes(commands: Any, add_output: Any, length: Any) -> None:
    market = commands.add_parser(
        "market",
        help="say where the house of a kept job is, and print the boards so far",
        description="Say where the house of a kept job is. It decides the rules, the boards taken as on "
        "sale, the units and the paper; what was told or chosen before stays as it is.",
    )
    _add_job(market)
    market.add_argument("market", choices=MARKETS, help="United States, Canada or United Kingdom")
    add_output(market)
    market.set_defaults(command="market")
    corners = commands.add_parser(
        "corners",
        help="say how the walls of a room meet, and print the boards so far",
        description="Say how the walls of a room meet, in the order of the job's list, as one looks at them "
        "from inside the room. The wall first on the list is hung first and runs into the corner; the "
        "next butts against its board.",
    )
    _add_job(corners)
    corners.add_argument("room", metavar="ROOM")
    corners.add_argument(
        "way",
        choices=("right", "left", "unsaid"),
        help="each wall meets the next at its right end, or at its left end; unsaid takes it back",
    )
    corners.add_argument("--open", action="store_true", help="the last wall does not meet the first")
    add_output(corners)
    corners.set_defaults(command="corners")
    change = commands.add_parser(
        "change",
        help="change the boards, the framing's material or the room of a surface of a kept job, and print "
        "the boards so far",
    )
    _add_job(change)
    change.add_argument("surface", metavar="SURFACE", help="its name; all of that name are changed")
    add_material(change)
    _add_board(change, length)
    change.add_argument("--width", choices=BOARD_WIDTHS, help="of its boards")
    change.add_argument("--room", help="the room it belongs to")
    change.add_argument(
        "--no-wishes", action="store_true", help="take back all wishes kept for it, before those given here"
    )
    change.add_argument(
        "--rows-from", choices=("auto", "top", "bottom"), help="the side its first row is hung at"
    )
    change.add_argument(
        "--boards-run", choices=("auto", "across", "parallel"), help="across its members or parallel to them"
    )
    change.add_argument(
        "--seam-at",
        nargs=2,
        action="append",
        default=[],
        metavar=("ROW", "PLACE"),
        help="a seam wanted in that row (1 is hung first) on the stud there; may be given again",
    )
    change.add_argument(
        "--no-seam-at",
        type=length,
        action="append",
        default=[],
        metavar="PLACE",
        help="no seam on the stud there; may be given again",
    )
    change.add_argument(
        "--row-length",
        nargs=2,
        action="append",
        default=[],
        metavar=("ROW", "LENGTH"),
        help="all of that row from boards of this length; may be given again",
    )
    add_output(change)
    change.set_defaults(command="change")


def _add_measure(commands: Any, add_output: Any, length: Any) -> None:
    measure = commands.add_parser(
        "measure",
        help="add a surface measured with a tape to a kept job, and print the boards so far",
        description="Add a wall or ceiling measured with a tape to a kept job, and print the boards so far.",
    )
    _add_job(measure)
    measure.add_argument("length", type=length, metavar="LENGTH", help="of the wall; one side of a ceiling")
    measure.add_argument("height", type=length, metavar="HEIGHT", help="of the wall; a ceiling's other side")
    measure.add_argument("--framing", choices=FRAMINGS, default="studs", help="studs (a wall) by default")
    measure.add_argument("--on-centre", type=length, metavar="LENGTH", help="spacing (16in, in the UK 400mm)")
    measure.add_argument(
        "--first", type=length, metavar="LENGTH", help="end to the centre of the first after the end member"
    )
    measure.add_argument("--from-right", action="store_true", help="the layout starts at the right end")
    measure.add_argument("--along", action="store_true", help="a ceiling's members run along its length")
    measure.add_argument(
        "--opening",
        action="append",
        default=[],
        metavar="TEXT",
        help='rough opening or electrical box, such as "door 34 at 40", "window 32 x 44 at 56 up 36" or '
        '"box at 30 up 12"; may be given again',
    )
    add_material(measure)
    _add_board(measure, length)
    measure.add_argument("--room", default="", help="the room it belongs to")
    measure.add_argument("--name", default="", help="its name (Wall A, Wall B, ... by default)")
    add_output(measure)
    measure.set_defaults(command="measure")


def add_material(command: argparse.ArgumentParser) -> None:
    """What a surface is framed with; None where nothing is said."""
    command.add_argument("--material", choices=MATERIALS, help="of its studs or joists (timber)")


def _add_board(command: argparse.ArgumentParser, length: Callable[[str], float]) -> None:
    command.add_argument("--board", choices=KINDS, help="kind of its boards (regular)")
    command.add_argument("--thickness", type=length, metavar="LENGTH", help="of its boards (1/2in)")


def _add_job(command: argparse.ArgumentParser) -> None:
    command.add_argument("kept_job", metavar="JOB", help="its name, or its id as `jobs` lists it")
