"""The work on site on paper: a sign for each stack, the cards, and what was delivered."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from layout import format_length
from layout.delivery import Delivery
from layout.hanging import Hole, PieceCard, SurfaceCard
from layout.stack_types import Site, Stack, StackPlan
from layout.stacks import LEAN_FOOT_IN, lean_degrees
from layout.weights import weight_text
from ui.board_size import board_style
from ui.delivery_view import difference_text, kind_name, size_text
from ui.hanging_site import Hanging
from ui.hanging_view import card_texts, sheet_text
from ui.paper import MARGIN_MM, Paper, printable
from ui.site_plan import SitePlan
from ui.unboarded import unboarded_lines
from ui.words import Words

__all__ = ["cards_pdf", "delivery_pdf", "lean_sentence", "signs_pdf"]

CAUTIONS = ("caution.services", "caution.studs", "caution.dust", "caution.old_house", "caution.local")
DRAWING_MM = 62.0


def lean_sentence(site: Site, words: Words, style: str) -> str:
    """The caution about leaning boards, with its numbers."""
    return words(
        "caution.lean",
        n=site.most_on_edge,
        out=format_length(LEAN_FOOT_IN, "mm" if style == "mm" else "inches"),
        degrees=round(lean_degrees(48.0)),
    )


LETTERS = (1.0, 0.85, 0.7, 0.6, 0.5, 0.42, 0.35)
"""How large the letters of a sign may be: the first with which all of it fits on one page."""
LEAST_SMALL_PT = 10.0


def signs_pdf(
    plan: StackPlan,
    site: Site,
    found: SitePlan,
    words: Words,
    style: str,
    size: str = "letter",
    title: str = "",
    made: datetime | None = None,
) -> bytes:
    """One page for each stack, to be stuck to the wall above it, legible from across the room."""
    paper = Paper(title or words("stacks.title"), size, made)
    for stack in plan.stacks:
        paper.page()
        _sign(paper, stack, site, found, words, style, _letters(stack, site, found, words, style, size))
    return paper.output()


def _letters(stack: Stack, site: Site, found: SitePlan, words: Words, style: str, size: str) -> float:
    """How large the letters may be so that the stack's number stands over all of its boards."""
    for large in LETTERS:
        trial = Paper("", size)
        _sign(trial, stack, site, found, words, style, large)
        if trial.pdf.page_no() == 1:
            return large
    return LETTERS[-1]


def _sign(
    paper: Paper, stack: Stack, site: Site, found: SitePlan, words: Words, style: str, large: float
) -> None:
    paper.heading(words("signs.stack", n=stack.number), 32 * (1 + large))
    paper.paragraph(found.called((stack.wall,)), 26, bold=True)
    paper.paragraph(
        words(
            "signs.place",
            left=format_length(stack.left_in, style),
            length=format_length(stack.length_in, board_style(style)),
        ),
        16,
    )
    paper.gap(4)
    for lot in stack.lots:
        size = sheet_text(lot.kind, lot.thickness_in, lot.width_in, lot.length_in, words, style)
        paper.heading(f"{lot.count} × {size}", 34 * large)
        names = found.called(lot.surfaces) or words("stacks.spare")
        if lot.ceiling:
            names = words("stacks.ceiling_first", names=names)
        if lot.spare and lot.surfaces:
            names += " " + words("stacks.with_spare", n=lot.spare)
        paper.paragraph(words("signs.for", names=names), max(18 * large, LEAST_SMALL_PT))
        paper.gap(3 * large)
    key = "signs.weight_one" if stack.count == 1 else "signs.weight"
    paper.paragraph(words(key, n=stack.count, weight=weight_text(stack.weight_lb, style)), 18, bold=True)
    surfaces = {surface for lot in stack.lots for surface in lot.surfaces}
    guessed = found.called(surface for surface in found.guessed if surface in surfaces)
    lines = [lean_sentence(site, words, style)] if stack.standing == "edge" else [words("signs.flat")]
    lines.append(words("caution.damp" if site.floor == "slab" else "caution.floor"))
    if guessed:
        lines.append(words("signs.guessed", names=guessed))
    paper.caution(lines)


def cards_pdf(
    hanging: Hanging,
    words: Words,
    style: str,
    size: str = "letter",
    title: str = "",
    made: datetime | None = None,
    left_out: tuple[str, ...] = (),
) -> bytes:
    """A card for each surface, each on a page of its own, in hanging order; then those without boards."""
    paper = Paper(title or words("hanging.title"), size, made)
    texts = card_texts(hanging, words, style)
    for number, (card, text) in enumerate(zip(hanging.cards, texts, strict=True)):
        paper.page()
        paper.heading(text.head, 26)
        if number == 0:
            paper.caution([words(key) for key in CAUTIONS])
        _drawing(paper, card, style)
        paper.paragraph(words("hanging.legend"), 9)
        paper.bullets(text.before, 12)
        paper.gap(3)
        for piece in text.pieces:
            paper.to_tick(piece.head, piece.lines)
    bare = unboarded_lines(hanging.plan, left_out, words, style)
    if bare:
        paper.page()
        paper.caution(bare)
    return paper.output()


def _drawing(paper: Paper, card: SurfaceCard, style: str) -> None:
    """The boards of a surface with their numbers: factory ends thick, cut ends dashed."""
    pdf = paper.pdf
    scale = min((paper.width_mm - 2) / card.width_in, DRAWING_MM / card.height_in)
    paper.room_for(card.height_in * scale + 12)
    left_mm = MARGIN_MM + (paper.width_mm - card.width_in * scale) / 2
    top_mm = pdf.get_y() + 5

    def corner(x_in: float, y_in: float) -> tuple[float, float]:
        return left_mm + x_in * scale, top_mm + (card.height_in - y_in) * scale

    pdf.set_line_width(0.25)
    pdf.rect(left_mm, top_mm, card.width_in * scale, card.height_in * scale)
    for piece in card.pieces:
        along = (piece.left_in, piece.right_in)
        across = (piece.bottom_in, piece.top_in)
        xs, ys = (along, across) if card.direction == "x" else (across, along)
        x_mm, y_mm = corner(xs[0], ys[1])
        wide, high = (xs[1] - xs[0]) * scale, (ys[1] - ys[0]) * scale
        pdf.rect(x_mm, y_mm, wide, high)
        _ends(paper, card, piece, (x_mm, y_mm, wide, high))
        for hole in piece.holes:
            _hole(paper, card, piece, hole, corner, scale)
        if card.direction == "x":
            x_mm, wide = _beside_holes(piece, x_mm, wide, scale)
        pdf.set_font("Helvetica", "B", 15)
        pdf.set_xy(x_mm, y_mm + high / 2 - 6)
        pdf.cell(wide, 7, str(piece.number), align="C")
        pdf.set_font("Helvetica", size=9)
        pdf.set_xy(x_mm, y_mm + high / 2 + 1)
        length = printable(format_length(piece.cut_length_in, style))
        if pdf.get_string_width(length) < wide - 5:
            pdf.cell(wide, 4, length, align="C")
    pdf.set_font("Helvetica", size=9)
    rows = max(piece.row for piece in card.pieces)
    for mark in card.marks:
        if card.direction == "x" and mark.row in (1, rows):
            x_mm, _ = corner(mark.position_in, 0)
            below = mark.row == rows and rows > 1
            pdf.set_xy(x_mm - 15, top_mm + card.height_in * scale if below else top_mm - 4.5)
            pdf.cell(30, 4.5, printable(format_length(mark.position_in, style)), align="C")
    pdf.set_xy(MARGIN_MM, top_mm + card.height_in * scale + 6)


def _beside_holes(piece: PieceCard, x_mm: float, wide: float, scale: float) -> tuple[float, float]:
    """Left edge and width of the widest part of a piece that no cut-out takes: there its number stands."""
    free = [(0.0, piece.right_in - piece.left_in)]
    for hole in piece.holes:
        near_in, far_in = hole.near_in, hole.far_in
        if hole.end == "right":
            near_in, far_in = (
                piece.right_in - piece.left_in - far_in,
                piece.right_in - piece.left_in - near_in,
            )
        free = [
            part
            for low, high in free
            for part in ((low, min(high, near_in)), (max(low, far_in), high))
            if part[1] > part[0]
        ]
    low, high = max(free, key=lambda part: part[1] - part[0], default=(0.0, wide / scale))
    return x_mm + low * scale, (high - low) * scale


def _hole(
    paper: Paper,
    card: SurfaceCard,
    piece: PieceCard,
    hole: Hole,
    corner: Callable[[float, float], tuple[float, float]],
    scale: float,
) -> None:
    """A cut-out, grey, where it is on the surface."""
    along_in = piece.left_in + hole.near_in if hole.end == "left" else piece.right_in - hole.far_in
    across_in = piece.top_in - hole.high_in if hole.edge == "top" else piece.bottom_in + hole.low_in
    long_in, high_in = hole.far_in - hole.near_in, hole.high_in - hole.low_in
    if card.direction == "x":
        x_mm, y_mm = corner(along_in, across_in + high_in)
    else:
        x_mm, y_mm = corner(across_in, along_in + long_in)
        long_in, high_in = high_in, long_in
    paper.pdf.set_fill_color(200)
    paper.pdf.rect(x_mm, y_mm, long_in * scale, high_in * scale, style="DF")


def _ends(paper: Paper, card: SurfaceCard, piece: PieceCard, box: tuple[float, float, float, float]) -> None:
    if card.upright or card.direction != "x":
        return
    x_mm, y_mm, wide, high = box
    for side, at in (("left", x_mm + 0.9), ("right", x_mm + wide - 0.9)):
        if side in piece.factory_ends:
            paper.pdf.set_line_width(1.4)
            paper.pdf.line(at, y_mm + 1, at, y_mm + high - 1)
        else:
            paper.pdf.set_line_width(0.5)
            paper.pdf.set_dash_pattern(dash=1.6, gap=1.6)
            paper.pdf.line(at, y_mm + 1, at, y_mm + high - 1)
            paper.pdf.set_dash_pattern()
    paper.pdf.set_line_width(0.25)


def delivery_pdf(
    day: Delivery,
    words: Words,
    style: str,
    size: str = "letter",
    title: str = "",
    made: datetime | None = None,
    guessed: str = "",
) -> bytes:
    """What came against what was ordered, and what to take up with the supplier.

    `guessed` names the surfaces that the boards are for though nobody measured them.
    """
    paper = Paper(title or words("delivery.title"), size, made)
    paper.heading(title or words("delivery.title"))
    paper.table(
        tuple(words(f"delivery.col_{name}") for name in ("size", "ordered", "came", "damaged", "note")),
        [
            (
                f"{size_text(tally.ordered, style)} {kind_name(tally.ordered.kind, words)}",
                str(tally.ordered.count),
                str(tally.arrived),
                str(tally.damaged),
                tally.note,
            )
            for tally in day.tallies
        ],
        (5, 1.6, 1.4, 1.7, 3.3),
    )
    paper.heading(words("delivery.to_take_up"), 17)
    for line in difference_text(day, words, style).splitlines():
        paper.paragraph(line)
    if guessed:
        paper.caution([words("signs.guessed", names=guessed)])
    return paper.output()
