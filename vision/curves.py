"""Parabolas through both edges of every member: traced band by band in the photo at full size.

A straight line fitted to a bowed edge (`edges.py`) holds on to its middle and says nothing of the rest.
Here both edges of a member are sought together under one lean and one bow, first among curves tried over
strips of the photo beside them, then to a fraction of a pixel. How a member leans (`plumb.py`) and how it
bows (`bow.py`) is told by what comes of it; where it stands the straight lines tell better, but for a share
of its bow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.directions import ViewDirections
from vision.rectify import pick_beside
from vision.survey import Survey

BANDS, ROWS_PER_BAND = 24, 3
# Coarse search, in faces: bows up to 1 in of a 1 1/2 in face, and how far the straight line fitted
# before may lie off and lean wrong because of one.
BOWS_TRIED = np.linspace(-0.7, 0.7, 21)
OFFSETS_TRIED = np.linspace(-0.2, 0.2, 9)
LEANS_TRIED = np.linspace(-0.45, 0.45, 9)
REACH_FACES = 0.75
# What is taken for the face's colour and for that beside it, faces from the edge.
FACE_COLUMNS, BESIDE_COLUMNS, LEAST_SCATTER = (0.2, 0.75), (0.2, 0.6), 3.0
NEAR_FACES, LEAST_STRENGTH = 0.2, 0.4  # levels of 255 per column
HARDLY_BOWED, STRAIGHT_FIRST = 0.1, 0.05  # more bow must be followed by this share of the bands more
WINDOWS_FACES = (0.2, 0.14)
WEAK_EDGE = 0.35  # of an edge's usual strength
INLIER = 0.35  # of the window
# A straight line that leans more than this, in faces, followed no edge: the member is sought upright instead.
MOST_LEANING = 0.6
SPAN = 0.94  # of the height: clear of the plates, whose own ends and shadows pull
# Neighbouring bands err together, so that the fit's formal sigma is too small by this (tuning scenes).
BANDS_TOGETHER = 1.7


@dataclass(frozen=True)
class Curves:
    """Parabolas through both traced edges of each of N members, (N,) arrays.

    `bow`, `sigma`, `apart` (how much the two edges alone differ in bow), `lean` (how much farther right the
    foot stands than the head), `leans_apart` (how much the two edges alone differ in that) and `wider` (how
    much farther apart they lie than where they were sought) are in rectified units; `share` (N, 2) is each
    edge's share of bands near the curve, `thinnest` (N, 2) that of its third of the height with the fewest.
    """

    bow: NDArray[np.float64]
    sigma: NDArray[np.float64]
    lean: NDArray[np.float64]
    leans_apart: NDArray[np.float64]
    share: NDArray[np.float64]
    thinnest: NDArray[np.float64]
    apart: NDArray[np.float64]
    wider: NDArray[np.float64]


def trace_members(rgb: NDArray[np.uint8], view: ViewDirections, survey: Survey) -> Curves:
    """Trace both edges of every member of a survey in the photo at full size, (H, W, 3) uint8."""
    members, region, face = survey.members, survey.region, survey.face
    top, bottom = np.array([m.y_top for m in members]), np.array([m.y_bottom for m in members])
    slope = np.array([m.slope for m in members])
    slope = np.where(np.abs(slope) * (bottom - top) < MOST_LEANING * face, slope, 0.0)
    from_middle = 0.5 * (top + bottom) - (region.top + 0.5 * region.height)
    centre = np.array([m.x_centre for m in members]) + slope * from_middle
    # A line fitted to a bowed edge may have caught another one; the face's usual width never does.
    half = 0.5 * face * np.array([m.upright.stretch.plies for m in members])
    return trace_curves(rgb, view, centre - half, centre + half, slope, top, bottom, face)


def trace_curves(
    rgb: NDArray[np.uint8],
    view: ViewDirections,
    left: NDArray[np.float64],
    right: NDArray[np.float64],
    slope: NDArray[np.float64],
    top: NDArray[np.float64],
    bottom: NDArray[np.float64],
    face: float,
) -> Curves:
    """Trace both edges of every member and fit them with one parabola.

    Parameters
    ----------
    rgb : (H, W, 3) uint8 array
        The photo at full size.
    view : ViewDirections
    left, right : (N,) arrays
        X of the edges at the middle of the member's height, rectified units.
    slope : (N,) array
        dX per unit of Y of the straight line fitted before.
    top, bottom : (N,) arrays
        Y of the member's ends.
    face : float
        Width of one face.
    """
    count = 2 * len(left)
    height = np.tile(bottom - top, 2)
    step = max(0.5 / view.focal_px, face / 60)
    half = int(np.ceil(REACH_FACES * face / step)) + 3
    offsets: NDArray[np.float64] = np.arange(-half, half + 1, dtype=np.float64) * step
    u = SPAN * ((np.arange(BANDS * ROWS_PER_BAND) + 0.5) / (BANDS * ROWS_PER_BAND) - 0.5)
    y = np.tile(0.5 * (top + bottom), 2)[:, None] + u * height[:, None]
    line = np.concatenate([left, right])[:, None] + np.tile(slope, 2)[:, None] * u * height[:, None]
    strips, inside = pick_beside(rgb, view, line, y, offsets)
    seen: NDArray[np.bool_] = np.asarray(inside.reshape(count, BANDS, ROWS_PER_BAND).all(2))
    bands = strips.reshape(count * BANDS, ROWS_PER_BAND, -1).mean(1, dtype=np.float32)
    rows = _own_colour(bands.reshape(count, BANDS, -1, 3), seen, offsets / face)
    smooth = float(np.clip(0.04 * face / step, 1.2, 3.0))
    rows = cv2.GaussianBlur(rows.reshape(count * BANDS, -1), (0, 0), smooth, sigmaY=1e-3)
    rows = rows.reshape(count, BANDS, -1)
    gradient = np.zeros_like(rows)
    gradient[..., 1:-1] = 0.5 * (rows[..., 2:] - rows[..., :-2])
    gradient[count // 2 :] *= -1  # the face lies right of its left edge, left of its right one
    gradient = _own_strength(gradient, seen, np.abs(offsets) < NEAR_FACES * face)
    u = np.asarray(u.reshape(BANDS, ROWS_PER_BAND).mean(1), np.float64)
    design = np.column_stack([np.ones(BANDS), u, 1 - 4 * u**2]).astype(np.float64)
    start = _coarse(gradient, seen, design, step, face)
    curves = _refined(gradient, seen, design, offsets, start, face)
    return replace(curves, lean=curves.lean + slope * (bottom - top))


def _own_colour(
    bands: NDArray[np.float32], seen: NDArray[np.bool_], off_faces: NDArray[np.float64]
) -> NDArray[np.float32]:
    """Each edge's bands (E, BANDS, columns, 3) along the colour in which face and surroundings differ most.

    A grey stud before brown board has no edge in brightness. The direction is the difference of the two
    middle colours by the scatter of each channel (Fisher's discriminant without its cross terms).
    """
    half = len(bands) // 2
    toward = (off_faces > FACE_COLUMNS[0]) & (off_faces < FACE_COLUMNS[1])
    away = (off_faces < -BESIDE_COLUMNS[0]) & (off_faces > -BESIDE_COLUMNS[1])
    weights = np.empty((len(bands), 3), np.float32)
    for part, flip in ((slice(0, half), 1), (slice(half, None), -1)):
        face = bands[part][:, :, toward[::flip]].mean(2)
        beside = bands[part][:, :, away[::flip]].mean(2)
        differ = np.where(seen[part][..., None], face - beside, np.nan)
        differ[~seen[part].any(1)] = 0.0
        middle = np.nanmedian(differ, 1)
        scatter = np.nanmedian(np.abs(differ - middle[:, None]), 1)
        weights[part] = middle / (scatter + LEAST_SCATTER) ** 2
    weights /= np.linalg.norm(weights, axis=1, keepdims=True) + 1e-9
    return np.einsum("ebwc,ec->ebw", bands, weights)


def _own_strength(
    gradient: NDArray[np.float32], seen: NDArray[np.bool_], near: NDArray[np.bool_]
) -> NDArray[np.float32]:
    """The rising part of each edge's gradient, per unit of its own usual strength."""
    own = np.maximum(gradient, 0)
    usual = np.quantile(own[:, :, near].max(2) * seen, 0.6, axis=1)
    return np.asarray(own / np.maximum(usual, LEAST_STRENGTH)[:, None, None], np.float32)


def _coarse(
    gradient: NDArray[np.float32],
    seen: NDArray[np.bool_],
    design: NDArray[np.float64],
    step: float,
    face: float,
) -> NDArray[np.float64]:
    """Per member the parabola (N, 3) that both its edges follow best, of those tried."""
    n = len(gradient) // 2
    bow, offset, lean = (
        a.ravel() * face for a in np.meshgrid(BOWS_TRIED, OFFSETS_TRIED, LEANS_TRIED, indexing="ij")
    )
    # A straight line through a parabola passes two thirds of its bow from its ends.
    tried = np.column_stack([offset - 2 / 3 * bow, lean, bow])
    width = gradient.shape[2]
    column = np.clip(np.rint(tried @ design.T / step).astype(int) + width // 2, 0, width - 1)
    clipped = np.minimum(gradient, 1.0) * seen[..., None]
    both = (clipped[:n] + clipped[n:]).reshape(n, -1)
    flat = column + np.arange(len(design)) * width
    score = both[:, flat].sum(2) - 2 * STRAIGHT_FIRST * len(design) * (np.abs(bow) > HARDLY_BOWED * face)
    return np.asarray(tried[score.argmax(1)], np.float64)


def _refined(
    gradient: NDArray[np.float32],
    seen: NDArray[np.bool_],
    design: NDArray[np.float64],
    offsets: NDArray[np.float64],
    start: NDArray[np.float64],
    face: float,
) -> Curves:
    """Follow both edges near the coarse curve to a fraction of a pixel; one lean and one bow fit both."""
    step = offsets[1] - offsets[0]
    n = len(start)
    # Unknowns: place of the left edge, of the right edge, lean, bow.
    zero, one = np.zeros(len(design)), np.ones(len(design))
    sides = (np.column_stack([one, zero, design[:, 1:]]), np.column_stack([zero, one, design[:, 1:]]))
    full = np.stack([np.tile(d, (n, 1, 1)) for d in sides], 1).reshape(n, -1, 4)
    curve = np.column_stack([start[:, 0], start])
    for window in WINDOWS_FACES:
        reach = max(window * face, 2 * step)
        course = np.concatenate([curve @ d.T for d in sides])
        off = offsets - course[..., None]
        weight = np.where(np.abs(off) <= reach, gradient * np.exp(-((off / reach) ** 2)), 0)
        k = weight[..., 1:-1].argmax(2) + 1
        before, at, after = (np.take_along_axis(gradient, (k + j)[..., None], 2)[..., 0] for j in (-1, 0, 1))
        sub = np.clip(0.5 * (before - after) / np.minimum(before - 2 * at + after, -1e-9), -0.5, 0.5)
        x = np.concatenate(np.split(offsets[k] + sub * step, 2), 1)
        good = np.concatenate(np.split(seen & (at > WEAK_EDGE), 2), 1)
        near = max(INLIER * reach, step)
        for _ in range(6):
            off_x = x - (full @ curve[..., None])[..., 0]
            weights = good / (1 + (off_x / near) ** 2) ** 2
            normal = np.einsum("ebi,eb,ebj->eij", full, weights, full) + 1e-3 * np.eye(4)
            pull = np.einsum("ebi,eb->ei", full, weights * off_x)
            curve = curve + np.linalg.solve(normal, pull[..., None])[..., 0]
    off_x = x - (full @ curve[..., None])[..., 0]
    inlier = good & (np.abs(off_x) < near)
    spread = np.sqrt((np.where(inlier, off_x, 0) ** 2).sum(1) / np.maximum(inlier.sum(1) - 4, 1)) + 0.1 * step
    normal = np.einsum("ebi,eb,ebj->eij", full, inlier.astype(float), full) + 1e-3 * np.eye(4)
    formal = np.sqrt(np.linalg.inv(normal)[:, 3, 3])
    # What is left over along each edge alone says whether both lean and bow alike.
    each = inlier.reshape(n, 2, -1)
    own = []
    for e in range(2):
        r = np.where(each[:, e], off_x.reshape(n, 2, -1)[:, e], 0)
        normal = np.einsum("bi,eb,bj->eij", design, each[:, e].astype(float), design) + 1e-3 * np.eye(3)
        own.append(np.linalg.solve(normal, (r @ design)[..., None])[:, 1:, 0])
    leans_apart, bows_apart = np.abs(own[0] - own[1]).T
    return Curves(
        curve[:, 3],
        BANDS_TOGETHER * spread * formal,
        curve[:, 2],
        leans_apart,
        each.mean(2),
        each.reshape(n, 2, 3, -1).mean(3).min(2),
        bows_apart,
        curve[:, 1] - curve[:, 0],
    )
