"""A page whose work ends only when it is stopped: what `test_stop_in_browser` presses Stop on."""

from __future__ import annotations

import time

import streamlit as st

from ui.work import Report, WorkStopped, wait_for


def endless(report: Report) -> None:
    """Work on until the user has enough."""
    while True:
        report("plan", 0.5)
        time.sleep(0.02)


try:
    wait_for("endless", endless)
except WorkStopped:
    st.write("The work has ended.")
