"""Drawn walls are framed as a framer would."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sample_images.bowed import draw_bowed_scene
from sample_images.catalogues import CATALOGUES, TUNING, VALIDATION, WIDER, Catalogue
from sample_images.draws import draw_scene
from sample_images.framing import WallStyle, draw_wall
from sample_images.wall_plan import WallPlan

STRAIGHT = {"jitter_in": 0.0, "crooked": 0.0}


def wall(length_in: float = 192.0, seed: int = 1, **style: object) -> WallPlan:
    return draw_wall(np.random.default_rng(seed), WallStyle(length_in, 97.125, **style))  # type: ignore[arg-type]


def test_a_wall_laid_out_from_the_left_has_its_studs_at_16_32_48() -> None:
    centres = [m.centre_in for m in wall(**STRAIGHT).members]
    assert centres[0] == 0.75
    assert centres[1:4] == [16.0, 32.0, 48.0]
    assert centres[-1] == 192.0 - 0.75


def test_a_wall_of_16_ft_2_in_laid_out_from_the_right_has_no_stud_at_8_ft() -> None:
    centres = np.array([m.centre_in for m in wall(194.0, layout_from="right", **STRAIGHT).members])
    assert np.min(np.abs(centres - 96.0)) > 0.75
    assert np.min(np.abs(centres - 114.0)) < 1e-9


def test_a_door_has_kings_outside_trimmers_under_a_header_and_no_plate_in_it() -> None:
    plan = wall(features=("door",), **STRAIGHT)
    (door,) = plan.openings
    kings = sorted(m.centre_in for m in plan.members if m.kind == "king")
    trimmers = sorted(m.centre_in for m in plan.members if m.kind == "trimmer")
    assert kings == pytest.approx([door.left_in - 2.25, door.right_in + 2.25])
    assert trimmers == pytest.approx([door.left_in - 0.75, door.right_in + 0.75])
    (header,) = [b for b in plan.bars if b.kind == "header"]
    assert header.bottom_in == door.top_in
    plates = [b for b in plan.bars if b.kind == "bottom_plate"]
    assert all(b.right_in <= door.left_in or b.left_in >= door.right_in for b in plates)


def test_a_member_s_centre_is_that_of_its_front_face_at_its_own_mid_height() -> None:
    for m in wall(crooked=1.4).members:
        assert float(m.centre_at((m.bottom_in + m.top_in) / 2)) == pytest.approx(m.centre_in)
        lean = float(m.centre_at(m.top_in) - m.centre_at(m.bottom_in))
        assert lean == pytest.approx(m.lean_in)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(list(CATALOGUES)))
def test_members_never_stand_in_one_another(index: int, kept_for: str) -> None:
    scene = draw_scene(kept_for, index)
    plan = draw_wall(np.random.default_rng([scene.seed, 0]), scene.style)
    for a, b in pairwise(sorted(plan.members, key=lambda m: m.centre_in)):
        if min(a.top_in, b.top_in) > max(a.bottom_in, b.bottom_in):
            assert b.centre_in - a.centre_in > (a.face_in + b.face_in) / 2 - 0.12
    for m in plan.members:
        assert m.centre_in - m.face_in / 2 > -0.2
        assert m.centre_in + m.face_in / 2 < plan.length_in + 0.2
        assert abs(m.proud_in) <= 0.125


def test_tuning_and_validation_share_only_the_plainest_draws() -> None:
    assert not set(TUNING.woods) & set(VALIDATION.woods)
    assert not set(TUNING.fills) & set(VALIDATION.fills)
    assert not set(TUNING.clutter) & set(VALIDATION.clutter)
    assert not {s[0] for s in TUNING.sheets} & {s[0] for s in VALIDATION.sheets}
    assert set(TUNING.lights) & set(VALIDATION.lights) == {"bulbs"}
    assert not set(TUNING.backs) & set(VALIDATION.backs)
    assert {draw_scene("tuning", i).seed for i in range(99)}.isdisjoint(
        draw_scene("validation", i).seed for i in range(99)
    )


def shown(catalogue: Catalogue) -> dict[str, set[object]]:
    """What a catalogue may show, makes and colours apart (a make may be painted otherwise)."""
    return {
        "woods": set(catalogue.woods),
        "backs": set(catalogue.backs),
        "fills": set(catalogue.fills),
        "sheets": set(catalogue.sheets),
        "floors": set(catalogue.floors),
        "walls": set(catalogue.walls),
        "accents": set(catalogue.accents),
        "makes": {make for make, _ in (*catalogue.backs, *catalogue.floors, *catalogue.walls)},
        "fill_kinds": {kind for kind, _ in catalogue.fills},
        "sheet_kinds": {kind for kind, _ in catalogue.sheets},
        "clutter": set(catalogue.clutter),
        "lights": set(catalogue.lights),
        "beyonds": set(catalogue.beyonds),
    }


def test_the_wider_tuning_scenes_show_nothing_that_belongs_to_validation() -> None:
    tuning, validation, wider = shown(TUNING), shown(VALIDATION), shown(WIDER)
    for field, things in wider.items():
        assert not things & (validation[field] - tuning[field]), field
    assert wider["makes"] - tuning["makes"]
    assert wider["clutter"] - tuning["clutter"]
    # each of the sets may grow to ten thousand scenes before its seeds meet another's
    first = sorted(draw_scene(name, 0).seed for name in CATALOGUES)
    assert min(b - a for a, b in pairwise(first)) > 10_000


def test_a_bowed_stud_stands_where_it_stood_and_nothing_else_moves() -> None:
    plain = wall(features=("door", "blocking"))
    bent = wall(features=("door", "blocking"), bowed=((2, -0.5),))
    full = [m for m in bent.members if m.full_height]
    for before, after in zip((m for m in plain.members if m.full_height), full, strict=True):
        assert replace(before, bow_in=0.0) == replace(after, bow_in=0.0)
        assert after.bow_in == (-0.5 if after is full[2] else before.bow_in)
    ends = full[2].centre_at(np.array([full[2].bottom_in, full[2].top_in]))
    assert full[2].centre_in - ends.mean() == pytest.approx(-0.5)
    assert len(plain.bars) == len(bent.bars)


def test_a_scene_with_bowed_studs_is_that_of_its_seed_but_for_them() -> None:
    bent = draw_bowed_scene("tuning", 4)
    assert bent == draw_bowed_scene("tuning", 4)
    assert bent.style.bowed
    plain = draw_scene("tuning", 1004)
    assert replace(bent.style, bowed=()) == plain.style
    assert bent.view == plain.view


def test_the_same_seed_draws_the_same_scene() -> None:
    assert draw_scene("validation", 7) == draw_scene("validation", 7)
