"""How far a wall is, and what its reading doubts: the steps and the sentences above its photo."""

from __future__ import annotations

from dataclasses import dataclass, replace

import streamlit as st

from layout import SurfacePlan
from ui import look
from ui.corrections import CorrectedWall
from ui.rough_marks import ROUGH, marks_matter
from ui.wall_photos import proposed_openings
from ui.words import Words
from vision import Reading
from vision.reading import Warning

DISAGREE, MOVED, HEIGHT_UNSURE = "references_disagree", "moved", "height_unsure"
WRONG_LENGTH = frozenset({DISAGREE, "face_doubtful", "odd_spacing"})
"""Codes that say a given length is likely wrong, and with it every place."""
FACES_DOUBTFUL = frozenset({"face_doubtful", "face_disagrees", "like_steel"})
"""Codes that say that the faces come out wider or narrower than those of what the wall is framed with."""
LACKS_SCALE = frozenset({"no_layout", "loose_scale", "face_disagrees"})
"""Codes of refusals that a tape length cures."""
ANOTHER_PHOTO = frozenset({"plates_curve"})
"""Codes of refusals that only another photo cures."""


def where_one_is(
    wall: CorrectedWall | None,
    rows: SurfacePlan | None,
    words: Words,
    roughly_marked: tuple[int, ...] = (),
) -> None:
    """The steps of a wall and which are still open; `roughly_marked` names the photos whose marks are."""
    items = [(words("wall.step_photo"), words("wall.done"), False)]
    if wall is not None:
        readable = not wall.reading.refused and wall.reading.wall is not None
        length = length_state(wall.reading)
        if length == "wall.done" and marks_matter(wall.reading):
            length = "wall.rough"  # before studs are looked at one by one: they hang on it
        state = words(length)
        if length == "wall.rough" and roughly_marked:
            many = "_many" if len(roughly_marked) > 1 else ""
            state = words(f"wall.rough_in{many}", photos=", ".join(map(str, roughly_marked)))
        items.append((words("wall.step_length"), state, length != "wall.done"))
        doubtful = sum(not shown.member.sure for shown in wall.members)
        state = words("wall.to_check", n=doubtful) if doubtful else words("wall.done")
        items.append(
            (
                words("wall.step_studs"),
                state if readable else words("wall.open"),
                bool(doubtful) or not readable,
            )
        )
        proposed = len(proposed_openings(wall))
        if proposed:
            items.append((words("wall.step_openings"), words("wall.to_check", n=proposed), True))
    boarded = rows is not None and bool(rows.rows)
    boards = boards_state(None if wall is None else wall.reading, boarded)
    items.append((words("wall.step_boards"), words(boards), boards != "wall.done"))
    look.steps(items)


def length_state(reading: Reading) -> str:
    """The word for how far the known length is: done, assumed, or still to do."""
    if lacks_scale(reading):
        return "wall.open"  # what was stated does not do
    if not reading.scale_guessed:
        return "wall.done"
    return "wall.open" if reading.refused else "wall.assumed"


def boards_state(reading: Reading | None, boarded: bool) -> str:
    """The word for how far the boards are: to do, laid out on a guessed length, or done."""
    if not boarded:
        return "wall.open"
    guessed = reading is not None and length_state(reading) == "wall.assumed"
    return "wall.on_a_guess" if guessed else "wall.done"


def lacks_scale(reading: Reading) -> bool:
    """Whether a reading was refused for want of a length that is sure enough."""
    return reading.refused_for in LACKS_SCALE


def tool_that_helps(reading: Reading) -> str:
    """The editor's tool for what a reading lacks: a known length, else the wall's corners; "" for none.

    Where only another photo helps there is none.
    """
    if reading.refused_for in ANOTHER_PHOTO:
        return ""
    if not reading.refused:
        return "tape" if reading.scale_guessed else ""
    return "tape" if lacks_scale(reading) else "corners"


def say_warnings(reading: Reading, words: Words, height_measured: bool, marks_again: bool) -> None:
    """What the reading doubts, with the advice; what must be done first stands out.

    A height that was measured settles what the photo left open.
    """
    left_open = tuple(w for w in reading.warnings if not (height_measured and w.code == HEIGHT_UNSURE))
    said = sorted_warnings(replace(reading, warnings=left_open), marks_again)
    for warning in said.errors:
        st.error(f"**{words.said(warning.message)}** {words.said(warning.advice)}")
    for warning in said.open:
        st.warning(f"**{words.said(warning.message)}** {words.said(warning.advice)}")
    if not said.folded:
        return
    with st.expander(words("wall.notes", n=len(said.folded))):
        for warning in said.folded:
            st.markdown(f"- {words.said(warning.message)} {words.said(warning.advice)}")


@dataclass(frozen=True)
class SortedWarnings:
    """What a reading doubts: `errors` make it refuse, `open` ones are shown, the rest is under a fold."""

    errors: tuple[Warning, ...] = ()
    open: tuple[Warning, ...] = ()
    folded: tuple[Warning, ...] = ()


def sorted_warnings(reading: Reading, marks_again: bool = False) -> SortedWarnings:
    """The warnings of a reading by how loudly they are said.

    The reader stops at what made it refuse, the last one. Where the phone moved, that comes before: a tape
    length laid over a smeared photo cures nothing. `marks_again`: most studs hang on roughly set marks.
    """
    last = reading.warnings[-1:] if reading.refused else ()
    others = reading.warnings[: len(reading.warnings) - len(last)]
    moved = tuple(each for each in others if each.code == MOVED)
    others = tuple(each for each in others if each.code != MOVED)
    loud = WRONG_LENGTH | {ROUGH} if marks_again else WRONG_LENGTH
    return SortedWarnings(
        (*moved, *last) if reading.refused else (),
        (*(() if reading.refused else moved), *(each for each in others if each.code in loud)),
        tuple(each for each in others if each.code not in loud),
    )
