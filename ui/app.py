"""The app's entry: ``python -m streamlit run ui/app.py``, or ``seamwright app``."""

from __future__ import annotations

import streamlit as st

from ui import desk, look, places
from ui.edge import faults_said
from ui.page_manners import page_manners
from ui.work import WorkStopped


def main() -> None:
    """Draw the page that is asked for."""
    st.set_page_config(page_title="Seamwright", layout="wide")
    look.put_styles()
    words = desk.words()
    page_manners(words)
    pages = places.pages(words)
    page = st.navigation([places.front_page(words), *pages.values()], position="hidden")
    places.links(pages, page, words)
    if places.at_no_place(st.context.url or ""):
        st.warning(words("say.no_such_page"))
        st.page_link(pages["job"], label=words("say.to_the_walls"))
    try:
        with faults_said():
            page.run()
    except WorkStopped:
        st.warning(words("work.stopped"))


main()
