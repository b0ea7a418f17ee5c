"""Triangle meshes in plain numpy: real lumber, boxes, tubes, sheets."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Mesh:
    """Vertices (N, 3) and normals (N, 3) in inches, texture coordinates (N, 2), faces (M, 3)."""

    points: Array
    normals: Array
    uv: Array
    faces: NDArray[np.int64]


def joined(meshes: list[Mesh]) -> Mesh:
    """One mesh out of several."""
    starts = np.cumsum([0] + [len(m.points) for m in meshes[:-1]])
    return Mesh(
        np.vstack([m.points for m in meshes]),
        np.vstack([m.normals for m in meshes]),
        np.vstack([m.uv for m in meshes]),
        np.vstack([m.faces + s for m, s in zip(meshes, starts, strict=True)]),
    )


def write_ply(mesh: Mesh, path: Path) -> None:
    """Binary PLY with normals and texture coordinates."""
    head = (
        "ply\nformat binary_little_endian 1.0\n"
        f"element vertex {len(mesh.points)}\n"
        + "".join(f"property float {n}\n" for n in ("x", "y", "z", "nx", "ny", "nz", "u", "v"))
        + f"element face {len(mesh.faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    rows = np.hstack([mesh.points, mesh.normals, mesh.uv]).astype("<f4")
    faces = np.empty(len(mesh.faces), dtype=[("n", "u1"), ("i", "<i4", 3)])
    faces["n"], faces["i"] = 3, mesh.faces
    path.write_bytes(head.encode() + rows.tobytes() + faces.tobytes())


def _grid_faces(rows: int, cols: int) -> NDArray[np.int64]:
    i = np.arange((rows - 1) * cols).reshape(rows - 1, cols)[:, :-1].ravel()
    quads = np.column_stack([i, i + 1, i + cols + 1, i + cols])
    return np.vstack([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])


def _outward(mesh: Mesh) -> Mesh:
    """Wind every face so that it turns towards its vertex normals."""
    a, b, c = (mesh.points[mesh.faces[:, k]] for k in range(3))
    wrong = np.sum(np.cross(b - a, c - a) * mesh.normals[mesh.faces[:, 0]], axis=1) < 0
    faces = mesh.faces.copy()
    faces[wrong] = faces[wrong][:, [0, 2, 1]]
    return Mesh(mesh.points, mesh.normals, mesh.uv, faces)


def _profile(width: float, depth: float, radius: float) -> tuple[Array, Array, Array]:
    """Rounded rectangle: points, outward normals, distance around it. First point repeated."""
    r = max(min(radius, width / 2 - 1e-3, depth / 2 - 1e-3), 1e-3)
    points, normals = [], []
    corners = ((1, -1, -90), (1, 1, 0), (-1, 1, 90), (-1, -1, 180))
    for sx, sy, start in corners:
        for step in range(4):
            a = np.radians(start + 30 * step)
            n = np.array([np.cos(a), np.sin(a)])
            centre = np.array([sx * (width / 2 - r), sy * (depth / 2 - r)])
            points.append(centre + r * n)
            normals.append(n)
    points.append(points[0])
    normals.append(normals[0])
    p, n = np.array(points), np.array(normals)
    around = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(p, axis=0), axis=1))])
    return p, n, around


def beam(
    path: ArrayLike,
    across: ArrayLike,
    back: ArrayLike,
    width: float,
    depth: float,
    radius: float = 0.1,
    uv_origin: tuple[float, float] = (0.0, 0.0),
    uv_scale: tuple[float, float] = (1 / 128.0, 1 / 192.0),
) -> Mesh:
    """Lumber with eased edges along ``path`` (S, 3), the centre line of the section.

    ``across`` and ``back`` are the unit directions of ``width`` and ``depth``. Texture u runs
    along the grain, v around the section, both in inches times ``uv_scale``.
    """
    centre = np.asarray(path, float)
    u, v = np.asarray(across, float), np.asarray(back, float)
    p, n, around = _profile(width, depth, radius)
    ring = p[:, :1] * u + p[:, 1:] * v
    ring_n = n[:, :1] * u + n[:, 1:] * v
    s, k = len(centre), len(p)
    points = (centre[:, None, :] + ring[None]).reshape(-1, 3)
    normals = np.broadcast_to(ring_n, (s, k, 3)).reshape(-1, 3)
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(centre, axis=0), axis=1))])
    uv = np.stack(
        [
            np.broadcast_to(uv_origin[0] + along[:, None] * uv_scale[0], (s, k)),
            np.broadcast_to(uv_origin[1] + around[None] * uv_scale[1], (s, k)),
        ],
        axis=-1,
    ).reshape(-1, 2)
    sides = _outward(Mesh(points, normals, uv, _grid_faces(s, k)))
    caps = []
    for end, sign in ((0, -1.0), (s - 1, 1.0)):
        axis = centre[1] - centre[0] if end == 0 else centre[-1] - centre[-2]
        axis = sign * axis / np.linalg.norm(axis)
        pts = np.vstack([centre[end], centre[end] + ring])
        fan = np.array([[0, i, i + 1] for i in range(1, k)])
        cap_uv = np.asarray(uv_origin) + np.vstack([[0.0, 0.0], p * 0.3]) * np.asarray(uv_scale)
        caps.append(_outward(Mesh(pts, np.tile(axis, (k + 1, 1)), cap_uv, fan)))
    return joined([sides, *caps])


def box(low: ArrayLike, high: ArrayLike, radius: float = 0.02, tile: float = 128.0) -> Mesh:
    """Axis-aligned box with slightly rounded edges along its longest side."""
    a, b = np.asarray(low, float), np.asarray(high, float)
    axis = int(np.argmax(b - a))
    others = [i for i in range(3) if i != axis]
    eye = np.eye(3)
    mid = (a + b) / 2
    ends = np.array([mid, mid])
    ends[0, axis], ends[1, axis] = a[axis], b[axis]
    size = (b - a)[others]
    return beam(
        ends,
        eye[others[0]],
        eye[others[1]],
        size[0],
        size[1],
        radius,
        uv_origin=(float(a[0] % 17) / 17, float(a[1] % 13) / 13),
        uv_scale=(1 / tile, 1 / tile),
    )


def sheet(
    origin: ArrayLike,
    side_u: ArrayLike,
    side_v: ArrayLike,
    tile_in: float = 128.0,
    uv_origin: tuple[float, float] = (0.0, 0.0),
    heights: Array | None = None,
    holes: tuple[tuple[float, float, float, float], ...] = (),
) -> Mesh:
    """A rectangle; with ``heights`` (rows along v, columns along u) a relief in inches.

    ``holes`` are (u0, u1, v0, v1) in inches from the origin, cut out by building the rest.
    """
    o, u, v = (np.asarray(x, float) for x in (origin, side_u, side_v))
    lu, lv = float(np.linalg.norm(u)), float(np.linalg.norm(v))
    normal = np.cross(u, v) / (lu * lv)
    if heights is None:
        us = sorted({0.0, lu, *(min(max(h[k], 0.0), lu) for h in holes for k in (0, 1))})
        vs = sorted({0.0, lv, *(min(max(h[k], 0.0), lv) for h in holes for k in (2, 3))})
    else:
        us = list(np.linspace(0, lu, heights.shape[1]))
        vs = list(np.linspace(0, lv, heights.shape[0]))
    gu, gv = np.meshgrid(us, vs)
    points = o + gu[..., None] * u / lu + gv[..., None] * v / lv
    normals = np.broadcast_to(normal, points.shape).copy()
    if heights is not None:
        points = points + heights[..., None] * normal
        du = np.gradient(points, axis=1)
        dv = np.gradient(points, axis=0)
        normals = np.cross(du, dv)
        normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    uv = np.stack([uv_origin[0] + gu / tile_in, uv_origin[1] + gv / tile_in], -1).reshape(-1, 2)
    faces = _grid_faces(len(vs), len(us))
    mesh = _outward(Mesh(points.reshape(-1, 3), normals.reshape(-1, 3), uv, faces))
    if not holes:
        return mesh
    middle = np.mean([np.column_stack([gu.ravel(), gv.ravel()])[mesh.faces[:, k]] for k in range(3)], 0)
    keep = np.ones(len(mesh.faces), bool)
    for u0, u1, v0, v1 in holes:
        inside = (middle[:, 0] > u0) & (middle[:, 0] < u1)
        keep &= ~(inside & (middle[:, 1] > v0) & (middle[:, 1] < v1))
    return Mesh(mesh.points, mesh.normals, mesh.uv, mesh.faces[keep])


def tube(path: ArrayLike, radius: float, sides: int = 10) -> Mesh:
    """A round cable or pipe along ``path`` (S, 3)."""
    c = np.asarray(path, float)
    tangent = np.gradient(c, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    helper = np.where(np.abs(tangent[:, 1:2]) < 0.8, [[0.0, 1.0, 0.0]], [[0.0, 0.0, 1.0]])
    a = np.cross(tangent, helper)
    a /= np.linalg.norm(a, axis=1, keepdims=True)
    b = np.cross(tangent, a)
    angle = np.linspace(0, 2 * np.pi, sides + 1)
    normals = np.cos(angle)[None, :, None] * a[:, None] + np.sin(angle)[None, :, None] * b[:, None]
    points = c[:, None] + radius * normals
    s = np.linspace(0, 1, len(c))[:, None]
    uv = np.stack(np.broadcast_arrays(s * 4, (angle / 6.3)[None]), -1)
    return _outward(
        Mesh(
            points.reshape(-1, 3),
            normals.reshape(-1, 3),
            uv.reshape(-1, 2).astype(float),
            _grid_faces(len(c), sides + 1),
        )
    )


def turned(profile: ArrayLike, centre: ArrayLike, sides: int = 32) -> Mesh:
    """A turned solid (bucket, vessel): ``profile`` rows (radius, height) from the bottom up."""
    p = np.asarray(profile, float)
    angle = np.linspace(0, 2 * np.pi, sides + 1)
    slope = np.gradient(p, axis=0)
    nr, nh = slope[:, 1], -slope[:, 0]
    size = np.maximum(np.hypot(nr, nh), 1e-9)
    ring = np.stack([np.cos(angle), np.zeros_like(angle), np.sin(angle)], -1)
    points = p[:, :1, None] * ring[None] + np.array([0, 1, 0]) * p[:, 1][:, None, None]
    normals = (nr / size)[:, None, None] * ring[None]
    normals = normals + np.array([0, 1, 0]) * (nh / size)[:, None, None]
    uv = np.stack(np.broadcast_arrays((angle / 6.3)[None], p[:, 1:2] / 20), -1)
    return _outward(
        Mesh(
            points.reshape(-1, 3) + np.asarray(centre, float),
            normals.reshape(-1, 3),
            uv.reshape(-1, 2).astype(float),
            _grid_faces(len(p), sides + 1),
        )
    )
