"""Small repairs to the page around our own parts: its language, its styles, what a screen reader is told."""

from __future__ import annotations

import json
from pathlib import Path

import streamlit as st

from ui import look
from ui.words import Words

# Registered once, at import: doing it per rerun would register the component anew each time.
# The rules are part of its script, so that no rerun sends them again.
_mount = st.components.v2.component(
    "page_manners",
    js=f"const RULES = {json.dumps(look.RULES)};\n"
    + Path(__file__).with_name("manners.js").read_text(encoding="utf-8"),
)


def page_manners(words: Words) -> None:
    """Once per run: the page says which language it speaks, keeps our styles (`look.RULES`) in its head, and
    its upload fields say what they are."""
    said = {
        "upload": words("upload.choose"),
        "limit": words("upload.limit"),
        "picture": words("upload.picture"),
        "no_picture": words("upload.no_picture"),
        "not_taken": words("upload.not_taken"),
        "too_big": words("upload.too_big"),
    }
    _mount(key="page-manners", data={"language": words.language, "said": said}, height=1)
