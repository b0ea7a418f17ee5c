"""A photo handed to the app: taken in once, refused in one sentence, forgotten by the uploader after."""

from __future__ import annotations

from typing import Any

import streamlit as st

from ui import look, photos
from ui.words import Words
from ui.work import WorkStopped
from vision import PhotoError

TURN = "upload_turn"


def upload_key(name: str) -> str:
    """The key of an uploader: a new one after each photo, so that the uploader forgets the last."""
    return f"{name}-{st.session_state.setdefault(TURN, 0)}"


def taken(upload: Any, key: str, words: Words) -> bytes | None:
    """The uploaded photo as it is kept; None when there is none, or when it was refused, which is said.

    Call it before the photo is kept: a second run of the page must not add it twice.
    """
    if upload is None:
        return None
    try:
        jpeg = photos.taken_in(upload.getvalue(), key)
    except WorkStopped:
        st.session_state[TURN] += 1
        st.rerun()
    except PhotoError as fault:
        st.error(look.plain(words.said(str(fault))))
        return None
    st.session_state[TURN] += 1
    return jpeg
