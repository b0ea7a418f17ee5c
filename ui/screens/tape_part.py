"""The one tape reading that would help most: asked for on the wall's screen, and taken in."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from layout import LengthError, format_length, parse_length_in
from ui import desk, look
from ui.corrections import CorrectedWall
from ui.edge import draw_again
from ui.plus_minus import along_wall, plus_minus
from ui.store import Surface
from ui.tape_readings import TapeReading, stud_to_measure
from ui.words import Words

SCALE_OPEN = "loose_scale"


def one_more_reading(surface: Surface, wall: CorrectedWall, words: Words, style: str) -> None:
    """Ask for a tape reading to the stud that would help the others most; list those taken.

    Where the spacing left the scale open one reading settles it, so that the question stands open there.
    """
    scale_open = wall.reading.refused_for == SCALE_OPEN
    if (wall.reading.refused and not scale_open) or len(wall.members) < 2:
        return
    taken = surface.corrections.tape_readings
    members = [shown.member for shown in wall.members]
    best = stud_to_measure(members, taken)
    with st.expander(words("tape.title"), expanded=scale_open):
        for number, each in enumerate(taken):
            with st.container(horizontal=True, vertical_alignment="center"):
                st.write(words("tape.taken", length=format_length(each.length_in, style)))
                if st.button(words("walk.remove"), key=f"tape-{surface.surface_id}-{number}"):
                    _keep(surface, tuple(t for t in taken if t != each))
        if best is None:
            return
        stud = wall.members[best]
        st.write(
            words(
                "tape.ask",
                n=stud.number,
                place=along_wall(stud.member.centre_in, style),
                pm=plus_minus(stud.member.sigma_in, style),
            )
        )
        text = st.text_input(
            words("tape.length", n=stud.number),
            placeholder=words.in_units("walk.length_hint", style),
            key=f"tape-length-{surface.surface_id}-{stud.number}",
        ).strip()
        if not text:
            return
        try:
            length_in = parse_length_in(text, "mm" if style == "mm" else "in")
            if length_in <= 0:
                raise LengthError(words("say.length_positive", text=text))
        except LengthError as fault:
            st.warning(look.plain(words.said(str(fault))))
            return
        _keep(surface, (*taken, TapeReading(stud.member.front_px, length_in, text)))


def _keep(surface: Surface, taken: tuple[TapeReading, ...]) -> None:
    mine = desk.bench(surface)
    desk.keep_corrections(surface.surface_id, replace(surface.corrections, tape_readings=taken))
    mine.revision += 1
    draw_again()
