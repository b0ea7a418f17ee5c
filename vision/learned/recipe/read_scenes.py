"""Draw walls, read them as a photo is read, and keep what the column network learns from.

``python -m vision.learned.recipe.read_scenes --out FOLDER --seconds 500 --seed 11``

Every GPU draws photos; processes beside it run the reading itself up to the straightened wall, so that
the bands they keep carry the same faults as at run time. One file a process and about 64 walls.
"""

from __future__ import annotations

import argparse
import os
import random
import time
from pathlib import Path
from typing import Any

import numpy as np

SIZES = ((1440, 1080), (1080, 1440))
SIZE_SHARE = (0.88, 0.12)
GROUP = 2
MAX_BOXES = 256
FULL_SHARE = 0.86  # of the wall's height; trimmers end lower, studs between plates higher
REGION_SLACK = 0.15  # of the height, by which the region's top or bottom may be off to be learned from
LEAST_OVERLAP = 0.6  # of the region's width with the true wall's
SHARD = 64
LEAST_SPAN = 0.4  # of the photo's width, from the first upright in it to the last


def photo_points(arrays: dict[str, np.ndarray], points_in: np.ndarray, width: int, height: int) -> np.ndarray:
    """Pixels (N, 2) of scene points (N, 3), the inverse of the rays in ``shade.primary_rays``."""
    d = (points_in - arrays["eye"]) @ np.linalg.inv(arrays["rays"].astype(float)).T
    ideal = d[:, :2] / np.where(d[:, 2:] > 1e-6, d[:, 2:], np.nan)
    p, k1 = ideal.copy(), float(arrays["k1"])
    for _ in range(12):  # ideal = p (1 + k1 p²)
        p = ideal / (1 + k1 * (p * p).sum(1, keepdims=True))
    return np.column_stack([(p[:, 0] + 1) * width / 2 - 0.5, p[:, 1] * width / 2 + height / 2 - 0.5])


def front_faces(arrays: dict[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Corners (N, 4, 3) of the uprights' faces (left bottom, left top, right bottom, right top), heights."""
    n = int(arrays["count"])
    boxes = arrays["boxes"][:n][arrays["labels"][:n, 0] == 1].astype(float)
    centre, half = boxes[:, :3], boxes[:, 12:15]
    ex, ey, ez = boxes[:, 3:6], boxes[:, 6:9], boxes[:, 9:12]
    middle = centre + ez * half[:, 2:]
    corners = [middle + sx * ex * half[:, :1] + sy * ey * half[:, 1:2] for sx in (-1, 1) for sy in (-1, 1)]
    return np.stack(corners, 1), 2 * half[:, 1]


def worth_reading(arrays: dict[str, np.ndarray], width: int, height: int) -> bool:
    """Whether the wall fills enough of the photo, and enough of its uprights stand in it."""
    corners, _ = front_faces(arrays)
    if len(corners) < 3:
        return False
    x = photo_points(arrays, corners.mean(1), width, height)[:, 0]
    inside = (x > 0) & (x < width - 1)
    return inside.sum() >= 3 and bool(np.ptp(x[inside]) > LEAST_SPAN * width)


def draw_photos(rank: int, o: argparse.Namespace, queue: Any) -> None:
    """Draw photos on GPU ``rank`` until the time is up."""
    import torch
    from torch.nn import functional as nnf

    from .camera import sample_arrays
    from .photo import develop
    from .shade import render
    from .textures import make_atlas

    begin = time.time()
    cuda = torch.cuda.is_available()
    device = torch.device("cuda", rank) if cuda else torch.device("cpu")
    if cuda:
        torch.cuda.set_device(device)
    seed = o.seed + 100 * rank
    g, r = torch.Generator(device).manual_seed(seed), random.Random(seed)
    atlas = torch.from_numpy(make_atlas(seed)).to(device)
    while time.time() - begin < o.seconds:
        width, height = r.choices(SIZES, SIZE_SHARE)[0]
        if not cuda:
            width, height = width // 3, height // 3
        rows: list[dict[str, np.ndarray]] = []
        while len(rows) < GROUP:
            row = sample_arrays(r.randrange(1 << 48), width / height, MAX_BOXES, photo=True)
            if worth_reading(row, width, height):
                rows.append(row)
        s = {k: torch.as_tensor(np.stack([row[k] for row in rows])).to(device) for k in rows[0]}
        with torch.no_grad():
            made = render(s, atlas, 2 * height, 2 * width, g)
            colour = nnf.avg_pool2d(made["colour"].clamp(0, 60), 2)
            image = (develop(colour, g) * 255).round().byte().permute(0, 2, 3, 1).cpu().numpy()
        kept = ("boxes", "labels", "count", "rays", "eye", "k1", "outline")
        for row, picture in zip(rows, image, strict=True):
            queue.put((np.ascontiguousarray(picture), {k: row[k] for k in kept}))
    for _ in range(o.workers):
        queue.put(None)


def read_photos(worker: int, o: argparse.Namespace, queue: Any) -> None:
    """Read photos up to the straightened wall; keep bands and truth."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[name] = "1"
    import cv2

    cv2.setNumThreads(1)
    r = np.random.default_rng(o.seed * 1000 + worker)
    kept: list[dict[str, np.ndarray]] = []
    files, seen = 0, 0

    def save() -> None:
        nonlocal files
        if kept:
            stem = o.out / f"walls_{o.seed}_{worker:03d}_{files:03d}"
            named = {f"{i}_{k}": v for i, one in enumerate(kept) for k, v in one.items()}
            np.savez_compressed(stem, **named)  # type: ignore[arg-type]
            kept.clear()
            files += 1

    while (item := queue.get()) is not None:
        seen += 1
        try:
            rgb, arrays = item
            one = learn_from(rgb, arrays, r)
        except Exception as fault:  # a drawn scene that cannot be read teaches nothing
            print("not read:", repr(fault)[:200], flush=True)
            continue
        if one is not None:
            kept.append(one)
            if len(kept) == SHARD:
                save()
    save()
    print(f"worker {worker}: {seen} photos, {files} files", flush=True)


def learn_from(
    rgb: np.ndarray, arrays: dict[str, np.ndarray], r: np.random.Generator
) -> dict[str, np.ndarray] | None:
    """Bands (C, B, W) as bytes and the true faces (N, 5): left, right, top, bottom, full."""
    import cv2

    from vision.columns import picture_bands
    from vision.photo import load_photo
    from vision.rectify import to_rect
    from vision.viewing import find_view
    from vision.wall_picture import picture_wall

    h, w = rgb.shape[:2]
    jpeg = cv2.imencode(".jpg", rgb[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 96])[1].tobytes()
    photo = load_photo(jpeg)
    viewed = find_view(photo, None)
    if viewed is None or viewed.region is None or not viewed.model:
        return None
    picture = picture_wall(viewed, photo)
    region, grid = picture.region, picture.grid
    corners, heights = front_faces(arrays)
    if len(corners) < 3:
        return None
    at = to_rect(viewed.view, photo_points(arrays, corners.reshape(-1, 3), w, h)).reshape(-1, 4, 2)
    x0, x1, y0, h0, h1 = arrays["outline"].astype(float)
    outline = np.array([[x0, y0, 0], [x0, h0, 0], [x1, y0, 0], [x1, h1, 0]])
    wall = to_rect(viewed.view, photo_points(arrays, outline, w, h))
    if not (np.isfinite(at).all() and np.isfinite(wall).all()):
        return None
    bottom, top = wall[[0, 2], 1].mean(), wall[[1, 3], 1].mean()
    slack = REGION_SLACK * (bottom - top)
    left, right = wall[:2, 0].mean(), wall[2:, 0].mean()
    meet = min(right, region.right) - max(left, region.left)
    if abs(region.top - top) > slack or abs(region.bottom - bottom) > slack:
        return None
    if meet < LEAST_OVERLAP * region.width:
        return None
    # left and right edges where the wall's middle is, for short ones at their own middle
    y_mid = 0.5 * (region.top + region.bottom)
    low, high = at[:, [0, 2], 1], at[:, [1, 3], 1]
    t = np.clip((y_mid - low) / (high - low), 0, 1)
    x = at[:, [0, 2], 0] + t * (at[:, [1, 3], 0] - at[:, [0, 2], 0])
    face = float(np.median(x[:, 1] - x[:, 0]))
    spread = 0.03 if r.random() < 0.75 else 0.12
    face_px = face / grid.step * float(np.exp(r.normal(0, spread)))
    if not 2.0 < face_px < 80:
        return None
    bands = picture_bands(picture, face_px)
    k = bands.shape[2] / grid.width
    full = heights > FULL_SHARE * max(h0, h1)
    faces = np.column_stack(
        [
            (grid.column(x[:, 0]) + 0.5) * k,
            (grid.column(x[:, 1]) + 0.5) * k,
            (at[:, [1, 3], 1].mean(1) - region.top) / region.height,
            (at[:, [0, 2], 1].mean(1) - region.top) / region.height,
            full,
        ]
    )
    return {"bands": bands, "faces": faces.astype(np.float32)}


def main() -> None:
    a = argparse.ArgumentParser()
    a.add_argument("--out", type=Path, required=True)
    a.add_argument("--seconds", type=float, default=300)
    a.add_argument("--seed", type=int, default=11)
    a.add_argument("--workers", type=int, default=15, help="reading processes, per GPU")
    o = a.parse_args()
    o.out.mkdir(parents=True, exist_ok=True)
    import torch

    gpus = max(1, torch.cuda.device_count())
    context = torch.multiprocessing.get_context("spawn")
    jobs, queues = [], []
    for rank in range(gpus):
        queue = context.Queue(maxsize=2 * o.workers)
        queues.append(queue)  # a queue that nothing holds is gone before the processes have begun
        jobs.append(context.Process(target=draw_photos, args=(rank, o, queue)))
        jobs += [
            context.Process(target=read_photos, args=(rank * o.workers + i, o, queue))
            for i in range(o.workers)
        ]
    for job in jobs:
        job.start()
    for job in jobs:
        job.join()


if __name__ == "__main__":
    main()
