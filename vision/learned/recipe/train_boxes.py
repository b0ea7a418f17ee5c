"""Train the strip network on walls with electrical boxes, drawn and photographed while it runs.

``python -m vision.learned.recipe.train_boxes --out FOLDER --seconds 550``

The first GPU draws and learns, every other one draws for it. With ``--resume FOLDER/boxes.pt --span A B`` a
call does the part A..B of a run that several calls share.
"""

from __future__ import annotations

import argparse
import copy
import math
import queue
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch.nn import functional as nnf
from torch.utils.data import DataLoader

from .strip_network import COLUMNS, PER_IN, STEP, StripNet
from .textures import make_atlas
from .train import blend
from .wired_strips import MOST_TRUE, ROWS, Strips, WiredScenes, photographed

WINDOW = 320  # rows that are learned from at a time
SEEN, HARDLY_SEEN = 0.55, 0.15  # share of a rim: half hidden boxes teach neither way
POOL, LEAST_FILLED = 40000, 4000  # few strips are soon learned by heart
HELD = 2000  # strips that are not learned from
ON_A_BOX = 0.6  # of the windows of strips that have one
SIDES_WEIGHT = 0.5
THRESHOLDS = (0.2, 0.3, 0.4, 0.5, 0.6)


class Pool:
    """The latest strips, on the GPU."""

    def __init__(self, size: int, device: torch.device) -> None:
        self.parts: Strips = (
            torch.zeros((size, 3, ROWS, COLUMNS), dtype=torch.uint8, device=device),
            torch.zeros((size, MOST_TRUE, 4), device=device),
            torch.zeros((size, MOST_TRUE), device=device),
        )
        self.size, self.place, self.filled = size, 0, 0

    def add(self, made: Strips) -> None:
        n = len(made[0])
        at = (self.place + torch.arange(n, device=made[0].device)) % self.size
        for target, new in zip(self.parts, made, strict=True):
            target[at] = new
        self.place, self.filled = (self.place + n) % self.size, min(self.size, self.filled + n)

    def pick(self, n: int) -> Strips:
        """Windows at random, many of them where a box is."""
        device = self.parts[0].device
        which = torch.randint(0, self.filled, (n,), device=device)
        truth, seen = self.parts[1][which], self.parts[2][which]
        real = (truth[..., 3] > 0) & (seen > SEEN)
        middle = torch.where(real, truth[..., 0], torch.full_like(seen, -1)).amax(1)
        about = ((middle - torch.rand_like(middle) * WINDOW / PER_IN) * PER_IN).long().clamp(0, ROWS - WINDOW)
        anywhere = torch.randint(0, ROWS - WINDOW, (n,), device=device)
        on_one = real.any(1) & (torch.rand(n, device=device) < ON_A_BOX)
        return windows(self.parts, which, torch.where(on_one, about, anywhere))


def windows(pool: Strips, which: torch.Tensor, first: torch.Tensor) -> Strips:
    """WINDOW rows of each strip from ``first`` (N,) on, their truth and how well it is seen."""
    strips, truth, seen = (each[which] for each in pool)
    rows = first[:, None] + torch.arange(WINDOW, device=first.device)
    x = strips.gather(2, rows[:, None, :, None].expand(-1, 3, -1, COLUMNS))
    truth = truth.clone()
    truth[..., 0] -= (first / PER_IN)[:, None]
    return x.float() / 255, truth, seen


def disturb(x: torch.Tensor) -> torch.Tensor:
    """Other gains and tones, a blur: what differs between drawn and real."""
    n, dev = len(x), x.device
    gain = 1 + 0.12 * torch.randn((n, 3, 1, 1), device=dev)
    mean = x.mean((1, 2, 3), keepdim=True)
    x = (
        (x - mean) * (0.7 + 0.7 * torch.rand((n, 1, 1, 1), device=dev))
        + mean
        + 0.08 * torch.randn((n, 1, 1, 1), device=dev)
    )
    x = (x * gain).clamp(0.002, 1) ** torch.exp(0.2 * torch.randn((n, 1, 1, 1), device=dev))
    soft = nnf.avg_pool2d(nnf.pad(x, (1, 1, 1, 1), mode="replicate"), 3, 1)
    share = torch.rand((n, 1, 1, 1), device=dev) * (torch.rand((n, 1, 1, 1), device=dev) < 0.3)
    x = x + (soft - x) * share
    return (x + 0.02 * torch.rand((n, 1, 1, 1), device=dev) * torch.randn_like(x)).clamp(0, 1)


def loss_of(answer: torch.Tensor, truth: torch.Tensor, seen: torch.Tensor) -> torch.Tensor:
    """Focal loss of the middles and absolute errors of the sides (2,) (Zhou et al. 2019, CenterNet)."""
    logits, sides = answer[:, 0], answer[:, 1:]
    cell = STEP / PER_IN
    at = (torch.arange(logits.shape[1], device=logits.device) + 0.5) * cell
    off = truth[:, :, :1] - at  # N, MOST_TRUE, cells
    real = (truth[:, :, 3:] > 0) & (seen[..., None] > HARDLY_SEEN)
    plain = real & (seen[..., None] > SEEN)
    heat = (torch.exp(-0.5 * (off / (1.2 * cell)) ** 2) * plain).amax(1)
    hot = ((off.abs() <= 0.5 * cell + 1e-4) & plain).any(1)
    skip = ((off.abs() < 4.0) & real & ~plain).any(1) & ~hot
    p = torch.sigmoid(logits).clamp(1e-5, 1 - 1e-5)
    positive = -torch.log(p) * (1 - p) ** 2 * hot
    negative = -torch.log(1 - p) * p**2 * (1 - heat) ** 4 * ~hot * ~skip
    count = hot.sum().clamp(min=1)
    near = (off.abs() < 1.6 * cell) & plain
    want = torch.stack([off, *(truth[:, :, k : k + 1].expand_as(off) for k in (1, 2, 3))], 2)
    wrong = (sides[:, None] - want).abs().clamp(max=4) * near[:, :, None]
    return torch.stack([(positive + negative).sum() / count, wrong.sum() / near.sum().clamp(min=1)])


@torch.no_grad()
def counts(net: StripNet, pool: Strips) -> list[str]:
    """How many boxes of unseen strips are found at some thresholds, how many more are claimed, the error."""
    strips, truth, seen = pool
    answer = torch.cat([net(part.float() / 255)[..., 0] for part in strips.split(64)])
    cell = STEP / PER_IN
    at = (torch.arange(answer.shape[2], device=answer.device) + 0.5) * cell
    heat = torch.sigmoid(answer[:, 0])
    peak = heat * (heat == nnf.max_pool1d(heat[:, None], 9, 1, 4)[:, 0])
    real = (truth[..., 3] > 0) & (seen > SEEN)
    maybe = (truth[..., 3] > 0) & (seen > HARDLY_SEEN)
    out = []
    for least in THRESHOLDS:
        said = peak > least
        middle = at + answer[:, 1]
        apart = (middle[:, None] - truth[..., :1]).abs()
        hit = ((apart < 1.25) & said[:, None]).any(2) & real
        false = said & ~(((apart < 2.5) & maybe[..., None]).any(1))
        out.append(f"{least}: {int(hit.sum())}/{int(real.sum())} +{int(false.sum())}")
    return out


def scenes(o: argparse.Namespace, rank: int) -> Iterator[tuple[int, dict[str, np.ndarray]]]:
    """What GPU ``rank`` is to draw, sampled by processes beside it."""
    sets = WiredScenes(o.seed + 1000 * rank, o.group)
    ahead = 4 if o.workers else None
    return iter(DataLoader(sets, batch_size=None, num_workers=o.workers, prefetch_factor=ahead))


def draw_for(rank: int, o: argparse.Namespace, sent: Any, begin: float) -> None:
    """Draw on GPU ``rank`` and send strips until the time is up."""
    device = torch.device("cuda", rank)
    torch.cuda.set_device(device)
    g = torch.Generator(device).manual_seed(o.seed + 100 * rank)
    atlas = torch.from_numpy(make_atlas(o.seed + 100 * rank)).to(device)
    stream = scenes(o, rank)
    while time.time() - begin < o.seconds - 3:
        made = photographed(*next(stream), atlas, g)
        try:
            sent.put(tuple(part.cpu().numpy() for part in made), timeout=5)
        except queue.Full:
            continue


def arrived(sent: Any, device: torch.device) -> list[Strips]:
    """What other GPUs have drawn by now."""
    out: list[Strips] = []
    while True:
        try:
            strips, truth, seen = (torch.from_numpy(part).to(device) for part in sent.get_nowait())
        except queue.Empty:
            return out
        out.append((strips, truth, seen))


def options() -> argparse.Namespace:
    a = argparse.ArgumentParser()
    a.add_argument("--out", type=Path, required=True)
    a.add_argument("--seconds", type=float, default=500)
    a.add_argument("--seed", type=int, default=1)
    a.add_argument("--group", type=int, default=2, help="scenes drawn together")
    a.add_argument("--workers", type=int, default=14, help="sampling processes, per GPU")
    a.add_argument("--batch", type=int, default=256)
    a.add_argument("--reuse", type=float, default=14, help="how often a strip is learned from")
    a.add_argument("--peak", type=float, default=2e-3)
    a.add_argument("--span", type=float, nargs=2, default=(0.0, 1.0))
    a.add_argument("--resume", type=Path)
    return a.parse_args()


def main() -> None:
    o, begin = options(), time.time()
    o.out.mkdir(parents=True, exist_ok=True)
    torch.manual_seed(o.seed)
    cuda = torch.cuda.is_available()
    device = torch.device("cuda" if cuda else "cpu")
    # Without a GPU the run only shows that all parts work: small pictures, few strips.
    shrink, least, held_back, report = (1, LEAST_FILLED, HELD, 500) if cuda else (4, 16, 16, 2)
    g = torch.Generator(device).manual_seed(o.seed)
    net = StripNet().to(device)
    kept = torch.load(o.resume, map_location="cpu", weights_only=True) if o.resume else None
    if kept:
        net.load_state_dict(kept["now"])
    average = copy.deepcopy(net).eval()
    if kept:
        average.load_state_dict(kept["average"])
    optimiser = torch.optim.AdamW(net.parameters(), lr=1e-4, weight_decay=0.02)
    context = torch.multiprocessing.get_context("spawn")
    sent: Any = context.Queue(maxsize=64)
    helpers = [
        context.Process(target=draw_for, args=(k, o, sent, begin))
        for k in range(1, torch.cuda.device_count())
    ]
    for helper in helpers:
        helper.start()
    stream = scenes(o, 0)
    atlas = torch.from_numpy(make_atlas(o.seed)).to(device)
    unseen: list[Strips] = []
    pool = Pool(POOL if cuda else 64, device)
    step = drawn = 0
    credit, sums = 0.0, torch.zeros(2, device=device)

    def save() -> None:
        state = {"average": average.state_dict(), "now": net.state_dict(), "step": step, "drawn": drawn}
        torch.save(state, o.out / "boxes.pt")

    while (part := (time.time() - begin) / o.seconds) < 1:
        done = o.span[0] + (o.span[1] - o.span[0]) * part
        rate = o.peak * min(1.0, done / 0.03 + 0.02) * (0.5 + 0.5 * math.cos(math.pi * done)) + 1e-6
        for group in optimiser.param_groups:
            group["lr"] = rate
        for made in [photographed(*next(stream), atlas, g, shrink), *arrived(sent, device)]:
            drawn += o.group
            if sum(len(each[0]) for each in unseen) < held_back:
                unseen.append(made)
            else:
                pool.add(made)
                credit += len(made[0]) * o.reuse
        if pool.filled < least:
            credit = 0.0
        while credit >= o.batch:
            credit -= o.batch
            x, truth, seen = pool.pick(o.batch)
            with torch.autocast(device.type, torch.bfloat16, enabled=cuda):
                answer = net(disturb(x))[..., 0]
            parts = loss_of(answer.float(), truth, seen)
            optimiser.zero_grad(set_to_none=True)
            (parts[0] + SIDES_WEIGHT * parts[1]).backward()
            torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
            optimiser.step()
            step += 1
            sums += parts.detach()
            blend(average, net, 1 - min(0.999, (1 + step) / (20 + step)))
            if step % report == 0:
                strips, held_truth, held_seen = (torch.cat(each) for each in zip(*unseen, strict=True))
                print(
                    step,
                    f"{time.time() - begin:.0f} s, drawn {drawn}, pool {pool.filled}, losses",
                    [round(float(v) / report, 3) for v in sums],
                    "unseen",
                    counts(average, (strips, held_truth, held_seen)),
                    flush=True,
                )
                sums.zero_()
                save()
    save()
    for helper in helpers:
        helper.terminate()


if __name__ == "__main__":
    main()
