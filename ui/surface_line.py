"""A surface in one line, the same in every list: what it is framed with, how large it is, what is open."""

from __future__ import annotations

from layout import Surface
from ui.framed import Framed
from ui.material import STEEL, material_in
from ui.plus_minus import along_wall
from ui.words import Words

__all__ = ["surface_line"]


def surface_line(each: Framed, words: Words, style: str) -> str:
    """ "7 studs · 112 1/4" × 95 15/16" · on a guessed length · 7 to check", or that it was not read yet.

    Timber is what most walls are framed with and is not named; steel is. A length does not break over the end
    of a line.
    """
    if each.framing is None:
        return words("job.not_read" if each.read else "job.not_looked")
    parts = [_size(each.framing, words, style)]
    if material_in(each.framing) == STEEL:
        parts.append(words("material.steel").lower())
    if each.guessed:
        parts.append(words("wall.on_a_guess"))
    if each.doubtful:
        parts.append(words("job.line_doubt", n=each.doubtful))
    return " · ".join(parts)


def _size(framing: Surface, words: Words, style: str) -> str:
    length, height = (
        along_wall(side_in, style).replace(" ", "\u00a0") for side_in in (framing.width_in, framing.height_in)
    )
    if framing.kind == "wall":
        return words("job.line", studs=len(framing.members), length=length, height=height)
    return words("walk.line", length=length, height=height, members=len(framing.members))
