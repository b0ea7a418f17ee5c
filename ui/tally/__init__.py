"""The tally of delivery day: a Streamlit component (version 2) that counts in the browser.

Every tap lies in the browser's own storage until the laptop has confirmed it, so counting goes on while
the connection is away. The parts lie beside this module and are handed over as strings, so the tally
works from a checkout and from an install alike.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import streamlit as st

SCRIPTS = ("outbox.js", "synced.js", "tally.js")

_here = Path(__file__).parent


def _text(name: str) -> str:
    return (_here / name).read_text(encoding="utf-8")


# Registered once, at import: doing it per rerun would register the component anew each time.
_mount = st.components.v2.component(
    "delivery_tally",
    html=_text("tally.html"),
    css=_text("tally.css"),
    js="\n".join(_text(name) for name in SCRIPTS),
)


def tally(view: dict[str, Any], *, key: str) -> None:
    """Show the tally.

    Parameters
    ----------
    view : dict
        What to show: see `ui.delivery_view.delivery_view`.
    key : str
        Names this tally in the session; what waits in the browser stands in
        ``st.session_state[key]["outbox"]`` as ``{"job", "taps", "number"}``.
    """
    _mount(key=key, data=view, default={"outbox": None}, on_outbox_change=lambda: None)
