"""The picture editor: a Streamlit component (version 2) that draws marks on the photo of a wall.

The parts (`editor.html`, `editor.css` and the scripts) lie beside this module and are handed over
as strings, so the editor works from a checkout and from an install alike. The scripts share one
scope and are joined in the order of `SCRIPTS`; only the last one exports.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import streamlit as st

SCRIPTS = (
    "geometry.js",
    "corrections.js",
    "snapping.js",
    "drawing.js",
    "loupe.js",
    "cards.js",
    "slide.js",
    "gestures.js",
    "framing_acts.js",
    "point_acts.js",
    "editor.js",
)

_here = Path(__file__).parent


def _text(name: str) -> str:
    return (_here / name).read_text(encoding="utf-8")


# Registered once, at import: doing it per rerun would register the component anew each time.
_mount = st.components.v2.component(
    "wall_editor",
    html=_text("editor.html"),
    css=_text("editor.css"),
    js="\n".join(_text(name) for name in SCRIPTS),
)


def wall_editor(
    view: dict[str, Any],
    *,
    key: str,
    on_edit: Callable[[], None],
    on_command: Callable[[], None],
) -> None:
    """Show the editor.

    Parameters
    ----------
    view : dict
        What to draw: see `ui.editor_view.editor_view`.
    key : str
        Names this editor in the session; what the user did stands in
        ``st.session_state[key]["edit"]`` and ``["command"]``.
    on_edit, on_command : callable
        Run when a new edit, or an undo or redo, has arrived.
    """
    _mount(
        key=key,
        data=view,
        default={"edit": None},
        on_edit_change=on_edit,
        on_command_change=on_command,
    )
