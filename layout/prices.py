"""Suppliers: what each stocks and asks for it, read from and written as a plain table."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass

from layout.checks import JobError, finite, text, whole
from layout.lengths import LengthError, format_length, format_thickness, parse_length_in
from layout.stock import Board, check_stock

__all__ = ["KINDS", "Supplier", "plain_cell", "read_prices", "write_prices"]

KINDS = ("regular", "lightweight", "type_x", "moisture", "sag_resistant")
COLUMNS = ("supplier", "kind", "thickness", "width", "length", "price")
MOST_LINES = 2000
MOST_SUPPLIERS = 20


@dataclass(frozen=True, slots=True)
class Supplier:
    """A yard.

    Attributes
    ----------
    name : str
    boards : tuple of Board
        What it stocks, each with its price.
    delivery_price : float
        What bringing the boards costs, once.
    bundle : int
        Boards come in bundles of so many, two by two as packed (a published submittal sheet); 1 sells
        them singly.
    """

    name: str
    boards: tuple[Board, ...]
    delivery_price: float = 0.0
    bundle: int = 2

    def __post_init__(self) -> None:
        text("name", self.name)
        check_stock(self.boards)
        finite("delivery_price", self.delivery_price, 0.0, 1e6, "")
        whole("bundle", self.bundle, 1, 100)


def read_prices(table: str) -> tuple[Supplier, ...]:
    """Suppliers from a table with the columns supplier, kind, thickness, width, length, price.

    Separated by commas, semicolons or tabs; lengths as people write them ("1/2 in", "8 ft",
    "1200 mm"; a plain number is inches); the supplier's column may be missing.

    Raises
    ------
    JobError
        Names the line, what is wrong, what to do.
    """
    lines = [line for line in table.lstrip("\ufeff").splitlines() if line.strip()]
    if not lines:
        raise JobError("prices", f"the table is empty: its first line names {', '.join(COLUMNS)}.")
    if len(lines) > MOST_LINES:
        raise JobError("prices", f"{len(lines)} lines are too many: at most {MOST_LINES}.")
    separator = max(",;\t", key=lines[0].count)
    head = [cell.strip().lower() for cell in lines[0].rstrip(separator + " ").split(separator)]
    missing = [column for column in COLUMNS[1:] if column not in head]
    if missing:
        raise JobError(
            "prices",
            f"the first line has no column {missing[0]!r}: it names {', '.join(COLUMNS)}.",
        )
    found: dict[str, list[Board]] = {}
    for number, cells in enumerate(_cells(lines[1:], separator), start=2):
        # trailing separators are how a spreadsheet ends a short line; "15,50" unquoted is two cells
        if any(cell.strip() for cell in cells[len(head) :]):
            many = (
                f"it has {len(cells)} cells where the first line names {len(head)}: write a price with "
                "a point, such as 15.50, or put it in quotes."
            )
            raise JobError("prices", f"line {number}: {many}")
        row = dict(zip(head, (cell.strip() for cell in cells), strict=False))
        try:
            board = Board(
                row.get("kind", "").lower().replace(" ", "_").replace("-", "_") or "regular",
                parse_length_in(row.get("thickness", "")),
                parse_length_in(row.get("width", "")),
                parse_length_in(row.get("length", "")),
                _money(row.get("price", "")),
            )
        except LengthError as fault:
            raise JobError("prices", f"line {number}: {fault}") from None
        except JobError as fault:
            raise JobError("prices", f"line {number}: {fault}") from None
        found.setdefault(row.get("supplier", "").removeprefix("'") or "1", []).append(board)
    if not found:
        raise JobError("prices", "there is no board below the first line: add one line for each board.")
    if len(found) > MOST_SUPPLIERS:
        raise JobError("prices", f"{len(found)} suppliers are too many: at most {MOST_SUPPLIERS}.")
    return tuple(Supplier(name, tuple(boards)) for name, boards in found.items())


def _cells(lines: list[str], separator: str) -> list[list[str]]:
    try:
        return list(csv.reader(lines, delimiter=separator))
    except csv.Error as fault:
        raise JobError("prices", f"the table cannot be read ({fault}): save it again as CSV.") from None


def write_prices(suppliers: Iterable[Supplier], style: str = "inches") -> str:
    """The same table, with commas. `read_prices` reads it back (bundles and delivery are not in it)."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(COLUMNS)
    for supplier in suppliers:
        for board in supplier.boards:
            table.writerow(
                (
                    plain_cell(supplier.name),
                    plain_cell(board.kind),
                    _as_cell(format_thickness(board.thickness_in, "mm" if style == "mm" else "inches")),
                    *(_written(at, style) for at in (board.width_in, board.length_in)),
                    f"{board.price:.2f}",
                )
            )
    return out.getvalue()


def _written(length_in: float, style: str) -> str:
    """A length without inch marks, which a table would have to quote."""
    if style != "mm" and length_in >= 60.0 and length_in % 12.0 == 0.0:
        return f"{length_in / 12.0:.0f} ft"
    return _as_cell(format_length(length_in, "mm" if style == "mm" else "inches", to=1 / 32))


def _as_cell(plain: str) -> str:
    return plain.replace("\u00a0", " ").replace('"', " in")


def plain_cell(words: str) -> str:
    """A cell that no spreadsheet takes for a formula: one that begins like one gets an apostrophe."""
    return "'" + words if words[:1] in ("=", "+", "-", "@", "\t", "\r") else words


def _money(written: str) -> float:
    plain = written.replace("$", "").replace("€", "").replace("£", "").strip()
    if "," in plain and "." not in plain:
        plain = plain.replace(",", ".")
    try:
        return float(plain.replace(",", ""))
    except ValueError:
        raise JobError("price", f"{written!r:.40} is no price: write a number such as 16.50.") from None
