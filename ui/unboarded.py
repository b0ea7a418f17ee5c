"""What a plan leaves bare: why each surface without boards has none, for screens, commands and paper."""

from __future__ import annotations

from collections.abc import Iterable

from layout import in_style
from layout.plan_types import Plan
from ui.words import Words

__all__ = ["unboarded", "unboarded_lines"]


def unboarded(plan: Plan) -> tuple[str, ...]:
    """Why each surface without boards has none, and what to do; a sentence for each surface."""
    return tuple(" ".join(parts) for parts in _parts(plan))


def unboarded_lines(plan: Plan, left_out: Iterable[str], words: Words, style: str) -> list[str]:
    """The same as lines of a list, with what was `left_out` before the planning."""
    why = [*((sentence,) for sentence in left_out), *_parts(plan)]
    return [
        words("buy.not_boarded", why=in_style(" ".join(words.said(part) for part in parts), style))
        for parts in why
    ]


def _parts(plan: Plan) -> list[tuple[str, ...]]:
    """The sentences of each surface as the planner says them, so that each is found in the catalogue."""
    return [
        tuple(part for w in plan.warnings if w.surface == surface.id for part in (w.message, w.advice))
        or (f"{surface.name or surface.id} cannot be boarded under the rules given.",)
        for surface in plan.surfaces
        if not surface.rows
    ]
