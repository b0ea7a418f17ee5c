"""The next thing to do, the most visible thing of a screen."""

from __future__ import annotations

import streamlit as st

from ui import desk, look, places
from ui.next_step import Step
from ui.words import Words


def what_next(step: Step, words: Words) -> None:
    """One button with the next thing to do and why; nothing when it is done on this very screen."""
    shown = {name: look.plain(str(value)) for name, value in step.values.items()}
    sentence = words(f"next.{step.code}", **shown)
    if step.code == "first_wall":
        return  # the uploader below says it
    if st.button(f"{words('next.label')}: {sentence}", type="primary", key="next-thing", width="stretch"):
        if step.surface_id:
            desk.choose_surface(step.surface_id)
        places.go(step.place)
