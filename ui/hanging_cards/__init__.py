"""The cards for cutting and hanging: a Streamlit component (version 2) whose ticks survive a lost connection.

It shares its outbox with the tally of delivery day (`ui/tally`): a tick lies in the browser's own storage
until the laptop has confirmed it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import streamlit as st

_here = Path(__file__).parent
SCRIPTS = (
    _here.parent / "tally" / "outbox.js",
    _here.parent / "tally" / "synced.js",
    _here / "cards.js",
)

# Registered once, at import: doing it per rerun would register the component anew each time.
_mount = st.components.v2.component(
    "hanging_cards",
    html=(_here / "cards.html").read_text(encoding="utf-8"),
    css=(_here / "cards.css").read_text(encoding="utf-8"),
    js="\n".join(script.read_text(encoding="utf-8") for script in SCRIPTS),
)


def hanging_cards(view: dict[str, Any], *, key: str) -> None:
    """Show the cards.

    Parameters
    ----------
    view : dict
        What to show: see `ui.hanging_view.hanging_view`.
    key : str
        Names the cards in the session; what waits in the browser stands in
        ``st.session_state[key]["outbox"]``.
    """
    _mount(key=key, data=view, default={"outbox": None}, on_outbox_change=lambda: None)
