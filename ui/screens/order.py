"""What to buy for the whole job."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import streamlit as st

from layout import Plan, PlanWarning, in_style
from layout.board_choice import GUESSED
from layout.order import Order, OrderRow
from ui import desk, live, look
from ui.board_size import board_style
from ui.buying import buying_of
from ui.delivery_view import kind_name
from ui.framed import framed_surfaces
from ui.job_plan import boards_job, boards_on_sale, not_sold, plan_names, stock_of
from ui.market import units_of
from ui.order_papers import caution_lines, money, run_text, size_of, totals_lines
from ui.order_sheet import bought
from ui.paper import paper_size
from ui.screens.boards_part import boards_not_sold, kinds_of_board
from ui.screens.order_parts import (
    bare_names,
    goes_with,
    send,
    spares_and_bundles,
    turned_away,
    why_nothing,
)
from ui.site_plan import room_of
from ui.store import Job
from ui.words import Words
from ui.work import planned_boards

FEW_NOTES = 2


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    st.header(words("order.title"), anchor=False)
    if job is None:
        st.info(words("order.nothing"))
        return
    drawn = desk.store().changed_utc(job.job_id)
    job = desk.store().job(job.job_id)  # not older than that
    if job.surfaces:
        _order(job, words)
    else:
        st.info(words("order.nothing"))
    live.follow(job, drawn)  # an order is sent from here: it must not be that of an hour ago


def _order(job: Job, words: Words) -> None:
    boards_not_sold(job, words)
    everything = framed_surfaces(job, read_now=True)
    walls = [each.framing for each in everything if each.framing is not None]
    left_out = [each.surface.name for each in everything if each.framing is None]
    if left_out:
        st.warning(words("order.left_out", names=look.plain(", ".join(left_out))))
    if not walls:
        return
    style = units_of(job.settings)
    buying = buying_of(job.settings)
    on_sale = boards_on_sale(job)
    if not stock_of(job):
        st.warning(why_nothing(job, Plan(), words))
        kinds_of_board(job, words, style)
        return
    boards = boards_job(job, tuple(walls))
    plan = planned_boards(boards)
    names = plan_names(job)
    rooms = {names[surface.surface_id]: room_of(surface) for surface in job.surfaces}
    all_of_it = replace(
        bought(boards, plan, buying, rooms, on_sale, tuple(left_out)),
        guessed=tuple(each.surface.name for each in everything if each.guessed),
        placeholder=buying.supplier is None,
    )
    if all_of_it.guessed:
        st.warning(words("buy.guessed", names=look.plain(", ".join(all_of_it.guessed))))
    turned_away(all_of_it, words, style)
    said_why = {names[surface.surface_id] for surface in job.surfaces if not_sold(job, surface)}
    bare = [name for name in bare_names(plan) if name not in said_why]
    if not all_of_it.order.count:  # nothing to send, nothing proved, no compound to buy
        if bare or not said_why:
            st.warning(why_nothing(job, plan, words))
        kinds_of_board(job, words, style)
        return
    if bare:
        st.warning(words("buy.incomplete", names=look.plain(", ".join(bare))))
    rows_table(all_of_it.order, words, style)
    lines = totals_lines(all_of_it, words, style)
    st.markdown("**" + "  \n".join(look.plain(line) for line in lines) + "**")
    order = all_of_it.order
    said = [
        words("buy.spare_cost", spare=money(order.spare_cost), fill=money(order.to_fill_cost))
        if order.spare_cost or order.to_fill_cost
        else "",
        words.in_units("buy.placeholder", style)
        if buying.supplier is None
        else words("buy.from", supplier=buying.chosen),
        _proof(plan, words),
        words("buy.butt", length=run_text(plan.score.butt_joint_ft, style, words)),
    ]
    st.caption(look.plain(" ".join(said).strip()))
    said_above = {GUESSED} if all_of_it.guessed else set()
    say_notes([note for note in plan.warnings if note.code not in said_above], words, style)
    send(all_of_it, words, style, paper_size(boards.rules.market))
    goes_with(job, all_of_it, buying, words, style)
    spares_and_bundles(job, all_of_it, buying, words, style)
    kinds_of_board(job, words, style)
    st.subheader(words("buy.cautions"), anchor=False)
    look.caution(caution_lines(all_of_it, words, style))


def rows_table(order: Order, words: Words, style: str) -> None:
    """The rows of an order with their money."""
    look.table(
        (words("order.buy"), words("order.sheet"), words("buy.col_cost")),
        [
            (str(row.count), f"{size_of(row, style)} {_more(row, words)}", money(row.cost))
            for row in order.rows
        ],
        classes=("count", "", "fixed"),
    )


def _more(row: OrderRow, words: Words) -> str:
    parts = [kind_name(row.kind, words)]
    if row.spare:
        parts.append(words("buy.spare_of", spare=row.spare))
    if row.to_fill:
        parts.append(words("buy.fill_of", n=row.to_fill))
    return ", ".join(parts)


def say_notes(notes: Sequence[PlanWarning], words: Words, style: str) -> None:
    """What the plan wants the user to know: a few in the open, many behind one line."""
    said = [[in_style(part, board_style(style)) for part in (note.message, note.advice)] for note in notes]
    text = "\n".join(f"- {' '.join(look.plain(words.said(part)) for part in parts)}" for parts in said)
    if 0 < len(notes) <= FEW_NOTES:
        st.warning(text)
    elif notes:
        with st.expander(words("order.notes", n=len(notes)), icon="⚠️"):
            st.markdown(text)


def _proof(plan: Plan, words: Words) -> str:
    if plan.bare:
        return ""
    if plan.score.proved_optimal:
        return words("order.proved")
    if plan.score.lower_bound <= 0:
        return ""
    return words("order.not_proved", percent=math.ceil(100 * plan.score.gap))
