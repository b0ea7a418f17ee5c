"""What the steps above a wall say is done, assumed or still to do."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.ui import walls
from ui.corrections import CorrectedWall
from ui.rough_marks import marks_matter
from ui.screens import wall_state
from ui.screens.wall_parts import height_contradicts
from ui.screens.wall_state import boards_state, lacks_scale, length_state, sorted_warnings, tool_that_helps
from ui.words import Words
from vision import Reading, Reference
from vision.advice import warning
from vision.reading import Wall

SPACING = Reference.on_centre(16.0)
TAPE = Reference.tape(96.0, (100.0, 500.0), (900.0, 500.0))


def _read(reference: Reference, *codes: str, refused: bool = False) -> Reading:
    return Reading(1000, 800, reference, None, None, (), (), tuple(map(warning, codes)), refused)


@pytest.mark.parametrize("code", ["loose_scale", "no_layout", "face_disagrees"])
def test_a_length_that_nothing_can_be_built_on_leaves_the_length_to_do(code: str) -> None:
    read = _read(SPACING, "none_sure", code, refused=True)
    assert lacks_scale(read)
    assert length_state(read) == "wall.open"


@pytest.mark.parametrize(
    ("code", "tool"),
    [("loose_scale", "tape"), ("wall_not_found", "corners"), ("no_members", "corners"), ("plates_curve", "")],
)
def test_the_editor_opens_with_the_tool_that_cures_a_refusal_and_none_for_a_panorama(
    code: str, tool: str
) -> None:
    assert tool_that_helps(_read(SPACING, code, refused=True)) == tool


@pytest.mark.parametrize("code", ["face_doubtful", "odd_spacing"])
def test_a_length_that_is_likely_wrong_is_spoken_of_above_the_fold(code: str) -> None:
    said = sorted_warnings(_read(TAPE, "focal_unknown", code))
    assert [warning.code for warning in said.open] == [code]
    assert [warning.code for warning in said.folded] == ["focal_unknown"]


def test_a_given_tape_is_done_even_where_the_wall_is_not_found() -> None:
    read = _read(TAPE, "wall_not_found", refused=True)
    assert not lacks_scale(read)
    assert length_state(read) == "wall.done"


def test_a_guessed_spacing_is_assumed_only_while_the_wall_is_readable() -> None:
    guessed = replace(SPACING, assumed=True)
    assert length_state(_read(guessed, "assumed_spacing", "loose_scale")) == "wall.assumed"
    assert length_state(_read(guessed)) == "wall.done"  # a tape reading settled it
    assert length_state(_read(guessed, "no_members", refused=True)) == "wall.open"


def test_boards_on_a_guessed_length_are_not_called_done() -> None:
    guessed = _read(replace(SPACING, assumed=True), "assumed_spacing")
    assert boards_state(guessed, boarded=True) == "wall.on_a_guess"
    assert boards_state(_read(TAPE), boarded=True) == "wall.done"
    assert boards_state(_read(TAPE), boarded=False) == "wall.open"


@pytest.mark.parametrize(("measured_in", "contradicts"), [(97.125, False), (95.5, False), (240.0, True)])
def test_a_height_from_the_tape_that_the_photo_cannot_mean_is_spoken_of(
    measured_in: float, contradicts: bool
) -> None:
    corners = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    wall = Wall(144.0, 0.3, 96.625, 0.38, corners, False, False)
    assert height_contradicts(measured_in, wall) is contradicts


def _codes(warnings) -> tuple[str, ...]:
    return tuple(each.code for each in warnings)


def test_a_phone_that_moved_is_spoken_of_before_the_tape_that_cannot_cure_it() -> None:
    said = sorted_warnings(_read(SPACING, "moved", "none_sure", "loose_scale", refused=True))
    assert _codes(said.errors) == ("moved", "loose_scale")
    assert _codes(said.folded) == ("none_sure",)


def test_a_smear_in_a_photo_that_was_read_is_not_under_the_fold() -> None:
    said = sorted_warnings(_read(TAPE, "moved", "focal_unknown"))
    assert (_codes(said.errors), _codes(said.open), _codes(said.folded)) == (
        (),
        ("moved",),
        ("focal_unknown",),
    )
    assert sorted_warnings(_read(TAPE)).folded == ()


@pytest.mark.parametrize(("wide", "loud"), [(3, True), (2, False)])
def test_rough_marks_are_asked_for_again_where_most_studs_hang_on_them(wide: int, loud: bool) -> None:
    wall = walls.reading()
    sure, doubtful = (replace(wall.members[0], sure=it, doubts=()) for it in (True, False))
    members = (*[replace(doubtful, doubts=("faint", "wide_error"))] * wide, *[sure] * (4 - wide))
    read = replace(wall, members=members, warnings=(warning("rough_marks"),))
    assert marks_matter(read) is loud
    said = sorted_warnings(read, marks_matter(read))
    assert _codes(said.open if loud else said.folded) == ("rough_marks",)
    assert not marks_matter(replace(read, warnings=()))


@pytest.mark.parametrize(
    ("photos", "said"),
    [((), "set its marks again"), ((2,), "its marks again, photo 2"), ((2, 3), "photos 2, 3")],
)
def test_the_step_says_at_which_photo_of_a_long_wall_the_marks_are_set_again(
    photos: tuple[int, ...], said: str, monkeypatch
) -> None:
    shown: list[tuple[str, str, bool]] = []
    monkeypatch.setattr(wall_state.look, "steps", shown.extend)
    wall = walls.reading()
    members = tuple(m.doubted("wide_error") for m in wall.members)
    read = replace(wall, members=members, warnings=(warning("rough_marks"),))
    wall_state.where_one_is(CorrectedWall(read, ()), None, Words("en"), photos)
    (length,) = [state for name, state, _ in shown if name == "Known length"]
    assert length.endswith(said)


def test_what_marks_set_again_would_not_make_surer_does_not_ask_for_them() -> None:
    wall = walls.reading()
    beyond = (replace(wall.members[0], sure=False, doubts=("carried_over",)),) * 4
    read = replace(wall, members=beyond, warnings=(warning("rough_marks"),))
    assert not marks_matter(read)
