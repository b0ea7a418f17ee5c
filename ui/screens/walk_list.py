"""The surfaces of a walk-round, by room: changed, mirrored, taken out, a whole room copied."""

from __future__ import annotations

import streamlit as st

from ui import desk, look, places
from ui.by_hand import SETTING
from ui.corners import SETTING as CORNERS
from ui.corners import walls_of, ways_for, ways_of
from ui.framed import Framed
from ui.portions import portion
from ui.rooms import add_mirrored, copy_room, next_name, room_of
from ui.store import Job, Surface
from ui.surface_line import surface_line
from ui.words import Words

__all__ = ["list_of_surfaces", "remove"]


def list_of_surfaces(job: Job, everything: tuple[Framed, ...], words: Words, style: str) -> None:
    """The surfaces by room, each with what can be done with it."""
    shown = portion(everything, f"walk-portion-{job.job_id}", words)
    for room in dict.fromkeys(room_of(each.surface) for each in shown):
        st.subheader(look.plain(room) or words("walk.no_room"), anchor=False)
        for each in shown:
            if room_of(each.surface) != room:
                continue
            _line(job, each, words, style)
        if room:
            _corners(job, room, words)
        if room and st.button(words("walk.copy_room"), key=f"copy-{room}"):
            new_room = words("walk.copy_name", room=room)[:60]
            count = copy_room(desk.store(), job, room, new_room)
            desk.say_later(words("walk.copied", n=count, room=look.plain(new_room)))
            st.rerun()


def _corners(job: Job, room: str, words: Words) -> None:
    """One line that says how the walls of a room meet; nothing where there is one wall."""
    ways = ways_of(job.settings)
    choices = ["", *ways_for(len(walls_of(job, room)))]
    now = ways.get(room, "")
    if len(choices) == 1:
        return
    chosen = st.selectbox(
        words("walk.corners"),
        choices,
        index=choices.index(now) if now in choices else 0,
        format_func=lambda way: words(f"walk.corners_{way or 'unsaid'}"),
        help=words("walk.corners_help"),
        key=f"corners-{room}-{now}",
    )
    if chosen != now and (chosen or now in choices):
        desk.keep_job_settings(job, **{CORNERS: {**ways, room: chosen} if chosen else _without(ways, room)})
        st.rerun()


def _without(ways: dict[str, str], room: str) -> dict[str, str]:
    return {other: way for other, way in ways.items() if other != room}


def _line(job: Job, each: Framed, words: Words, style: str) -> None:
    surface, framing = each.surface, each.framing
    with st.container(border=True, horizontal=True, vertical_alignment="center"):
        with st.container(width="stretch"):
            st.markdown(f"**{look.plain(surface.name)}**")
            st.caption(surface_line(each, words, style))
        if SETTING in surface.settings:
            if st.button(words("walk.change"), key=f"change-{surface.surface_id}"):
                st.session_state["walk_changes"] = surface.surface_id
                st.rerun()
        elif st.button(words("job.open_wall"), key=f"open-{surface.surface_id}"):
            desk.choose_surface(surface.surface_id)
            places.go("wall")
        if framing is not None and st.button(words("walk.mirror"), key=f"mirror-{surface.surface_id}"):
            name = next_name(job, words, wall=framing.kind == "wall")
            add_mirrored(desk.store(), job, surface, framing, name, room_of(surface))
            desk.say_later(words("walk.added", name=look.plain(name)))
            st.rerun()
        if st.button(words("walk.remove"), key=f"remove-{surface.surface_id}"):
            remove(surface)


def remove(surface: Surface) -> None:
    """Take a surface out of the job; the page of all walls offers to bring it back (stops this run)."""
    revision = desk.store().save_surface(surface.surface_id, surface.revision, removed=True)
    st.session_state["removed_wall"] = (surface.surface_id, revision, surface.name)
    st.session_state.pop("surface_id", None)
    places.go("job")
