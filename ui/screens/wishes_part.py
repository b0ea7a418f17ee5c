"""Wishes for one surface: where a seam must or must not be, boards of one length, which row comes first."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from layout import Surface as BoardedSurface
from layout import SurfacePlan, format_length
from ui import desk
from ui.board_size import board_style
from ui.job_plan import lengths_on_sale_in, width_name
from ui.plus_minus import along_wall
from ui.store import Surface
from ui.wishes import (
    BOARDS_RUN,
    ROWS_FROM,
    SETTING,
    KeptWishes,
    lost,
    members_meant,
    wishes_of,
    wishes_to_json,
)
from ui.words import Words


def wishes(
    surface: Surface,
    framing: BoardedSurface | None,
    rows: SurfacePlan | None,
    market: str,
    words: Words,
    style: str,
) -> bool:
    """The wishes of a surface, to look at and to change; True when one was changed just now."""
    if framing is None:
        return False
    kept = wishes_of(surface.settings)
    count = len(kept.seams) + len(kept.no_seam_in) + len(kept.row_lengths)
    count += (kept.rows_from != "auto") + (kept.boards_run != "auto")
    # one title whatever is wished: with another one the page would close it at every choice
    with st.expander(words("wishes.title")):
        st.caption(words("wishes.how") + (" " + words("wishes.count", n=count) if count else ""))
        for place_in in lost(framing, kept):
            st.warning(words("wishes.lost", place=format_length(place_in, style)))
        new = _all_rows(surface, framing, kept, words, style)
        lengths_in = lengths_on_sale_in(width_name(surface, market))
        for number in range(len(rows.rows) if rows is not None else 0):
            new = _one_row(number, surface, framing, new, kept, lengths_in, words, style)
    if new == kept:
        return False
    desk.keep_settings(surface, **{SETTING: wishes_to_json(new)})
    return True


def _all_rows(
    surface: Surface, framing: BoardedSurface, kept: KeptWishes, words: Words, style: str
) -> KeptWishes:
    key = f"wishes-{surface.surface_id}-"
    place = "wall" if framing.kind == "wall" else "ceiling"
    rows_from = st.selectbox(
        words("wishes.rows_from"),
        ROWS_FROM,
        index=ROWS_FROM.index(kept.rows_from),
        format_func=lambda side: words(f"wishes.rows_{side}_{place}"),
        key=f"{key}from-{kept.rows_from}",
    )
    boards_run = st.selectbox(
        words("wishes.boards_run"),
        BOARDS_RUN,
        index=BOARDS_RUN.index(kept.boards_run),
        format_func=lambda way: words(f"wishes.run_{way}"),
        key=f"{key}run-{kept.boards_run}",
    )
    no_seam_in = _members(words("wishes.no_seam"), framing, kept.no_seam_in, 0, key + "none-", words, style)
    return replace(kept, rows_from=rows_from, boards_run=boards_run, no_seam_in=no_seam_in)


def _one_row(
    number: int,
    surface: Surface,
    framing: BoardedSurface,
    new: KeptWishes,
    kept: KeptWishes,
    lengths_in: tuple[float, ...],
    words: Words,
    style: str,
) -> KeptWishes:
    key = f"wishes-{surface.surface_id}-{number}-"
    here = tuple(place_in for row, place_in in kept.seams if row == number)
    seams = _members(words("wishes.seam", n=number + 1), framing, here, number, key + "seam-", words, style)
    before = dict(kept.row_lengths).get(number)
    lengths = (None, *sorted({*lengths_in, *([before] if before else [])}))
    length_in = st.selectbox(
        words("wishes.length", n=number + 1),
        lengths,
        index=lengths.index(before),
        format_func=lambda length: (
            words("wishes.any_length") if length is None else format_length(length, board_style(style))
        ),
        key=f"{key}length-{before}",
    )
    others = tuple(pair for pair in new.row_lengths if pair[0] != number)
    return replace(
        new,
        seams=(*(pair for pair in new.seams if pair[0] != number), *((number, at) for at in seams))
        if seams != here
        else new.seams,
        row_lengths=tuple(sorted((*others, (number, length_in)))) if length_in is not None else others,
    )


def _members(
    label: str,
    framing: BoardedSurface,
    places_in: tuple[float, ...],
    row: int,
    key: str,
    words: Words,
    style: str,
) -> tuple[float, ...]:
    """The places of the members chosen; those kept stay as they are while the choice is the same."""
    places = {m.id: m.centre_in for m in reversed(framing.members)}
    now = [ids[-1] for at in places_in if (ids := members_meant(framing, at, row))]
    shown = sorted({at: name for name, at in places.items()}.values(), key=lambda name: places[name])
    shown = sorted({*shown, *now}, key=lambda name: (places[name], name))
    chosen = st.multiselect(
        label,
        shown,
        default=list(dict.fromkeys(now)),
        format_func=lambda name: words("wishes.member", n=name, place=along_wall(places[name], style)),
        placeholder=words("wishes.none"),
        key=key + ",".join(map(str, places_in)),
    )
    if set(chosen) == set(now):
        return places_in
    gone = tuple(at for at in places_in if not members_meant(framing, at, row))
    return (*gone, *(places[name] for name in chosen))
