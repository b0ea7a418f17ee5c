"""The ways into the house: what a board must pass, and which boards do."""

from __future__ import annotations

import math
from dataclasses import replace

import streamlit as st

from layout import JobError, LengthError, format_length, parse_length_in
from layout.access import (
    SILL_PAD_IN,
    Corner,
    Gap,
    Passage,
    Stairs,
    Way,
    boards_that_pass,
    longest_through,
    ways_to,
)
from ui import desk, look
from ui.board_size import board_style, size_of_any_length
from ui.buying import Buying, buying_of
from ui.job_plan import boards_on_sale, stock_of
from ui.market import units_of
from ui.plain_faults import plain_fault
from ui.rooms import rooms_of
from ui.screens.order_parts import keep_buying
from ui.store import Job
from ui.words import Words

KINDS = ("window", "door", "corner", "stairs")
FIRST = {
    "window": {"width": 36.0, "height": 48.0},
    "door": {"width": 32.0, "height": 78.0},
    "corner": {"first": 36.0, "second": 36.0, "ceiling": 80.0},
    "stairs": {"width": 36.0, "headroom": 80.0, "rise": 7.75, "run": 10.0, "foot": 90.0},
}
"""Shown at first, to be replaced by what the tape says. Doors 32 x 78 in clear, stairs and halls 36 in wide
and headroom 6 ft 8 in are the least of IRC R311; the others are common practice."""


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    st.header(words("access.title"), anchor=False)
    if job is None:
        st.info(words("order.nothing"))
        return
    style = units_of(job.settings)
    buying = buying_of(job.settings)
    st.write(words("access.how"))
    on_sale = boards_on_sale(job)
    if not buying.ways:
        st.info(words("access.none"))
    else:
        if len(buying.ways) > 1:
            st.caption(words("access.any_way"))
        st.markdown("**" + words("access.effect", n=len(on_sale), kept=len(stock_of(job))) + "**")
    if any(way.rooms for way in buying.ways):
        come = {room: len(boards_that_pass(on_sale, ways_to(buying.ways, room))) for room in rooms_of(job)}
        lines = [
            words("access.effect_room", room=room or words("walk.no_room"), n=len(on_sale), kept=kept)
            for room, kept in come.items()
        ]
        st.markdown("\n".join(f"- {look.plain(line)}" for line in lines))
    sizes = sorted({(board.width_in, board.thickness_in) for board in on_sale})
    for number, way in enumerate(buying.ways):
        _way(job, buying, number, way, tuple(sizes), words, style)
    _add(job, buying, words, style)
    st.caption(words("access.ease"))
    look.caution([words(f"access.caution_{name}") for name in ("window", "stairs", "ways")])


def _way(
    job: Job,
    buying: Buying,
    number: int,
    way: Way,
    sizes: tuple[tuple[float, float], ...],
    words: Words,
    style: str,
) -> None:
    with st.container(border=True):
        st.markdown(f"**{look.plain(words('access.way', name=way.name))}**")
        _leads_to(job, buying, number, way, words)
        for at, passage in enumerate(way.passages):
            limits = [
                words(
                    "access.limits",
                    size=size_of_any_length(width_in, thick_in, style),
                    longest=_longest(longest_through(passage, width_in, thick_in), words, style),
                )
                for width_in, thick_in in sizes
            ]
            st.write(look.plain(f"{passage.name} ({_measures(passage, style)})"))
            st.caption(look.plain(f"{words('access.longest')}: " + "; ".join(limits)))
            if st.button(words("access.remove"), key=f"remove-{number}-{at}-{len(way.passages)}"):
                rest = tuple(each for n, each in enumerate(way.passages) if n != at)
                ways = [*buying.ways]
                ways[number : number + 1] = [replace(way, passages=rest)] if rest else []
                keep_buying(job, replace(buying, ways=tuple(ways)))


def _leads_to(job: Job, buying: Buying, number: int, way: Way, words: Words) -> None:
    """The rooms a way leads to; a job without named rooms is not asked."""
    rooms = [room for room in (*rooms_of(job), *way.rooms) if room]
    if not rooms:
        return
    chosen = st.multiselect(
        words("access.leads_to"),
        list(dict.fromkeys(rooms)),
        list(way.rooms),
        placeholder=words("access.whole_house"),
        key=f"leads-{number}-{len(buying.ways)}",
    )
    if tuple(chosen) != way.rooms:
        ways = list(buying.ways)
        ways[number] = replace(way, rooms=tuple(chosen))
        keep_buying(job, replace(buying, ways=tuple(ways)))


def _add(job: Job, buying: Buying, words: Words, style: str) -> None:
    st.subheader(words("access.add"), anchor=False)
    names = [way.name for way in buying.ways]
    target = 0
    if names:
        target = st.selectbox(
            words("access.add_to"),
            range(len(names) + 1),
            format_func=lambda n: names[n] if n < len(names) else words("access.new_way"),
            key=f"to-{len(names)}",
        )
    kind = st.selectbox(
        words("access.what"), KINDS, format_func=lambda name: words(f"access.kind_{name}"), key="what"
    )
    turn = sum(len(way.passages) for way in buying.ways)
    with st.form(f"add-{kind}-{turn}"):
        name = st.text_input(words("access.name"), f"{words(f'access.call_{kind}')} {turn + 1}", max_chars=80)
        given = {
            field: st.text_input(words(f"access.{field}"), format_length(first, style))
            for field, first in FIRST[kind].items()
        }
        pad = st.checkbox(words("access.pad"), value=True) if kind == "window" else False
        if not st.form_submit_button(words("access.keep"), type="primary"):
            return
    try:
        unit = "mm" if style == "mm" else "in"
        at = {field: parse_length_in(text, unit) for field, text in given.items()}
        passage = _made(kind, name.strip(), at, pad)
    except (LengthError, JobError) as fault:
        st.error(look.plain(plain_fault(fault, words, board_style(style))))
        return
    ways = list(buying.ways)
    if target is not None and target < len(ways):
        ways[target] = replace(ways[target], passages=(*ways[target].passages, passage))
    else:
        ways.append(Way(f"{words('access.main_way')} {len(ways) + 1}", (passage,)))
    keep_buying(job, replace(buying, ways=tuple(ways)))


def _made(kind: str, name: str, at: dict[str, float], pad: bool) -> Passage:
    if kind == "corner":
        return Corner(name, at["first"], at["second"], at["ceiling"])
    if kind == "stairs":
        return Stairs(name, at["width"], at["headroom"], at["rise"], at["run"], at["foot"])
    return Gap(name, at["width"], at["height"], kind, SILL_PAD_IN if pad else 0.0)


def _measures(passage: Passage, style: str) -> str:
    if isinstance(passage, Gap):
        sides: tuple[float, ...] = (passage.width_in, passage.height_in - passage.pad_in)
    elif isinstance(passage, Corner):
        sides = (passage.first_in, passage.second_in)
    else:
        sides = (passage.width_in, passage.headroom_in)
    return " × ".join(format_length(side, style) for side in sides)


def _longest(longest_in: float, words: Words, style: str) -> str:
    if math.isinf(longest_in):
        return words("access.any")
    if longest_in <= 0.0:
        return words("access.none_pass")
    # never said longer than it is
    return format_length(math.floor(longest_in), board_style(style))
