"""What a plan leaves bare, or may leave bare: said on the papers and by the commands that count boards."""

from __future__ import annotations

from collections.abc import Iterable

from layout import in_style
from layout.board_choice import CUT_OFF
from layout.plan_types import Plan
from ui.words import Words

__all__ = ["unboarded", "unboarded_lines"]


def unboarded(plan: Plan) -> tuple[str, ...]:
    """Why each surface without boards has none, and what to do; a sentence for each surface."""
    return tuple(" ".join(parts) for parts in _parts(plan))


def unboarded_lines(plan: Plan, left_out: Iterable[str], words: Words, style: str) -> list[str]:
    """The same as lines of a list, with what was `left_out` before, and what runs out of its photo."""
    found: list[tuple[str, tuple[str, ...]]] = [("buy.not_boarded", (sentence,)) for sentence in left_out]
    found += [("buy.not_boarded", parts) for parts in _parts(plan)]
    found += [("buy.maybe_short", (w.message, w.advice)) for w in plan.warnings if w.code == CUT_OFF]
    return [
        words(key, why=in_style(" ".join(words.said(part) for part in parts), style)) for key, parts in found
    ]


def _parts(plan: Plan) -> list[tuple[str, ...]]:
    """The sentences of each surface as the planner says them, so that each is found in the catalogue."""
    return [
        tuple(part for w in plan.warnings if w.surface == surface.id for part in (w.message, w.advice))
        or (f"{surface.name or surface.id} cannot be boarded under the rules given.",)
        for surface in plan.bare
    ]
