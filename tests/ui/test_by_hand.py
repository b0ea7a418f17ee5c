"""Surfaces entered with a tape: their framing, their mirror image, the form they are kept in."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout import Job, JobError, Opening, Surface, plan_job
from ui.by_hand import (
    ByHand,
    HandOpening,
    by_hand_from_json,
    by_hand_to_json,
    framing_by_hand,
    measured,
    mirrored,
    still_doubtful,
    taken_over,
)
from ui.opening_text import OpeningTextError, openings_from_text, openings_to_text


def centres(hand):
    return [m.centre_in for m in framing_by_hand(hand, "A").members]


def test_studs_at_16_in_put_the_edge_of_an_8_ft_board_on_a_centre():
    # layout marks at 15 1/4, 31 1/4 ... in, so centres at 16, 32 ... (US Navy NAVEDTRA 14044, Builder, p. 36)
    assert {16.0, 32.0, 48.0, 64.0, 80.0, 96.0} <= set(centres(ByHand("studs", 150.0, 97.125)))


def test_a_wall_laid_out_from_the_right_is_the_mirror_image():
    hand = ByHand("studs", 131.0, 97.125, openings=(HandOpening("door", 40.0, 34.0, 0.0, 82.5),))
    there = framing_by_hand(hand, "A")
    back = framing_by_hand(mirrored(hand), "A")
    assert [131.0 - m.centre_in for m in reversed(back.members)] == pytest.approx(
        [m.centre_in for m in there.members]
    )
    assert back.openings[0].left_in == 131.0 - 74.0
    assert mirrored(mirrored(hand)) == hand


def test_a_window_keeps_its_cripples_and_gets_a_doubled_stud_at_each_side():
    hand = ByHand("studs", 144.0, 97.125, openings=(HandOpening("window", 56.0, 32.0, 36.0, 44.0),))
    surface = framing_by_hand(hand, "A")
    in_window = [m for m in surface.members if 56 < m.centre_in < 88]
    assert {(m.bottom_in, m.top_in) for m in in_window} == {(0.0, 36.0), (80.0, 97.125)}
    sides = [m for m in surface.members if m.plies == 2]
    assert [(m.centre_in - 1.5, m.centre_in + 1.5) for m in sides] == [(53.0, 56.0), (88.0, 91.0)]


def test_no_board_end_lands_in_a_door_of_a_wall_entered_by_hand():
    hand = ByHand("studs", 228.0, 97.125, openings=(HandOpening("door", 100.0, 34.0, 0.0, 82.5),))
    plan = plan_job(Job((framing_by_hand(hand, "A"),)))
    for row in plan.surfaces[0].rows:
        for seam in row.seams:
            if 100 < seam.position_in < 134:  # on a cripple over the door, no longer than that
                assert seam.length_in <= 97.125 - 82.5


@pytest.mark.parametrize("framing", ["joists", "strapping"])
def test_a_ceiling_is_boarded_across_its_members(framing):
    hand = ByHand(framing, 180.0, 132.0, members_run="along")
    surface = framing_by_hand(hand, "C")
    assert surface.kind == "ceiling"
    assert surface.ceiling_board_in == 0
    plan = plan_job(Job((surface,)))
    (planned,) = plan.surfaces
    area = sum(p.length_in * (r.top_in - r.bottom_in) for r in planned.rows for p in r.pieces)
    assert area == pytest.approx(180 * 132, rel=0.01)


def test_strapping_is_wider_than_a_joist():
    # 1x3 dressed: 2 1/2 in wide (American Softwood Lumber Standard PS 20)
    assert {m.face_in for m in framing_by_hand(ByHand("strapping", 96.0, 96.0), "C").members} == {2.5}


def test_the_other_face_of_a_photographed_wall_has_the_same_studs_in_reverse():
    wall = framing_by_hand(ByHand("studs", 120.0, 96.0, first_in=13.0), "A")
    other = framing_by_hand(mirrored(taken_over(wall)), "B")
    assert [m.centre_in for m in other.members] == [120.0 - m.centre_in for m in reversed(wall.members)]


def doubtful_wall() -> Surface:
    """A wall on a guessed length whose photo ends before it, with a door that nobody has looked at."""
    wall = framing_by_hand(ByHand("studs", 120.0, 96.0), "A")
    door = Opening("1", 30.0, 62.0, 0.0, 82.0, kind="door", sure=False)
    members = tuple(replace(m, sure=False, sigma_in=0.9) for m in wall.members)
    return replace(wall, members=members, openings=(door,), cut_off=True, guessed=True)


def test_a_mirrored_wall_is_as_doubtful_as_the_one_it_was_made_from():
    wall = doubtful_wall()
    other = mirrored(taken_over(wall))
    assert (other.guessed, other.cut_off) == (True, True)
    assert by_hand_from_json(json.loads(json.dumps(by_hand_to_json(other)))) == other
    framing = framing_by_hand(other, "B")
    assert [o.sure for o in framing.openings] == [False]
    said = {w.code for w in plan_job(Job((framing,))).warnings}
    assert {"wall_cut_off", "opening_unsure", "assumed_spacing"} <= said


def test_a_tape_settles_what_was_taken_over_in_doubt():
    before = mirrored(taken_over(doubtful_wall()))
    # the studs stand where the guess put them, however long the wall was measured to be
    longer = still_doubtful(replace(before, length_in=124.0), before)
    assert (longer.guessed, longer.cut_off) == (True, False)
    laid_out_anew = still_doubtful(replace(before, length_in=124.0, members=()), before)
    assert (laid_out_anew.guessed, laid_out_anew.cut_off) == (False, False)
    untouched = still_doubtful(replace(before, height_in=97.0), before)
    assert (untouched.guessed, untouched.cut_off) == (True, True)
    settled = framing_by_hand(measured(before), "B")
    assert all(member.sure for member in settled.members)
    assert settled.openings[0].sure
    assert not settled.cut_off


def test_a_box_written_down_while_walking_is_cut_out_of_the_board_before_it():
    boxes = openings_from_text("box at 30 up 12; box 4 x 4 at 60 up 42; door 32 at 90")
    hand = ByHand("studs", 144.0, 96.0, openings=boxes)
    wall = framing_by_hand(hand, "A")
    assert [(b.left_in, b.right_in, b.bottom_in, b.top_in) for b in wall.boxes] == [
        (30.0, 32.25, 12.0, 15.75),
        (60.0, 64.0, 42.0, 46.0),
    ]
    assert [o.kind for o in wall.openings] == ["door"]
    # no stud stands aside for a box
    no_boxes = framing_by_hand(ByHand("studs", 144.0, 96.0, openings=boxes[2:]), "A")
    assert wall.members == no_boxes.members
    (surface,) = plan_job(Job(surfaces=(wall,))).surfaces
    cut = [c for row in surface.rows for p in row.pieces for c in p.cutouts if c.kind == "outlet"]
    assert len(cut) == 2
    assert openings_from_text(openings_to_text(boxes)) == boxes
    assert openings_from_text("caja a 30 sobre 12") == boxes[:1]
    assert framing_by_hand(mirrored(hand), "A").boxes[1].left_in == 144.0 - 32.25
    assert by_hand_from_json(by_hand_to_json(hand)) == hand


@pytest.mark.parametrize("text", ["box at 30", "box 4 at 30 up 12", "window at 30 up 12", "door at 30"])
def test_an_opening_that_leaves_out_what_is_needed_is_refused(text):
    with pytest.raises(OpeningTextError, match="box at 30 up 12"):
        openings_from_text(text)


lengths = st.floats(24, 480).map(lambda x: round(x * 16) / 16)


@settings(max_examples=60, deadline=None)
@given(lengths, st.floats(60, 140), st.sampled_from([12.0, 16.0, 19.2, 24.0]), st.booleans(), st.data())
def test_what_was_entered_comes_back_the_same(length, height, spacing, ceiling, data):
    first = data.draw(st.none() | st.floats(1.0, spacing))
    hand = ByHand("joists" if ceiling else "studs", length, height, spacing, first)
    again = by_hand_from_json(json.loads(json.dumps(by_hand_to_json(hand))))
    assert again == hand
    taken = taken_over(framing_by_hand(hand, "A"))
    assert by_hand_from_json(by_hand_to_json(taken)) == taken


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("length_in", float("nan")),
        ("length_in", -96.0),
        ("length_in", "96"),
        ("height_in", 1e9),
        ("spacing_in", 0),
        ("framing", "<b>studs</b>"),
        ("from_end", "middle"),
        ("openings", [{}] * 61),
        ("openings", ["door"]),
        ("openings", [{"kind": "door", "left_in": 500, "width_in": 30, "bottom_in": 0, "height_in": 80}]),
        ("members", [{"centre_in": None}]),
        ("members_run", "up and down"),
    ],
)
def test_hostile_measurements_are_refused_in_one_sentence(field, value):
    good = by_hand_to_json(ByHand("studs", 96.0, 96.0))
    with pytest.raises(JobError) as refused:
        by_hand_from_json({**good, field: value})
    assert "\n" not in str(refused.value)
