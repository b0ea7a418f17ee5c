"""What a job's settings mean for the boards that are planned."""

from __future__ import annotations

import pytest

from layout.lengths import MM_PER_IN
from tests.ui.test_corrections import WALL, reading
from ui.by_hand import ByHand, by_hand_to_json
from ui.corrections import Corrections
from ui.job_plan import (
    framing_of,
    hand_framing_of,
    lengths_bought_in,
    lengths_on_sale_in,
    plan_names,
    plan_of,
    stock_of,
    width_name,
)
from ui.store import Job, Surface


def wall(name: str = "Wall A", **settings) -> Surface:
    return Surface(name, "job", name, "photo", Corrections(), settings, 1)


def job(*walls: Surface, **settings) -> Job:
    return Job("job", "Job", False, settings, 1, walls)


def lengths_used(kept: Job, *walls: Surface) -> set[float]:
    framings = tuple(framing_of(each, reading(WALL), each.name, "us") for each in walls)
    return {line.length_in for line in plan_of(kept, framings).order}


def test_an_eight_foot_wall_takes_two_eight_foot_boards():
    # 96 in long, 96 1/2 in high: two rows of 48 in leave 1/2 in at the floor, a usual gap
    each = wall(height_in=96.5)
    (line,) = plan_of(job(each), (framing_of(each, reading(WALL), "Wall A", "us"),)).order
    assert (line.count, line.length_in, line.width_in) == (2, 96.0, 48.0)


def test_a_length_that_cannot_be_bought_is_not_planned():
    assert lengths_used(job(wall()), wall()) == {96.0}
    assert lengths_used(job(wall(), lengths_in={"48in": [120.0]}), wall()) == {120.0}


def test_no_length_chosen_leaves_no_stock_of_that_width():
    kept = job(wall(), lengths_in={"48in": [], "54in": [], "1200mm": []})
    assert stock_of(kept) == ()


def test_boards_of_a_width_that_no_wall_asks_for_do_not_stand_in():
    kept = job(wall(), lengths_in={"48in": []})
    assert stock_of(kept) == ()
    assert {board.width_in for board in stock_of(job(wall()))} == {48.0}


def test_a_wall_without_a_ticked_length_gets_no_board_of_another_walls_width():
    one, other = wall("North"), wall("South", board_width="54in")
    kept = job(one, other, lengths_in={"48in": []})
    plan = plan_of(kept, tuple(framing_of(each, reading(WALL), each.name, "us") for each in (one, other)))
    assert {surface.id: bool(surface.rows) for surface in plan.surfaces} == {"North": False, "South": True}
    assert {sheet.width_in for sheet in plan.sheets} == {54.0}


def test_metric_boards_are_offered_in_steps_of_300_mm():
    # a UK reference page on plasterboard sizes: 1200 mm wide, 1800 to 3600 mm long in steps of 300 mm
    assert [round(length * MM_PER_IN) for length in lengths_on_sale_in("1200mm")] == list(
        range(1800, 3601, 300)
    )


def test_a_width_nobody_offers_falls_back_to_48_in():
    assert width_name(wall(board_width="37in"), "us") == "48in"
    assert width_name(wall(board_width="54in"), "us") == "54in"


def test_kept_lengths_that_no_board_has_are_left_out():
    assert lengths_bought_in(job(lengths_in={"48in": [96.0, 97.0]}), "48in") == (96.0,)


def test_a_measured_height_goes_before_the_photo():
    assert framing_of(wall(), reading(WALL), "A", "us").height_in == 97.0
    assert framing_of(wall(height_in=95.5), reading(WALL), "A", "us").height_in == 95.5


def test_two_walls_of_one_name_are_told_apart_in_the_plan():
    one, other = wall("North"), Surface("2", "job", "North", None, Corrections(), {}, 1)
    assert list(plan_names(job(one, other)).values()) == ["North", "North (2)"]


@pytest.mark.parametrize(("width", "inches"), [("48in", 48.0), ("54in", 54.0), ("1200mm", 1200 / MM_PER_IN)])
def test_the_chosen_width_is_the_width_ordered(width, inches):
    each = wall(board_width=width)
    order = plan_of(job(each), (framing_of(each, reading(WALL), "A", "us"),)).order
    assert {round(line.width_in, 3) for line in order} == {round(inches, 3)}


def test_a_12_ft_board_serves_a_ceiling_12_ft_1_in_long_where_wall_boards_cover_both_ends():
    # common practice, no source: wall boards 1/2 in thick cover 1/2 in at each end
    def surface(name: str, hand: ByHand, room: str) -> Surface:
        settings = {"room": room, "by_hand": by_hand_to_json(hand)}
        return Surface(name, "job", name, None, Corrections(), settings, 1)

    def boards_in_a_row(room: str) -> int:
        walls = [surface(f"Wall {k}", ByHand("studs", 100.0, 96.5), room) for k in range(4)]
        above = surface("Ceiling", ByHand("joists", 145.0, 95.0), room)
        kept = job(*walls, above, lengths_in={"48in": [144.0]})
        names = plan_names(kept)
        framings = tuple(hand_framing_of(each, names[each.surface_id], "us") for each in kept.surfaces)
        plan = plan_of(kept, tuple(f for f in framings if f is not None))
        drawn = next(s for s in plan.surfaces if s.id == names["Ceiling"])
        return max(len(row.pieces) for row in drawn.rows)

    assert boards_in_a_row("Den") == 1
    assert boards_in_a_row("") == 2  # nobody said that walls stand all round
