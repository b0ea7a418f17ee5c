"""The walk-round: surfaces measured with a tape, one after the other, the boards counted as one goes."""

from __future__ import annotations

import streamlit as st

from layout import Plan
from ui import desk, live, look
from ui.board_size import board_size
from ui.delivery_view import kind_name
from ui.first_job import make_sample_job
from ui.framed import Framed, framed_surfaces
from ui.job_plan import boards_job, not_sold, plan_names, stock_of
from ui.market import market_of, units_of
from ui.screens.boards_part import boards_not_sold
from ui.screens.order_parts import why_nothing
from ui.screens.walk_form import form
from ui.screens.walk_list import list_of_surfaces
from ui.screens.wishes_part import wishes
from ui.store import Job
from ui.words import Words
from ui.work import planned_boards


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    if job is None:
        desk.choose_job(make_sample_job(desk.store(), words))
        st.rerun()
    desk.say_now()
    st.header(words("walk.title"), anchor=False)
    st.caption(words("walk.how"))
    style = units_of(job.settings)
    everything = framed_surfaces(job)
    left, right = st.columns([3, 2], gap="medium")
    with left:
        form(job, words, style)
        _wishes(job, everything, words, style)
    with right:
        _count(job, everything, words, style)
    list_of_surfaces(job, everything, words, style)
    live.follow(job)


def _wishes(job: Job, everything: tuple[Framed, ...], words: Words, style: str) -> None:
    """The wishes for the surface that is being changed."""
    changed = st.session_state.get("walk_changes")
    each = next((each for each in everything if each.surface.surface_id == changed), None)
    if each is None:
        return
    framings = tuple(each.framing for each in everything if each.framing is not None)
    plan = planned_boards(boards_job(job, framings)) if framings and stock_of(job) else None
    name = plan_names(job)[each.surface.surface_id]
    rows = next((rows for rows in plan.surfaces if rows.id == name), None) if plan is not None else None
    if wishes(each.surface, each.framing, rows, market_of(job.settings), words, style):
        st.rerun()


# --- what there is so far ---------------------------------------------------------------------------


def _count(job: Job, everything: tuple[Framed, ...], words: Words, style: str) -> None:
    """The boards that the surfaces so far take, together."""
    st.subheader(words("walk.so_far"), anchor=False)
    framings = tuple(each.framing for each in everything if each.framing is not None)
    missing = [each.surface.name for each in everything if each.framing is None]
    boards_not_sold(job, words)
    if not framings:
        st.caption(words("walk.so_far_none"))
    elif not stock_of(job):
        st.warning(why_nothing(job, Plan(), words))
    else:
        plan = planned_boards(boards_job(job, framings))
        if plan.order:
            _boards(plan, words, style)
        elif not any(not_sold(job, surface) for surface in job.surfaces):
            st.warning(why_nothing(job, plan, words))
    if missing:
        st.caption(words("walk.left_out", names=look.plain(", ".join(missing))))


def _boards(plan: Plan, words: Words, style: str) -> None:
    kinds = {line.kind for line in plan.order}
    look.table(
        (words("order.count"), words("order.sheet")),
        [
            (
                str(line.count),
                board_size(line.length_in, line.width_in, style, line.thickness_in)
                + (f" {kind_name(line.kind, words)}" if len(kinds) > 1 else ""),
            )
            for line in plan.order
        ],
        classes=("count", ""),
    )
    more = sum(line.spare + line.to_fill for line in plan.order)
    if more:
        st.caption(words("walk.more_to_buy", n=more, all=sum(line.to_buy for line in plan.order)))
