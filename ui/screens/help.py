"""One page on taking the photo, with pictures."""

from __future__ import annotations

import streamlit as st

from ui import desk, look, photo_guide, places


def show() -> None:
    """Draw the page."""
    words = desk.words()
    st.header(words("help.title"), anchor=False)
    pictures = (
        ("stand", photo_guide.stand_opposite(words("help.the_wall"), words("help.you"))),
        ("whole", photo_guide.whole_wall(words("help.plates"))),
        ("tape", photo_guide.known_length(words("help.tape_length"))),
        ("side", photo_guide.not_from_the_side(words("help.not_so"))),
    )
    for pair in (pictures[:2], pictures[2:]):
        for column, (name, svg) in zip(st.columns(2), pair, strict=True):
            with column:
                look.drawing(svg, words(f"help.{name}"))
                st.markdown(f"**{words(f'help.{name}')}** {words(f'help.{name}_why')}")
    st.markdown(words("help.more"))
    st.markdown(words("help.after"))
    if st.button(words("help.go"), type="primary"):
        places.go("job")
