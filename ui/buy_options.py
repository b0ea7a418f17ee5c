"""Options of the commands for buying: `order`, `prices`, `access`."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

from layout.order import SPARE_RULES
from ui.option_values import number_told
from ui.site_options import add_job, add_paper

__all__ = ["add_buy_commands"]


def add_buy_commands(commands: Any, add_output: Callable[[argparse.ArgumentParser], None]) -> None:
    """Add the commands; `add_output` adds the options of the form that all tables share."""
    order = commands.add_parser(
        "order",
        help="what to buy for a job: boards, spares, bundles, what goes with them, weight, area, money",
    )
    add_job(order)
    _add_prices(order)
    _add_spares(order)
    _add_ways(order)
    order.add_argument("--outside-corners", type=_count, metavar="N", help="they get corner bead")
    order.add_argument("--inside-corners", type=_count, metavar="N", help="they get tape")
    order.add_argument(
        "--more-bead",
        metavar="LENGTH",
        help="corner bead beside that of the outside corners (the outer edges of soffits)",
    )
    order.add_argument(
        "--write-job",
        metavar="FILE",
        help="write the job file anew with the boards that were chosen and get in, the spares and bundles, "
        "for `boards`, `stacks` and `cards`",
    )
    order.add_argument("--csv", metavar="FILE", help="write the order as a table for a spreadsheet")
    order.add_argument("--text", metavar="FILE", help="write the order as plain text to send")
    add_paper(order, "the order", add_output)
    order.set_defaults(command="order")

    prices = commands.add_parser(
        "prices", help="plan a job with each supplier of a price list and set them side by side"
    )
    add_job(prices)
    _add_prices(prices)
    _add_spares(prices)
    _add_ways(prices)
    add_output(prices)
    prices.add_argument("--language", choices=("en", "es"), default="en", help="language of the text (en)")
    prices.set_defaults(command="prices")

    access = commands.add_parser(
        "access", help="which boards of a job's list get in by windows, doors, corners and stairs"
    )
    add_job(access)
    _add_prices(access)
    _add_ways(access)
    add_output(access)
    access.add_argument("--language", choices=("en", "es"), default="en", help="language of the text (en)")
    access.set_defaults(command="access")


def _add_prices(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--prices",
        metavar="FILE",
        help="price list (CSV: supplier, kind, thickness, width, length, price); else the job's own list",
    )
    command.add_argument("--supplier", metavar="NAME", help="buy from this supplier of the list (the first)")
    command.add_argument(
        "--keep",
        action="store_true",
        help="of a kept job: keep what these options say, so that the app, `stacks` and so on follow it",
    )
    command.add_argument(
        "--delivery-price", type=_money, metavar="MONEY", help="what bringing the boards costs, once"
    )


def _add_spares(command: argparse.ArgumentParser) -> None:
    command.add_argument("--spare-rule", choices=SPARE_RULES, help="which boards get spares (longest)")
    command.add_argument("--spares", type=_count, metavar="N", help="how many spares by that rule (2)")
    command.add_argument("--spare-percent", type=_money, metavar="PERCENT", help="for the rule percent (5)")
    command.add_argument(
        "--spares-of",
        action="append",
        default=[],
        nargs=2,
        metavar=("SIZE", "N"),
        help="spares of one size, by its id in the JSON (may be given again; goes before the rule)",
    )
    command.add_argument("--bundle", type=_count, metavar="N", help="round up to bundles of so many (2)")


def _add_ways(command: argparse.ArgumentParser) -> None:
    for name, measures, what in (
        ("window", ("WIDTH", "HEIGHT"), "a window on the way in, its clear width and height"),
        ("door", ("WIDTH", "HEIGHT"), "a door on the way in, its clear width and height"),
        ("corner", ("FIRST", "SECOND"), "a corner of corridors on the way in, their clear widths"),
        (
            "stairs",
            ("WIDTH", "HEADROOM", "RISE", "RUN", "FOOT"),
            "straight stairs on the way in: clear width, headroom, a step's rise and run, height at the foot",
        ),
    ):
        command.add_argument(
            f"--{name}",
            action=_OnTheWay,
            nargs=len(measures),
            metavar=measures,
            help=f"{what} (may be given again; a board must pass all)",
        )
    command.add_argument(
        "--way",
        action=_OnTheWay,
        metavar="NAME",
        help="what follows is another way in (may be given again; a board comes in by any way)",
    )
    command.add_argument(
        "--leads-to",
        action=_OnTheWay,
        metavar="ROOM",
        help="the way leads to this room only (may be given again; else to the whole house)",
    )
    command.set_defaults(passages=())
    command.add_argument(
        "--corridor-height", metavar="HEIGHT", help="clear height at the corners of corridors (80in)"
    )
    command.add_argument(
        "--bare-sill", action="store_true", help="no 2-by over window sills (it takes 1 1/2 in)"
    )


class _OnTheWay(argparse.Action):
    """Keeps windows, doors, corners, stairs and ways in the order they are given in."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: Any,
        option_string: str | None = None,
    ) -> None:
        namespace.passages = (*namespace.passages, (self.dest, values))


def _count(text: str) -> int:
    number = number_told(text)
    if number is None or number > 1000:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of these: write 0 to 1000")
    return number


def _money(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= 1e6:
        raise argparse.ArgumentTypeError(f"{text!r} is no amount: write a number such as 16.50")
    return value
