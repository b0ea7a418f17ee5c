"""Positions of the members of one wall from several photos: one weighted adjustment for all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Sighting:
    """Member number `name` of the wall seen in photo `photo` at `at_in` of that photo's own inches."""

    photo: int
    name: int
    at_in: float
    own_in: float


@dataclass(frozen=True)
class Adjusted:
    """Places of members, of the photos' zeros, and each photo's scale error `stretch`, with their sigmas."""

    at_in: NDArray[np.float64]
    sigma_in: NDArray[np.float64]
    offset_in: NDArray[np.float64]
    offset_sigma_in: NDArray[np.float64]
    stretch: NDArray[np.float64]


def adjust(
    sightings: Sequence[Sighting], relatives: Sequence[float], origin_in: float, count: int
) -> Adjusted:
    """Least squares over all sightings, with the photos' scale errors and the first origin as known to ±.

    A sighting says ``x = t - b + e x``: t the member's place, b the photo's zero (0 for the first),
    e its scale error, expected 0 ± `relatives`. Every place's sigma includes the error of the wall's
    left end, which all of them share (except the first photo's leftmost member).

    Raises
    ------
    numpy.linalg.LinAlgError
        A member or a photo that no sighting ties to the first photo.
    """
    photos = len(relatives)
    # Unknowns: places, zeros of photos 1.., scale errors, the first photo's origin.
    n = count + (photos - 1) + photos + 1
    rows, values = [], []
    seen_first = [s for s in sightings if s.photo == 0]
    leftmost = min(seen_first, key=lambda s: s.at_in)
    for s in sightings:
        row = np.zeros(n)
        row[s.name] = 1.0
        if s.photo:
            row[count + s.photo - 1] = -1.0
        elif s is not leftmost:
            row[n - 1] = 1.0
        row[count + photos - 1 + s.photo] = s.at_in
        rows.append(row / s.own_in)
        values.append(s.at_in / s.own_in)
    for k, sigma in enumerate((*relatives, origin_in)):
        row = np.zeros(n)
        row[count + photos - 1 + k] = 1.0 / max(sigma, 1e-5)
        rows.append(row)
        values.append(0.0)
    a = np.array(rows)
    normal = a.T @ a
    cov = np.linalg.inv(normal)
    found = cov @ (a.T @ np.array(values))
    sd = np.sqrt(np.diag(cov))
    zeros = slice(count, count + photos - 1)
    return Adjusted(
        found[:count],
        sd[:count],
        np.concatenate([[0.0], found[zeros]]),
        np.concatenate([[0.0], sd[zeros]]),
        found[count + photos - 1 : count + 2 * photos - 1],
    )
