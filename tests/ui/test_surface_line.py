"""A surface in one line, as the lists of walls and the walk-round show it."""

from __future__ import annotations

from dataclasses import replace

from tests.layout.common import sixteen_in_wall
from ui.corrections import Corrections
from ui.framed import Framed
from ui.store import Surface
from ui.surface_line import surface_line
from ui.words import Words

KEPT = Surface("1", "job", "North", "photo", Corrections(), {}, 1)
WORDS = Words("en")


def test_a_wall_on_a_guessed_length_says_so_beside_its_size() -> None:
    wall = replace(sixteen_in_wall(144.0), guessed=True)
    line = surface_line(Framed(KEPT, wall, doubtful=3, guessed=True), WORDS, "inches")
    assert line.endswith("on a guessed length · 3 to check")
    assert "guessed" not in surface_line(Framed(KEPT, sixteen_in_wall(144.0)), WORDS, "inches")


def test_a_length_does_not_break_over_the_end_of_a_line() -> None:
    wall = replace(sixteen_in_wall(144.0), height_in=95.9375)
    assert '95\u00a015/16"' in surface_line(Framed(KEPT, wall), WORDS, "inches")


def test_a_photo_that_was_not_looked_at_yet_is_no_wall_that_cannot_be_read() -> None:
    waiting, unreadable = Framed(KEPT, None, read=False), Framed(KEPT, None)
    assert surface_line(waiting, WORDS, "mm") != surface_line(unreadable, WORDS, "mm")
