"""Colour and truth for every sample: textures, lights, shadows, sheets, labels."""

from __future__ import annotations

import torch
from torch.nn import functional as nnf

from . import materials as mt
from .scene import CLASS_COUNT
from .textures import ID
from .tracer import FAR, nearest

Arrays = dict[str, torch.Tensor]


def look_up(atlas: torch.Tensor, which: torch.Tensor, u: torch.Tensor, v: torch.Tensor) -> torch.Tensor:
    """Bilinear, wrapping look-up; returns (..., 3).  ``u, v`` count tiles."""
    size = atlas.shape[1]
    flat = atlas.view(-1, 3)
    x, y = u * size, v * size
    x0, y0 = x.floor(), y.floor()
    fx, fy = (x - x0)[..., None], (y - y0)[..., None]
    x0, y0 = x0.long() % size, y0.long() % size
    x1, y1 = (x0 + 1) % size, (y0 + 1) % size
    base = which.long() * size
    a = flat[(base + y0) * size + x0] * (1 - fx) + flat[(base + y0) * size + x1] * fx
    b = flat[(base + y1) * size + x0] * (1 - fx) + flat[(base + y1) * size + x1] * fx
    return a * (1 - fy) + b * fy


def primary_rays(s: Arrays, height: int, width: int) -> tuple[torch.Tensor, torch.Tensor]:
    """Return (origin, unit direction), each (B, 3, H*W), through pixel centres."""
    device = s["boxes"].device
    y, x = torch.meshgrid(
        (torch.arange(height, device=device) + 0.5) * 2 / width - height / width,
        (torch.arange(width, device=device) + 0.5) * 2 / width - 1,
        indexing="ij",
    )
    x, y = x.reshape(1, -1), y.reshape(1, -1)
    stretch = 1 + s["k1"][:, None] * (x * x + y * y)
    plane = torch.stack([x * stretch, y * stretch, torch.ones_like(stretch)], 1)
    d = nnf.normalize(s["rays"] @ plane, dim=1)
    return s["eye"][:, :, None].expand_as(d), d


def shadow(s: Arrays, point: torch.Tensor, to_light: torch.Tensor, reach: torch.Tensor) -> torch.Tensor:
    t, _, _ = nearest(point, to_light, s["boxes"], s["count"])
    return (t > reach - 0.5).float()


def render(s: Arrays, atlas: torch.Tensor, height: int, width: int, generator: torch.Generator) -> Arrays:
    """Trace at (height, width); return linear colour (B,3,H,W) and the truth maps."""
    device = s["boxes"].device
    b, n = s["boxes"].shape[:2]
    origin, d = primary_rays(s, height, width)
    p = d.shape[2]
    t, index, face = nearest(origin, d, s["boxes"], s["count"])
    missed = index < 0
    flat = (index.clamp(min=0).long() + torch.arange(b, device=device)[:, None] * n).view(-1)
    box = s["boxes"].view(-1, 15)[flat].view(b, p, 15)
    m = s["materials"].view(-1, mt.FIELDS)[flat].view(b, p, mt.FIELDS)
    tag = s["labels"].view(-1, 4)[flat].view(b, p, 4)
    hit = (origin + d * t[:, None]).transpose(1, 2)  # B, P, 3
    rotation = box[..., 3:12].view(b, p, 3, 3)
    local = (rotation * (hit - box[..., :3])[..., None, :]).sum(3)
    half = box[..., 12:15]
    axis = (face // 2).long()
    sign = (face % 2).float() * 2 - 1
    normal = rotation.gather(2, axis[..., None, None].expand(b, p, 1, 3))[:, :, 0] * sign[..., None]

    # in-face coordinates: u along the longer side unless the axes are fixed
    ia, ib = (axis == 0).long(), torch.where(axis == 2, 1, 2)
    pa, pb = local.gather(2, ia[..., None])[..., 0], local.gather(2, ib[..., None])[..., 0]
    ha, hb = half.gather(2, ia[..., None])[..., 0], half.gather(2, ib[..., None])[..., 0]
    swap = (hb > ha) & (m[..., mt.FIXED_AXES] < 0.5)
    u, v = torch.where(swap, pb, pa), torch.where(swap, pa, pb)
    hu, hv = torch.where(swap, hb, ha), torch.where(swap, ha, hb)
    which = m[..., mt.TEX]
    salt = face.float() * 0.37
    tone = look_up(
        atlas,
        which,
        u * m[..., mt.SCALE_U] + m[..., mt.OFFSET_U] + salt,
        v * m[..., mt.SCALE_V] + m[..., mt.OFFSET_V],
    )
    blend = (0.5 + (tone - 0.5) * m[..., mt.CONTRAST, None]).clamp(-0.3, 1.3)
    colour = m[..., 8:11] + (m[..., 5:8] - m[..., 8:11]) * blend
    dirt = look_up(
        atlas,
        torch.full_like(which, ID["fbm_soft"]),
        u * m[..., mt.DIRT_SCALE] + m[..., mt.OFFSET_V],
        v * m[..., mt.DIRT_SCALE] + m[..., mt.OFFSET_U],
    )
    colour = colour * (1 + m[..., mt.DIRT, None] * (dirt - 0.6) * 1.6)

    # joints between boards, blocks or panels
    lu, lv = m[..., mt.LINE_U], m[..., mt.LINE_V]
    row = torch.where(lv > 0, torch.floor(v / lv.clamp(min=0.1)), torch.zeros_like(v))
    along = u + row * lu * (m[..., mt.STAGGER] == 0.5).float() * 0.5
    du = (torch.remainder(along, lu.clamp(min=0.1)) - lu / 2).abs()
    dv = (torch.remainder(v, lv.clamp(min=0.1)) - lv / 2).abs()
    in_line = ((lu > 0) & (lu / 2 - du < m[..., mt.LINE_HALF])) | (
        (lv > 0) & (lv / 2 - dv < m[..., mt.LINE_HALF])
    )
    board = torch.floor(torch.where(lu > 0, u / lu.clamp(min=0.1), v / lv.clamp(min=0.1)))
    own = torch.frac(torch.sin(board * 12.9898 + m[..., mt.OFFSET_U] * 78.2) * 43758.5453).abs() - 0.5
    own = own * ((m[..., mt.STAGGER] > 1) & ((lu > 0) | (lv > 0))).float()
    colour = colour * (1 + 0.6 * own[..., None])
    colour = torch.where(in_line[..., None], colour * m[..., mt.LINE_SHADE, None], colour)
    rim = (hv - v.abs()) < m[..., mt.EDGE_IN]
    colour = torch.where(rim[..., None], colour * (1 + m[..., mt.EDGE_SHADE, None]), colour).clamp(0.001, 1.2)
    bump = (dirt[..., 0] - tone[..., 1]) * m[..., mt.BUMP]
    normal = nnf.normalize(
        normal + rotation[:, :, 0] * bump[..., None] * 0.8 + rotation[:, :, 1] * bump[..., None] * 0.6, dim=2
    )

    # light
    start = hit + normal * 0.02 - d.transpose(1, 2) * 0.02
    start_t = start.transpose(1, 2)
    light = s["ambient"][:, 1:2] + (s["ambient"][:, 0:1] - s["ambient"][:, 1:2]) * (
        0.5 + 0.5 * normal[..., 1:2]
    )
    wander = torch.randn((b, 3, p), device=device, generator=generator)
    t_ao, _, _ = nearest(
        start_t,
        nnf.normalize(normal.transpose(1, 2) + 0.75 * nnf.normalize(wander, dim=1), dim=1),
        s["boxes"],
        s["count"],
    )
    open_sky = (t_ao / 18.0).clamp(0.0, 1.0).view(b, 1, height, width)
    open_sky = nnf.avg_pool2d(open_sky, 5, 1, 2, count_include_pad=False).view(b, p, 1)
    light = light * (0.25 + 0.75 * open_sky)
    shine = torch.zeros_like(light)
    for k in range(s["lights"].shape[1]):
        row_k = s["lights"][:, k]
        if not bool((row_k[:, 4:7] > 0).any()):
            continue
        sun = (row_k[:, 3] > 1.5)[:, None, None]
        size = row_k[:, 7][:, None, None]
        shake = torch.randn((b, p, 3), device=device, generator=generator) * size
        target = row_k[:, None, :3] + shake
        ray = torch.where(sun, target * 2000.0, target - start)
        reach = ray.norm(dim=2).clamp(min=1.0)
        unit = ray / reach[..., None]
        seen = shadow(
            s, start_t, unit.transpose(1, 2), torch.where(sun[..., 0], torch.full_like(reach, FAR), reach)
        )
        cosine = (normal * unit).sum(2).clamp(min=0)
        fall = torch.where(sun[..., 0], torch.ones_like(reach), 1 / reach.clamp(min=12.0) ** 2)
        power = (seen * fall)[..., None] * row_k[:, None, 4:7]
        light = light + cosine[..., None] * power
        middle = nnf.normalize(unit - d.transpose(1, 2), dim=2)
        lobe = (normal * middle).sum(2).clamp(min=0) ** m[..., mt.GLOSS]
        shine = shine + (lobe * m[..., mt.SPEC])[..., None] * power
    out = colour * light + shine + colour * m[..., mt.EMIT, None]
    out = torch.where(missed[..., None], _beyond(s, atlas, d), out)
    out = _overlay(s, atlas, origin, d, t, out, light.mean(2, keepdim=True))
    return {
        "colour": out.transpose(1, 2).reshape(b, 3, height, width),
        **_truth(s, origin, d, index, face, tag, u, v, hu, hv, local, half, height, width),
    }


def _beyond(s: Arrays, atlas: torch.Tensor, d: torch.Tensor) -> torch.Tensor:
    e = s["env"][:, :, None]
    azimuth = torch.atan2(d[:, 0], -d[:, 2])
    tone = look_up(atlas, e[:, 0].expand_as(azimuth), azimuth * e[:, 1] * 0.5, d[:, 1] * e[:, 1] * 0.5)
    ragged = look_up(atlas, torch.full_like(azimuth, ID["fbm_rough"]), azimuth * 0.4, d[:, 1] * 0.4)
    edge = e[:, 2] + (ragged[..., 0] - 0.5) * 2 * e[:, 3]
    first, second, sky = s["env"][:, None, 4:7], s["env"][:, None, 7:10], s["env"][:, None, 10:13]
    near = second + (first - second) * tone
    return torch.where((d[:, 1] > edge)[..., None], sky * (0.7 + 0.6 * ragged[..., 1:2]), near)


def _overlay(
    s: Arrays,
    atlas: torch.Tensor,
    origin: torch.Tensor,
    d: torch.Tensor,
    t: torch.Tensor,
    out: torch.Tensor,
    level: torch.Tensor,
) -> torch.Tensor:
    o = s["overlay"]
    if not bool((o[:, 0] > 0).any()):
        return out
    tp = (0.35 - origin[:, 2]) / d[:, 2].clamp(max=-1e-6)
    x, y = origin[:, 0] + d[:, 0] * tp, origin[:, 1] + d[:, 1] * tp
    k = o[:, :, None]
    inside = (
        (k[:, 0] > 0)
        & (x > k[:, 1])
        & (x < k[:, 2])
        & (y > k[:, 3])
        & (y < k[:, 4])
        & (t > tp)
        & (d[:, 2] < 0)
    )
    fold = look_up(atlas, torch.full_like(x, ID["wrinkles"]), x / k[:, 10], y / (k[:, 10] * 1.7))[..., 0:1]
    # where the sheet touches what it covers it is clearer, and flat or stretched there
    touch = torch.exp(-(t - tp).clamp(min=0) / 1.2)[..., None]
    alpha = (o[:, None, 5:6] * (0.75 + 0.5 * fold) * (1 - o[:, None, 11:12] * touch)).clamp(0, 0.93)
    gleam = o[:, None, 9:10] * ((fold - 0.62).clamp(min=0) * 4) ** 2
    film = o[:, None, 6:9] * level * (0.7 + 0.5 * fold) * (1 + o[:, None, 12:13] * touch) + gleam * level
    return torch.where(inside[..., None], out * (1 - alpha) + film * alpha + gleam * level * 0.3, out)


def _truth(
    s: Arrays,
    origin: torch.Tensor,
    d: torch.Tensor,
    index: torch.Tensor,
    face: torch.Tensor,
    tag: torch.Tensor,
    u: torch.Tensor,
    v: torch.Tensor,
    hu: torch.Tensor,
    hv: torch.Tensor,
    local: torch.Tensor,
    half: torch.Tensor,
    height: int,
    width: int,
) -> Arrays:
    b = index.shape[0]
    kind = torch.where(face == 5, tag[..., 0], tag[..., 1])
    kind = torch.where(index < 0, torch.zeros_like(kind), kind).long()
    classes = nnf.one_hot(kind, CLASS_COUNT).float().transpose(1, 2).reshape(b, CLASS_COUNT, height, width)
    tp = -origin[:, 2] / d[:, 2].clamp(max=-1e-6)
    x, y = origin[:, 0] + d[:, 0] * tp, origin[:, 1] + d[:, 1] * tp
    k = s["outline"][:, :, None]
    top = k[:, 3] + (k[:, 4] - k[:, 3]) * (x - k[:, 0]) / (k[:, 1] - k[:, 0])
    wall = (x > k[:, 0]) & (x < k[:, 1]) & (y > k[:, 2]) & (y < top) & (d[:, 2] < -1e-6)
    lx, hx = local[..., 0], half[..., 0]
    near = ((lx + hx < 0.3) & (tag[..., 2] > 0)) | ((hx - lx < 0.3) & (tag[..., 3] > 0))
    joint = near & (face == 5) & (kind == 1)
    return {
        "classes": classes,
        "wall": wall.float().view(b, 1, height, width),
        "joint": joint.float().view(b, 1, height, width),
    }
