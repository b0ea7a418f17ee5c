"""Where the boards go: no way is blocked, no board is lost, ceiling boards in front, and what it weighs."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout import Job, Opening, plan_job
from layout.free_wall import place_walls
from layout.lots import lots_of
from layout.plan_types import OrderLine
from layout.stack_types import Lot, Moved, PlaceWall, Site, StackPlan
from layout.stacks import lean_degrees, plan_stacks, pull_to_plumb_lb, room_load_psf
from layout.weights import (
    LIVE_LOADS_PSF,
    board_weight_lb,
    design_weight_psf,
    floor_load_text,
    most_boards_on,
    product_weight_psf,
    stack_load_psf,
    weight_text,
)
from tests.layout.common import any_job, room, sixteen_in_wall

# --- weights and floors, against published figures ---


def test_design_weight_is_0_55_psf_for_each_eighth_of_an_inch() -> None:
    # ASCE 7-05 Table C3-1: 1/2 in 2.2 psf, 5/8 in 2.75 psf
    assert design_weight_psf(0.5) == pytest.approx(2.2)
    assert design_weight_psf(0.625) == pytest.approx(2.75)


@pytest.mark.parametrize(
    ("thickness_in", "length_in", "weight_lb"),
    [(0.5, 96.0, 51.2), (0.625, 96.0, 70.4), (0.5, 144.0, 76.8), (0.625, 144.0, 105.6)],
)
def test_a_board_weighs_what_a_submittal_sheet_says(
    thickness_in: float, length_in: float, weight_lb: float
) -> None:
    # a North American submittal sheet: 1/2 in 1.6 psf, 5/8 in 2.2 psf, times the board's area
    assert board_weight_lb("regular", thickness_in, 48.0, length_in) == pytest.approx(weight_lb)


def test_a_thicker_board_never_weighs_less() -> None:
    weights = [product_weight_psf("regular", n / 32) for n in range(4, 40)]
    assert weights == sorted(weights)
    assert product_weight_psf("lightweight", 0.5) == pytest.approx(1.4)  # value from memory


@pytest.mark.parametrize(
    ("load", "weight_psf", "most"),
    [
        ("room", 1.6, 25),
        ("room", 1.67, 23),  # 23.95: 24 boards are 40.08 psf
        ("room", 2.2, 18),
        ("room", 2.75, 14),
        ("sleeping", 1.6, 18),
        ("sleeping", 2.2, 13),
        ("sleeping", 2.75, 10),
    ],
)
def test_a_floor_bears_as_many_flat_boards_as_its_live_load(load: str, weight_psf: float, most: int) -> None:
    # IRC Table R301.5: rooms 40 psf, sleeping rooms 30 psf; boards by hand
    assert most_boards_on(LIVE_LOADS_PSF[load], weight_psf) == most


def test_twenty_five_twelve_footers_are_over_a_ton_and_over_a_rooms_live_load() -> None:
    # GA-801-07: a 4 x 12 x 1/2 in board can weigh over 80 lb, 25 of them over a ton (2,000 lb);
    # 25 x 80 lb on 48 sq ft are 41.7 psf
    assert most_boards_on(LIVE_LOADS_PSF["room"], 80 / 48) < 25
    assert stack_load_psf(((25, 0.5),)) > LIVE_LOADS_PSF["room"]
    # a published answer on storing boards: 40 sheets of 58.8 lb on 4 x 8 ft are 2,352 lb, 73.5 psf
    assert most_boards_on(73.5, 58.8 / 32) == 40 > most_boards_on(LIVE_LOADS_PSF["room"], 58.8 / 32)
    lot = Lot("x", "regular", 0.5, 48.0, 96.0, 40)
    stack = plan_stacks((lot,), (PlaceWall("A", 120.0, depth_in=120.0),), Site(most_flat=40)).stacks[0]
    assert stack.floor_psf == pytest.approx(40 * 2.2)
    assert room_load_psf((stack,), "", 200.0) == pytest.approx(40 * 2.2 * 32 / 200)


def test_a_few_pounds_pull_a_steep_stack_over() -> None:
    # CPWR Construction Solutions, "Falling or tipping drywall sheets or panels": more than a thousand
    # pounds may need only a few pounds of pull.  Here: 1,000 lb standing half an inch off plumb.
    assert pull_to_plumb_lb(1000.0, 48.0, 0.5) < 6.0
    # balance of moments by hand: the weight acts at half the foot's distance, the pull at the height
    foot, height = 6.0, 48.0
    by_hand = 1000.0 * (foot / 2) / math.sqrt(height**2 - foot**2)
    assert pull_to_plumb_lb(1000.0, height, foot) == pytest.approx(by_hand)
    assert lean_degrees(48.0) == pytest.approx(math.degrees(math.asin(6 / 48)))


# --- what every plan of stacks must keep ---


def complaints(plan: StackPlan, lots: tuple[Lot, ...], walls: tuple[PlaceWall, ...], site: Site) -> list[str]:
    """An independent look at a plan of stacks: what is wrong with it."""
    found = []
    by_id = {wall.id: wall for wall in walls}
    given_out = Counter(lot.id for stack in plan.stacks for lot in stack.lots)
    given_out.update(un.lot.id for un in plan.unplaced)
    if given_out != Counter(lot.id for lot in lots):
        found.append("a lot is lost or doubled")
    total = sum(
        lot.count * board_weight_lb(lot.kind, lot.thickness_in, lot.width_in, lot.length_in) for lot in lots
    )
    placed = sum(s.weight_lb for s in plan.stacks) + sum(
        u.lot.count * board_weight_lb(u.lot.kind, u.lot.thickness_in, u.lot.width_in, u.lot.length_in)
        for u in plan.unplaced
    )
    if not math.isclose(total, placed, rel_tol=1e-9, abs_tol=1e-9):
        found.append("weight is not conserved")
    for stack in plan.stacks:
        wall = by_id[stack.wall]
        left, right = stack.left_in, stack.left_in + max(lot.length_in for lot in stack.lots)
        if left < -1e-6 or right > wall.length_in + 0.07:
            found.append(f"stack {stack.number} runs past its wall")
        if any(left < high - 0.07 and low + 0.07 < right for low, high in wall.blocked):
            found.append(f"stack {stack.number} stands in a way")
        needed = max(lot.width_in for lot in stack.lots) + site.walkway_in
        if stack.standing == "flat" and not stack.moved and (wall.depth_in or 0.0) < needed:
            found.append(f"stack {stack.number} leaves no way past it")
        most = site.most_on_edge if stack.standing == "edge" else site.most_flat
        if stack.count > most:
            found.append(f"stack {stack.number} has too many boards")
        if site.floor == "joists" and stack.floor_psf > site.live_load_psf + 1e-6:
            found.append(f"stack {stack.number} is too heavy for the floor")
        turns = [lot.ceiling for lot in stack.lots]
        if turns != sorted(turns, reverse=True):
            found.append(f"stack {stack.number} has ceiling boards behind others")
        lengths = [lot.length_in for lot in stack.lots]
        if any(front > back + 1.0 for front, back in pairwise(lengths)):
            found.append(f"stack {stack.number} has a long board on a short one")
    for one, other in combinations(plan.stacks, 2):
        if (
            one.wall == other.wall
            and one.left_in < other.right_in - 0.07
            and other.left_in < one.right_in - 0.07
        ):
            found.append(f"stacks {one.number} and {other.number} overlap")
    if [stack.number for stack in plan.stacks] != list(range(1, len(plan.stacks) + 1)):
        found.append("the signs are not numbered 1, 2, 3")
    return found


@st.composite
def any_lots(draw: st.DrawFn) -> tuple[Lot, ...]:
    lots = []
    for number in range(draw(st.integers(1, 7))):
        lots.append(
            Lot(
                f"L{number}",
                draw(st.sampled_from(["regular", "type_x", "lightweight"])),
                draw(st.sampled_from([0.5, 0.625])),
                draw(st.sampled_from([48.0, 54.0])),
                draw(st.sampled_from([96.0, 120.0, 144.0])),
                draw(st.integers(1, 10)),
                draw(st.sampled_from(["", "north", "south"])),
                ceiling=draw(st.booleans()),
            )
        )
    return tuple(lots)


@st.composite
def any_walls(draw: st.DrawFn) -> tuple[PlaceWall, ...]:
    walls = []
    for number in range(draw(st.integers(1, 5))):
        length = draw(st.integers(60, 320)) + 0.25
        doors = []
        if draw(st.booleans()):
            left = draw(st.floats(-6.0, length - 20.0))
            doors.append((left, left + 46.0))
        walls.append(
            PlaceWall(
                f"W{number}",
                length,
                draw(st.sampled_from(["", "north", "south"])),
                tuple(doors),
                draw(st.sampled_from([None, 60.0, 130.0])),
                number,
            )
        )
    return tuple(walls)


SITES = st.sampled_from(
    [
        Site(),
        Site(floor="joists"),
        Site(floor="joists", live_load_psf=30.0),
        Site(standing="edge"),
        Site(standing="flat"),
    ]
)


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(any_lots(), any_walls(), SITES)
def test_no_stack_blocks_a_door_and_no_board_is_lost(lots, walls, site) -> None:
    assert complaints(plan_stacks(lots, walls, site), lots, walls, site) == []


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(any_lots(), any_walls(), SITES, st.data())
def test_a_move_is_kept_or_refused_with_its_reason_and_the_rest_still_fits(lots, walls, site, data) -> None:
    wanted = [
        Moved(
            lot.id,
            data.draw(st.sampled_from([*(w.id for w in walls), "nowhere"])),
            data.draw(st.sampled_from([0.0, 10.0, 50.0, 100.0])),
            data.draw(st.sampled_from(["flat", "edge"])),
        )
        for lot in data.draw(st.lists(st.sampled_from(lots), max_size=3, unique=True))
    ]
    plan = plan_stacks(lots, walls, site, wanted)
    alone = [c for c in complaints(plan, lots, walls, site) if "too many" not in c and "too heavy" not in c]
    assert alone == []
    where = {lot.id: stack for stack in plan.stacks for lot in stack.lots}
    refused = {move.lot for move, _ in plan.refused}
    for move in wanted:
        if move.lot in refused:
            continue
        stack = where[move.lot]
        assert (stack.wall, stack.left_in, stack.standing) == (move.wall, move.left_in, move.standing)
        assert stack.moved
    assert all(
        reason in ("no_such_wall", "in_the_way", "over_another", "too_many", "bigger_in_front")
        for _, reason in plan.refused
    )


@pytest.mark.parametrize("spoil", ["door", "lost", "ceiling_behind", "overlap"])
def test_the_check_complains_of_a_broken_plan(spoil: str) -> None:
    lots = (
        Lot("c", "regular", 0.5, 48.0, 96.0, 4, ceiling=True),
        Lot("w", "regular", 0.5, 48.0, 96.0, 4),
    )
    walls = (PlaceWall("A", 300.0, blocked=((200.0, 240.0),)),)
    plan = plan_stacks(lots, walls)
    assert complaints(plan, lots, walls, Site()) == []
    first = plan.stacks[0]
    broken = {
        "door": (replace(first, left_in=150.0), *plan.stacks[1:]),
        "lost": (replace(first, lots=first.lots[:1], weight_lb=0.0),),
        "ceiling_behind": (replace(first, lots=tuple(reversed(first.lots))),),
        "overlap": (first, replace(first, number=2, lots=())),
    }[spoil]
    if spoil == "overlap":
        broken = (replace(first, lots=first.lots[:1]), replace(first, number=2, lots=first.lots[1:]))
    assert complaints(replace(plan, stacks=broken), lots, walls, Site())


def test_a_large_job_is_placed_room_by_room_and_loses_no_board() -> None:
    walls = tuple(
        PlaceWall(f"{room}{side}", 96.5 + 30 * side, str(room), ((20.0, 66.0),) if side == 0 else ())
        for room in range(15)
        for side in range(4)
    )
    lots = tuple(
        Lot(
            f"{room}-{length}-{ceiling}",
            "regular",
            0.5,
            48.0,
            length,
            1 + room % 4,
            str(room),
            ceiling=ceiling,
        )
        for room in range(15)
        for length in (96.0, 120.0, 144.0)
        for ceiling in (True, False)
    )
    plan = plan_stacks(lots, walls)
    assert complaints(plan, lots, walls, Site()) == []
    assert plan.unplaced == ()
    assert not plan.proved
    in_room = sum(lot.room == stack.room for stack in plan.stacks for lot in stack.lots)
    assert in_room > 0.9 * len(lots)


# --- cases of the trade ---


def test_ceiling_boards_stay_in_the_room_they_hang_in_and_in_front() -> None:
    lots = (
        Lot("c", "regular", 0.5, 48.0, 144.0, 6, "north", ceiling=True),
        Lot("w", "regular", 0.5, 48.0, 144.0, 4, "north"),
    )
    walls = (PlaceWall("S1", 200.0, "south"), PlaceWall("N1", 160.0, "north"))
    (stack,) = plan_stacks(lots, walls).stacks
    assert (stack.room, [lot.id for lot in stack.lots]) == ("north", ["c", "w"])


def test_boards_lie_flat_where_the_floor_leaves_a_way_past_and_stand_on_edge_elsewhere() -> None:
    # GA-801: flat on risers is safest.  48 in of board and 36 in of way need 84 in of floor.
    lots = (Lot("w", "regular", 0.5, 48.0, 96.0, 4),)
    for depth_in, standing in ((84.0, "flat"), (83.0, "edge"), (None, "edge")):
        assert plan_stacks(lots, (PlaceWall("A", 120.0, depth_in=depth_in),)).stacks[0].standing == standing


def test_a_board_longer_than_every_free_stretch_is_named() -> None:
    lots = (Lot("w", "regular", 0.5, 48.0, 144.0, 4),)
    plan = plan_stacks(lots, (PlaceWall("A", 180.0, blocked=((60.0, 100.0),)),))
    assert [(u.lot.id, u.why, u.needed_in) for u in plan.unplaced] == [("w", "no_wall", 144.0)]


def test_boards_stand_at_the_wall_that_is_hung_last() -> None:
    lots = (Lot("w", "regular", 0.5, 48.0, 96.0, 4),)
    walls = (PlaceWall("first", 120.0, hung=0), PlaceWall("last", 120.0, hung=3))
    assert plan_stacks(lots, walls).stacks[0].wall == "last"


def test_a_door_by_the_corner_keeps_the_end_of_the_next_wall_free() -> None:
    walls = (
        sixteen_in_wall(160.0, "A"),
        sixteen_in_wall(160.0, "B", openings=(Opening("d", 12.0, 46.0, 0.0, 82.5, "door"),)),
    )
    places = place_walls(walls, {}, joins=(("A", "B"),))
    assert places[0].blocked == ((124.0, 160.0),)
    assert places[1].blocked == ((6.0, 52.0),)
    assert place_walls(walls, {})[0].blocked == ()


def test_a_window_does_not_keep_boards_away_but_the_one_they_come_in_by_does() -> None:
    wall = sixteen_in_wall(160.0, "A", openings=(Opening("w", 40.0, 76.0, 36.0, 80.0, "window"),))
    assert place_walls((wall,), {})[0].blocked == ()
    assert place_walls((wall,), {}, {"A": [(40.0, 76.0)]})[0].blocked == ((40.0, 76.0),)


def test_the_floor_before_a_wall_is_known_from_the_ceiling_over_it() -> None:
    job = room(1)
    rooms = {surface.id: "den" for surface in job.surfaces}
    wall = replace(job.surfaces[0], width_in=130.0, members=job.surfaces[0].members[:2])
    (place,) = place_walls((wall, job.surfaces[-1]), rooms)
    assert place.depth_in == 150.5  # the ceiling is 150 1/2 x 130 1/4
    assert place_walls((wall, job.surfaces[-1]), {})[0].depth_in is None


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(any_job(), st.integers(0, 3))
def test_lots_hold_every_sheet_of_the_order_and_no_more(job: Job, extra: int) -> None:
    plan = plan_job(job, time_limit_s=0.3)
    order = tuple(replace(line, spare=line.spare + extra) for line in plan.order)
    lots = lots_of(plan, {s.id: s.id for s in job.surfaces}, order, most=10)
    counted = Counter()
    for lot in lots:
        counted[(lot.kind, lot.thickness_in, lot.width_in, lot.length_in)] += lot.count
        assert 0 < lot.count <= 10
        assert 0 <= lot.spare <= lot.count
    assert counted == {(o.kind, o.thickness_in, o.width_in, o.length_in): o.to_buy for o in order if o.to_buy}
    assert len({lot.id for lot in lots}) == len(lots)


def test_a_size_that_was_ordered_as_spare_only_gets_a_lot_too() -> None:
    plan = plan_job(room(1))
    order = (*plan.order, OrderLine("regular", 0.25, 48.0, 96.0, 0, 2))
    assert any(lot.thickness_in == 0.25 and lot.count == 2 for lot in lots_of(plan, {}, order))


def test_a_weight_is_said_in_kilograms_beside_millimetres() -> None:
    # HSE's guideline figure of 25 kg is 55 lb; ASCE 7: 1 psf = 0.0479 kN/m2, 40 psf = 195 kg/m2
    assert weight_text(55.0, "mm") == "25 kg"
    assert weight_text(2204.62, "inches") == "2,205 lb"
    assert floor_load_text(40.0, "mm") == "195 kg/m²"
