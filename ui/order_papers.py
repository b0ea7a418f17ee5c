"""The order to send: as plain text, as CSV, and as pages to print."""

from __future__ import annotations

import csv
import io
import math
from datetime import datetime

from layout import format_length, in_to_mm
from layout.accessories import TAPE_ROLL_FT, Accessories
from layout.order import OrderRow
from layout.prices import plain_cell
from layout.weights import KG_PER_LB, SQFT_PER_M2, weight_text
from ui.board_size import board_size, board_style
from ui.delivery_view import kind_name
from ui.order_sheet import Bought
from ui.paper import Paper
from ui.unboarded import unboarded_lines
from ui.words import Words

__all__ = [
    "accessory_lines",
    "area_text",
    "caution_lines",
    "doubt_lines",
    "money",
    "order_csv",
    "order_pdf",
    "order_text",
    "run_text",
    "size_of",
    "totals_lines",
    "turned_away_text",
    "without_wide",
]

LITRES_PER_GALLON = 3.785411784
"""A US gallon (NIST Handbook 44, appendix C: 231 cubic inches)."""


def money(amount: float) -> str:
    """An amount in the user's money, whose sign only the user knows."""
    return f"{amount:,.2f}"


def without_wide(supplier: str, width_in: float, style: str, words: Words) -> str:
    """What a supplier is called that has no boards of that width."""
    width = format_length(width_in, "mm" if style == "mm" else "inches").replace('"', " in")
    return words("prices.without_wide", supplier=supplier, width=width)


def run_text(length_ft: float, style: str, words: Words) -> str:
    """A length along joints, rounded up: metres beside millimetres, else feet."""
    if style == "mm":
        return words("buy.metres", n=math.ceil(in_to_mm(length_ft * 12.0) / 1000.0))
    return words("buy.feet", n=math.ceil(length_ft))


def area_text(area_sqft: float, style: str, words: Words) -> str:
    """An area, rounded up: square metres beside millimetres, else square feet."""
    if style == "mm":
        return words("buy.sq_metres", n=f"{math.ceil(area_sqft * (in_to_mm(12.0) / 1000.0) ** 2):,}")
    return words("buy.sq_feet", n=f"{math.ceil(area_sqft):,}")


def size_of(row: OrderRow, style: str) -> str:
    """A board's size as it is called out."""
    return board_size(row.length_in, row.width_in, style, row.thickness_in)


def order_text(all_of_it: Bought, words: Words, style: str, *, prices: bool = True) -> str:
    """The order as plain text, one line for each size."""
    order = all_of_it.order
    lines = [words("buy.paper_title", name=all_of_it.name or words("buy.no_name"))]
    if all_of_it.supplier:
        lines.append(words("buy.to", supplier=all_of_it.supplier))
    lines.append("")
    for row in order.rows:
        line = f"{row.count:>3} - {size_of(row, style)}  {kind_name(row.kind, words)}"
        if prices:
            line += f"  @ {money(row.price)} = {money(row.cost)}"
        lines.append(line)
    lines += ["", *totals_lines(all_of_it, words, style, prices=prices)]
    lines += unboarded_lines(all_of_it.plan, all_of_it.left_out, words, style)
    doubts = doubt_lines(all_of_it, words, style, prices=prices)
    lines += ["", *doubts] if doubts else []
    lines += ["", words("buy.goes_with") + ":"]
    lines += [f"- {line}" for line in accessory_lines(all_of_it.accessories, words, style)]
    return "\n".join(lines) + "\n"


def turned_away_text(all_of_it: Bought, words: Words, style: str) -> str:
    """Which boards on sale cannot get in, and what stops them; "" when all can.

    It is for whoever orders: what the yard could not bring in is no part of the paper it gets.
    """
    sizes = [
        words("buy.stopped_by", size=board_size(board.length_in, board.width_in, style), passage=passage)
        for board, passage in all_of_it.turned_away
    ]
    return words("buy.turned_away", boards=", ".join(dict.fromkeys(sizes))) if sizes else ""


def totals_lines(all_of_it: Bought, words: Words, style: str, *, prices: bool = True) -> list[str]:
    """Boards, area, weight, and the money."""
    order = all_of_it.order
    lines = [
        words(
            "buy.totals",
            n=order.count,
            area=area_text(order.area_sqft, style, words),
            weight=weight_text(order.weight_lb, style),
        )
    ]
    if prices:
        lines.append(words("buy.boards_cost", amount=money(order.boards_cost)))
        if order.delivery_price:
            lines.append(words("buy.delivery_cost", amount=money(order.delivery_price)))
        lines.append(words("buy.total_cost", amount=money(order.total)))
    return lines


def doubt_lines(all_of_it: Bought, words: Words, style: str, *, prices: bool = True) -> list[str]:
    """What an order must not be sent without: walls that nobody measured, prices that nobody gave."""
    lines = []
    if all_of_it.guessed:
        lines.append(words("buy.guessed", names=", ".join(all_of_it.guessed)))
    if prices and all_of_it.placeholder:
        lines.append(words.in_units("buy.placeholder", style))
    return lines


def accessory_lines(goes_with: Accessories, words: Words, style: str) -> list[str]:
    """What goes with the boards, one line each."""
    lines = [
        words(
            "buy.screws",
            n=f"{each.to_buy:,}",
            needed=f"{each.needed:,}",
            length=format_length(each.length_in, "mm" if style == "mm" else "inches"),
        )
        for each in goes_with.screws
    ]
    lines.append(
        words(
            "buy.tape",
            length=run_text(goes_with.tape_ft, style, words),
            rolls=goes_with.tape_rolls,
            roll=run_text(TAPE_ROLL_FT, style, words),
        )
    )
    lines += [
        words("buy.bead", n=count, length=format_length(length, board_style(style)))
        for length, count in goes_with.bead_pieces
    ]
    if goes_with.soffit_edges_in:
        edges_ft = sum(goes_with.soffit_edges_in) / 12.0
        lines.append(
            words(
                "buy.bead_soffits",
                n=len(goes_with.soffit_edges_in),
                length=run_text(edges_ft, style, words),
            )
        )
    least, most = goes_with.compound_gal
    if style == "mm":
        least, most = least * LITRES_PER_GALLON, most * LITRES_PER_GALLON
    unit = words("buy.litres" if style == "mm" else "buy.gallons")
    lines.append(
        words.in_units("buy.compound", style, least=math.ceil(least), most=math.ceil(most), unit=unit)
    )
    lines += [words.in_units(f"buy.tool_{tool}", style) for tool in goes_with.tools]
    return lines


def order_csv(all_of_it: Bought, words: Words, style: str = "inches") -> str:
    """The order as a table for a spreadsheet: boards first, then what goes with them; in inches, pounds and
    square feet, or in millimetres, kilograms and square metres."""
    metric = style == "mm"
    of_an_inch, of_a_pound = (in_to_mm(1.0), KG_PER_LB) if metric else (1.0, 1.0)
    of_a_sq_foot = 1.0 / SQFT_PER_M2 if metric else 1.0
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(
        words.in_units(f"buy.col_{name}", style)
        for name in (
            "count",
            "item",
            "thickness_in",
            "width_in",
            "length_in",
            "needed",
            "spare",
            "to_fill",
            "price",
            "cost",
            "pounds",
            "sqft",
        )
    )
    for row in all_of_it.order.rows:
        table.writerow(
            (
                row.count,
                plain_cell(kind_name(row.kind, words)),
                f"{row.thickness_in * of_an_inch:.4g}",
                f"{row.width_in * of_an_inch:.6g}",
                f"{row.length_in * of_an_inch:.6g}",
                row.needed,
                row.spare,
                row.to_fill,
                f"{row.price:.2f}",
                f"{row.cost:.2f}",
                f"{row.total_weight_lb * of_a_pound:.1f}",
                f"{row.area_sqft * of_a_sq_foot:.1f}",
            )
        )
    for line in accessory_lines(all_of_it.accessories, words, "mm" if metric else "feet_inches"):
        table.writerow(("", plain_cell(line), *[""] * 10))
    unboarded = unboarded_lines(all_of_it.plan, all_of_it.left_out, words, "mm" if metric else "feet_inches")
    for line in (*doubt_lines(all_of_it, words, style), *unboarded):
        table.writerow(("", plain_cell(line), *[""] * 10))
    return out.getvalue()


def order_pdf(
    all_of_it: Bought,
    words: Words,
    style: str,
    size: str = "letter",
    made: datetime | None = None,
) -> bytes:
    """The order on paper, with what goes with it and the cautions for who carries it."""
    title = words("buy.paper_title", name=all_of_it.name or words("buy.no_name"))
    paper = Paper(title, size, made)
    paper.heading(title)
    if all_of_it.supplier:
        paper.paragraph(words("buy.to", supplier=all_of_it.supplier), 15)
    paper.gap(2)
    paper.table(
        (
            words("order.buy"),
            words("order.sheet"),
            words("delivery.kind"),
            words("buy.col_price"),
            words("buy.col_cost"),
        ),
        [
            (
                str(row.count),
                size_of(row, style),
                kind_name(row.kind, words),
                money(row.price),
                money(row.cost),
            )
            for row in all_of_it.order.rows
        ],
        (1.9, 4.4, 2.6, 1.8, 2.0),
        12,
    )
    for line in totals_lines(all_of_it, words, style):
        paper.paragraph(line, 14, bold=True)
    bare = unboarded_lines(all_of_it.plan, all_of_it.left_out, words, style)
    if bare:
        paper.caution(bare)
    doubts = doubt_lines(all_of_it, words, style)
    if doubts:
        paper.gap(2)
        paper.caution(doubts)
    paper.gap(3)
    paper.heading(words("buy.goes_with"), 17)
    paper.bullets(accessory_lines(all_of_it.accessories, words, style), 12.5)
    paper.gap(2)
    paper.caution(caution_lines(all_of_it, words, style))
    return paper.output()


def caution_lines(all_of_it: Bought, words: Words, style: str) -> list[str]:
    """The cautions that belong to this order."""
    lines = [words("caution.lift")]
    heavy = max(all_of_it.order.rows, key=lambda row: row.weight_lb, default=None)
    if heavy is not None and heavy.weight_lb > 50.0:
        lines.append(
            words.in_units(
                "buy.heaviest",
                style,
                weight=weight_text(heavy.weight_lb, style),
                each=weight_text(heavy.weight_lb / 2, style),
            )
        )
    if any(row.kind == "type_x" for row in all_of_it.order.rows):
        lines.append(words("caution.fire"))
    lines.append(words("caution.local"))
    return lines
