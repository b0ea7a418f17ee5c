"""Where the camera stands, which light there is: one row of numbers per picture."""

from __future__ import annotations

import math
import random

import numpy as np

from .framing import add_wall
from .materials import any_colour, hsv
from .scene import Scene
from .surroundings import add_surroundings
from .textures import ID

LIGHTS = 3
LIGHT_FIELDS = 8  # x, y, z, kind (0 none, 1 point, 2 sun), r, g, b, size
ENV_FIELDS = 13


def sample_scene(seed: int) -> Scene:
    r = random.Random(seed)
    s = Scene()
    s.weird = r.random() < 0.15
    s.outdoors = r.random() < 0.28
    add_wall(s, r)
    add_surroundings(s, r)
    return s


def photo_view(s: Scene, r: random.Random, aspect: float) -> tuple[np.ndarray, np.ndarray, float]:
    """Return (ray matrix 3x3, camera position, radial term) of a hand-held photo.

    The matrix maps (x, y, 1), x in -1..1 over the width and y in the same unit
    downwards, to a viewing direction.
    """
    x0, x1, _, h0, h1 = s.outline
    length, height = x1 - x0, max(h0, h1)
    f35 = r.choice((26.0, r.uniform(22, 36), r.uniform(14, 50)))
    focal = f35 / 18.0 if aspect >= 1 else f35 / 18.0 / max(aspect, 0.6)
    share = r.choice((r.uniform(0.75, 1.05), r.uniform(0.45, 1.0), r.uniform(0.25, 0.6), r.uniform(1.0, 2.2)))
    yaw = math.radians(r.choice((r.gauss(0, 5), r.uniform(-30, 30))))
    distance = length * focal / (2 * share) * (0.6 + 0.4 * math.cos(yaw))
    least = height * focal * aspect / (2 * 1.5)
    distance = max(distance, least if share < 1 else least * 0.5, 40)
    aim_x = x0 + length * (0.5 + r.gauss(0, 0.08 if share < 1 else 0.25))
    aim_y = height * (0.5 + r.gauss(0, 0.10))
    camera_x = aim_x + distance * math.sin(yaw)
    eye = r.uniform(40, 72) if distance < 700 else r.uniform(40, 110)
    position = np.array([camera_x, eye, max(distance * math.cos(yaw), 35)])
    target = np.array([aim_x, aim_y if r.random() < 0.8 else eye, -s.depth_in / 2])
    forward = target - position
    forward /= np.linalg.norm(forward)
    roll = math.radians(r.gauss(0, 1.5) if r.random() < 0.85 else r.uniform(-6, 6))
    right = np.cross(forward, (0, 1, 0))
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    right, down = (
        right * math.cos(roll) + down * math.sin(roll),
        down * math.cos(roll) - right * math.sin(roll),
    )
    offset_x, offset_y = (
        (r.gauss(0, 0.05), r.gauss(0, 0.08)) if r.random() < 0.6 else (r.gauss(0, 0.3), r.gauss(0, 0.25))
    )
    matrix = np.stack(
        [right / focal, down / focal, forward + right * offset_x / focal + down * offset_y / focal], 1
    )
    return matrix, position, r.gauss(0, 0.04) / focal**2


def flat_view(s: Scene, r: random.Random, aspect: float) -> tuple[np.ndarray, np.ndarray, float]:
    """Return the rays of a wall already brought, roughly, to a frontal rectangle."""
    x0, x1, _, h0, h1 = s.outline
    length, height = x1 - x0, max(h0, h1)
    _, position, _ = photo_view(s, r, aspect)
    if r.random() < 0.75:  # the whole wall with some margin
        mx, my = r.uniform(-0.05, 0.2), r.uniform(-0.05, 0.25)
        a, b = x0 - mx * length, x1 + r.uniform(-0.05, 0.2) * length
        bottom, top = -my * height, height * (1 + r.uniform(-0.05, 0.25))
    else:
        width = r.uniform(0.2, 0.8) * length
        a = r.uniform(x0, x1 - width)
        b = a + width
        bottom, top = r.uniform(-0.2, 0.2) * height, height * r.uniform(0.7, 1.3)
    scale = (b - a) / 2
    mid_x, mid_y = (a + b) / 2, (bottom + top) / 2
    up = (top - bottom) / 2 * aspect  # y runs over +-1/aspect
    if r.random() < 0.6:  # keep the true aspect
        up = scale
    jitter = [r.gauss(0, 0.03) for _ in range(6)]
    matrix = np.array(
        [
            [scale, scale * jitter[0], mid_x - position[0]],
            [up * jitter[1], -up, mid_y - position[1]],
            [0.0, 0.0, -position[2]],
        ]
    )
    matrix[2] += 0
    # a perspective remainder: w = 1 + jx x + jy y, about the wall's centre
    centre = np.array([mid_x, mid_y, 0.0]) - position
    matrix[:, 0] += centre * jitter[2]
    matrix[:, 1] += centre * jitter[3]
    return matrix / position[2], position, r.gauss(0, 0.01)


def _light_colour(r: random.Random) -> np.ndarray:
    warm = r.choice(((1.0, 0.78, 0.5), (1.0, 0.9, 0.75), (1.0, 1.0, 1.0), (0.85, 0.93, 1.0)))
    if r.random() < 0.05:
        warm = any_colour(r)
    return np.array(warm)


def light_rows(s: Scene, r: random.Random, eye: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return (LIGHTS x LIGHT_FIELDS, ambient 2 x 3: from above and from below)."""
    x0, x1, _, height, _ = s.outline
    rows = np.zeros((LIGHTS, LIGHT_FIELDS))
    ambient = np.stack([_light_colour(r) * r.uniform(0.1, 0.8), _light_colour(r) * r.uniform(0.05, 0.4)])
    if s.outdoors and r.random() < 0.85:
        if r.random() < 0.55:
            d = np.array([r.gauss(0, 1), r.uniform(0.3, 2.0), r.gauss(0.2, 1)])
            d /= np.linalg.norm(d)
            rows[0] = [*d, 2, *(_light_colour(r) * r.uniform(0.6, 2.5)), r.uniform(0.005, 0.05)]
        ambient[0] += 0.4
    else:
        for k in range(r.choice((1, 1, 2, 2, 3))):
            where = r.random()
            if where < 0.55:
                p = [
                    r.uniform(x0 - 40, x1 + 40),
                    r.uniform(0.6, 1.0) * height + r.uniform(0, 6),
                    r.uniform(5, 200),
                ]
            elif where < 0.75:
                p = [
                    r.choice((x0 - r.uniform(5, 80), x1 + r.uniform(5, 80))),
                    r.uniform(10, 90),
                    r.uniform(4, 120),
                ]
            elif where < 0.87:
                p = list(eye + np.array([r.gauss(0, 4), r.uniform(0, 6), 0]))
            else:
                p = [r.uniform(x0, x1), r.uniform(20, height), -r.uniform(8, 120)]
            reach = np.linalg.norm(np.array([(x0 + x1) / 2, height / 2, 0]) - p)
            rows[k] = [*p, 1, *(_light_colour(r) * r.uniform(0.3, 1.6) * reach**2), r.choice((0.5, 4, 15))]
    fate = r.random()
    if fate < 0.13:
        rows[:, 4:7] = 0  # shadowless daylight
    elif fate < 0.33 and not s.outdoors:  # one work light close by, hard shadows, little else
        ambient *= r.uniform(0.05, 0.5)
        rows[1:, 4:7] *= r.choice((0.0, 0.0, 0.3))
        p = [
            r.choice((x0 - r.uniform(-30, 60), x1 + r.uniform(-30, 60), r.uniform(x0, x1))),
            r.choice((r.uniform(3, 20), r.uniform(20, 80), height)),
            r.uniform(6, 90),
        ]
        reach = np.linalg.norm(np.array([(x0 + x1) / 2, height / 2, 0]) - p)
        rows[0] = [*p, 1, *(_light_colour(r) * r.uniform(0.5, 1.6) * reach**2), r.choice((0.2, 0.5, 2.0))]
    return rows, ambient


def env_row(s: Scene, r: random.Random) -> np.ndarray:
    """Background beyond all boxes: texture, scale, tree line, two colours and the sky's."""
    if s.outdoors:
        a, b, sky = (
            hsv(r.uniform(0.15, 0.38), r.random() * 0.7, r.uniform(0.1, 0.7)),
            any_colour(r),
            (hsv(r.uniform(0.5, 0.65), r.random() * 0.6, r.uniform(0.6, 1.0))),
        )
        b = (0.6 * a[0] + 0.4 * b[0], 0.6 * a[1] + 0.4 * b[1], 0.6 * a[2] + 0.4 * b[2])
        gain = r.choice((0.02, 0.6, 1.0, 1.0, 2.0))
        name, line = r.choice(("foliage", "foliage", "clutter", "fbm_rough", "cells")), r.uniform(-0.1, 0.6)
    else:
        a, b, sky = any_colour(r), any_colour(r), any_colour(r)
        gain = r.choice((0.05, 0.3, 0.8))
        name, line = (
            r.choice(("clutter", "fbm_soft", "clutter_fine", "streaks")),
            r.choice((2.0, r.uniform(-0.3, 1))),
        )
    colours = np.array([a, b, sky]) ** 2.2 * gain
    return np.array([ID[name], r.uniform(0.3, 3), line, r.uniform(0, 0.4), *colours.ravel()])


def sample_arrays(seed: int, aspect: float, max_boxes: int, photo: bool = False) -> dict[str, np.ndarray]:
    """Sample one picture's complete description as float32 arrays; ``photo``: always hand-held."""
    r = random.Random(seed * 7919 + 13)
    while True:
        s = sample_scene(r.randrange(1 << 60))
        if len(s.boxes) <= max_boxes:
            break
    return arrays_of(s, r, aspect, max_boxes, photo)


def arrays_of(
    s: Scene, r: random.Random, aspect: float, max_boxes: int, photo: bool
) -> dict[str, np.ndarray]:
    """One scene under a random view and light."""
    view = flat_view if r.random() < 0.35 and not photo else photo_view
    matrix, position, k1 = view(s, r, aspect)
    lights, ambient = light_rows(s, r, position)
    count = len(s.boxes)
    width = (15, len(s.materials[0]), 4)
    packed = [np.zeros((max_boxes, w), np.float32) for w in width]
    for target, rows in zip(packed, (s.boxes, s.materials, s.labels), strict=True):
        target[:count] = np.asarray(rows, np.float32)
    return {
        "boxes": packed[0],
        "materials": packed[1],
        "labels": packed[2],
        "count": np.array(count, np.int32),
        "rays": matrix.astype(np.float32),
        "eye": position.astype(np.float32),
        "k1": np.array(k1, np.float32),
        "lights": lights.astype(np.float32),
        "ambient": ambient.astype(np.float32),
        "env": env_row(s, r).astype(np.float32),
        "outline": np.asarray(s.outline, np.float32),
        "overlay": np.asarray(s.overlay, np.float32),
        "depth": np.array(s.depth_in, np.float32),
    }
