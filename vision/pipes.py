"""Pipes in bays where no stud is wanted: round, or of another colour than the wall's lumber.

`foreign.py` leaves out what no stud can look like. What is left may still be a pipe where it stands in a
bay that two other members close at a usual spacing: what is round is bright along its middle and falls off
evenly to both sides, where a face is flat; and lumber of one wall seldom differs much in colour. What only
rather differs, be it in lightness, is doubted where it stands beside the marks that the others are set on,
and left out where its bay is full as well and more than a shadow tells it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vision.extent import Upright
from vision.foreign import FOREIGN, LEAST_MEMBERS, beside_others
from vision.full_bays import in_full_bays, off_the_marks
from vision.reading import Member

# Lightness (CIELAB) over the width of a face as a parabola: how much it curves, per width squared, and how
# far columns may stray from it. So curve six of six pipes on pictures of another generator, and of 85 true
# studs there and on tuning scenes that stand in full bays none.
ROUND, ROUND_STRAY, STRAY_SHARE = -25.0, 0.3, 0.05  # the last of how much it falls off
ACROSS = 0.35  # of the width, to either side of the middle: clear of the edges
LEAST_COLUMNS = 4
# What lies so far from the others in a and b, or from the nearest in lightness over most of its height, may
# be a pipe where it stands off the others' marks, and in a full bay it is one; by lightness alone (a stud may
# stand in a shadow) only from the second limit on. So did 8 of 8 pipes there on another generator's pictures
# and on tuning walls, by lightness alone one, 53 darker; of 2,163 true studs none (2 stood so, alike).
RATHER_FOREIGN, OTHER_LIGHT, PLAINLY_OTHER_LIGHT, LIGHT_SHARE = 9.0, 20.0, 40.0, 0.3


def with_pipe_signs(ups: list[Upright], colour: NDArray[np.float32]) -> list[Upright]:
    """Note of each full-height single member whether it looks round, or of another colour or lightness.

    Parameters
    ----------
    ups : list of Upright
    colour : (B, W, 3) array
        Mean CIELAB colour per band and column.
    """
    full = [u for u in ups if u.full]
    if len(full) < LEAST_MEMBERS:
        return ups
    beside = iter(zip(beside_others(full, colour), _light_apart(full, colour), strict=True))
    out = []
    for u in ups:
        if u.full:
            off, light = next(beside)
            if u.stretch.plies == 1:
                u = replace(
                    u,
                    looks_round=_looks_round(u, colour),
                    other_colour=off.away > FOREIGN,
                    rather_other=off.away > RATHER_FOREIGN or light > OTHER_LIGHT,
                    plainly_other=off.away > RATHER_FOREIGN or light > PLAINLY_OTHER_LIGHT,
                )
        out.append(u)
    return out


def _light_apart(full: list[Upright], colour: NDArray[np.float32]) -> list[float]:
    """How much darker or lighter each is than the nearest two on either side, over most of its height."""
    lights = []
    for u in full:
        s = u.stretch
        first = int(np.clip(s.left + 0.2 * s.width, 0, colour.shape[1] - 1))
        end = max(first + 1, int(s.right - 0.2 * s.width) + 1)
        lights.append(np.median(colour[2:-2, first:end, 0], axis=1))
    out = []
    for i, light in enumerate(lights):
        near = [lights[j] for j in (i - 2, i - 1, i + 1, i + 2) if 0 <= j < len(lights)]
        if len(near) < 3:  # an end: one odd neighbour would make it odd
            out.append(0.0)
            continue
        off = np.median(light - np.array(near), axis=0)
        low, high = np.quantile(off, LIGHT_SHARE), np.quantile(off, 1 - LIGHT_SHARE)
        out.append(max(-float(high), float(low), 0.0))
    return out


def _looks_round(u: Upright, colour: NDArray[np.float32]) -> bool:
    s = u.stretch
    first = max(0, int(np.ceil(s.centre - ACROSS * s.width)))
    columns = np.arange(first, min(colour.shape[1], int(s.centre + ACROSS * s.width) + 1))
    if len(columns) < LEAST_COLUMNS:
        return False
    light = colour[2:-2, columns, 0]
    profile = np.median(light - np.median(light, axis=1, keepdims=True), axis=0)
    x = (columns - s.centre) / s.width
    fit = np.polyfit(x, profile, 2)
    stray = float(np.abs(profile - np.polyval(fit, x)).mean())
    return bool(fit[0] < ROUND and stray < max(ROUND_STRAY, STRAY_SHARE * -fit[0] * ACROSS**2))


def pipes_told(members: Sequence[Member], signs: Sequence[Upright]) -> tuple[list[Member], list[bool]]:
    """Members with those doubted that may be a pipe by their `signs`, and which plainly are one."""
    off_marks = off_the_marks(members, [u.rather_other for u in signs])
    in_bay = in_full_bays(members, [u.looks_round or u.rather_other for u in signs])
    doubted = [
        m.doubted("odd_colour") if (inside and u.other_colour) or off else m
        for m, u, inside, off in zip(members, signs, in_bay, off_marks, strict=True)
    ]
    pipes = [
        inside and (u.looks_round or (off and u.plainly_other))
        for u, inside, off in zip(signs, in_bay, off_marks, strict=True)
    ]
    return doubted, pipes
