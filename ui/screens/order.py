"""What to buy for the whole job."""

from __future__ import annotations

import math
from collections.abc import Sequence

import streamlit as st

from layout import OrderLine, Plan, PlanWarning, format_length
from ui import desk, look
from ui.framed import framed_surfaces
from ui.job_plan import boards_job, stock_of
from ui.store import Job
from ui.words import Words
from ui.work import planned_boards

FEW_NOTES = 2


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    st.header(words("order.title"), anchor=False)
    if job is None or not job.surfaces:
        st.info(words("order.nothing"))
        return
    everything = framed_surfaces(job, read_now=True)
    walls = [each.framing for each in everything if each.framing is not None]
    left_out = [each.surface.name for each in everything if each.framing is None]
    if left_out:
        st.warning(words("order.left_out", names=", ".join(left_out)))
    if not walls:
        return
    if not stock_of(job):
        st.warning(words("wall.no_lengths"))
        return
    plan = planned_boards(boards_job(job, tuple(walls)))
    style = units(job)
    order_table(plan.order, words, style)
    sheets = sum(line.count + line.spare for line in plan.order)
    spare = sum(line.spare for line in plan.order)
    st.markdown("**" + words("order.total", n=sheets, walls=len(walls), spare=spare) + "**")
    st.caption(_proof(plan, words) + " " + words("order.butt", feet=math.ceil(plan.score.butt_joint_ft)))
    say_notes(plan.warnings, words)
    st.caption(words("wall.caution"))


def units(job: Job) -> str:
    """How this job prints lengths."""
    style = job.settings.get("units")
    return style if style in ("inches", "feet_inches", "mm") else "inches"


def board_style(style: str) -> str:
    """Boards are spoken of in feet where studs are measured in inches."""
    return "mm" if style == "mm" else "feet_inches"


def order_table(order: tuple[OrderLine, ...], words: Words, style: str) -> None:
    """The lines of an order, biggest count first to the eye."""
    look.table(
        (words("order.buy"), words("order.sheet"), words("order.count"), words("order.spare")),
        [
            (
                str(line.count + line.spare),
                words(
                    "order.size",
                    thickness=format_length(line.thickness_in, board_style(style), to=1 / 32),
                    width=format_length(line.width_in, board_style(style)),
                    length=format_length(line.length_in, board_style(style)),
                ),
                str(line.count),
                str(line.spare),
            )
            for line in order
        ],
        classes=("count", "", "fixed", "fixed"),
    )


def say_notes(notes: Sequence[PlanWarning], words: Words) -> None:
    """What the plan wants the user to know: a few in the open, many behind one line."""
    text = "\n".join(f"- {words.said(note.message)} {words.said(note.advice)}" for note in notes)
    if 0 < len(notes) <= FEW_NOTES:
        st.warning(text)
    elif notes:
        with st.expander(words("order.notes", n=len(notes)), icon="⚠️"):
            st.markdown(text)


def _proof(plan: Plan, words: Words) -> str:
    if plan.score.proved_optimal:
        return words("order.proved")
    if plan.score.lower_bound <= 0:
        return ""
    return words("order.not_proved", percent=math.ceil(100 * plan.score.gap))
