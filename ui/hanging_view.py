"""The cards in words: each piece as lines to read out to whoever cuts, the same on screen and on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from layout import lengths
from layout.hanging import SAWN_IN, Hole, PieceCard, SurfaceCard
from layout.lifting import LOAD_CONSTANT_LB, TWO_PEOPLE_LB
from layout.screws import screw_length_in
from layout.weights import weight_text
from ui.board_size import board_size
from ui.delivery_view import kind_name
from ui.hanging_site import Hanging
from ui.site_plan import called
from ui.words import Words

__all__ = ["CardText", "PieceText", "card_texts", "hanging_view", "sheet_text"]

MOST_CENTRES = 40


def unbroken(length_in: float, style: str, to: float = 1 / 16) -> str:
    """A length that does not break over the end of a line."""
    return lengths.format_length(length_in, style, to).replace(" ", "\u00a0")


@dataclass(frozen=True)
class PieceText:
    """A piece in words: its heading, and the lines under it in the order they are needed."""

    number: int
    head: str
    lines: tuple[str, ...]
    hung: bool
    moved: bool


@dataclass(frozen=True)
class CardText:
    """A surface in words."""

    surface: str
    head: str
    before: tuple[str, ...]
    pieces: tuple[PieceText, ...]


def card_texts(hanging: Hanging, words: Words, style: str) -> tuple[CardText, ...]:
    """All cards in hanging order."""
    stacks = hanging.stack_of
    return tuple(_card(card, hanging, stacks, words, style) for card in hanging.cards)


def hanging_view(
    job_id: str, hanging: Hanging, words: Words, style: str, refused: tuple[str, ...] = ()
) -> dict[str, Any]:
    """What the cards in the browser show: see `ui/hanging_cards/cards.js`."""
    return {
        "job": job_id,
        "words": {**words.group("tally"), **words.group("cards")},
        "clock": hanging.progress.clock,
        "known": sorted(hanging.progress.ids),
        "refused": list(refused),
        "cards": [
            {
                "id": card.surface,
                "head": card.head,
                "before": list(card.before),
                "pieces": [
                    {
                        "number": piece.number,
                        "head": piece.head,
                        "lines": list(piece.lines),
                        "hung": piece.hung,
                        "moved": piece.moved,
                    }
                    for piece in card.pieces
                ],
            }
            for card in card_texts(hanging, words, style)
        ],
    }


def sheet_text(
    kind: str, thickness_in: float, width_in: float, length_in: float, words: Words, style: str
) -> str:
    """A sheet as it is called: length, width, thickness, kind."""
    size = board_size(length_in, width_in, style, thickness_in, space="\u00a0")
    return f"{size} {kind_name(kind, words)}"


def _card(card: SurfaceCard, hanging: Hanging, stacks: dict[int, int], words: Words, style: str) -> CardText:
    place = called((card.id,), hanging.rooms, hanging.names)
    return CardText(
        card.id,
        words("hanging.head", n=card.place, place=place),
        (
            *((words("hanging.guessed"),) if card.id in hanging.guessed else ()),
            *_before(card, words, style),
        ),
        tuple(_piece(piece, card, hanging, stacks, words, style) for piece in card.pieces),
    )


def _before(card: SurfaceCard, words: Words, style: str) -> tuple[str, ...]:
    """What is done before the first board of a surface goes up."""
    lines = [words("hanging.ceiling_lift" if card.kind != "wall" else "hanging.wall_top")]
    where = "hanging.mark_studs" if card.kind == "wall" else "hanging.mark_joists"
    centres = "  ·  ".join(unbroken(at, style) for at in card.framing_in[:MOST_CENTRES])
    lines.append(words(where, at=centres))
    for mark in card.marks:
        key = "hanging.mark" if mark.sure else "hanging.mark_unsure"
        if not mark.member_id:
            key = "hanging.mark_backing"
        lines.append(
            words(
                key,
                row=mark.row,
                at=unbroken(mark.position_in, style),
                back=unbroken(mark.from_right_in, style),
                member=words(
                    "hanging.stud_n" if card.kind == "wall" else "hanging.joist_n", n=mark.member_id
                ),
            )
        )
    thick = {piece.thickness_in for piece in card.pieces}
    screw = max(screw_length_in(thickness) for thickness in thick)
    spacing = unbroken(card.screw_spacing_in, "mm" if style == "mm" else "inches")
    lines.append(
        words.in_units(
            "hanging.screws",
            style,
            spacing=spacing,
            length=unbroken(screw, "mm" if style == "mm" else "inches"),
        )
    )
    if any(piece.kind == "type_x" for piece in card.pieces):
        lines.append(words("caution.fire"))
    return tuple(lines)


def _piece(
    piece: PieceCard,
    card: SurfaceCard,
    hanging: Hanging,
    stacks: dict[int, int],
    words: Words,
    style: str,
) -> PieceText:
    head = words("hanging.piece", n=piece.number, length=unbroken(piece.cut_length_in, style))
    lines = [_source(piece, hanging, stacks, words, style), *_cutting(piece, words, style)]
    lines += [_hole(hole, piece, words, style) for hole in piece.holes]
    lines.append(_place(piece, card, words, style))
    lines += _screws(piece, words, style)
    if piece.weight_lb > TWO_PEOPLE_LB:
        key = "hanging.too_heavy" if piece.weight_lb > 2 * LOAD_CONSTANT_LB else "hanging.two_people"
        lines.append(words(key, weight=weight_text(piece.weight_lb, style)))
    return PieceText(
        piece.number,
        head,
        tuple(lines),
        piece.number in hanging.progress.hung,
        piece.number in hanging.moved,
    )


def _source(piece: PieceCard, hanging: Hanging, stacks: dict[int, int], words: Words, style: str) -> str:
    size = (piece.kind, piece.thickness_in, piece.sheet_width_in, piece.sheet_length_in)
    text = sheet_text(*size, words, style)
    if piece.sheet in {sheet.id for sheet in hanging.bought}:
        return words("hanging.from_bought", sheet=piece.sheet, size=text)
    if piece.source == "offcut":
        return words("hanging.from_rest", sheet=piece.sheet, size=text)
    key = "hanging.from_whole" if piece.source == "whole" else "hanging.from_new"
    line = words(key, sheet=piece.sheet, size=text)
    stack = stacks.get(piece.sheet)
    return line + (" " + words("hanging.from_stack", stack=stack) if stack else "")


def _cutting(piece: PieceCard, words: Words, style: str) -> list[str]:
    lines = []
    length = unbroken(piece.cut_length_in, style)
    if piece.source != "whole" and piece.cut_length_in < piece.sheet_length_in - SAWN_IN:
        if piece.factory_ends:
            side = words(f"hanging.side_{piece.measured_from}")
            lines.append(words("hanging.cut", length=length, side=side))
        else:
            lines.append(words("hanging.cut_both", length=length))
    if piece.ripped_to_in is not None:
        lines.append(
            words(
                "hanging.rip",
                width=unbroken(piece.ripped_to_in, style),
                side=words(f"hanging.side_{piece.tapered_edge}"),
            )
        )
    return lines


def _hole(hole: Hole, piece: PieceCard, words: Words, style: str) -> str:
    factory = hole.end in piece.factory_ends
    return words(
        "hanging.hole" if factory or not piece.factory_ends else "hanging.hole_side",
        what=words.or_else(f"hanging.hole_{hole.kind}", hole.kind),
        near=unbroken(hole.near_in, style),
        far=unbroken(hole.far_in, style),
        end=words(f"hanging.side_{hole.end}"),
        low=unbroken(hole.low_in, style),
        high=unbroken(hole.high_in, style),
        edge=words(f"hanging.side_{hole.edge}"),
    ) + (" " + words("hanging.hole_round") if hole.shape == "round" else "")


def _place(piece: PieceCard, card: SurfaceCard, words: Words, style: str) -> str:
    return words(
        "hanging.place" if card.direction == "x" else "hanging.place_up",
        row=piece.row,
        left=unbroken(piece.left_in, style),
        right=unbroken(piece.right_in, style),
        bottom=unbroken(piece.bottom_in, style),
        top=unbroken(piece.top_in, style),
    )


def _screws(piece: PieceCard, words: Words, style: str) -> list[str]:
    if not piece.screws:
        return []
    at = "  ·  ".join(unbroken(screw.at_in, style) for screw in piece.screws)
    lines = [words("hanging.screw_rows", n=piece.screw_count, rows=len(piece.screws), at=at)]
    if any(screw.at_seam for screw in piece.screws):
        lines.append(words("hanging.start_at_seam"))
    return lines
