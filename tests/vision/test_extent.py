"""How high a member reaches, and which stretches belong together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from vision.extent import (
    Upright,
    drop_beyond_ends,
    join_hidden,
    longest_run,
    measure_extent,
    merge_touching,
    presence,
    settle_partials,
    split_plies,
)
from vision.members import Stretch

BANDS, COLUMNS, HEIGHT_PX, FACE_PX = 48, 200, 480.0, 12.0
SEEN = np.ones((BANDS, COLUMNS), bool)


def stretch(left: float, plies: int = 1, slope: float = 0.0) -> Stretch:
    return Stretch(left, left + plies * FACE_PX, plies, 0.9, 0.9, 0.9, 5.0, slope)


def upright(left: float, top: float = 0.0, bottom: float = 1.0, plies: int = 1) -> Upright:
    return Upright(stretch(left, plies), top, bottom, 0.9, top == 0.0 and bottom == 1.0)


def front(*pieces: tuple[int, int, int, int]) -> NDArray[np.float32]:
    """Share of front face with 0.95 in pieces of (first band, last band, first column, last column)."""
    out = np.full((BANDS, COLUMNS), 0.02, np.float32)
    for a, b, c, d in pieces:
        out[a:b, c:d] = 0.95
    return out


def test_a_stud_from_plate_to_plate_is_full_height() -> None:
    up = measure_extent(front((0, 48, 60, 72)), SEEN, stretch(60), HEIGHT_PX)
    assert (up.top, up.bottom, up.full, up.hidden_end) == (0.0, 1.0, True, False)
    assert up.visible == 1.0


def test_a_cripple_above_a_door_reaches_down_to_its_header_only() -> None:
    up = measure_extent(front((0, 9, 60, 72)), SEEN, stretch(60), HEIGHT_PX)
    assert not up.full
    assert up.top == 0.0
    assert up.bottom == pytest.approx(9 / 48)


def test_a_trimmer_stops_under_its_header() -> None:
    up = measure_extent(front((10, 48, 60, 72)), SEEN, stretch(60), HEIGHT_PX)
    assert not up.full
    assert up.top == pytest.approx(10 / 48)
    assert up.bottom == 1.0


def test_blocking_across_a_stud_does_not_cut_it_in_two() -> None:
    up = measure_extent(front((0, 22, 60, 72), (25, 48, 60, 72)), SEEN, stretch(60), HEIGHT_PX)
    assert up.full
    assert up.visible == pytest.approx(45 / 48)


def test_a_stud_lost_behind_a_stack_on_the_floor_is_full_with_doubt() -> None:
    up = measure_extent(front((0, 34, 60, 72)), SEEN, stretch(60), HEIGHT_PX)
    assert up.full
    assert up.hidden_end


def test_what_the_photo_does_not_show_says_nothing_against_a_stud() -> None:
    seen = SEEN.copy()
    seen[40:] = False
    up = measure_extent(front((0, 40, 60, 72)), seen, stretch(60), HEIGHT_PX)
    assert (up.top, up.bottom, up.full) == (0.0, 1.0, True)


def test_a_leaning_stud_is_followed_along_its_lean() -> None:
    lean = 24 / HEIGHT_PX  # two faces over the height
    picture = front()
    for b in range(BANDS):
        at = round(90 + 24 * ((b + 0.5) / BANDS - 0.5))
        picture[b, at : at + 12] = 0.95
    assert presence(picture, 90, 102, lean * HEIGHT_PX).min() > 0.7
    assert presence(picture, 90, 102, 0.0).min() < 0.1


def test_the_longest_run_bridges_short_gaps_only() -> None:
    on = np.zeros(30, bool)
    on[[2, 3, 4, 7, 8, 9, 10, 20, 21]] = True
    assert longest_run(on, 2) == (2, 11)
    assert longest_run(on, 0) == (7, 11)
    assert longest_run(np.zeros(5, bool), 2) == (0, 0)


def test_a_king_and_its_trimmer_are_parted_where_their_heights_differ() -> None:
    picture = front((0, 48, 60, 72), (10, 48, 72, 84))
    king, trimmer = split_plies(picture, SEEN, upright(60, plies=2), HEIGHT_PX)
    assert (king.full, trimmer.full) == (True, False)
    assert (king.stretch.centre, trimmer.stretch.centre) == (66, 78)


def test_a_double_of_one_height_stays_one_group() -> None:
    double = upright(60, plies=2)
    assert split_plies(front((0, 48, 60, 84)), SEEN, double, HEIGHT_PX) == [double]


def test_two_ends_in_one_line_are_one_stud_hidden_between() -> None:
    joined = join_hidden([upright(60, 0.0, 0.4), upright(61, 0.6, 1.0)], FACE_PX)
    assert len(joined) == 1
    assert joined[0].full
    assert joined[0].hidden_end


def test_cripples_over_and_under_a_window_stay_two() -> None:
    assert len(join_hidden([upright(60, 0.0, 0.2), upright(60, 0.7, 1.0)], FACE_PX)) == 2


def test_two_studs_that_touch_are_counted_as_two_plies() -> None:
    one = merge_touching([upright(60), upright(73)], FACE_PX)
    assert [u.stretch.plies for u in one] == [2]
    assert (one[0].stretch.left, one[0].stretch.right) == (60, 85)


def test_a_trimmer_touching_its_king_is_not_counted_with_it() -> None:
    assert len(merge_touching([upright(60), upright(72, 0.2, 1.0)], FACE_PX)) == 2


def test_what_stands_beyond_the_end_stud_belongs_to_another_wall() -> None:
    ups = [upright(5), upright(22), upright(100), upright(170), upright(190)]
    kept = drop_beyond_ends(ups, 20.0, 184.0, FACE_PX)
    assert [u.stretch.left for u in kept] == [22, 100, 170]


NOTHING_ACROSS = np.zeros((BANDS, COLUMNS), np.float32)


def test_a_stud_burnt_out_under_the_top_plate_is_full_with_doubt() -> None:
    (up,) = settle_partials([upright(60, top=0.13)], NOTHING_ACROSS, FACE_PX)
    assert up.full
    assert up.hidden_end


def test_a_board_leaning_halfway_up_the_wall_is_no_member() -> None:
    assert settle_partials([upright(60, top=0.45)], NOTHING_ACROSS, FACE_PX) == []


def test_what_nearly_reaches_the_top_without_clear_edges_is_no_member() -> None:
    unclear = Upright(replace(stretch(60), edge_left=0.2), 0.13, 1.0, 0.9, False)
    assert settle_partials([unclear], NOTHING_ACROSS, FACE_PX) == []
