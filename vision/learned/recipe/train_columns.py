"""Train the column network on walls that ``read_scenes`` has read.

``python -m vision.learned.recipe.train_columns WALLS --out FOLDER --seconds 500``
"""

from __future__ import annotations

import argparse
import copy
import math
import time
import zipfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import torch
from torch.nn import functional as nnf

from .column_network import BANDS, CHANNELS, OUTPUTS, SLIM, WIDE, ColumnNet
from .train import blend

WINDOW = 512
MOST_FACES = 64
EDGE_SIGMA = 0.8  # columns
EDGE_WEIGHT, EDGE_POSITIVE = 1.0, 3.0
X, MAPS, VOTES, SEEN, COLOUR = 11, slice(0, 6), 6, 7, slice(8, 11)


def read_shard(path: Path) -> list[tuple[np.ndarray, np.ndarray]]:
    """Bands and faces of every wall in one file; none of a file that was cut off while being written."""
    try:
        with np.load(path) as z:
            return [(z[f"{i}_bands"], z[f"{i}_faces"]) for i in range(len(z.files) // 2)]
    except (zipfile.BadZipFile, EOFError, ValueError, OSError) as fault:
        print("left out:", path.name, fault, flush=True)
        return []


class Walls:
    """All walls side by side on the GPU."""

    def __init__(self, walls: list[tuple[np.ndarray, np.ndarray]], device: torch.device) -> None:
        gap = WINDOW  # nothing lies between two walls
        widths = [w.shape[2] for w, _ in walls]
        starts = np.cumsum([gap] + [n + gap for n in widths])[:-1]
        total = int(starts[-1] + widths[-1] + 2 * gap)
        self.bands = torch.zeros((CHANNELS, BANDS, total), dtype=torch.uint8, device=device)
        faces = np.full((len(walls), MOST_FACES, 3), -1e4, np.float32)
        for k, ((bands, truth), at) in enumerate(zip(walls, starts, strict=True)):
            self.bands[:, :, at : at + bands.shape[2]] = torch.from_numpy(bands).to(device)
            n = min(len(truth), MOST_FACES)
            faces[k, :n] = truth[:n][:, [0, 1, 4]]
        self.faces = torch.from_numpy(faces).to(device)
        self.starts = torch.from_numpy(starts).to(device)
        self.widths = torch.tensor(widths, device=device)

    def windows(self, which: torch.Tensor, at: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        """Bands (N, C, B, WINDOW) 0..1 and targets (N, OUTPUTS, WINDOW), from column ``at`` of each wall."""
        first = self.starts[which] + at
        column = first[:, None] + torch.arange(WINDOW, device=first.device)
        bands = self.bands[:, :, column].permute(2, 0, 1, 3).float() / 255
        c = torch.arange(WINDOW, device=first.device)[None, :, None] + 0.5
        faces = self.faces[which] - torch.stack([at, at, at * 0], 1)[:, None, :].float()
        left, right, full = faces[:, None, :, 0], faces[:, None, :, 1], self.faces[which][:, None, :, 2] > 0.5
        inside = (torch.minimum(c + 0.5, right) - torch.maximum(c - 0.5, left)).clamp(0, 1)
        targets = [(inside * full).amax(2), (inside * ~full).amax(2)]
        for edge in (left, right):
            targets.append(torch.exp(-0.5 * ((c - edge) / EDGE_SIGMA) ** 2).amax(2))
        return bands, torch.stack(targets, 1)


def disturb(x: torch.Tensor, y: torch.Tensor, harder: float) -> tuple[torch.Tensor, torch.Tensor]:
    """Mirror, shift and stretch upright, hide parts, change gains: what differs between drawn and real."""
    n, dev = len(x), x.device

    def rand(*shape: int) -> torch.Tensor:
        return torch.rand(shape, device=dev)

    def gate(share: float, *shape: int) -> torch.Tensor:
        return (rand(*shape) < share).float()

    if float(torch.rand(())) < 0.5:
        x, y = x.flip(3), y.flip(2)[:, [0, 1, 3, 2]]
        x[:, X] = 1 - x[:, X]
    # upright: bands taken from a slightly other span
    stretch, shift = 1 + 0.04 * torch.randn((n, 1), device=dev), 0.6 * torch.randn((n, 1), device=dev)
    at = ((torch.arange(BANDS, device=dev) - BANDS / 2 + 0.5) * stretch + BANDS / 2 - 0.5 + shift).clamp(
        0, BANDS - 1
    )
    mix = (1 - (at[:, :, None] - torch.arange(BANDS, device=dev)).abs()).clamp(min=0)
    x = torch.einsum("nij,ncjw->nciw", mix, x)
    seen = x[:, SEEN : SEEN + 1]
    # the labels less sure, or hidden by something
    power = torch.exp(harder * 0.5 * torch.randn((n, 6, 1, 1), device=dev) * gate(0.6, n, 1, 1, 1))
    gain = 1 - harder * 0.5 * rand(n, 6, 1, 1) * gate(0.3, n, 1, 1, 1)
    maps = x[:, MAPS].clamp(min=1e-4) ** power * gain
    for _ in range(2):
        lo, wide = rand(n, 1, 1) * WINDOW, 10 + 120 * rand(n, 1, 1) ** 2
        top, tall = rand(n, 1, 1) * BANDS, 2 + 16 * rand(n, 1, 1)
        c, b = torch.arange(WINDOW, device=dev)[None, None], torch.arange(BANDS, device=dev)[None, :, None]
        spot = ((c > lo) & (c < lo + wide) & (b > top) & (b < top + tall)).float()[:, None]
        maps = maps * (1 - spot * gate(0.35 * harder, n, 1, 1, 1) * (1 - 0.3 * rand(n, 1, 1, 1)))
    noise = nnf.interpolate(torch.randn((n, 6, BANDS, WINDOW // 4), device=dev), scale_factor=(1, 4))
    maps = maps + noise * 0.12 * harder * gate(0.4, n, 1, 1, 1) * rand(n, 1, 1, 1)
    colour = (
        (x[:, COLOUR] - 0.5) * (0.6 + 0.8 * rand(n, 3, 1, 1))
        + 0.5
        + 0.12 * torch.randn((n, 3, 1, 1), device=dev)
    )
    votes = x[:, VOTES : VOTES + 1] * (0.6 + 0.4 * rand(n, 1, 1, 1))
    out = torch.cat([maps, votes, seen, colour, x[:, X : X + 1]], 1).clamp(0, 1) * (seen > 0.5)
    return torch.cat([out[:, :X], x[:, X : X + 1]], 1), y


def loss_of(logits: torch.Tensor, y: torch.Tensor, seen: torch.Tensor) -> torch.Tensor:
    """Cross-entropy per output (OUTPUTS,), columns weighed by how much of them the photo shows."""
    positive = torch.tensor([1.0, 1.0, EDGE_POSITIVE, EDGE_POSITIVE], device=y.device)[:, None]
    each = nnf.binary_cross_entropy_with_logits(logits, y, reduction="none", pos_weight=positive)
    weight = (seen / 0.5).clamp(0, 1)[:, None]
    return (each * weight).sum((0, 2)) / weight.sum().clamp(min=1)


def main() -> None:
    a = argparse.ArgumentParser()
    a.add_argument("walls", type=Path)
    a.add_argument("--out", type=Path, required=True)
    a.add_argument("--seconds", type=float, default=500)
    a.add_argument("--seed", type=int, default=1)
    a.add_argument("--gpu", type=int, default=0)
    a.add_argument("--batch", type=int, default=128)
    a.add_argument("--peak", type=float, default=2e-3)
    a.add_argument("--harder", type=float, default=1.0)
    a.add_argument("--no-colour", action="store_true")
    a.add_argument("--wide", action="store_true")
    o = a.parse_args()
    begin = time.time()
    o.out.mkdir(parents=True, exist_ok=True)
    torch.manual_seed(o.seed)
    cuda = torch.cuda.is_available()
    device = torch.device("cuda", o.gpu) if cuda else torch.device("cpu")
    paths = sorted(o.walls.glob("walls_*.npz"))
    with ProcessPoolExecutor(15 if cuda else 2) as pool:
        walls = [w for shard in pool.map(read_shard, paths, chunksize=4) for w in shard if len(w[1])]
    held = max(1, len(walls) // 40)
    unseen, learned = Walls(walls[:held], device), Walls(walls[held:], device)
    print(
        f"{len(walls)} walls, {sum(len(f) for _, f in walls)} faces after {time.time() - begin:.0f} s",
        flush=True,
    )
    del walls
    net = ColumnNet(*(WIDE if o.wide else SLIM))
    print("parameters", sum(p.numel() for p in net.parameters()), flush=True)
    net = net.to(device)
    average = copy.deepcopy(net).eval()
    optimiser = torch.optim.AdamW(net.parameters(), lr=1e-4, weight_decay=0.02)
    step, sums, tick, least = 0, torch.zeros(OUTPUTS, device=device), time.time(), math.inf

    def pick(of: Walls, n: int) -> tuple[torch.Tensor, torch.Tensor]:
        which = torch.randint(0, len(of.widths), (n,), device=device)
        room = (of.widths[which] - WINDOW).float()
        low, high = room.clamp(max=0) - 40, room.clamp(min=0) + 40
        at = (low + (high - low) * torch.rand(n, device=device)).long()
        return of.windows(which, at)

    torch.manual_seed(1)
    check = [pick(unseen, 64) for _ in range(6)]
    torch.manual_seed(o.seed)
    while (done := (time.time() - begin) / o.seconds) < 1:
        for group in optimiser.param_groups:
            group["lr"] = (
                o.peak * min(1.0, done / 0.04 + 0.02) * (0.5 + 0.5 * math.cos(math.pi * done)) + 1e-6
            )
        with torch.no_grad():
            x, y = disturb(*pick(learned, o.batch), o.harder)
            if o.no_colour:
                x[:, COLOUR] = 0.5
        with torch.autocast(device.type, torch.bfloat16, enabled=cuda):
            logits = net(x)[:, :, 0]
        parts = loss_of(logits.float(), y, x[:, SEEN].mean(1))
        loss = parts[0] + 0.5 * parts[1] + EDGE_WEIGHT * (parts[2] + parts[3])
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        optimiser.step()
        step += 1
        sums += parts.detach()
        blend(average, net, 1 - min(0.999, (1 + step) / (20 + step)))
        if step % 500 == 0 or not cuda:
            with torch.no_grad():
                out = []
                for cx, cy in check:
                    cx = cx.clone()
                    if o.no_colour:
                        cx[:, COLOUR] = 0.5
                    out.append(loss_of(average(cx)[:, :, 0], cy, cx[:, SEEN].mean(1)))
            means = torch.stack(out).mean(0)
            print(
                step,
                f"{time.time() - begin:.0f}s, {1000 * (time.time() - tick) / 500:.1f} ms a step; learned",
                [round(float(v) / 500, 4) for v in sums],
                "unseen",
                [round(float(v), 4) for v in means],
                flush=True,
            )
            sums.zero_()
            tick = time.time()
            if float(means.sum()) < least:  # the walls are few: from some step on they are learned by heart
                least = float(means.sum())
                torch.save({"average": average.state_dict(), "step": step}, o.out / "columns.pt")


if __name__ == "__main__":
    main()
