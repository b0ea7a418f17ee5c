"""Pipes where no stud is wanted: what is round by Lambert's law, and what is of another colour."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import rgb2lab

from vision.extent import Upright
from vision.members import Stretch
from vision.pipes import with_pipe_signs

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
