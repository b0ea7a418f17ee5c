"""The job file: what is written is read back; what cannot be used is refused by field."""

from __future__ import annotations

import contextlib
import json
import math
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout import (
    Job,
    JobError,
    Surface,
    Wishes,
    in_style,
    members_on_spacing,
    plan_job,
    plan_to_json,
    read_job,
    surface_svg,
    write_job,
)
from layout.framing import Pin
from layout.order import Extra, SpareRule
from tests.layout.common import any_job, wall_with_door


def _plain() -> dict[str, Any]:
    return {
        "version": 1,
        "surfaces": [
            {
                "id": "A",
                "width_in": 194.0,
                "height_in": 97.1,
                "members": [{"centre_in": 16.0}, {"centre_in": 32.0}],
            }
        ],
    }


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(any_job())
def test_a_job_written_and_read_is_the_same_job(job: Job) -> None:
    assert read_job(json.dumps(write_job(job))) == job
    assert read_job(write_job(job)) == job


def test_wishes_survive_the_file() -> None:
    wishes = Wishes((Pin(0, "3"),), ("2",), ((1, 120.0),), 144.0)
    wall = Surface("A", 200.0, 97.1, members_on_spacing(200.0, 16.0), wishes=wishes)
    assert read_job(json.dumps(write_job(Job((wall,))))).surfaces[0].wishes == wishes


def test_a_job_may_give_a_spacing_instead_of_centres() -> None:
    data = _plain()
    data["surfaces"][0]["members"] = {"on_centre_in": 16.0}
    assert read_job(data).surfaces[0].members[1].centre_in == 16.0
    data["surfaces"][0]["members"]["material"] = "steel"
    assert {member.material for member in read_job(data).surfaces[0].members} == {"steel"}


def _set(data: dict[str, Any], path: str, value: Any) -> None:
    *steps, last = path.replace("[", ".[").split(".")
    here: Any = data
    for step in steps:
        here = here[int(step[1:-1])] if step.startswith("[") else here.setdefault(step, {})
    here[int(last[1:-1]) if last.startswith("[") else last] = value


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("version", 2, "version"),
        ("version", True, "version"),
        ("market", "mars", "market"),
        ("surfaces", {}, "surfaces"),
        ("surfaces[0].width_in", -3.0, "surfaces[0].width_in"),
        ("surfaces[0].width_in", math.nan, "surfaces[0].width_in"),
        ("surfaces[0].width_in", math.inf, "surfaces[0].width_in"),
        ("surfaces[0].width_in", "194", "surfaces[0].width_in"),
        ("surfaces[0].width_in", 1e300, "surfaces[0].width_in"),
        pytest.param("surfaces[0].width_in", 10**400, "surfaces[0].width_in", id="digits"),
        ("surfaces[0].width", 3.0, "surfaces[0].width"),
        ("surfaces[0].members[1].centre_in", 5000.0, "surfaces[0].members[1].centre_in"),
        ("surfaces[0].members[0].centre_in", None, "surfaces[0].members[0].centre_in"),
        ("surfaces[0].members[0].id", "2", "surfaces[0].members[1].id"),
        ("surfaces[0].members", [{"centre_in": 1.0}] * 100_000, "surfaces[0].members"),
        ("surfaces[0].openings", [{"left_in": 5}], "surfaces[0].openings[0].right_in"),
        ("surfaces[0].kind", "roof", "surfaces[0].kind"),
        ("surfaces[0].opposite_of", "Z", "surfaces[0].opposite_of"),
        ("surfaces[0].wishes", {"pins": [{"row": 0, "member_id": "9"}]}, "surfaces[0].wishes.pins[0]"),
        ("stock", [], "stock"),
        ("stock", [{"kind": "regular"}], "stock[0].thickness_in"),
        ("rules", {"stagger_in": -1}, "rules.stagger_in"),
        ("prefs", {"preset": "best"}, "preset"),
        ("surfaces[0].outline", [[0, 0], [5, 5]], "surfaces[0].outline"),
    ],
)  # fmt: skip
def test_a_field_that_cannot_be_used_is_named(path: str, value: Any, field: str) -> None:
    data = _plain()
    _set(data, path, value)
    with pytest.raises(JobError) as error:
        read_job(data)
    assert error.value.field.endswith(field)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    "text",
    ["", "[]", "null", "{", '{"version": NaN}', "[" * 100_000, b"\xff\xfe\x00", "1" * 5000, '{"version": 1}'],
)
def test_text_that_is_no_job_is_refused_in_one_sentence(text: str | bytes) -> None:
    with pytest.raises(JobError) as error:
        read_job(text)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    "wall", [{"ceiling_board_in": 3.0}, {"ceiling_board_in": 3.5}, {"floor_gap_in": 6.0}]
)
def test_a_wall_of_which_ceiling_and_floor_gap_leave_nothing_is_refused(wall: dict[str, float]) -> None:
    """3 in of framing: `IndexError` before, or a strip of 1/32 in."""
    surface = {"id": "A", "width_in": 96.0, "height_in": 3.0, "members": {"on_centre_in": 16.0}, **wall}
    with pytest.raises(JobError, match=r"surfaces\[0\].height_in: .* nothing of the wall"):
        read_job({"version": 1, "surfaces": [surface]})


@pytest.mark.parametrize(
    "outline",
    [
        [[0, 0], [100, 0], [100, 90], [50, 90], [50, 40], [200, 40], [200, 20], [0, 20]],
        [[0, 0], [90, 0], [90, 80], [60, 80], [60, 0], [30, 0], [30, 80], [0, 80]],
    ],
    ids=["crosses itself", "runs over itself"],
)
def test_an_outline_that_meets_itself_is_refused(outline: list[list[float]]) -> None:
    surface = {
        "id": "C",
        "kind": "ceiling",
        "width_in": 200.0,
        "height_in": 97.0,
        "members": {"on_centre_in": 16.0},
        "outline": outline,
    }
    with pytest.raises(JobError, match=r"outline.* meets another"):
        read_job({"version": 1, "surfaces": [surface]})


_JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=80, deadline=None)
@given(
    st.sampled_from(
        [
            "surfaces[0].width_in", "surfaces[0].members", "surfaces[0].members[0].centre_in",
            "surfaces[0].members[0].face_in", "surfaces[0].openings", "surfaces[0].boxes", "market",
            "surfaces[0].outline", "surfaces[0].wishes", "rules", "prefs", "stock", "name", "extra",
            "extra.spares", "extra.own_spares", "extra.bundle", "prefs.spare_fraction",
            "surfaces[0].board_width_in", "surfaces[0].id", "surfaces[0].members[0].sure",
        ]
    ),
    _JSON,
)  # fmt: skip
def test_any_value_in_any_field_is_read_or_refused_never_a_crash(path: str, value: Any) -> None:
    data = _plain()
    _set(data, path, value)
    with contextlib.suppress(JobError):
        read_job(data)


def test_the_plan_has_the_shape_that_the_command_line_prints() -> None:
    plan = plan_to_json(plan_job(Job((wall_with_door(),))))
    json.dumps(plan, allow_nan=False)
    assert {"surfaces", "sheets", "order", "score", "warnings"} <= plan.keys()
    row = plan["surfaces"][0]["rows"][0]
    assert {"bottom_in", "top_in", "board_width_in", "pieces"} <= row.keys()
    assert {"left_in", "right_in", "left_end", "right_end", "sheet", "cutouts"} <= row["pieces"][0].keys()
    assert {"id", "kind", "thickness_in", "width_in", "length_in"} <= plan["sheets"][0].keys()
    assert {"count", "spare"} <= plan["order"][0].keys()
    assert {
        "sheet_cost", "butt_joint_ft", "cut_ends_at_seams", "total", "lower_bound", "proved_optimal",
    } <= plan["score"].keys()  # fmt: skip


def test_spares_and_bundles_of_a_job_are_read_back_and_an_older_share_becomes_a_rule() -> None:
    job = Job((wall_with_door(),), extra=Extra(SpareRule("none"), (("regular-1/2-48-96", 3),), 1))
    assert read_job(json.dumps(write_job(job))) == job
    older = _plain()
    older.pop("extra", None)
    older["prefs"] = {"spare_fraction": 0.1}
    assert read_job(older).extra.spares == SpareRule("percent", percent=10.0)
    older["prefs"] = {"spare_fraction": 0.05}  # what every older file says
    assert read_job(older).extra == Extra()


def test_a_row_of_the_contract_wall_is_48_6_to_96_6() -> None:
    wall = Surface("A", 192.1, 97.1, members_on_spacing(192.1, 16.0), ceiling_board_in=0.5)
    rows = plan_to_json(plan_job(Job((wall,))))["surfaces"][0]["rows"]
    assert rows[0]["bottom_in"] == pytest.approx(48.6)
    assert rows[0]["top_in"] == pytest.approx(96.6)
    assert rows[0]["pieces"][-1]["right_in"] == 192.1


def test_the_drawing_is_svg_with_every_piece_and_escapes_names() -> None:
    wall = wall_with_door()
    plan = plan_job(Job((wall,))).surfaces[0]
    name = '<script>alert("x")</script> & co'
    text = surface_svg(plan, wall, title=name)
    assert "<script" not in text
    root = ElementTree.fromstring(text)
    words = ["".join(e.itertext()) for e in root.iter() if e.tag.endswith("text")]
    for row in plan.rows:
        for piece in row.pieces:
            assert str(piece.number) in words
    assert name in words


def test_a_wall_that_names_no_board_width_takes_what_its_market_sells() -> None:
    wall = {
        "id": "A",
        "width_in": 4800 / 25.4,
        "height_in": 2400 / 25.4,
        "members": {"on_centre_in": 600 / 25.4},
    }
    uk = {"version": 1, "market": "uk", "surfaces": [wall]}
    assert read_job(uk).surfaces[0].board_width_in == pytest.approx(1200 / 25.4)
    assert plan_job(read_job(uk)).bare == ()
    assert read_job({**uk, "market": "us"}).surfaces[0].board_width_in == 48.0
    only_54 = {"kind": "regular", "thickness_in": 0.5, "width_in": 54.0, "length_in": 144.0, "price": 20.0}
    assert read_job({**uk, "market": "ca", "stock": [only_54]}).surfaces[0].board_width_in is None
    assert {s.width_in for s in plan_job(read_job({**uk, "market": "ca", "stock": [only_54]})).sheets} == {
        54.0
    }


def test_a_width_that_nobody_sells_is_named() -> None:
    wall = {"id": "A", "width_in": 96.0, "height_in": 96.0, "members": {"on_centre_in": 16.0}}
    plan = plan_job(read_job({"version": 1, "market": "uk", "surfaces": [{**wall, "board_width_in": 48.0}]}))
    (said,) = [w for w in plan.warnings if w.code == "no_board"]
    assert said.message == (
        'No regular board 1/2" thick and 48" wide for A is in the list of boards that can be bought.'
    )
    assert in_style(said.advice, "mm") == "Add that board to the list, or choose boards 1200 mm wide."
    assert said.advice == 'Add that board to the list, or choose boards 47-1/4" wide.'
