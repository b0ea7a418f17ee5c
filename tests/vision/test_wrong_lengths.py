"""A length that is misread, mistyped or stated wrong: no stud is sure then, and the length is blamed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sample_walls import CASES, DEMO, photo_of, tape_of

from vision import Reference, read_wall

pytestmark = pytest.mark.usefixtures("_labels_kept")


@pytest.mark.parametrize("times", [0.5, 2.0])
def test_a_tape_length_that_cannot_be_true_leaves_no_stud_sure(times: float) -> None:
    """Half or twice the length makes faces of 3/4 in or 3 in: the marks or the number are wrong."""
    tape = tape_of(CASES[DEMO])
    reading = read_wall(photo_of(DEMO), replace(tape, length_in=times * tape.length_in))
    assert reading.refused or not any(m.sure for m in reading.members)
    assert reading.warnings


@pytest.mark.parametrize("times", [1 / 12, 0.1, 12.0])
def test_feet_taken_for_inches_are_called_a_wrong_length_and_no_lack_of_studs(times: float) -> None:
    tape = tape_of(CASES[DEMO])
    reading = read_wall(photo_of(DEMO), replace(tape, length_in=times * tape.length_in))
    assert reading.refused
    assert reading.warnings[-1].code == "face_disagrees"


@pytest.mark.parametrize("spacing_in", [14.0, 18.0, 19.2, 24.0])
def test_a_spacing_that_the_studs_do_not_have_leaves_no_stud_sure(spacing_in: float) -> None:
    """16 in on centre: what comes out is an odd spacing, or faces that are no stud's."""
    assert CASES[DEMO].spacing_in == 16.0
    reading = read_wall(photo_of(DEMO), Reference.on_centre(spacing_in))
    assert not any(m.sure for m in reading.members)
    assert {"odd_spacing", "face_doubtful", "loose_scale", "no_layout"} & {w.code for w in reading.warnings}


@pytest.mark.parametrize("length_in", [130.0, 140.0, 200.0, 252.0])
def test_a_tape_misread_by_a_fifth_or_more_leaves_no_stud_sure(length_in: float) -> None:
    """200 for 168 in makes 19 in of 16 on centre, a spacing that some walls have: the faces tell."""
    tape = tape_of(CASES[DEMO])
    assert tape.length_in == 168.0
    reading = read_wall(photo_of(DEMO), replace(tape, length_in=length_in))
    assert not any(m.sure for m in reading.members)
