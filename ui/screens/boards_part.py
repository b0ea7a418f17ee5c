"""Which boards a surface gets: width, lengths, kind, thickness; what is not sold where the house is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from layout import format_length, mm_to_in
from layout.lengths import format_thickness
from layout.prices import KINDS
from ui import desk, look
from ui.board_size import board_style
from ui.buying import board_choice, buying_of
from ui.by_hand import by_hand_of
from ui.delivery_view import kind_name
from ui.edge import draw_again
from ui.job_plan import lengths_bought_in, lengths_on_sale_in, not_sold, width_name
from ui.market import market_of, usual_of
from ui.store import Job, Surface
from ui.words import Words

__all__ = ["board_choices", "boards_not_sold", "kinds_of_board", "no_lengths", "width_text"]

AS_IT_IS = ""


def board_choices(job: Job, surface: Surface, words: Words, style: str) -> None:
    """Board width of this wall, and the lengths that can be bought."""
    now = width_name(surface, market_of(job.settings))
    width = st.segmented_control(
        words("wall.board_width"),
        _widths(job, now),
        default=now,
        format_func=width_text,
        key=f"width-{surface.surface_id}",
    )
    if width and width != now:
        desk.keep_settings(surface, board_width=width)
        draw_again()
    supplier = buying_of(job.settings).supplier
    if supplier is not None:
        st.caption(look.plain(words("prices.lengths_from", supplier=supplier.name)))
        return
    offered = lengths_on_sale_in(now)
    bought = lengths_bought_in(job, now)
    lengths_style = "mm" if now.endswith("mm") else board_style(style)
    chosen = st.pills(
        words("wall.board_lengths"),
        list(offered),
        default=list(bought),
        selection_mode="multi",
        format_func=lambda length: format_length(length, lengths_style),
        key=f"lengths-{surface.surface_id}-{now}",
    )
    if tuple(sorted(chosen)) != tuple(sorted(bought)):
        kept = dict(job.settings.get("lengths_in") or {})
        desk.keep_job_settings(job, lengths_in={**kept, now: list(chosen)})
        draw_again()
    if not chosen:
        st.warning(no_lengths(job, surface, words))


def _widths(job: Job, *also: str) -> list[str]:
    """The board widths to choose from; one that is chosen but not sold there stays among them."""
    return list(dict.fromkeys((*usual_of(job.settings).widths, *also)))


def width_text(name: str) -> str:
    """A board's width, or a spacing, by its name.

    >>> width_text("1200mm"), width_text("54in")
    ('1200 mm', '54 in')
    """
    return name.replace("in", " in").replace("mm", " mm")


def no_lengths(job: Job, surface: Surface, words: Words) -> str:
    """Why a wall gets no boards of its width, and what to do about it."""
    if not_sold(job, surface):
        return words("wall.width_not_sold", **_not_sold_there(job, surface, words))
    return words("wall.no_lengths")


def boards_not_sold(job: Job, words: Words) -> None:
    """The surfaces whose board width is not sold where the house is, with the remedy; else nothing."""
    found: dict[str, list[Surface]] = {}
    for surface in job.surfaces:
        if not_sold(job, surface):
            found.setdefault(width_name(surface, market_of(job.settings)), []).append(surface)
    for surfaces in found.values():
        names = ", ".join(surface.name for surface in surfaces)
        where = _not_sold_there(job, surfaces[0], words)
        st.warning(look.plain(words("buy.width_not_sold", names=names, **where)))


def _not_sold_there(job: Job, surface: Surface, words: Words) -> dict[str, str]:
    market = market_of(job.settings)
    return {
        "width": width_text(width_name(surface, market)),
        "where": words(f"job.in_{market}"),
        "widths": words("say.or").join(map(width_text, usual_of(job.settings).widths)),
    }


def kinds_of_board(job: Job, words: Words, style: str) -> None:
    """Kind, width and thickness of the boards of each surface, or of all walls or ceilings at once."""
    usual, market = usual_of(job.settings), market_of(job.settings)
    with st.expander(words("buy.kinds"), key="kinds", on_change="rerun"):
        now: dict[tuple[str, str, float], list[str]] = {}
        for surface in job.surfaces:
            kind, thickness_in = board_choice(surface.settings, usual.thickness_in)
            now.setdefault((kind, width_name(surface, market), thickness_in), []).append(surface.name)
        lines = [
            words(
                "buy.kinds_now",
                surfaces=", ".join(names),
                kind=kind_name(kind, words),
                width=width_text(width),
                thickness=_thickness(thickness_in, style),
            )
            for (kind, width, thickness_in), names in now.items()
        ]
        st.markdown("\n".join(f"- {look.plain(line)}" for line in lines))
        groups: dict[str, tuple[Surface, ...]] = {
            words("buy.kinds_ceilings"): tuple(s for s in job.surfaces if not _is_wall(s)),
            words("buy.kinds_walls"): tuple(s for s in job.surfaces if _is_wall(s)),
        }
        groups = {name: inside for name, inside in groups.items() if inside}
        options: list[str | Surface] = [*groups, *job.surfaces]
        chosen = st.selectbox(
            words("buy.kinds_which"),
            range(len(options)),
            format_func=lambda number: getattr(options[number], "name", options[number]),
            key="kinds-which",
        )
        told = {
            "board_kind": _as_it_is_or("kind", KINDS, lambda name: kind_name(name, words), words),
            "board_width": _as_it_is_or("width", _widths(job), width_text, words),
            "thickness_in": _as_it_is_or(
                "thickness", usual.thicknesses_in, lambda thick: _thickness(thick, style), words
            ),
        }
        told = {name: value for name, value in told.items() if value != AS_IT_IS}
        if st.button(words("buy.kinds_set"), disabled=not told):
            picked = options[chosen or 0]
            for surface in groups[picked] if isinstance(picked, str) else (picked,):
                desk.keep_settings(surface, **told)
            st.rerun()


def _as_it_is_or(what: str, choices: Any, name: Callable[[Any], str], words: Words) -> Any:
    """One of the choices, or `AS_IT_IS`: what each surface has."""
    return st.selectbox(
        words(f"buy.kinds_{what}"),
        [AS_IT_IS, *choices],
        format_func=lambda choice: words("buy.kinds_as_it_is") if choice == AS_IT_IS else name(choice),
        key=f"kinds-{what}",
    )


def _is_wall(surface: Surface) -> bool:
    hand = by_hand_of(surface.settings)
    return hand is None or hand.is_wall


def _thickness(thickness_in: float, style: str) -> str:
    # 15 mm is no fraction that anybody calls a board by
    metric = style == "mm" or thickness_in == mm_to_in(15.0)
    return format_thickness(thickness_in, "mm" if metric else "inches")
