"""Long lists are shown a portion at a time: a job of hundreds of surfaces opens as fast as a small one."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from ui.framed import Framed
from ui.words import Words

PORTION = 24
"""Lines shown at once; a list that is no longer than that is shown whole."""


def portion(everything: Sequence[Framed], key: str, words: Words) -> Sequence[Framed]:
    """The surfaces to list now: all, or the portion chosen; at first the one with the open wall."""
    if len(everything) <= PORTION:
        return everything
    starts = range(0, len(everything), PORTION)
    at_hand = st.session_state.get("surface_id")
    place = next((n for n, each in enumerate(everything) if each.surface.surface_id == at_hand), 0)

    def called(start: int) -> str:
        last = min(start + PORTION, len(everything)) - 1
        names = everything[start].surface.name, everything[last].surface.name
        return words("job.portion", first=start + 1, last=last + 1, one=names[0], other=names[1])

    start = st.selectbox(
        words("job.portions", n=len(everything)), starts, index=place // PORTION, format_func=called, key=key
    )
    return everything[start : start + PORTION]
