"""Cutting and hanging: a card for each surface, pieces ticked off, spoiled boards planned again."""

from __future__ import annotations

from collections import Counter

import streamlit as st

from layout import surface_svg
from layout.hanging_day import TAPS
from ui import desk, look, site_store
from ui.hanging_cards import hanging_cards
from ui.hanging_site import PART, Hanging, begin_hanging, hanging_of
from ui.hanging_view import hanging_view, sheet_text
from ui.paper import paper_size
from ui.screens.order import board_style, units
from ui.site_plan import site_plan
from ui.site_printing import CAUTIONS, cards_pdf
from ui.site_stacks import kept_stacks
from ui.site_taps import take_outbox
from ui.store import Job
from ui.words import Words

KEY = "hanging_cards"


def show() -> None:
    """Draw the page."""
    words = desk.words()
    # Ticks are kept before anything else is looked at: after a restart of the server this may be the
    # first thing this session hears of the job.
    refused, why = take_outbox(desk.store(), PART, (st.session_state.get(KEY) or {}).get("outbox"), TAPS)
    job = desk.open_job()
    st.header(words("hanging.title"), anchor=False)
    if job is None:
        st.info(words("delivery.no_job"))
        return
    # so that a new session after a lost connection finds the same job
    st.query_params["job"] = job.job_id
    hanging = hanging_of(desk.store(), job.job_id)
    with st.expander(words("caution.head"), expanded=hanging is None):
        look.caution([words(key) for key in CAUTIONS])
    if hanging is None:
        _begin(job, words, 0)
        return
    if why:
        st.warning(why)
    style = units(job)
    _extra_sheets(hanging, words, style)
    hanging_cards(hanging_view(job.job_id, hanging, words, style, refused), key=KEY)
    st.download_button(
        words("hanging.print"),
        lambda: cards_pdf(hanging, words, style, paper_size(hanging.job.rules.market), job.name),
        file_name="cards.pdf",
        mime="application/pdf",
        on_click="ignore",
    )
    _drawings(hanging, words, style)
    with st.expander(words("hanging.anew")):
        st.write(words("hanging.anew_how"))
        if not hanging.progress.ids:
            _, revision = site_store.part(desk.store(), job.job_id, PART)
            _begin(job, words, revision)


def _begin(job: Job, words: Words, revision: int) -> None:
    st.write(words("hanging.begin_how"))
    if st.button(words("hanging.begin"), type="primary"):
        with st.spinner(words("wall.planning")):
            found = site_plan(desk.store(), job)
            if not found.plan.sheets:
                st.info(words("order.nothing"))
                return
            stacks = kept_stacks(desk.store(), job, found).plan
        begin_hanging(desk.store(), job.job_id, found, stacks, revision)
        st.rerun()


def _extra_sheets(hanging: Hanging, words: Words, style: str) -> None:
    """What is missing after the delivery, and what spoiled boards have cost: sheets to buy, spares used."""
    for size, count in hanging.missing.items():
        st.warning(words("hanging.missing", n=count, size=sheet_text(*size, words, style)))
    for sheets, key in ((hanging.bought, "hanging.buy"), (hanging.from_spares, "hanging.spares_used")):
        counts = Counter((s.kind, s.thickness_in, s.width_in, s.length_in) for s in sheets)
        for size, count in counts.items():
            text = words(key, n=count, size=sheet_text(*size, words, style))
            (st.warning if key == "hanging.buy" else st.info)(text)


def _drawings(hanging: Hanging, words: Words, style: str) -> None:
    framing = {surface.id: surface for surface in hanging.job.surfaces}
    with st.expander(words("hanging.drawings")):
        for plan in hanging.plan.surfaces:
            if any(row.pieces for row in plan.rows):
                look.drawing(surface_svg(plan, framing[plan.id], board_style(style)), plan.name or plan.id)
