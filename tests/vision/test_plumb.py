"""How studs lean: measured on drawn pictures by both edges, and said where a board would follow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.vision.drawn_studs import (
    CENTRES_IN,
    FOCAL_PX,
    HEIGHT_PX,
    INCHES_PER_UNIT,
    PRINCIPAL_PX,
    WALL_HEIGHT_IN,
    drawn,
    looking,
    surveyed,
)
from vision.curves import trace_members
from vision.directions import ViewDirections
from vision.plumb import Leans, measure_leans, plumb_warnings
from vision.reading import Member
from vision.survey import Survey

LINE = ((480.0, 900.0), (484.0, 60.0))


def leans_in_picture(picture: NDArray[np.uint8], view: ViewDirections, survey: Survey) -> Leans:
    return measure_leans(trace_members(picture, view, survey), survey, INCHES_PER_UNIT)


@pytest.mark.parametrize("lean_in", [0.3, -0.5, 0.8])
def test_a_leaning_stud_is_measured_with_its_side_and_its_neighbours_are_not(lean_in: float) -> None:
    view = looking(yaw_deg=5.0)
    leans = leans_in_picture(drawn(view, {}, {16: lean_in}), view, surveyed())
    at = CENTRES_IN.index(16)
    assert leans.known.all()
    assert leans.lean_in[at] == pytest.approx(lean_in, abs=0.05)
    assert np.abs(np.delete(leans.lean_in, at)).max() < 0.05


def test_a_line_fitted_askew_does_not_carry_the_lean_with_it() -> None:
    """A straight line that caught a shadow's end leans an inch and more; the stud's own edges are upright."""
    survey = surveyed()
    askew = 1.3 / WALL_HEIGHT_IN
    at = CENTRES_IN.index(-32)
    members = [replace(m, slope=askew) if k == at else m for k, m in enumerate(survey.members)]
    leans = leans_in_picture(
        drawn(looking(), {}, {-32: 0.2}), looking(), replace(survey, members=tuple(members))
    )
    assert leans.lean_in[at] == pytest.approx(0.2, abs=0.05)


def test_a_shadow_along_one_edge_is_no_lean_to_speak_of() -> None:
    straight, leaning = drawn(looking(), {}), drawn(looking(), {}, {16: 0.8})
    middle = round(PRINCIPAL_PX[0] + 16 * FOCAL_PX / INCHES_PER_UNIT)
    mixed = straight.copy()
    mixed[:, middle:] = leaning[:, middle:]
    assert not leans_in_picture(mixed, looking(), surveyed()).known[CENTRES_IN.index(16)]


def test_a_stud_hardly_seen_is_taken_to_stand_plumb() -> None:
    picture = drawn(looking(), {}, {16: 0.6})
    picture[HEIGHT_PX // 3 :] = 120
    leans = leans_in_picture(picture, looking(), surveyed())
    assert not leans.known.any()
    assert np.abs(leans.lean_in).max() < 0.1


@settings(max_examples=8, deadline=None, derandomize=True)
@given(st.sampled_from(CENTRES_IN), st.floats(-0.8, 0.8), st.floats(-6, 6))
def test_the_mirror_image_gives_the_mirrored_lean(centre: int, lean_in: float, yaw_deg: float) -> None:
    picture = drawn(looking(yaw_deg=yaw_deg), {}, {centre: lean_in})
    there = leans_in_picture(picture, looking(yaw_deg=yaw_deg), surveyed())
    flipped = np.ascontiguousarray(picture[:, ::-1])
    back = leans_in_picture(flipped, looking(yaw_deg=-yaw_deg), surveyed(-0.1))
    np.testing.assert_allclose(there.lean_in, -back.lean_in[::-1], atol=0.02)


def test_a_stud_out_of_plumb_is_pointed_out_where_both_its_edges_say_so() -> None:
    straight = Member(32.0, 0.06, 1.5, 0.2, 1, "full", True, LINE, 1.5, 94.0, lean_known=True)
    leaning = replace(straight, centre_in=48.0, lean_in=-0.4)
    found = plumb_warnings([straight, leaning, replace(leaning, lean_known=False)])
    assert [w.code for w in found] == ["out_of_plumb"]
    assert "at 48 in" in found[0].message
    assert "0.4 in" in found[0].message
    assert "left" in found[0].message


def test_a_place_in_doubt_keeps_no_lean_back_but_a_thing_that_may_be_no_stud_does() -> None:
    leaning = Member(48.0, 0.3, 1.5, -0.4, 1, "full", True, LINE, 1.5, 94.0, lean_known=True)
    assert plumb_warnings([leaning.doubted("wide_error")])
    assert not plumb_warnings([leaning.doubted("faint")])


def in_a_row(leans_in: list[float]) -> list[Member]:
    return [
        Member(16.0 * k, 0.06, 1.5, lean, 1, "full", True, LINE, 1.5, 94.0, lean_known=True)
        for k, lean in enumerate(leans_in)
    ]


@pytest.mark.parametrize(("sign", "side"), [(1, "right"), (-1, "left")])
def test_studs_that_lean_alike_are_said_once_to_be_out_of_square(sign: int, side: str) -> None:
    """A racked frame, or plates on a sloping floor: the photo cannot tell which."""
    found = plumb_warnings(in_a_row([sign * lean for lean in (0.4, 0.35, 0.45, 0.1, 0.4, 0.38)]))
    assert [w.code for w in found] == ["out_of_square"]
    assert "0.4 in" in found[0].message
    assert side in found[0].message
    assert "level" in found[0].advice


@pytest.mark.parametrize(
    "leans_in", [(0.4, 0.4, -0.4, 0.4, 0.4), (0.4, 0.4, 0.4, 0.1, 0.0), (0.4, 0.4, 0.0, 0.1, 0.0)]
)
def test_studs_that_do_not_all_lean_alike_are_said_one_by_one(leans_in: tuple[float, ...]) -> None:
    found = plumb_warnings(in_a_row(list(leans_in)))
    assert {w.code for w in found} == {"out_of_plumb"}
    assert len(found) == sum(abs(lean) > 0.25 for lean in leans_in)
