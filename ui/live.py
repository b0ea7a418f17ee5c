"""What other devices do to the open job shows here without a reload."""

from __future__ import annotations

import streamlit as st

from ui import desk, look, places
from ui.edge import faults_said
from ui.store import Job

PERIOD_S = 2.0


def follow(job: Job, drawn: str = "") -> None:
    """Draw the whole page anew when the job was changed elsewhere: for pages that list what there is.

    `drawn` is the store's `changed_utc` from before the page was drawn, for a page that takes long.
    """
    st.session_state["pulse"] = drawn or desk.store().changed_utc(job.job_id)
    _follow(job.job_id)


@st.fragment(run_every=PERIOD_S)
def _follow(job_id: str) -> None:
    with faults_said():
        if desk.store().changed_utc(job_id) != st.session_state.get("pulse"):
            st.rerun()


def announce(job: Job, surface_id: str) -> None:
    """Say what came in while a wall is being worked on; its marks are drawn anew only when they changed."""
    st.session_state["pulse"] = desk.store().changed_utc(job.job_id)
    st.session_state["known_surfaces"] = {surface.surface_id for surface in job.surfaces}
    _announce(job.job_id, surface_id)


@st.fragment(run_every=PERIOD_S)
def _announce(job_id: str, surface_id: str) -> None:
    with faults_said():
        pulse = desk.store().changed_utc(job_id)
        if pulse == st.session_state.get("pulse"):
            return
        words = desk.words()
        job = desk.store().job(job_id)
        here = next((each for each in job.surfaces if each.surface_id == surface_id), None)
        if here is None:
            desk.say_later(words("share.changed"))
            st.rerun()
        elif any(each.revision != desk.kept_revision(each.surface_id) for each in (here, *here.more)):
            desk.say_later(words("say.changed_elsewhere_seen"))
            st.rerun()
        new = [each for each in job.surfaces if each.surface_id not in st.session_state["known_surfaces"]]
        if not new:
            st.session_state["pulse"] = pulse  # the change was made here
            return
        st.info(words("share.arrived", name=look.plain(new[-1].name)))
        if st.button(words("share.look"), type="primary", key=f"arrived-{new[-1].surface_id}"):
            desk.choose_surface(new[-1].surface_id)
            places.go("wall")
