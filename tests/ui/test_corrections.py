"""The user's word over the photo's: what is moved, added, struck out or kept, and stays so."""

from __future__ import annotations

from dataclasses import replace

import hypothesis.strategies as some
import numpy as np
import pytest
from hypothesis import given, settings

from ui.bridge import surface_from_reading
from ui.corrections import (
    Corrections,
    OpeningMark,
    ReferenceMark,
    StudMark,
    correct,
)
from ui.corrections_json import corrections_from_json, corrections_to_json
from vision import Reference, measure_member
from vision.reading import Member, Opening, Reading, Wall
from vision.wall_plane import WallPlane

INCH_PX = 10.0


def plane(scale: float = 1.0) -> WallPlane:
    """Straight on, ten pixels to the inch (times `scale`), left end at x = 200, foot at y = 1100."""
    s = scale / INCH_PX
    return WallPlane(1.0, (0.0, 0.0), 0.0, 0.0, ((s, 0.0, -200 * s), (0.0, -s, 1100 * s), (0.0, 0.0, 1.0)))


def line_at(centre_in: float, where: WallPlane) -> tuple[tuple[float, float], tuple[float, float]]:
    bottom, top = where.to_photo([(centre_in, 1.5), (centre_in, 94.0)]).tolist()
    return (tuple(bottom), tuple(top))


def stud(centre_in: float, where: WallPlane, *, sure: bool = True) -> Member:
    return Member(
        centre_in,
        0.06,
        1.5,
        0.0,
        1,
        "full",
        sure,
        line_at(centre_in, where),
        1.5,
        94.0,
        () if sure else ("faint",),
    )


def reading(centres_in, where=None, doubtful=(), openings=()) -> Reading:
    where = where or plane()
    corners = where.to_photo([(0, 97), (96, 97), (96, 0), (0, 0)]).tolist()
    return Reading(
        1600,
        1200,
        Reference.on_centre(16.0, assumed=True),
        Wall(96.0, 0.1, 97.0, 0.2, tuple(tuple(c) for c in corners)),
        where,
        tuple(stud(c, where, sure=c not in doubtful) for c in centres_in),
        tuple(openings),
        (),
    )


def shown(read: Reading, corrections: Corrections):
    return correct(read, corrections, lambda line: measure_member(read, line[0], line[1]))


def centres(wall) -> list[float]:
    return [round(each.member.centre_in, 2) for each in wall.members]


WALL = (0.75, 16.0, 32.0, 48.0, 64.0, 80.0, 95.25)


def test_an_untouched_wall_is_the_reading_numbered_from_the_left():
    wall = shown(reading(WALL), Corrections())
    assert centres(wall) == list(WALL)
    assert [each.number for each in wall.members] == [1, 2, 3, 4, 5, 6, 7]
    assert not any(each.yours for each in wall.members)


def test_a_dragged_stud_stands_in_for_the_one_the_photo_showed():
    mark = StudMark("m", line_at(33.5, plane()), corrects_px=line_at(32.0, plane()))
    wall = shown(reading(WALL), Corrections(studs=(mark,)))
    assert centres(wall) == [0.75, 16.0, 33.5, 48.0, 64.0, 80.0, 95.25]
    assert [each.yours for each in wall.members] == [False, False, True, False, False, False, False]


def test_a_struck_out_stud_stays_out_when_the_photo_is_read_again():
    corrections = Corrections(removed_px=(line_at(48.0, plane()),))
    assert 48.0 not in centres(shown(reading(WALL), corrections))
    # the second reading finds it two pixels beside the first
    again = shown(reading((0.75, 16.0, 32.0, 48.2, 64.0, 80.0, 95.25)), corrections)
    assert len(again.members) == 6


def test_a_new_tape_length_rescales_what_the_user_marked():
    mark = StudMark("m", line_at(40.0, plane()))
    twice = plane(scale=2.0)
    wall = shown(reading((1.5, 32.0, 64.0), twice), Corrections(studs=(mark,)))
    assert centres(wall) == [1.5, 32.0, 64.0, 80.0]


def test_an_added_stud_replaces_one_that_a_later_reading_finds_in_the_same_place():
    mark = StudMark("m", line_at(48.0, plane()))
    wall = shown(reading(WALL), Corrections(studs=(mark,)))
    assert centres(wall) == list(WALL)
    assert wall.members[3].yours


def test_two_studs_side_by_side_are_two_members():
    mark = StudMark("m", line_at(49.5, plane()))
    assert centres(shown(reading(WALL), Corrections(studs=(mark,))))[3:5] == [48.0, 49.5]


def test_a_doubtful_stud_the_user_kept_is_sure():
    read = reading(WALL, doubtful=(48.0,))
    assert not shown(read, Corrections()).members[3].member.sure
    kept = shown(read, Corrections(confirmed_px=(line_at(48.0, plane()),))).members[3]
    assert kept.member.sure
    assert kept.confirmed


def test_a_mark_that_cannot_stand_is_left_out_but_the_wall_is_shown():
    mark = StudMark("m", ((300.0, 600.0), (900.0, 600.0)))
    wall = correct(reading(WALL), Corrections(studs=(mark,)), lambda line: None)
    assert centres(wall) == list(WALL)


def test_without_a_scale_nothing_is_placed_and_nothing_breaks():
    read = replace(reading(WALL), plane=None)
    assert shown(read, Corrections(studs=(StudMark("m", line_at(40.0, plane())),))).members == ()


def test_an_opening_the_user_drew_is_upright_and_accepted():
    corners = plane().to_photo([(30, 82), (66, 82.5), (66.5, 1), (30, 0.5)]).tolist()
    mark = OpeningMark("o", "door", tuple(tuple(c) for c in corners))
    (each,) = shown(reading(WALL), Corrections(openings=(mark,))).openings
    assert (each.opening.left_in, each.opening.right_in) == pytest.approx((30.0, 66.25))
    assert (each.opening.bottom_in, each.opening.top_in) == pytest.approx((0.75, 82.25))
    assert each.opening.sure


def test_a_box_below_a_window_is_accepted_without_touching_the_window():
    proposed = Opening("window", 30.0, 60.0, 36.0, 80.0)
    box = Opening("box", 34.0, 36.25, 12.0, 15.75)
    read = replace(reading(WALL, openings=(proposed,)), boxes=(box,))
    first = shown(read, Corrections())
    (found,) = [each for each in first.openings if each.opening.kind == "box"]
    assert surface_from_reading(first.reading, "A").boxes == (), "nobody accepted it yet"
    kept = OpeningMark("b", "box", found.corners_px, found.corrects_px)
    after = shown(read, corrections_from_json(corrections_to_json(Corrections(openings=(kept,)))))
    assert [each.opening.kind for each in after.openings] == ["window", "box"]
    assert [o.kind for o in after.reading.openings] == ["window"]
    (cut,) = surface_from_reading(after.reading, "A").boxes
    assert (cut.left_in, cut.top_in) == pytest.approx((34.0, 15.75))


def test_a_proposed_window_the_user_struck_out_is_gone():
    proposed = Opening("window", 30.0, 60.0, 36.0, 80.0)
    read = reading(WALL, openings=(proposed,))
    first = shown(read, Corrections())
    assert len(first.openings) == 1
    assert shown(read, Corrections(removed_openings_px=(first.openings[0].corners_px,))).openings == ()


def test_marks_alone_are_no_reference_until_the_length_is_known():
    assert ReferenceMark("tape", None, "", (0, 0), (100, 0)).for_reading() is None
    assert ReferenceMark("tape", 96.0, "8 ft").for_reading() is None
    assert ReferenceMark("tape", 96.0, "8 ft", (0, 0), (100, 0)).for_reading() == Reference.tape(
        96.0, (0, 0), (100, 0)
    )


a_point = some.tuples(*(some.floats(-2000, 6000) for _ in range(2)))
a_line = some.tuples(a_point, a_point)
a_quad = some.tuples(a_point, a_point, a_point, a_point)
a_known_length = some.none() | some.builds(
    ReferenceMark,
    some.sampled_from(["tape", "on_centre"]),
    some.none() | some.floats(0.1, 2000),
    some.text(max_size=12),
    some.none() | a_point,
    some.none() | a_point,
    some.floats(0, 12),
    some.none() | some.floats(0, 1000),
    some.none() | some.floats(0, 1000),
)
some_corrections = some.builds(
    Corrections,
    studs=some.lists(
        some.builds(StudMark, some.text(max_size=20), a_line, some.none() | a_line), max_size=4
    ).map(tuple),
    removed_px=some.lists(a_line, max_size=3).map(tuple),
    confirmed_px=some.lists(a_line, max_size=3).map(tuple),
    openings=some.lists(
        some.builds(
            OpeningMark,
            some.text(max_size=20),
            some.sampled_from(["door", "window"]),
            a_quad,
            some.none() | a_quad,
        ),
        max_size=2,
    ).map(tuple),
    corners_px=some.none() | a_quad,
    reference=a_known_length,
    second=a_known_length,
)


def test_the_reading_knows_how_large_the_photo_was_shown_when_the_marks_were_set():
    mark = ReferenceMark("tape", 96.0, "8 ft", (0, 0), (100, 0), from_sigma_px=6.0, to_sigma_px=2.0)
    assert mark.for_reading().mark_sigma_px == pytest.approx(np.sqrt((36 + 4) / 2))
    assert replace(mark, to_sigma_px=None).for_reading().mark_sigma_px == 6.0
    assert replace(mark, from_sigma_px=None, to_sigma_px=None).for_reading().mark_sigma_px is None


def test_how_well_marks_are_set_is_kept_and_older_jobs_know_nothing_of_it():
    marked = Corrections(
        reference=ReferenceMark("tape", 96.0, "8 ft", (0, 0), (100, 0), from_sigma_px=6.0, to_sigma_px=0.5)
    )
    kept = corrections_to_json(marked)
    assert corrections_from_json(kept) == marked
    del kept["reference"]["from_sigma_px"], kept["reference"]["to_sigma_px"]
    assert corrections_from_json(kept).reference.for_reading().mark_sigma_px is None
    for wrong in (-1.0, float("nan"), 1e9, "much"):
        with pytest.raises((ValueError, TypeError)):
            corrections_from_json({**kept, "reference": {**kept["reference"], "from_sigma_px": wrong}})


@settings(max_examples=50, deadline=None)
@given(some_corrections)
def test_what_is_kept_on_disk_comes_back_the_same(corrections):
    import json

    assert corrections_from_json(json.loads(json.dumps(corrections_to_json(corrections)))) == corrections


@settings(max_examples=40, deadline=None)
@given(some.lists(some.floats(2.0, 94.0), max_size=8), some.sets(some.integers(0, 6)))
def test_every_stud_of_the_user_is_shown_and_none_of_the_struck_out(added, struck):
    where = plane()
    corrections = Corrections(
        studs=tuple(StudMark(f"m{i}", line_at(x, where)) for i, x in enumerate(added)),
        removed_px=tuple(line_at(WALL[i], where) for i in struck),
    )
    wall = shown(reading(WALL), corrections)
    mine = sorted(each.member.centre_in for each in wall.members if each.yours)
    assert np.allclose(mine, sorted(added), atol=1e-6)
    theirs = [each.member.centre_in for each in wall.members if not each.yours]
    assert not set(theirs) & {WALL[i] for i in struck}
    assert [each.number for each in wall.members] == list(range(1, len(wall.members) + 1))


def test_marks_that_stand_in_front_of_the_studs_are_kept_and_reach_the_reader():
    mark = ReferenceMark("tape", 96.0, "8 ft", (0, 0), (100, 0), stands_proud_in=0.5)
    assert mark.for_reading() == Reference.tape(96.0, (0, 0), (100, 0), stands_proud_in=0.5)
    kept = corrections_from_json(corrections_to_json(Corrections(reference=mark)))
    assert kept.reference is not None
    assert kept.reference.stands_proud_in == 0.5
