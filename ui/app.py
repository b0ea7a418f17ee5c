"""The app's entry: ``python -m streamlit run ui/app.py``, or ``seamwright app``."""

from __future__ import annotations

import logging

import streamlit as st

from ui import desk, look, places
from ui.store_schema import StoreError
from vision import PhotoError, ReadingError

log = logging.getLogger("seamwright")


def main() -> None:
    """Draw the page that is asked for; whatever goes wrong is said in one sentence."""
    st.set_page_config(page_title="Seamwright", layout="wide")
    look.put_styles()
    words = desk.words()
    pages = places.pages(words)
    page = st.navigation(list(pages.values()), position="hidden")
    places.links(pages, page)
    try:
        page.run()
    except (StoreError, PhotoError, ReadingError) as fault:
        st.error(str(fault))
    except Exception as fault:
        # Streamlit steers reruns and stops by exceptions of its own: those must pass.
        if type(fault).__module__.startswith("streamlit.runtime"):
            raise
        log.exception("a page failed")
        st.error(words("say.fault"))


main()
