"""Pipes where no stud is wanted: what is round by Lambert's law, and what stands in a bay that is full."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import rgb2lab

from vision.extent import Upright
from vision.members import Stretch
from vision.pipes import in_full_bays, off_the_marks, with_pipe_signs
from vision.reading import Member

BANDS, FACE, BAY = 24, 15, 160  # a stud's face 15 columns wide, 16 in on centre
TAN, WHITE = (0.62, 0.47, 0.32), (0.85, 0.85, 0.84)


def upright(centre: float) -> Upright:
    stretch = Stretch(centre - FACE / 2, centre + FACE / 2, 1, 0.95, 0.9, 0.9, 3.0, 0.0)
    return Upright(stretch, 0.0, 1.0, 1.0, True)


def picture_of(round_at: dict[float, tuple], flat_at: list[float]) -> np.ndarray:
    """Mean colours of a wall (CIELAB): flat faces in tan, cylinders lit from the camera (Lambert's law)."""
    rgb = np.full((BANDS, 5 * BAY, 3), 0.25)
    rng = np.random.default_rng(3)
    x = np.arange(rgb.shape[1])
    for at in flat_at:
        on = np.abs(x - at) <= FACE / 2
        rgb[:, on] = np.array(TAN) * rng.uniform(0.97, 1.03, (BANDS, on.sum(), 1))
    for at, colour in round_at.items():
        across = (x - at) / (FACE / 2)
        on = np.abs(across) < 1
        light = np.array(colour) ** 2.2 * np.sqrt(1 - across[on] ** 2)[:, None]
        rgb[:, on] = light ** (1 / 2.2)
    return rgb2lab(rgb).astype(np.float32)


STUDS = [0.5 * BAY + k * BAY for k in range(5)]


@pytest.mark.parametrize("colour", [TAN, WHITE])
def test_a_pipe_falls_off_to_both_sides_and_a_face_does_not(colour: tuple) -> None:
    pipe = 2.0 * BAY
    places = sorted([*STUDS, pipe])
    told = with_pipe_signs([upright(at) for at in places], picture_of({pipe: colour}, STUDS))
    assert [u.looks_round for u in told] == [at == pipe for at in places]
    assert [u.other_colour for u in told] == [at == pipe and colour is WHITE for at in places]


def test_a_face_in_light_from_one_side_is_not_round() -> None:
    colours = picture_of({}, STUDS)
    colours[..., 0] += np.linspace(-12, 12, FACE * 2)[np.arange(colours.shape[1]) % (FACE * 2)]
    assert not any(u.looks_round for u in with_pipe_signs([upright(at) for at in STUDS], colours))


BLACK = (0.08, 0.08, 0.08)


def test_a_black_drain_pipe_is_much_darker_than_the_studs_beside_it() -> None:
    pipe = 2.0 * BAY
    places = sorted([*STUDS, pipe])
    told = with_pipe_signs([upright(at) for at in places], picture_of({pipe: BLACK}, STUDS))
    assert [u.rather_other for u in told] == [at == pipe for at in places]
    assert [u.plainly_other for u in told] == [at == pipe for at in places]


def test_a_stud_in_a_shadow_is_doubted_at_most() -> None:
    colours = picture_of({}, STUDS)
    colours[:, abs(np.arange(colours.shape[1]) - STUDS[2]) < FACE, 0] -= 28.0
    told = with_pipe_signs([upright(at) for at in STUDS], colours)
    assert [u.rather_other for u in told] == [at == STUDS[2] for at in STUDS]
    assert not any(u.plainly_other for u in told)


def test_studs_that_get_darker_towards_one_end_are_all_alike() -> None:
    colours = picture_of({}, STUDS)
    colours[..., 0] *= np.linspace(1.0, 0.3, colours.shape[1])
    assert not any(u.rather_other for u in with_pipe_signs([upright(at) for at in STUDS], colours))


def full(centre_in: float) -> Member:
    line = ((centre_in, 0.0), (centre_in, 96.0))
    return Member(centre_in, 0.05, 1.5, 0.0, 1, "full", True, line, 1.5, 94.5)


def suspects_in_bays(*places_in: tuple[float, bool]) -> list[float]:
    members = [full(at) for at, _ in places_in]
    found = in_full_bays(members, [suspect for _, suspect in places_in])
    return [m.centre_in for m, inside in zip(members, found, strict=True) if inside]


def test_what_stands_in_the_middle_of_a_bay_may_be_a_pipe() -> None:
    assert suspects_in_bays((0.75, False), (16.0, False), (24.5, True), (32.0, False)) == [24.5]


def test_a_stud_on_its_mark_is_none_however_it_looks() -> None:
    assert suspects_in_bays((0.75, False), (16.0, False), (32.0, True), (48.0, False)) == []


def test_a_king_beside_a_stud_is_none() -> None:
    assert suspects_in_bays((16.0, False), (18.2, True), (32.0, False)) == []


def test_two_pipes_in_one_bay_are_both_told() -> None:
    assert suspects_in_bays((16.0, False), (21.0, True), (27.0, True), (32.0, False)) == [21.0, 27.0]


def test_a_stud_of_another_colour_closes_a_bay_all_the_same() -> None:
    """24 in on centre: the grey stud at 24 is a suspect, too, and stands where a stud is wanted."""
    assert suspects_in_bays((0.75, False), (24.0, True), (35.0, True), (48.0, False), (72.0, False)) == [35.0]


def suspects_off_marks(*places_in: tuple[float, bool]) -> list[float]:
    members = [full(at) for at, _ in places_in]
    found = off_the_marks(members, [suspect for _, suspect in places_in])
    return [m.centre_in for m, off in zip(members, found, strict=True) if off]


ON_MARKS = [(0.75, False), *((24.0 * k, False) for k in range(1, 6)), (143.25, False)]


def test_what_rather_differs_and_stands_on_no_mark_may_be_a_pipe() -> None:
    """A grey pipe in the end bay, which is no spacing wide."""
    assert suspects_off_marks(*sorted([*ON_MARKS, (6.7, True)])) == [6.7]


@pytest.mark.parametrize("at_in", [48.3, 51.0])
def test_a_stud_of_another_colour_on_its_mark_or_nailed_to_one_is_none(at_in: float) -> None:
    places = (
        [*ON_MARKS, (at_in, True)]
        if at_in == 51.0
        else [(48.3, True) if x == 48 else (x, s) for x, s in ON_MARKS]
    )
    assert suspects_off_marks(*sorted(places)) == []


def test_the_end_of_a_wall_stands_on_no_mark_and_is_no_pipe() -> None:
    assert suspects_off_marks(*ON_MARKS[:-1], (131.0, True)) == []


def test_studs_on_no_layout_make_no_pipe_of_another() -> None:
    odd = [
        (0.75, False),
        (13.0, False),
        (31.0, False),
        (44.0, True),
        (58.0, False),
        (70.0, False),
        (89.0, False),
    ]
    assert suspects_off_marks(*odd) == []
