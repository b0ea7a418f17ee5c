"""Whether the phone moved while it took the photo: a straight smear, its length and its direction.

A picture smeared evenly over a length L along a direction m has its power spectrum multiplied by
sinc²(L f·m): it is starved along m and untouched across it, while a lens out of focus or wet starves all
directions alike (Gonzalez & Woods, Digital Image Processing, 3rd ed. 2008, §5.6). What the picture
itself shows is unknown, but its fall with frequency is much the same in every direction and its
preference for some directions (studs, plates) much the same at every frequency. So of the log spectrum by
direction and frequency only what is left after taking away the mean of each row and column is compared with
what smears of several lengths and directions would leave there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.photo import Photo
from vision.placing import Placed

TILE_PX = 256
TILES = (4, 3)  # along the longer and the shorter side of the picture
DIRECTIONS, FREQUENCIES = 16, 17
LOWEST, HIGHEST = 0.018, 0.5  # cycles per pixel
ENOUGH_BINS = 8.0  # of the spectrum in a cell
LENGTHS_PX = (3.0, 5.0, 7.0, 10.0, 14.0, 20.0, 28.0, 40.0)
SHORTEST_PX = 4.0  # a smear of three pixels costs a reading nothing
# What a smear along the wall adds to the sigma of a place, as a share of its length: half of what an even
# smear scatters one edge by (1 / sqrt(12)), since it moves most edges alike. Twice the sigma then held
# 94 % or more of the places on tuning scenes smeared by 5 to 25 px, and from 80 % before.
SIGMA_SHARE = 0.15
STARVED = 0.01  # noise, and what a hand draws that is no straight line, fill the gaps in the spectrum
# Correlation with a smear's pattern and its strength (1: as strong as foreseen) from which a smear is told.
# Chosen on half of the tuning scenes and real photos; no sharp one there comes over two thirds of both.
LEAST_LIKENESS, LEAST_STRENGTH = 0.37, 0.34

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Smear:
    """A straight smear in pixels of the picture it was found in: from one end to the other."""

    x_px: float
    y_px: float


def find_smear(grey: NDArray[np.uint8]) -> Smear | None:
    """The smear of a grey picture (H, W); None where it has none, or one too faint to be told.

    The picture is best about 1600 px long: smears of SHORTEST_PX to twice the longest of LENGTHS_PX are
    told, the longer ones as the longest.
    """
    tiles = _tiles(grey)
    if not len(tiles):
        return None
    weight = _weight()
    # Of logarithms: what one part of the picture shows must not speak for all of it.
    rest = _centred(np.mean([_log_power(tile) for tile in tiles], axis=0), weight)
    patterns, kinds = _patterns()
    along = (patterns * (rest * weight)).sum((1, 2))
    own = (patterns**2 * weight).sum((1, 2))
    strength = along / own
    likeness = along / np.sqrt(own * (rest**2 * weight).sum() + 1e-12)
    best = int(np.argmax(np.where(strength > 0.5 * LEAST_STRENGTH, likeness, -1.0)))
    length_px, angle = kinds[best]
    if likeness[best] < LEAST_LIKENESS or strength[best] < LEAST_STRENGTH or length_px < SHORTEST_PX:
        return None
    return Smear(length_px * float(np.cos(angle)), length_px * float(np.sin(angle)))


def smear_of(photo: Photo) -> Smear | None:
    """The smear of a photo in its own pixels; None where it has none."""
    found = find_smear(cv2.cvtColor(photo.working_rgb, cv2.COLOR_RGB2GRAY))
    k = photo.width_px / photo.working_rgb.shape[1]
    return None if found is None else Smear(found.x_px * k, found.y_px * k)


def with_smear(placed: Placed, smear: Smear | None) -> tuple[Placed, float]:
    """Places and lengths less sure by a smear of the photo, and how far it goes on the wall, inches."""
    if smear is None:
        return placed, 0.0
    middle_in = np.array([placed.length_in / 2, placed.height_in / 2])
    half = np.array([smear.x_px, smear.y_px]) / 2
    at = placed.plane.to_photo(middle_in)
    along_in, up_in = np.abs(np.subtract(*placed.plane.to_wall(np.stack([at + half, at - half]))))
    return (
        replace(
            placed,
            sigma_in=np.hypot(placed.sigma_in, SIGMA_SHARE * along_in),
            length_sigma_in=float(np.hypot(placed.length_sigma_in, SIGMA_SHARE * along_in)),
            height_sigma_in=float(np.hypot(placed.height_sigma_in, SIGMA_SHARE * up_in)),
        ),
        float(np.hypot(along_in, up_in)),
    )


def _tiles(grey: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Square pieces spread over the picture, each without its mean and faded out towards its border."""
    h, w = grey.shape
    if min(h, w) < TILE_PX:
        return np.zeros((0, TILE_PX, TILE_PX), np.float32)
    across, down = TILES if w >= h else TILES[::-1]
    lefts = np.linspace(0, w - TILE_PX, across).astype(int)
    tops = np.linspace(0, h - TILE_PX, down).astype(int)
    cut = np.stack([grey[t : t + TILE_PX, x : x + TILE_PX] for t in tops for x in lefts]).astype(np.float32)
    fade = np.hanning(TILE_PX).astype(np.float32)
    return (cut - cut.mean((1, 2), keepdims=True)) * fade * fade[:, None]


def _log_power(tile: NDArray[np.float32]) -> Floats:
    """Log of a tile's mean power per cell (DIRECTIONS, FREQUENCIES)."""
    spectrum = cv2.dft(tile, flags=cv2.DFT_COMPLEX_OUTPUT)[:, : TILE_PX // 2 + 1]
    power = spectrum[..., 0] ** 2 + spectrum[..., 1] ** 2
    cells, count = _cells()
    inside = cells >= 0
    total = np.bincount(cells[inside], power[inside], count.size).reshape(count.shape)
    return np.asarray(np.log(total / np.maximum(count, 1) + 1.0))


def _frequencies() -> tuple[Floats, Floats]:
    """Middles of the rows' directions, radians, and of the columns' frequencies, cycles per pixel."""
    edges = np.geomspace(LOWEST, HIGHEST, FREQUENCIES + 1)
    return np.arange(DIRECTIONS) * np.pi / DIRECTIONS, np.sqrt(edges[1:] * edges[:-1])


@lru_cache(maxsize=1)
def _cells() -> tuple[NDArray[np.int64], Floats]:
    """Cell of direction and frequency of every bin of half a spectrum, -1 for none; how many each has."""
    fx, fy = np.fft.rfftfreq(TILE_PX)[None, :], np.fft.fftfreq(TILE_PX)[:, None]
    column = np.log(np.hypot(fx, fy) / LOWEST + 1e-12) / np.log(HIGHEST / LOWEST) * FREQUENCIES
    row = np.rint(np.arctan2(fy, fx) * DIRECTIONS / np.pi).astype(int) % DIRECTIONS
    inside = (column >= 0) & (column < FREQUENCIES)
    cells = np.where(inside, row * FREQUENCIES + np.floor(column), -1).astype(np.int64)
    count = np.bincount(cells[inside], minlength=DIRECTIONS * FREQUENCIES).astype(float)
    return cells, count.reshape(DIRECTIONS, FREQUENCIES)


def _weight() -> Floats:
    """How much each cell counts; those of few bins, at low frequencies, are unsteady."""
    return np.clip(_cells()[1] / ENOUGH_BINS, 1e-6, 1.0)


def _centred(table: Floats, weight: Floats) -> Floats:
    """A table (..., DIRECTIONS, FREQUENCIES) less the weighted means of its rows and columns."""
    out = table.copy()
    for _ in range(5):
        for axis in (-1, -2):
            out -= (out * weight).sum(axis, keepdims=True) / weight.sum(axis, keepdims=True)
    return out


@lru_cache(maxsize=1)
def _patterns() -> tuple[Floats, list[tuple[float, float]]]:
    """What smears leave in the table (K, DIRECTIONS, FREQUENCIES), with their lengths and angles."""
    angles, frequencies = _frequencies()
    steps = (np.arange(5) - 2) / 5
    a = (angles[:, None] + steps * np.pi / DIRECTIONS)[:, None, :, None]
    grow = (HIGHEST / LOWEST) ** (1 / FREQUENCIES)
    f = (frequencies[:, None] * grow**steps)[None, :, None, :]
    kinds = [(length, float(angle)) for length in LENGTHS_PX for angle in angles]
    passed = np.stack([(np.sinc(n * f * np.cos(a - m)) ** 2).mean((-2, -1)) for n, m in kinds])
    return _centred(np.log(passed + STARVED), _weight()), kinds
