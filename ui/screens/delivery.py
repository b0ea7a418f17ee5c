"""Delivery day: what comes through the window, counted against the order, on a phone."""

from __future__ import annotations

from typing import Any

import streamlit as st

from layout.delivery import TAPS, ordered_lines
from ui import desk, look, site_store
from ui.delivery_view import (
    PART,
    counted,
    delivery_view,
    difference_text,
    kind_name,
    place_order,
    placed_order,
    size_text,
)
from ui.market import market_of, units_of
from ui.paper import paper_size
from ui.screens.order_parts import why_nothing
from ui.site_changes import line_changes, places_changed
from ui.site_plan import guessed_names, site_plan
from ui.site_printing import delivery_pdf
from ui.site_stacks import kept_stacks
from ui.site_taps import take_outbox
from ui.store import Job
from ui.tally import tally
from ui.words import Words

KEY = "tally"


def show() -> None:
    """Draw the page."""
    words = desk.words()
    # What the browser counted is kept before anything else is looked at: after a restart of the server
    # this may be the first thing this session hears of the job.
    refused, why = take_outbox(desk.store(), PART, (st.session_state.get(KEY) or {}).get("outbox"), TAPS)
    job = desk.open_job()
    st.header(words("delivery.title"), anchor=False)
    if job is None:
        st.info(words("delivery.no_job"))
        return
    # so that a new session after a lost connection finds the same job
    st.query_params["job"] = job.job_id
    placed, revision = site_store.part(desk.store(), job.job_id, PART)
    if placed is None:
        _take_order_along(job, words, revision)
        return
    if why:
        st.warning(why)
    day = counted(desk.store(), job.job_id, placed)
    style = units_of(job.settings)
    changed = st.container()
    st.caption(words("delivery.how"))
    tally(delivery_view(job.job_id, placed, day, words, style, refused), key=KEY)
    st.subheader(words("delivery.to_take_up"), anchor=False)
    text = difference_text(day, words, style)
    look.block(text)
    st.download_button(
        words("delivery.save_difference"),
        text,
        file_name="delivery.txt",
        mime="text/plain",
        on_click="ignore",
    )
    st.download_button(
        words("delivery.print"),
        lambda: delivery_pdf(
            day,
            words,
            style,
            paper_size(market_of(job.settings)),
            title=f"{words('delivery.title')}: {job.name}",
            guessed=guessed_names(desk.store(), job),
        ),
        file_name="delivery.pdf",
        mime="application/pdf",
        on_click="ignore",
    )
    look.caution([words("caution.lift")])
    with changed:  # last, so that counting need not wait for the plan
        _say_changes(job, placed, words, style, revision)


def _say_changes(job: Job, placed: dict[str, Any], words: Words, style: str, revision: int) -> None:
    """A notice where the plan has changed since the order was taken along, and the way to follow it."""
    found = site_plan(desk.store(), job)
    stacks = kept_stacks(desk.store(), job, found).plan
    now = placed_order(found.plan.order, stacks, found.names)
    if found.guessed:
        st.warning(words("signs.guessed", names=look.plain(found.called(found.guessed))))
    lines = line_changes(placed, now)
    if not lines and not places_changed(placed, now):
        return
    if lines:
        sizes = [
            words(
                "delivery.changed_line",
                size=f"{size_text(each.line, style)} {kind_name(each.line.kind, words)}",
                before=each.before,
                now=each.now,
            )
            for each in lines
        ]
        st.warning(
            words("delivery.order_changed")
            + "\n"
            + "\n".join(f"- {look.plain(size)}" for size in sizes)
            + "\n\n"
            + words("delivery.order_changed_how")
        )
    else:
        st.warning(words("delivery.places_changed"))
    if st.button(words("delivery.take_anew")):
        _take(job, revision)


def _take_order_along(job: Job, words: Words, revision: int) -> None:
    """Before the day: what will be counted against, and the button that fixes it."""
    st.write(words("delivery.before"))
    with st.spinner(words("wall.planning")):
        found = site_plan(desk.store(), job)
    order = found.plan.order
    if not order:
        st.info(why_nothing(job, found.plan, words, found.names))
        return
    look.table(
        (words("order.buy"), words("order.sheet"), words("delivery.kind")),
        [
            (str(line.count), size_text(line, units_of(job.settings)), kind_name(line.kind, words))
            for line in ordered_lines(order)
        ],
        classes=("count", "", ""),
    )
    if found.guessed:
        st.warning(words("buy.guessed", names=look.plain(found.called(found.guessed))))
    if st.button(words("delivery.take"), type="primary"):
        _take(job, revision)


def _take(job: Job, revision: int) -> None:
    found = site_plan(desk.store(), job)
    stacks = kept_stacks(desk.store(), job, found).plan
    place_order(desk.store(), job.job_id, found.plan.order, stacks, revision, found.names)
    st.rerun()
