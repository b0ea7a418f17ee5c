"""The places of the app, in the order of the job, and the way between them."""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from urllib.parse import urlsplit

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from ui.words import Words


@dataclass(frozen=True)
class Place:
    """One screen.

    Attributes
    ----------
    name : str
        Its module is ``ui.screens.<name>`` with a function ``show()``; its title is the words under
        ``place.<name>``.
    stage : str
        The part of the job it belongs to, one of `STAGES`; its words are under ``stage.<stage>``.
    address : str
        The last part of its web address.
    """

    name: str
    stage: str
    address: str


STAGES = ("measure", "buy", "build")
PLACES = (
    Place("job", "measure", "walls"),
    Place("walk", "measure", "walk"),
    Place("wall", "measure", "wall"),
    Place("order", "buy", "order"),
    Place("prices", "buy", "prices"),
    Place("access", "buy", "access"),
    Place("stacks", "build", "stacks"),
    Place("delivery", "build", "delivery"),
    Place("hanging", "build", "hanging"),
    Place("help", "help", "help"),
)
"""A screen is added by its line here, its module and its title in both languages."""
FIRST = "wall"


def pages(words: Words) -> dict[str, StreamlitPage]:
    """The pages by name, in the order of the job."""
    found = {}
    for place in PLACES:
        # by name: the screens link to one another through this module
        screen = importlib.import_module(f"ui.screens.{place.name}")
        found[place.name] = st.Page(
            screen.show,
            title=words(f"place.{place.name}"),
            url_path=place.address,
        )
    st.session_state["pages"] = found
    return found


def front_page(words: Words) -> StreamlitPage:
    """The bare address: the screen `FIRST`, which has an address of its own besides."""
    screen = importlib.import_module(f"ui.screens.{FIRST}")

    def front() -> None:
        screen.show()

    return st.Page(front, title=words(f"place.{FIRST}"), default=True)


def at_no_place(address: str) -> bool:
    """Whether a web address names no screen of ours (the app then shows the first one)."""
    path = urlsplit(address).path.strip("/")
    return bool(path) and path.split("/")[-1] not in {place.address for place in PLACES}


def links(found: dict[str, StreamlitPage], current: StreamlitPage, words: Words) -> None:
    """The way between the places: the stages of the job, and below it the places of the present stage."""
    here = next(
        (place for place in PLACES if found[place.name].url_path == current.url_path),
        next(place for place in PLACES if place.name == FIRST),
    )
    with st.container(horizontal=True, gap="small", key="stages"):
        for number, stage in enumerate(STAGES, start=1):
            first = next(place for place in PLACES if place.stage == stage)
            label = f"{number} {words(f'stage.{stage}')}"
            st.page_link(found[first.name], label=f"**{label}**" if stage == here.stage else label)
        st.page_link(found["help"], label="**?**" if here.name == "help" else "?", help=words("place.help"))
    beside = [place for place in PLACES if place.stage == here.stage]
    if len(beside) < 2:
        return
    with st.container(horizontal=True, gap="small", key="places"):
        for place in beside:
            title = found[place.name].title
            st.page_link(found[place.name], label=f"**{title}**" if place == here else title)


def go(name: str) -> None:
    """Go to a place (stops this run)."""
    st.switch_page(st.session_state["pages"][name])
