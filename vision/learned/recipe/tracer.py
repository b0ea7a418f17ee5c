"""Nearest hit of many rays with oriented boxes: a Triton kernel and a plain twin."""

from __future__ import annotations

import torch

try:
    import triton  # type: ignore[import-not-found]
    import triton.language as tl  # type: ignore[import-not-found]
except ImportError:  # a machine without a GPU: the torch twin serves
    triton = None

FAR = 1.0e6


def nearest(
    origin: torch.Tensor, direction: torch.Tensor, boxes: torch.Tensor, count: torch.Tensor
) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
    """Return (t, box index or -1, face 0..5 = 2 axis + (1 if the positive side)).

    ``origin`` and ``direction`` are (B, 3, P), ``boxes`` (B, N, 15), ``count`` (B,).
    Slab test in each box's own frame (Kay & Kajiya 1986).
    """
    if triton is not None and origin.is_cuda:
        return _nearest_gpu(origin, direction, boxes, count)
    return _nearest_plain(origin, direction, boxes, count)


def _nearest_plain(
    origin: torch.Tensor, direction: torch.Tensor, boxes: torch.Tensor, count: torch.Tensor
) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
    b, _, p = origin.shape
    best = torch.full((b, p), FAR, device=origin.device)
    index = torch.full((b, p), -1, dtype=torch.int32, device=origin.device)
    face = torch.zeros((b, p), dtype=torch.int32, device=origin.device)
    for i in range(b):
        for n in range(int(count[i])):
            row = boxes[i, n]
            rotation, half = row[3:12].view(3, 3), row[12:15, None]
            o = rotation @ (origin[i] - row[:3, None])
            d = rotation @ direction[i]
            d = torch.where(d.abs() < 1e-9, torch.full_like(d, 1e-9), d)
            near_t, far_t = (-half * d.sign() - o) / d, (half * d.sign() - o) / d
            enter, axis = near_t.max(0)
            hit = (enter < far_t.amin(0)) & (enter > 1e-3) & (enter < best[i])
            best[i] = torch.where(hit, enter, best[i])
            index[i] = torch.where(hit, n, index[i])
            positive = (d.gather(0, axis[None])[0] < 0).int()
            face[i] = torch.where(hit, (axis * 2).int() + positive, face[i])
    return best, index, face


if triton is not None:

    @triton.jit
    def _kernel(o_ptr, d_ptr, box_ptr, count_ptr, t_ptr, i_ptr, f_ptr, P, N, BLOCK: tl.constexpr):  # type: ignore[no-untyped-def]
        image = tl.program_id(1)
        p = tl.program_id(0) * BLOCK + tl.arange(0, BLOCK)
        inside = p < P
        base = image.to(tl.int64) * 3 * P
        ox = tl.load(o_ptr + base + p, mask=inside, other=0.0)
        oy = tl.load(o_ptr + base + P + p, mask=inside, other=0.0)
        oz = tl.load(o_ptr + base + 2 * P + p, mask=inside, other=0.0)
        dx = tl.load(d_ptr + base + p, mask=inside, other=1.0)
        dy = tl.load(d_ptr + base + P + p, mask=inside, other=1.0)
        dz = tl.load(d_ptr + base + 2 * P + p, mask=inside, other=1.0)
        best = tl.full((BLOCK,), 1.0e6, tl.float32)
        index = tl.full((BLOCK,), -1, tl.int32)
        face = tl.zeros((BLOCK,), tl.int32)
        count = tl.load(count_ptr + image)
        for n in range(count):
            q = box_ptr + (image * N + n) * 15
            rx = ox - tl.load(q)
            ry = oy - tl.load(q + 1)
            rz = oz - tl.load(q + 2)
            a, b, c = tl.load(q + 3), tl.load(q + 4), tl.load(q + 5)
            lx, vx = a * rx + b * ry + c * rz, a * dx + b * dy + c * dz
            a, b, c = tl.load(q + 6), tl.load(q + 7), tl.load(q + 8)
            ly, vy = a * rx + b * ry + c * rz, a * dx + b * dy + c * dz
            a, b, c = tl.load(q + 9), tl.load(q + 10), tl.load(q + 11)
            lz, vz = a * rx + b * ry + c * rz, a * dx + b * dy + c * dz
            vx = tl.where(tl.abs(vx) < 1e-9, 1e-9, vx)
            vy = tl.where(tl.abs(vy) < 1e-9, 1e-9, vy)
            vz = tl.where(tl.abs(vz) < 1e-9, 1e-9, vz)
            ix, iy, iz = 1.0 / vx, 1.0 / vy, 1.0 / vz
            hx = tl.load(q + 12) * tl.abs(ix)
            hy = tl.load(q + 13) * tl.abs(iy)
            hz = tl.load(q + 14) * tl.abs(iz)
            mx, my, mz = -lx * ix, -ly * iy, -lz * iz
            ex, ey, ez = mx - hx, my - hy, mz - hz
            enter = tl.maximum(tl.maximum(ex, ey), ez)
            leave = tl.minimum(tl.minimum(mx + hx, my + hy), mz + hz)
            hit = (enter < leave) & (enter > 1e-3) & (enter < best)
            axis = tl.where(ex >= tl.maximum(ey, ez), 0, tl.where(ey >= ez, 1, 2))
            v = tl.where(axis == 0, vx, tl.where(axis == 1, vy, vz))
            code = axis * 2 + tl.where(v < 0, 1, 0)
            best = tl.where(hit, enter, best)
            index = tl.where(hit, n, index)
            face = tl.where(hit, code, face)
        out = image.to(tl.int64) * P + p
        tl.store(t_ptr + out, best, mask=inside)
        tl.store(i_ptr + out, index, mask=inside)
        tl.store(f_ptr + out, face, mask=inside)


def _nearest_gpu(
    origin: torch.Tensor, direction: torch.Tensor, boxes: torch.Tensor, count: torch.Tensor
) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
    b, _, p = origin.shape
    t = torch.empty((b, p), device=origin.device)
    index = torch.empty((b, p), dtype=torch.int32, device=origin.device)
    face = torch.empty_like(index)
    block = 256
    _kernel[(triton.cdiv(p, block), b)](
        origin.contiguous(), direction.contiguous(), boxes.contiguous(), count, t, index, face,
        p, boxes.shape[1], BLOCK=block,
    )  # fmt: skip
    return t, index, face
