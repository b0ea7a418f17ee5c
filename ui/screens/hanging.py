"""Cutting and hanging: a card for each surface, pieces ticked off, spoiled boards planned again."""

from __future__ import annotations

from collections import Counter

import streamlit as st

from layout import surface_svg
from layout.hanging_day import TAPS
from ui import desk, look, site_store
from ui.board_size import board_style
from ui.hanging_cards import hanging_cards
from ui.hanging_site import PART, Hanging, begin_hanging, hanging_of, stacks_by_surface
from ui.hanging_view import hanging_view, sheet_text
from ui.market import market_of, units_of
from ui.paper import paper_size
from ui.screens.order_parts import why_nothing
from ui.site_changes import surface_changes
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
        _begin(job, words)
        return
    if why:
        st.warning(why)
    style = units_of(job.settings)
    changed = st.container()
    _extra_sheets(hanging, words, style)
    hanging_cards(hanging_view(job.job_id, hanging, words, style, refused), key=KEY)
    st.download_button(
        words("hanging.print"),
        lambda: cards_pdf(hanging, words, style, paper_size(market_of(job.settings)), job.name),
        file_name="cards.pdf",
        mime="application/pdf",
        on_click="ignore",
    )
    _drawings(hanging, words, style)
    with changed:  # last, so that ticking off need not wait for the plan
        _say_changes(job, hanging, words)


def _begin(job: Job, words: Words) -> None:
    st.write(words("hanging.begin_how"))
    if st.button(words("hanging.begin"), type="primary"):
        _keep_as_now(job, words, 0)


def _keep_as_now(job: Job, words: Words, revision: int) -> None:
    """Begin hanging by the plan as it is now."""
    with st.spinner(words("wall.planning")):
        found = site_plan(desk.store(), job)
        if not found.plan.sheets:
            st.info(why_nothing(job, found.plan, words, found.names))
            return
        stacks = kept_stacks(desk.store(), job, found).plan
    begin_hanging(desk.store(), job.job_id, found, stacks, revision)
    st.rerun()


def _say_changes(job: Job, hanging: Hanging, words: Words) -> None:
    """A notice where the walls or boards are others now than those being hung, and what to do about it."""
    found = site_plan(desk.store(), job)
    changes = surface_changes(hanging.plan, hanging.names, found.plan, found.names)
    begun = bool(hanging.progress.ids)
    # once boards are taken from the stacks their number is on the signs: only before can it be another
    moved = not begun and stacks_by_surface(kept_stacks(desk.store(), job, found).plan) != hanging.stacks
    if not changes and not moved:
        return
    parts = [
        words(f"hanging.{what}", names=look.plain(", ".join(names)))
        for what, names in (("gone", changes.gone), ("new", changes.new), ("changed", changes.changed))
        if names
    ]
    if moved and not changes:
        parts = [words("hanging.stacks_moved")]
    what_to_do = words("hanging.changed_begun" if begun else "hanging.changed_not_begun")
    st.warning(words("hanging.plan_changed") + f" {' '.join(parts)}\n\n{what_to_do}")
    if not begun and st.button(words("hanging.anew"), type="primary"):
        _, revision = site_store.part(desk.store(), job.job_id, PART)
        _keep_as_now(job, words, revision)


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
