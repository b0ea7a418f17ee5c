"""The app's one edge: whatever goes wrong inside is said in one sentence, and never as a traceback."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import NoReturn

import streamlit as st
from streamlit.errors import StreamlitInvalidLayoutContextError

from layout import JobError
from ui import look
from ui.desk import words
from ui.store_schema import StoreError
from ui.work import WorkStopped
from vision import PhotoError, ReadingError

log = logging.getLogger("seamwright")


@contextmanager
def faults_said() -> Iterator[None]:
    """Say a fault on the page and go on with the rest of it; the job is as the store has it."""
    try:
        yield
    except WorkStopped:
        raise  # the page that began the work says so and offers to go on
    except (StoreError, PhotoError, ReadingError) as fault:
        st.error(look.plain(words().said(str(fault))))
    except JobError as fault:  # a setting that is damaged, or of another release
        said = words().said(fault.message)
        st.error(look.plain(said[:1].upper() + said[1:]))
    except Exception as fault:
        # Streamlit steers reruns and stops by exceptions of its own: those must pass.
        if type(fault).__module__.startswith("streamlit.runtime"):
            raise
        log.exception("a part of a page failed")
        st.error(words()("say.fault"))


def draw_again() -> NoReturn:
    """Draw the part of the page that is being drawn anew (stops this run).

    A press that comes while the whole page is being drawn is answered by a run of the whole page, in which
    Streamlit refuses to draw a part anew: then all of it is.
    """
    try:
        st.rerun(scope="fragment")
    except StreamlitInvalidLayoutContextError:
        st.rerun()
