"""The three places of the app and the way between them."""

from __future__ import annotations

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from ui.words import Words


def pages(words: Words) -> dict[str, StreamlitPage]:
    """The pages by name, in the order of the job."""
    from ui.screens import (  # the screens link to one another through this module
        delivery,
        hanging,
        job,
        order,
        stacks,
        wall,
    )

    found = {
        "wall": st.Page(wall.show, title=words("place.wall"), url_path="wall", default=True),
        "job": st.Page(job.show, title=words("place.job"), url_path="walls"),
        "order": st.Page(order.show, title=words("place.order"), url_path="order"),
        "stacks": st.Page(stacks.show, title=words("place.stacks"), url_path="stacks"),
        "delivery": st.Page(delivery.show, title=words("place.delivery"), url_path="delivery"),
        "hanging": st.Page(hanging.show, title=words("place.hanging"), url_path="hanging"),
    }
    st.session_state["pages"] = found
    return found


def links(found: dict[str, StreamlitPage], current: StreamlitPage) -> None:
    """The way between the places, one row, the present one marked."""
    with st.container(horizontal=True, gap="small"):
        for name in ("job", "wall", "order", "stacks", "delivery", "hanging"):
            page = found[name]
            st.page_link(page, label=f"**{page.title}**" if page.url_path == current.url_path else page.title)


def go(name: str) -> None:
    """Go to a place (stops this run)."""
    st.switch_page(st.session_state["pages"][name])
