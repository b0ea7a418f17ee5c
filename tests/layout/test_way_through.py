"""A way through a framed wall: which stud may come out, and of which wall none may."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layout import Opening
from layout.walkway import way_through
from tests.layout.common import sixteen_in_wall


def test_a_stud_comes_out_only_of_a_wall_known_to_carry_nothing() -> None:
    wall = sixteen_in_wall(160.0)
    assert way_through(wall, "unknown", 80.0).verdict == "leave_unknown"
    assert way_through(wall, "something", 80.0).verdict == "leave_bearing"
    way = way_through(wall, "nothing", 80.0)
    assert way.verdict == "take_out"
    # two bays of 16 in less a face of 1 1/2 in
    assert way.clear_in == pytest.approx(30.5)
    assert way.left_in < 80.0 < way.right_in


def test_a_wall_framed_wide_needs_no_stud_taken_out() -> None:
    wall = replace(sixteen_in_wall(160.0), members=sixteen_in_wall(160.0).members[::2])
    assert way_through(wall, "unknown", 80.0).verdict == "open"


def test_studs_beside_an_opening_and_doubled_ones_stay() -> None:
    wall = sixteen_in_wall(160.0, openings=(Opening("d", 65.0, 95.0, 0.0, 82.5, "door"),))
    way = way_through(wall, "nothing", 64.0)
    stud = next(m for m in wall.members if m.id == way.member_id)
    assert not 65.0 - 4.5 <= stud.centre_in <= 95.0 + 4.5
    doubled = replace(wall, members=tuple(replace(m, plies=2, face_in=3.0) for m in wall.members))
    assert way_through(doubled, "nothing", 64.0).verdict == "none"
