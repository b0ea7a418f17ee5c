"""Options of the commands for the work on site: `stacks`, `delivery`, `cards`."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

from ui.option_values import from_one

__all__ = ["add_job", "add_paper", "add_site_commands"]


def add_site_commands(commands: Any, add_output: Callable[[argparse.ArgumentParser], None]) -> None:
    """Add the commands; `add_output` adds the options of the form that all tables share."""
    stacks = commands.add_parser(
        "stacks", help="where the boards of a job are put, what each stack weighs, a sign for each"
    )
    add_job(stacks)
    stacks.add_argument("--floor", choices=("slab", "joists"), help="what the boards stand on (slab)")
    stacks.add_argument(
        "--live-load",
        type=_pounds,
        metavar="PSF",
        help="what a floor on joists was designed for, pounds per square foot (40; bedrooms 30)",
    )
    stacks.add_argument("--standing", choices=("auto", "flat", "edge"), help="how boards may stand (auto)")
    stacks.add_argument(
        "--keep-free",
        action="append",
        default=[],
        nargs=3,
        metavar=("SURFACE", "FROM", "TO"),
        help="a stretch of a wall where nothing may stand (may be given again)",
    )
    stacks.add_argument(
        "--depth",
        action="append",
        default=[],
        nargs=2,
        metavar=("SURFACE", "LENGTH"),
        help="free floor in front of a wall (may be given again)",
    )
    stacks.add_argument(
        "--corner",
        action="append",
        default=[],
        nargs=2,
        metavar=("SURFACE", "SURFACE"),
        help="the right end of the first wall meets the left end of the second (may be given again)",
    )
    stacks.add_argument(
        "--move",
        action="append",
        default=[],
        nargs=4,
        metavar=("LOT", "SURFACE", "FROM", "STANDING"),
        help="put a lot (its id in the JSON) at a wall, FROM its left end, flat or edge (may be given again)",
    )
    stacks.add_argument(
        "--through",
        nargs=2,
        metavar=("SURFACE", "CARRIES"),
        help="may a stud of this wall come out for a way through? CARRIES: unknown, something, nothing",
    )
    stacks.add_argument(
        "--keep", action="store_true", help="of a kept job: keep what these options say for the app too"
    )
    add_paper(stacks, "the signs", add_output)
    stacks.set_defaults(command="stacks")

    delivery = commands.add_parser(
        "delivery", help="what was counted on delivery day against what was ordered (a kept job)"
    )
    delivery.add_argument("kept_job", metavar="JOB", help="its name, or its id as `jobs` lists it")
    delivery.add_argument(
        "--take-order", action="store_true", help="from now on count against the order as it is now"
    )
    for name, what in (("came", "came in"), ("damaged", "are damaged")):
        delivery.add_argument(
            f"--{name}",
            action="append",
            default=[],
            nargs=2,
            metavar=("SIZE", "N"),
            help=f"so many more boards of a size (its `line` in the JSON) {what}; -N takes back",
        )
    delivery.add_argument("--note", metavar="TEXT", help="note on the whole delivery")
    delivery.add_argument("--over", action="store_true", help="the delivery is over")
    add_paper(delivery, "the same", add_output)
    delivery.set_defaults(command="delivery")

    cards = commands.add_parser("cards", help="a card for cutting and hanging each surface, in hanging order")
    add_job(cards)
    cards.add_argument(
        "--begin", action="store_true", help="of a kept job: the plan as it is now is the one being hung"
    )
    for name, what in (
        ("hung", "it hangs"),
        ("down", "it does not hang after all"),
        ("spoiled", "it was spoiled: it gets another sheet"),
        ("spoiled-sheet", "its whole sheet was spoiled"),
    ):
        cards.add_argument(
            f"--{name}",
            action="append",
            default=[],
            type=from_one,
            metavar="PIECE",
            help=f"of a kept job, a piece by its number: {what} (may be given again)",
        )
    add_paper(cards, "the cards", add_output)
    cards.set_defaults(command="cards")


def add_job(command: argparse.ArgumentParser) -> None:
    """Add the job and what tells the rooms of a job file."""
    command.add_argument("job", metavar="JOB", help="job file (JSON), - for standard input")
    command.add_argument(
        "--kept", action="store_true", help="JOB is the name or id of a job that the app keeps"
    )
    command.add_argument(
        "--room",
        action="append",
        default=[],
        nargs=2,
        metavar=("ROOM", "SURFACES"),
        help="a room and the ids of its surfaces, with commas between (may be given again)",
    )


def add_paper(
    command: argparse.ArgumentParser, what: str, add_output: Callable[[argparse.ArgumentParser], None]
) -> None:
    """Add the options of the form: table, JSON, pages, language."""
    add_output(command)
    command.add_argument("--pdf", metavar="FILE", help=f"write {what} as PDF")
    command.add_argument(
        "--language", choices=("en", "es"), default="en", help="language of the PDF and the text (en)"
    )


def _pounds(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 5.0 <= value <= 500.0:
        raise argparse.ArgumentTypeError(f"{text!r} is no floor load: give pounds per square foot, 5 to 500")
    return value
