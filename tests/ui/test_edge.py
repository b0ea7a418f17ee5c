"""The edge of the app: a press in the wrong moment is no fault."""

from __future__ import annotations

from streamlit.testing.v1 import AppTest


def whole_page() -> None:
    import streamlit as st

    from ui.edge import draw_again, faults_said

    with faults_said():
        st.session_state["drawn"] = st.session_state.get("drawn", 0) + 1
        if st.session_state["drawn"] == 1:
            draw_again()


def test_a_press_answered_by_a_run_of_the_whole_page_draws_all_of_it_anew() -> None:
    page = AppTest.from_function(whole_page).run()
    assert page.session_state["drawn"] == 2
    assert not page.error
    assert not page.exception
