"""The one next thing to do in a job."""

from __future__ import annotations

from dataclasses import replace

from tests.layout.common import sixteen_in_wall
from ui.corrections import Corrections
from ui.framed import Framed
from ui.next_step import next_step
from ui.store import Surface


def framed(name: str, **others) -> Framed:
    surface = Surface(name, "job", name, "photo", Corrections(), {}, 1)
    return Framed(surface, sixteen_in_wall(144.0), **others)


def test_a_known_length_comes_before_the_studs_that_hang_on_it() -> None:
    # with a guessed scale every stud is unsure: looking at 19 of them one by one is the wrong work
    step = next_step((framed("North", doubtful=2), framed("South", doubtful=19, guessed=True)))
    assert (step.code, step.surface_id) == ("length", "South")


def test_marks_that_were_set_roughly_come_before_the_studs_that_hang_on_them() -> None:
    step = next_step((framed("North", doubtful=2), framed("South", doubtful=9, rough=True)))
    assert (step.code, step.surface_id) == ("marks", "South")


def test_doubtful_studs_come_before_proposed_boxes() -> None:
    both = framed("North", doubtful=1, proposed=3)
    assert next_step((both,)).code == "doubt"
    step = next_step((replace(both, doubtful=0),))
    assert (step.code, step.values["n"]) == ("openings", 3)


def test_a_wall_that_cannot_be_boarded_comes_before_everything() -> None:
    unreadable = replace(framed("South"), framing=None)
    assert next_step((framed("North", guessed=True), unreadable)).code == "help_wall"


def test_when_nothing_is_open_the_order_is_next() -> None:
    assert next_step((framed("North"),)).code == "order"
    assert next_step(()).code == "first_wall"
