"""A small atlas of tileable textures, made from seeded noise.

Every texture is ``(size, size, 3)`` in 0..1 and wraps around in both
directions.  A surface blends its two colours by the looked-up value, so most
textures are grey; foliage and clutter carry three different channels.
"""

from __future__ import annotations

import numpy as np

SIZE = 512
NAMES = (
    "fbm_soft",
    "fbm_rough",
    "grain_fine",
    "grain_knots",
    "flakes",
    "foliage",
    "concrete",
    "fluff",
    "blotches",
    "stamps",
    "white",
    "cells",
    "wrinkles",
    "streaks",
    "clutter",
    "clutter_fine",
)
ID = {name: i for i, name in enumerate(NAMES)}


def _normal(field: np.ndarray) -> np.ndarray:
    low, high = np.percentile(field, (1.0, 99.0))
    return np.clip((field - low) / max(high - low, 1e-6), 0.0, 1.0)


def _noise(rng: np.random.Generator, slope: float, stretch: float = 1.0, low: float = 1.0) -> np.ndarray:
    """Return tileable noise with an amplitude spectrum of 1 / frequency**slope.

    ``stretch`` > 1 draws it out along the first (u) axis.
    """
    f = np.fft.fftfreq(SIZE) * SIZE
    radius = np.hypot(f[None, :] * stretch, f[:, None])
    amplitude = np.where(radius > 0, np.maximum(radius, low) ** -slope, 0.0)
    spectrum = np.fft.fft2(rng.standard_normal((SIZE, SIZE))) * amplitude
    return _normal(np.fft.ifft2(spectrum).real)


def _cells(rng: np.random.Generator, count: int) -> tuple[np.ndarray, np.ndarray]:
    from scipy.spatial import cKDTree

    points = rng.random((count, 2)) * SIZE
    shifts = np.array([(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1)]) * SIZE
    tree = cKDTree((points[None] + shifts[:, None]).reshape(-1, 2))
    v, u = np.mgrid[0:SIZE, 0:SIZE]
    distance, index = tree.query(np.stack([v.ravel(), u.ravel()], -1), k=2)
    gap = (distance[:, 1] - distance[:, 0]).reshape(SIZE, SIZE)
    return (index[:, 0] % count).reshape(SIZE, SIZE), gap


def _grain(rng: np.random.Generator, knots: int) -> np.ndarray:
    v, u = np.mgrid[0:SIZE, 0:SIZE] / SIZE
    warp = (_noise(rng, 2.0, 6.0) - 0.5) * 0.35
    rings = np.zeros((SIZE, SIZE))
    for _ in range(knots):
        ku, kv = rng.random(2)
        du = (u - ku + 0.5) % 1.0 - 0.5
        dv = (v - kv + 0.5) % 1.0 - 0.5
        r = np.hypot(du * 6.0, dv)
        rings += np.exp(-((r / 0.05) ** 2)) * 1.4
        warp += np.exp(-((r / 0.12) ** 2)) * 0.2 * np.sign(dv)
    lines = 0.5 + 0.5 * np.sin(2 * np.pi * (v * 7 + warp * 6))
    fine = _noise(rng, 0.8, 24.0)
    return _normal(0.5 * lines**2 + 0.6 * fine + rings + 0.5 * _noise(rng, 1.6, 4.0))


def _flakes(rng: np.random.Generator) -> np.ndarray:
    out = np.full((SIZE, SIZE), 0.5)
    v, u = np.mgrid[0:90, 0:90] - 45
    for _ in range(1500):
        angle, half_l, half_w = rng.random() * np.pi, rng.uniform(14, 44), rng.uniform(4, 14)
        c, s = np.cos(angle), np.sin(angle)
        inside = (np.abs(u * c + v * s) < half_l) & (np.abs(v * c - u * s) < half_w)
        rows, cols = np.nonzero(inside)
        r0, c0 = rng.integers(0, SIZE, 2)
        shade = rng.uniform(0.15, 1.0) + 0.15 * np.sin((v * c - u * s)[inside] * 1.3)
        out[(rows + r0) % SIZE, (cols + c0) % SIZE] = shade
    return np.clip(out, 0, 1)


def _rectangles(rng: np.random.Generator, count: int, largest: int) -> np.ndarray:
    out = np.full((SIZE, SIZE, 3), 0.5)
    for _ in range(count):
        h, w = rng.integers(4, largest, 2)
        r0, c0 = rng.integers(0, SIZE, 2)
        rows = (np.arange(h) + r0) % SIZE
        cols = (np.arange(w) + c0) % SIZE
        out[np.ix_(rows, cols)] = rng.random(3) * 0.75 + rng.random() * 0.25
    return np.clip(out * 0.9 + 0.1 * _noise(rng, 1.0)[..., None], 0, 1)


def _stamps(rng: np.random.Generator) -> np.ndarray:
    out = np.zeros((SIZE, SIZE))
    for _ in range(26):
        r0, c0 = rng.integers(0, SIZE, 2)
        for k in range(int(rng.integers(4, 14))):
            glyph = rng.random((9, 5)) < 0.5
            rows = (r0 + np.arange(9)) % SIZE
            cols = (c0 + 6 * k + np.arange(5)) % SIZE
            out[np.ix_(rows, cols)] = glyph
    return out


def make_atlas(seed: int) -> np.ndarray:
    """Return the atlas as float16 of shape ``(len(NAMES), SIZE, SIZE, 3)``."""
    rng = np.random.default_rng(seed)

    def grey(field: np.ndarray) -> np.ndarray:
        return np.repeat(field[..., None], 3, axis=2)

    index, gap = _cells(rng, 700)
    tone = rng.random((700, 3))
    leaf_index, leaf_gap = _cells(rng, 6000)
    leaf = rng.random((6000, 1)) * 0.8 + rng.random((6000, 3)) * 0.2
    shade = _noise(rng, 1.3)[..., None]
    ridged = np.abs(_noise(rng, 1.7) - 0.5) + 0.6 * np.abs(_noise(rng, 1.3) - 0.5)
    made = {
        "fbm_soft": grey(_noise(rng, 1.9)),
        "fbm_rough": grey(_noise(rng, 1.1)),
        "grain_fine": grey(_grain(rng, 2)),
        "grain_knots": grey(_grain(rng, 16)),
        "flakes": grey(_flakes(rng)),
        "foliage": np.clip(leaf[leaf_index] * (0.15 + shade) * (0.6 + 0.06 * leaf_gap[..., None]), 0, 1),
        "concrete": grey(_normal(_noise(rng, 1.6) + 0.25 * _noise(rng, 0.3))),
        "fluff": grey(_normal(_noise(rng, 1.2, low=14.0) + 0.5 * _noise(rng, 1.8))),
        "blotches": grey(np.clip((_noise(rng, 1.7) - 0.55) * 9, 0, 1)),
        "stamps": grey(_stamps(rng)),
        "white": rng.random((SIZE, SIZE, 3)),
        "cells": np.clip(tone[index] * np.clip(gap / 3.0, 0.3, 1)[..., None], 0, 1),
        "wrinkles": grey(_normal(ridged)),
        "streaks": grey(_noise(rng, 1.2, 12.0)),
        "clutter": _rectangles(rng, 420, 120),
        "clutter_fine": _rectangles(rng, 2500, 50),
    }
    return np.stack([made[name] for name in NAMES]).astype(np.float16)
