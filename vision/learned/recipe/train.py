"""Train on scenes that are drawn, traced and photographed while training runs.

``python -m vision.learned.recipe.train --out FOLDER --seconds 400 [--resume CHECKPOINT]``

Each GPU draws and learns from its own scenes; the gradients are averaged over the GPUs.
With ``--span A B`` a call does the part A..B of a run that several calls share.
"""

from __future__ import annotations

import argparse
import copy
import math
import random
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import torch
import torch.distributed as dist
from torch import nn
from torch.nn import functional as nnf
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

from .camera import sample_arrays
from .network import FrontFaceNet, take_over
from .photo import develop
from .scene import CLASS_COUNT
from .shade import render
from .textures import make_atlas

MAX_BOXES = 256
SHAPES = ((384, 512), (512, 384), (320, 640), (640, 1024))
SHAPE_SHARE = (0.52, 0.14, 0.12, 0.22)
CLASS_WEIGHT = (0.6, 2.0, 1.5, 1.5, 1.0)
PARTS = ("entropy", "dice", "wall", "wall_dice", "joint")


class Scenes(IterableDataset):
    """Endless stream of (shape index, batch of scene arrays)."""

    def __init__(self, seed: int, group: int, rank: int = 0) -> None:
        self.seed, self.group, self.rank = seed, group, rank

    def __iter__(self) -> Iterator[tuple[int, dict[str, np.ndarray]]]:
        worker = get_worker_info()
        torch.set_num_threads(1)
        own = self.seed * 1009 + (worker.id if worker else 0)
        r, shapes = random.Random(own * 8 + self.rank), random.Random(own)  # every GPU: the same shapes
        while True:
            k = shapes.choices(range(len(SHAPES)), SHAPE_SHARE)[0]
            h, w = SHAPES[k]
            count = max(2, self.group * 384 * 512 // (h * w))
            rows = [sample_arrays(r.randrange(1 << 48), w / h, MAX_BOXES) for _ in range(count)]
            yield k, {name: np.stack([row[name] for row in rows]) for name in rows[0]}


def draw(
    arrays: dict[str, np.ndarray], atlas: torch.Tensor, shape: tuple[int, int], g: torch.Generator
) -> dict[str, torch.Tensor]:
    """Render one group with 2x2 samples per pixel; truth maps become shares 0..255."""
    s = {k: torch.as_tensor(v).to(atlas.device, non_blocking=True) for k, v in arrays.items()}
    with torch.no_grad():
        o = render(s, atlas, 2 * shape[0], 2 * shape[1], g)
        truth = torch.cat([o["classes"], o["wall"], o["joint"]], 1)
        truth = (nnf.avg_pool2d(truth, 2) * 255).round().byte()
        colour = nnf.avg_pool2d(o["colour"].clamp(0, 60), 2).half()
    return {"colour": colour, "truth": truth}


def loss_of(logits: torch.Tensor, truth: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
    """Weighted cross-entropy + dice for the classes; BCE (+ dice) for wall and joints.

    Returns the loss and, for the log, its parts as named in ``PARTS``.
    """
    truth = truth.float() / 255
    logits = logits.float()
    classes, wall, joint = truth[:, :CLASS_COUNT], truth[:, CLASS_COUNT], truth[:, CLASS_COUNT + 1]
    # a picture in which the wall is hidden or tiny teaches nothing about it
    share, seen = wall.mean((1, 2)), classes[:, 1].sum((1, 2)) / wall.sum((1, 2)).clamp(min=1)
    use = ((share > 0.04) & (seen > 0.012)).float()
    use = use / use.mean().clamp(min=0.25)
    weight = torch.tensor(CLASS_WEIGHT, device=logits.device).view(1, -1, 1, 1)
    log_p = torch.log_softmax(logits[:, :CLASS_COUNT], 1)
    entropy = -(classes * weight * log_p).sum(1).mean((1, 2))
    p = log_p.exp()
    u = use[:, None]
    meet = ((p * classes).sum((2, 3)) * u).sum(0)
    total = ((p.sum((2, 3)) + classes.sum((2, 3))) * u).sum(0)
    dice = (1 - (2 * meet[1:] + 50) / (total[1:] + 50)).mean()
    in_wall = nnf.binary_cross_entropy_with_logits(logits[:, CLASS_COUNT], wall, reduction="none").mean(
        (1, 2)
    )
    pw = torch.sigmoid(logits[:, CLASS_COUNT])
    wall_dice = 1 - (2 * (pw * wall).sum((1, 2)) + 50) / (pw.sum((1, 2)) + wall.sum((1, 2)) + 50)
    seam = nnf.binary_cross_entropy_with_logits(
        logits[:, CLASS_COUNT + 1],
        joint,
        reduction="none",
        pos_weight=torch.tensor(3.0, device=logits.device),
    ).mean((1, 2))
    loss = (use * (entropy + 0.5 * in_wall + 0.3 * wall_dice + 0.5 * seam)).mean() + 0.5 * dice
    return loss, torch.stack([entropy.mean(), dice, in_wall.mean(), wall_dice.mean(), seam.mean()]).detach()


def rate(done: float, peak: float) -> float:
    return peak * min(1.0, done / 0.04 + 0.02) * (0.5 + 0.5 * math.cos(math.pi * min(1.0, done))) + 1e-6


def options() -> argparse.Namespace:
    a = argparse.ArgumentParser()
    a.add_argument("--out", type=Path, required=True)
    a.add_argument("--seconds", type=float, default=300)
    a.add_argument(
        "--span", type=float, nargs=2, default=(0.0, 1.0), help="part of the run done by this call"
    )
    a.add_argument("--seed", type=int, default=1)
    a.add_argument("--resume", type=Path)
    a.add_argument("--peak", type=float, default=2e-3)
    a.add_argument("--batch", type=int, default=32, help="per GPU")
    a.add_argument("--group", type=int, default=12)
    a.add_argument("--reuse", type=float, default=3.0)
    a.add_argument("--average", type=float, default=0.998)
    a.add_argument("--workers", type=int, default=14, help="processes that draw scenes, per GPU")
    return a.parse_args()


def main() -> None:
    o = options()
    o.out.mkdir(parents=True, exist_ok=True)
    count = max(1, torch.cuda.device_count())
    begin = time.time()
    if count == 1:
        train(0, 1, o, begin)
    else:
        (o.out / "meeting").unlink(missing_ok=True)
        torch.multiprocessing.spawn(train, (count, o, begin), nprocs=count)  # type: ignore[no-untyped-call, unused-ignore]


def train(rank: int, ranks: int, o: argparse.Namespace, begin: float) -> None:
    """Train on GPU ``rank`` of ``ranks`` (or on the CPU)."""
    device = torch.device("cuda", rank) if torch.cuda.is_available() else torch.device("cpu")
    if ranks > 1:
        torch.cuda.set_device(device)
        meeting = (o.out / "meeting").absolute().as_uri()
        dist.init_process_group("nccl", init_method=meeting, rank=rank, world_size=ranks, device_id=device)
    torch.manual_seed(o.seed)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    atlas_seed = o.seed + 100 * rank
    g = torch.Generator(device).manual_seed(atlas_seed)
    r = random.Random(atlas_seed)
    net = FrontFaceNet()
    kept = torch.load(o.resume, map_location="cpu", weights_only=True) if o.resume else {}
    if kept:
        given = kept["now"] if "now" in kept and o.span[0] > 0 else kept["average"]
        take_over(net, given)
    net = net.to(device, memory_format=torch.channels_last)
    average = copy.deepcopy(net).eval()
    if kept:
        take_over(average, kept["average"])
    decay = [p for p in net.parameters() if p.ndim > 1]
    plain = [p for p in net.parameters() if p.ndim <= 1]
    optimiser = torch.optim.AdamW(
        [{"params": decay, "weight_decay": 0.02}, {"params": plain, "weight_decay": 0.0}], lr=1e-4
    )
    if kept and o.span[0] > 0:
        moments = torch.load(o.resume.with_name("optimiser.pt"), map_location="cpu", weights_only=True)
        optimiser.load_state_dict(moments)
    step, drawn = (kept["step"], kept["drawn"]) if kept and o.span[0] > 0 else (0, 0)
    loader = iter(
        DataLoader(
            Scenes(o.seed, o.group, rank),
            batch_size=None,
            num_workers=o.workers,
            prefetch_factor=4 if o.workers else None,
        )
    )
    atlas = torch.from_numpy(make_atlas(atlas_seed)).to(device)
    pools: list[list[tuple[torch.Tensor, torch.Tensor]]] = [[] for _ in SHAPES]
    limits = [max(8, int(700 * 384 * 512 / (h * w))) for h, w in SHAPES]
    credit = [0.0] * len(SHAPES)
    tick, last_save, waited = time.time(), time.time(), 0.0
    sums, summed = torch.zeros(len(PARTS), device=device), 0
    if rank == 0:
        print(f"ready after {time.time() - begin:.1f} s", flush=True)

    def save() -> None:
        if rank == 0:
            state = {"average": average.state_dict(), "now": net.state_dict(), "step": step, "drawn": drawn}
            for name, kept_now in (("checkpoint", state), ("optimiser", optimiser.state_dict())):
                torch.save(kept_now, o.out / f"{name}.tmp")
                (o.out / f"{name}.tmp").replace(o.out / f"{name}.pt")

    while True:
        part = torch.tensor([(time.time() - begin) / o.seconds], device=device)
        if ranks > 1:  # one clock for all
            dist.broadcast(part, 0)
        if float(part) >= 1:
            break
        done = o.span[0] + (o.span[1] - o.span[0]) * float(part)
        for group in optimiser.param_groups:
            group["lr"] = rate(done, o.peak)
        t0 = time.time()
        k, arrays = next(loader)
        waited += time.time() - t0
        made = draw(arrays, atlas, SHAPES[k], g)
        n = made["colour"].shape[0]
        drawn += n * ranks
        for i in range(n):
            item = (made["colour"][i].clone(), made["truth"][i].clone())
            if len(pools[k]) < limits[k]:
                pools[k].append(item)
            else:
                pools[k][r.randrange(limits[k])] = item
        credit[k] += n * o.reuse
        size = max(4, o.batch * 384 * 512 // (SHAPES[k][0] * SHAPES[k][1]))
        while credit[k] >= size and len(pools[k]) >= min(limits[k], 2 * size):
            credit[k] -= size
            picked = r.sample(pools[k], size)
            colour = torch.stack([c for c, _ in picked]).float()
            truth = torch.stack([t for _, t in picked])
            if r.random() < 0.5:
                colour, truth = colour.flip(3), truth.flip(3)
            with torch.no_grad():
                image = develop(colour, g).contiguous(memory_format=torch.channels_last)
            with torch.autocast(device.type, torch.bfloat16):
                logits = net(image)
            loss, parts = loss_of(logits, truth)
            optimiser.zero_grad(set_to_none=True)
            loss.backward()
            if ranks > 1:
                share_gradients(net, ranks)
            torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
            optimiser.step()
            step += 1
            beta = min(o.average, (1 + step) / (20 + step))
            blend(average, net, 1 - beta)
            sums, summed = sums + parts, summed + 1
            if step % 100 == 0 and rank == 0:
                means = {n: round(float(v), 4) for n, v in zip(PARTS, sums / summed, strict=True)}
                print(
                    step,
                    f"{time.time() - begin:.0f}s drawn {drawn} wait {waited:.0f}",
                    f"100 steps {time.time() - tick:.1f}s",
                    means,
                    flush=True,
                )
                sums, summed, tick = torch.zeros_like(sums), 0, time.time()
        if time.time() - last_save > 45:
            save()
            last_save = time.time()
    save()
    if rank == 0:
        sheet(average, atlas, o.out / "sheet.jpg", device)
    if ranks > 1:
        dist.destroy_process_group()


def share_gradients(net: FrontFaceNet, ranks: int) -> None:
    """Average the gradients over all GPUs."""
    grads = [p.grad for p in net.parameters() if p.grad is not None]
    flat = torch.cat([grad.reshape(-1) for grad in grads])
    dist.all_reduce(flat)
    flat /= ranks
    views = flat.split([grad.numel() for grad in grads])
    torch._foreach_copy_(grads, [view.view_as(grad) for view, grad in zip(views, grads, strict=True)])


@torch.no_grad()
def blend(average: nn.Module, net: nn.Module, share: float) -> None:
    """Move the averaged weights towards the present ones; batch-norm statistics too."""
    pairs = list(zip(average.state_dict().values(), net.state_dict().values(), strict=True))
    floats = [(a, b) for a, b in pairs if a.dtype.is_floating_point]
    torch._foreach_lerp_([a for a, _ in floats], [b for _, b in floats], share)
    for a, b in pairs:
        if not a.dtype.is_floating_point:
            a.copy_(b)


def sheet(net: FrontFaceNet, atlas: torch.Tensor, target: Path, device: torch.device) -> None:
    """Unseen scenes: pictures, truth and prediction, and the overlap per class."""
    import cv2

    g = torch.Generator(device).manual_seed(99)
    palette = torch.tensor(
        [[0, 0, 0], [60, 220, 60], [220, 160, 40], [60, 60, 230], [200, 60, 200]], device=device
    ).float()
    meet, union, rows = (
        torch.zeros(CLASS_COUNT + 2, device=device),
        torch.zeros(CLASS_COUNT + 2, device=device),
        [],
    )
    net.eval()
    for start in range(0, 192, 8):
        made = [sample_arrays(10**9 + start + i, 4 / 3, MAX_BOXES) for i in range(8)]
        o = draw({n: np.stack([m[n] for m in made]) for n in made[0]}, atlas, (384, 512), g)
        with torch.no_grad():
            image = develop(o["colour"].float(), g)
            logits = net(image)
        truth = o["truth"].float() / 255
        p = torch.cat(
            [
                nnf.one_hot(logits[:, :CLASS_COUNT].argmax(1), CLASS_COUNT).permute(0, 3, 1, 2).float(),
                (logits[:, CLASS_COUNT:] > 0).float(),
            ],
            1,
        )
        t = (truth > 0.5).float()
        meet += (p * t).sum((0, 2, 3))
        union += ((p + t) > 0).float().sum((0, 2, 3))
        if start >= 48:
            continue
        views = [image.flip(1).permute(0, 2, 3, 1) * 255]
        for q in (t, p):
            view = torch.einsum("bchw,cd->bhwd", q[:, :CLASS_COUNT], palette)
            view[..., 2] = torch.maximum(view[..., 2], 70 * q[:, CLASS_COUNT])
            views.append(view)
        block = torch.cat(views, 1).permute(1, 0, 2, 3).reshape(3 * 384, 8 * 512, 3)
        rows.append(
            cv2.resize(
                block.cpu().numpy().clip(0, 255).astype(np.uint8),
                None,
                fx=0.5,
                fy=0.5,
                interpolation=cv2.INTER_AREA,
            )
        )
    print(
        "overlap per class, of the wall and of the joints:",
        [round(float(x), 3) for x in meet / union.clamp(min=1)],
        flush=True,
    )
    cv2.imwrite(str(target), np.vstack(rows), [cv2.IMWRITE_JPEG_QUALITY, 85])


if __name__ == "__main__":
    main()
