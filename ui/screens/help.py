"""One page on taking the photo, with pictures."""

from __future__ import annotations

import streamlit as st

from ui import desk


def show() -> None:
    """Draw the page."""
    words = desk.words()
    st.header(words("place.help"), anchor=False)
