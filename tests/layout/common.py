"""Sample surfaces and jobs that the layout tests share."""

from __future__ import annotations

import random
from dataclasses import replace

from hypothesis import strategies as st

from layout import Box, Job, Opening, Pin, Plan, Surface, Wishes, members_at, members_on_spacing

EIGHT_FOOT_FRAME_IN = 97.125
"""92 5/8 in stud and three 1 1/2 in plates (common US precut stud)."""


def wall_no_stud_at_eight_feet() -> Surface:
    """16 ft 2 in: no centre at 96 in from the left corner, one at 112 1/4 in."""
    centres = [0.75, *(16.25 + 16.0 * n for n in range(11)), 193.25]
    return Surface("A", 194.0, 97.1, members_at(centres), name="north wall", ceiling_board_in=0.5)


def sixteen_in_wall(length_in: float, surface_id: str = "A", **others: object) -> Surface:
    """A wall framed at 16 in on centre from its left end."""
    return Surface(
        surface_id,
        length_in,
        EIGHT_FOOT_FRAME_IN,
        members_on_spacing(length_in, 16.0),
        ceiling_board_in=0.5,
        **others,  # type: ignore[arg-type]
    )


def wall_with_door() -> Surface:
    """A 14-ft wall with a door in it and an outlet in the board beside the door."""
    return sixteen_in_wall(
        168.0,
        openings=(Opening("door", 70.0, 104.0, 0.0, 82.5, "door"),),
        boxes=(Box("outlet", 30.0, 32.25, 12.0, 16.0),),
    )


def room(seed: int, walls: int = 4) -> Job:
    """A room of walls of mixed lengths with a ceiling; repeatable by its seed."""
    rng = random.Random(seed)
    surfaces = [sixteen_in_wall(rng.randint(30 * 16, 260 * 16) / 16, f"W{number}") for number in range(walls)]
    ceiling = Surface("C", 150.5, 130.25, members_on_spacing(150.5, 16.0), kind="ceiling")
    return Job((*surfaces, ceiling))


@st.composite
def any_wall(draw: st.DrawFn, surface_id: str = "A") -> Surface:
    """A wall of any length with framing that wanders, an opening and some boxes perhaps."""
    length = draw(st.integers(6 * 16, 420 * 16)) / 16
    height = draw(st.sampled_from([90.0, 96.0, 97.1, 97.125, 98.0, 109.125, 121.0, 145.0]))
    spacing = draw(st.sampled_from([16.0, 24.0, 19.2, 400 / 25.4, 600 / 25.4]))
    first = draw(st.floats(4.0, spacing))
    wander = draw(st.sampled_from([0.0, 0.125, 0.5]))
    rng = random.Random(draw(st.integers(0, 10**6)))
    centres = [0.75]
    at = first
    while at < length - 3:
        centres.append(min(max(at + rng.uniform(-wander, wander), 0.0), length))
        at += spacing
    centres.append(max(length - 0.75, 0.0))
    openings: tuple[Opening, ...] = ()
    if length > 80 and draw(st.booleans()):
        left = draw(st.floats(12.0, length - 60.0))
        if draw(st.booleans()):
            openings = (Opening("1", left, left + 34.0, 0.0, 82.5, "door"),)
        else:
            openings = (Opening("1", left, left + 40.0, 36.0, 80.0, "window"),)
    members = members_at(centres, sigma_in=draw(st.sampled_from([0.0, 0.03, 0.06, 0.2])))
    return Surface(
        surface_id,
        length,
        height,
        members,
        openings=openings,
        ceiling_board_in=draw(st.sampled_from([0.0, 0.5, 0.625])),
        boards_run=draw(st.sampled_from(["auto", "auto", "parallel"])),
        covered_left_in=draw(st.sampled_from([0.0, 0.5])),
    )


def _with_wishes(draw: st.DrawFn, wall: Surface) -> Surface:
    """The wall, now and then with a pin, a member ruled out, a board length for a row, or a lift limit."""
    if draw(st.integers(0, 2)):
        return wall
    ids = st.sampled_from([member.id for member in wall.members])
    return replace(
        wall,
        wishes=Wishes(
            pins=draw(st.sampled_from([(), (Pin(0, draw(ids)),)])),
            forbidden_members=draw(st.sampled_from([(), (draw(ids),)])),
            row_lengths=draw(st.sampled_from([(), ((0, 120.0),), ((1, 96.0),)])),
            max_length_in=draw(st.sampled_from([None, 120.0])),
        ),
    )


@st.composite
def any_job(draw: st.DrawFn) -> Job:
    """A few walls, sometimes a ceiling, sometimes L-shaped."""
    count = draw(st.integers(1, 3))
    surfaces = [_with_wishes(draw, draw(any_wall(f"W{number}"))) for number in range(count)]
    if count > 1 and draw(st.integers(0, 2)) == 0:
        surfaces[0] = replace(surfaces[0], corner_right="W1")
        surfaces[1] = replace(surfaces[1], corner_left="W0")
    if draw(st.integers(0, 3)) == 0:
        back = replace(surfaces[0], id="back", opposite_of=surfaces[0].id, corner_right="", wishes=Wishes())
        surfaces.append(back)
    if draw(st.integers(0, 3)) == 0:
        length, depth = draw(st.integers(20, 200)) + 0.5, draw(st.sampled_from([6.0, 11.25, 14.5]))
        surfaces.append(Surface("S", length, depth, members_on_spacing(length, 16.0), kind="soffit"))
    if draw(st.booleans()):
        width = draw(st.integers(60, 250)) + 0.5
        height = draw(st.integers(60, 180)) + 0.25
        along = draw(st.booleans())
        outline: tuple[tuple[float, float], ...] = ()
        if draw(st.booleans()):
            x, y = round(width / 2), round(height / 2)
            outline = ((0, 0), (width, 0), (width, y), (x, y), (x, height), (0, height))
        surfaces.append(
            Surface(
                "C",
                width,
                height,
                members_on_spacing(height if along else width, 16.0),
                kind="ceiling",
                members_run="along" if along else "up",
                outline=outline,
            )
        )
    return Job(tuple(surfaces))


def codes_of(plan: Plan) -> set[str]:
    return {warning.code for warning in plan.warnings}
