"""Small repairs to the page around our own parts: its language, and what a screen reader is told."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

# Registered once, at import: doing it per rerun would register the component anew each time.
_mount = st.components.v2.component(
    "page_manners", js=Path(__file__).with_name("manners.js").read_text(encoding="utf-8")
)


def page_manners(language: str) -> None:
    """Once per run: the page says which language it speaks, and its upload fields what they are."""
    _mount(key="page-manners", data={"language": language}, height=1)
