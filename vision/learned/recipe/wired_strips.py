"""Strips beside the studs of drawn and photographed walls, and the electrical boxes in them."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import torch
from torch.nn import functional as nnf
from torch.utils.data import IterableDataset, get_worker_info

from .camera import arrays_of, sample_scene
from .photo import develop
from .read_scenes import photo_points, worth_reading
from .shade import render
from .strip_network import COLUMNS, FACE_IN, PER_IN
from .tracer import nearest
from .wiring import HIGHEST_IN, LOWEST_IN, Post, WiredBox, add_wiring, posts_of

Strips = tuple[torch.Tensor, torch.Tensor, torch.Tensor]

MAX_BOXES = 320  # the boxes that a scene is made of
SIZES = ((1280, 960), (960, 1280), (1536, 1152), (800, 608))  # of the picture, multiples of 8
SIZE_SHARE = (0.5, 0.1, 0.25, 0.15)
ROWS = round((HIGHEST_IN - LOWEST_IN) * PER_IN)
LATTICE = 8
MOST_TRUE = 4  # electrical boxes in a strip
SIDES = 8  # strips of one picture
LEAST_POST_IN = 30.0
LEAST_PX_PER_IN = 3.2
LEAST_IN_PHOTO = 0.5  # of a strip
RIM_POINTS = 16
RIM_REACH_IN = 0.35  # what is seen this near to a rim point is the rim
NEVER_SEEN_IN = 1e4  # behind the wall, where rim points that lie outside the picture are put
THICK_SHEET = 0.5  # nobody could tell what is under a sheet that hides more


@dataclass(frozen=True)
class _Side:
    """One side of a post as a strip shows it, a little off, as a reading is."""

    post: Post
    side: int
    up: np.ndarray  # heights of the lattice's rows
    edge: np.ndarray  # where the face ends there
    shift: float
    across: float
    low: float
    stretch: float


def _side_of(post: Post, side: int, r: random.Random) -> _Side:
    low, stretch = LOWEST_IN + r.gauss(0, 0.3), math.exp(r.gauss(0, 0.01))
    up = low + np.arange(ROWS // LATTICE + 1) * LATTICE / PER_IN * stretch
    edge = post.x + (post.slope + r.gauss(0, 0.0015)) * (up - post.y) + side * post.half_width
    return _Side(post, side, up, edge, r.gauss(0, 0.12), math.exp(r.gauss(0, 0.02)), low, stretch)


def _lattice(arrays: dict[str, np.ndarray], s: _Side, size: tuple[int, int]) -> np.ndarray | None:
    """Where the strip's lattice lies in the picture, -1..1; None where too little of it is seen."""
    w, h = size
    beside = (-FACE_IN + np.arange(COLUMNS // LATTICE + 1) * LATTICE / PER_IN) * s.across + s.shift
    points = np.zeros((len(s.up), len(beside), 3))
    points[..., 0] = s.edge[:, None] + s.side * beside
    points[..., 1], points[..., 2] = s.up[:, None], s.post.z
    at = photo_points(arrays, points.reshape(-1, 3), w, h).reshape(*points.shape[:2], 2)
    if not np.isfinite(at).all() or ((at > 1) & (at < (w - 2, h - 2))).all(-1).mean() < LEAST_IN_PHOTO:
        return None
    px_per_in = np.linalg.norm(np.diff(at, axis=1), axis=-1).mean() / (LATTICE / PER_IN)
    if px_per_in < LEAST_PX_PER_IN:
        return None
    return np.asarray((at + 0.5) * 2 / (w, h) - 1, np.float32)


def _seen_rim(eye: np.ndarray, s: _Side, b: WiredBox) -> tuple[float, float, float, float]:
    """Middle up, near and far side, height of a rim as the camera shows it in the plane of the face."""
    nearer = (eye[2] - s.post.z) / (eye[2] - b.proud)
    (x0, y0), (x1, y1) = (
        eye[:2] + (np.array(c) - eye[:2]) * nearer for c in ((b.left, b.bottom), (b.right, b.top))
    )
    middle = (y0 + y1) / 2
    edge = np.interp(middle, s.up, s.edge)
    near, far = sorted((s.side * (x - edge) - s.shift) / s.across for x in (x0, x1))
    return (middle - s.low) / s.stretch, near, far, (y1 - y0) / s.stretch


def _rim_points(arrays: dict[str, np.ndarray], b: WiredBox, size: tuple[int, int]) -> np.ndarray:
    """Points of a rim (RIM_POINTS, 3); those outside the picture are put where nobody sees them."""
    n = RIM_POINTS // 4
    t, margin = (np.arange(n) + 0.5) / n, 0.04
    x = b.left + margin + t * (b.right - b.left - 2 * margin)
    y = b.bottom + margin + t * (b.top - b.bottom - 2 * margin)
    rim = np.full((RIM_POINTS, 3), b.proud)
    rim[:, 0] = np.concatenate([x, x, np.full(n, b.left + margin), np.full(n, b.right - margin)])
    rim[:, 1] = np.concatenate([np.full(n, b.bottom + margin), np.full(n, b.top - margin), y, y])
    on = photo_points(arrays, rim, *size)
    rim[~((on > 0) & (on < (size[0] - 1, size[1] - 1))).all(1), 2] = -NEVER_SEEN_IN
    return rim


def strips_of(
    arrays: dict[str, np.ndarray],
    posts: list[Post],
    boxes: list[WiredBox],
    size: tuple[int, int],
    r: random.Random,
) -> dict[str, np.ndarray]:
    """Where up to SIDES strips lie in the picture, and what they show.

    Returns
    -------
    dict
        ``lattice`` (SIDES, rows, columns, 2) in -1..1 of the picture, ``truth`` (SIDES, MOST_TRUE, 4: middle
        up, near, far, height, inches of the strip; 0 height: none), ``rims`` (SIDES * MOST_TRUE, RIM_POINTS,
        3) and how many ``strips`` there are, (1,).
    """
    rows, columns = ROWS // LATTICE + 1, COLUMNS // LATTICE + 1
    lattices = np.full((SIDES, rows, columns, 2), -9.0, np.float32)
    truth = np.zeros((SIDES, MOST_TRUE, 4), np.float32)
    rims = np.zeros((SIDES, MOST_TRUE, RIM_POINTS, 3), np.float32)
    eye = arrays["eye"].astype(float)
    wired = sorted({(b.post, b.side) for b in boxes})
    others = [(k, s) for k in range(len(posts)) for s in (-1, 1) if (k, s) not in wired]
    r.shuffle(wired)
    r.shuffle(others)
    count = 0
    for k, side in (wired[: SIDES - 2] + others)[: max(4, min(SIDES, 2 * len(wired) + 1))]:
        if 2 * posts[k].half_height < LEAST_POST_IN:
            continue
        strip = _side_of(posts[k], side, r)
        lattice = _lattice(arrays, strip, size)
        if lattice is None:
            continue
        lattices[count] = lattice
        for n, b in enumerate([b for b in boxes if (b.post, b.side) == (k, side)][:MOST_TRUE]):
            truth[count, n] = _seen_rim(eye, strip, b)
            rims[count, n] = _rim_points(arrays, b, size)
        count += 1
    return {
        "lattice": lattices,
        "truth": truth,
        "rims": rims.reshape(-1, RIM_POINTS, 3),
        "strips": np.array([count], np.int64),
    }


class WiredScenes(IterableDataset):
    """Endless stream of (index of SIZES, `group` scenes' arrays with their strips)."""

    def __init__(self, seed: int, group: int) -> None:
        self.seed, self.group = seed, group

    def __iter__(self) -> Iterator[tuple[int, dict[str, np.ndarray]]]:
        worker = get_worker_info()
        torch.set_num_threads(1)
        r = random.Random(self.seed * 1009 + (worker.id if worker else 0))
        while True:
            k = r.choices(range(len(SIZES)), SIZE_SHARE)[0]
            rows: list[dict[str, np.ndarray]] = []
            while len(rows) < self.group:
                own = random.Random(r.randrange(1 << 60))
                s = sample_scene(own.randrange(1 << 60))
                boxes = add_wiring(s, own)
                if len(s.boxes) > MAX_BOXES:
                    continue
                row = arrays_of(s, own, SIZES[k][0] / SIZES[k][1], MAX_BOXES, True)
                if not worth_reading(row, *SIZES[k]):
                    continue
                made = strips_of(row, posts_of(s), boxes, SIZES[k], own)
                if made["strips"][0]:
                    rows.append({**row, **made})
            yield k, {name: np.stack([row[name] for row in rows]) for name in rows[0]}


@torch.no_grad()
def photographed(
    k: int, arrays: dict[str, np.ndarray], atlas: torch.Tensor, g: torch.Generator, shrink: int = 1
) -> Strips:
    """Strips (N, 3, ROWS, COLUMNS) bytes, truth (N, MOST_TRUE, 4), how well each is seen (N, MOST_TRUE)."""
    w, h = SIZES[k][0] // shrink, SIZES[k][1] // shrink
    s = {n: torch.as_tensor(v).to(atlas.device) for n, v in arrays.items()}
    made = render(s, atlas, 2 * h, 2 * w, g)
    image = develop(nnf.avg_pool2d(made["colour"].clamp(0, 60), 2), g)
    b = len(image)
    points = s["rims"].reshape(b, -1, 3).transpose(1, 2)
    away = points - s["eye"][:, :, None]
    reach = away.norm(dim=1)
    t, _, _ = nearest(
        s["eye"][:, :, None].expand_as(away).contiguous(), nnf.normalize(away, dim=1), s["boxes"], s["count"]
    )
    seen = (t > reach - RIM_REACH_IN).float().reshape(b, SIDES, MOST_TRUE, RIM_POINTS).mean(3)
    lattice = s["lattice"].reshape(b * SIDES, *s["lattice"].shape[2:]).permute(0, 3, 1, 2)
    grid = nnf.interpolate(lattice, size=(ROWS + 1, COLUMNS + 1), mode="bilinear", align_corners=True)
    grid = grid[:, :, :ROWS, :COLUMNS].permute(0, 2, 3, 1)
    out, truths, seens = [], [], []
    for i in range(b):
        n = int(s["strips"][i, 0])
        part = grid[i * SIDES : i * SIDES + n]
        strips = nnf.grid_sample(
            image[i : i + 1].expand(n, -1, -1, -1),
            part,
            mode="bilinear",
            padding_mode="border",
            align_corners=False,
        )
        out.append((strips * 255).round().byte())
        truths.append(s["truth"][i, :n])
        hidden = float(s["overlay"][i, 0]) > 0 and float(s["overlay"][i, 5]) > THICK_SHEET
        seens.append(seen[i, :n] * (0.0 if hidden else 1.0))
    return torch.cat(out), torch.cat(truths), torch.cat(seens)
