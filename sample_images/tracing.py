"""Path tracing of a built scene with Mitsuba 3: linear RGB, lens distortion included."""

from __future__ import annotations

import importlib
import tempfile
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .build import Built
from .camera import Camera
from .meshes import joined, write_ply
from .stage import Light, Material
from .truth import visibility_points

Array = NDArray[np.float64]


def _mitsuba() -> Any:
    """The renderer; an extra of the project, so loaded only when something is rendered."""
    return importlib.import_module("mitsuba")


def use_fastest_variant() -> str:
    """GPU, else compiled CPU code, else the plain one that always works."""
    mi = _mitsuba()
    for variant in ("cuda_ad_rgb", "llvm_ad_rgb", "scalar_rgb"):
        try:
            mi.set_variant(variant)
            if variant != "scalar_rgb":
                importlib.import_module("drjit").eval(mi.Float([1.0, 2.0]) + 1)
            return variant
        except Exception:  # a missing driver shows up as almost any error
            continue
    raise RuntimeError("no Mitsuba variant can run here")


def _linear(colour: tuple[float, float, float]) -> list[float]:
    c = np.asarray(colour, float) / 255.0
    return [float(v) for v in np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)]


def _reflectance(material: Material) -> dict[str, Any]:
    mi = _mitsuba()
    if material.picture is None:
        return {"type": "rgb", "value": _linear(material.colour)}
    bitmap = mi.Bitmap(np.array(material.picture, order="C"))
    return {"type": "bitmap", "bitmap": bitmap, "filter_type": "bilinear"}


def _bsdf(material: Material) -> dict[str, Any]:
    mi = _mitsuba()
    colour = _reflectance(material)
    inner: dict[str, Any]
    if material.kind in ("matt", "glow"):
        inner = {"type": "diffuse", "reflectance": colour}
    elif material.kind == "metal":
        inner = {
            "type": "principled",
            "base_color": colour,
            "metallic": 0.85,
            "roughness": material.rough,
        }
    else:
        inner = {
            "type": "principled",
            "base_color": colour,
            "roughness": material.rough,
            "specular": 0.5,
        }
    two = {"type": "twosided", "bsdf": inner}
    if material.kind != "film":
        return two
    assert material.opacity is not None
    opacity = mi.Bitmap(np.ascontiguousarray(material.opacity[..., None].astype(np.float32)))
    return {"type": "mask", "bsdf": two, "opacity": {"type": "bitmap", "bitmap": opacity, "raw": True}}


def _emitter(light: Light) -> dict[str, Any]:
    mi = _mitsuba()
    radiance = {"type": "rgb", "value": [float(v) for v in light.radiance]}
    at = [float(v) for v in light.at_in]
    d = np.asarray(light.towards, float)
    d = d / np.linalg.norm(d)
    if light.shape == "sun":
        return {"type": "directional", "direction": [float(v) for v in d], "irradiance": radiance}
    area = {"type": "area", "radiance": radiance}
    if light.shape == "ball":
        return {"type": "sphere", "center": at, "radius": light.radius_in, "emitter": area}
    up = [0.0, 1.0, 0.0] if abs(d[1]) < 0.9 else [0.0, 0.0, 1.0]
    place = mi.ScalarTransform4f().look_at(at, [float(a + b) for a, b in zip(at, d, strict=True)], up)
    size = mi.ScalarTransform4f().scale([light.size_in[0] / 2, light.size_in[1] / 2, 1.0])
    return {"type": "rectangle", "to_world": place @ size, "emitter": area}


def film_for(camera: Camera, scale: float) -> tuple[float, int, int]:
    """Focal length and size of the undistorted film that covers the whole photo."""
    w, h = camera.width_px, camera.height_px
    x, y = np.arange(-2.0, w + 2.0), np.arange(-2.0, h + 2.0)
    rim = np.vstack(
        [np.column_stack([x, np.full_like(x, e)]) for e in (-2.0, h + 1.0)]
        + [np.column_stack([np.full_like(y, e), y]) for e in (-2.0, w + 1.0)]
    )
    reach = np.abs(camera.undistorted(rim)).max(axis=0)
    f = camera.f_px * scale
    return f, 2 * int(np.ceil(reach[0] * f) + 3), 2 * int(np.ceil(reach[1] * f) + 3)


def scene_dict(built: Built, folder: Path, film: tuple[float, int, int]) -> dict[str, Any]:
    """The scene as Mitsuba's ``load_dict`` wants it; meshes go through ``folder``."""
    mi = _mitsuba()
    camera = built.camera
    f, width, height = film
    r = np.asarray(camera.rotation)
    world = np.eye(4)
    world[:3, 0], world[:3, 1], world[:3, 2] = -r[0], -r[1], r[2]
    world[:3, 3] = camera.position_in
    out: dict[str, Any] = {
        "type": "scene",
        "sensor": {
            "type": "perspective",
            "fov": float(np.degrees(2 * np.arctan(width / 2 / f))),
            "fov_axis": "x",
            "near_clip": 1.0,
            "far_clip": 5000.0,
            "to_world": mi.ScalarTransform4f(world),
            "film": {
                "type": "hdrfilm",
                "width": width,
                "height": height,
                "rfilter": {"type": "box"},
                "pixel_format": "rgb",
                "component_format": "float32",
            },
            "sampler": {"type": "independent"},
        },
        "ambient": {
            "type": "constant",
            "radiance": {"type": "rgb", "value": [float(v) for v in built.stage.ambient]},
        },
    }
    for i, (name, meshes) in enumerate(sorted(built.stage.meshes.items())):
        path = folder / f"{i}.ply"
        write_ply(joined(meshes), path)
        material = built.stage.materials[name]
        shape: dict[str, Any] = {"type": "ply", "filename": str(path), "bsdf": _bsdf(material)}
        if material.kind == "glow":
            assert material.picture is not None
            c = (material.picture.astype(np.float32) / 255.0) ** 2.2 * material.power
            glow = {"type": "bitmap", "bitmap": mi.Bitmap(c.astype(np.float32)), "raw": True}
            shape["emitter"] = {"type": "area", "radiance": glow}
        out[f"part_{i:02d}_{name}"] = shape
    for i, light in enumerate(built.stage.lights):
        out[f"light_{i}"] = _emitter(light)
    return out


def trace(built: Built, samples: int = 64, scale: float = 1.0, denoise: bool = False) -> Array:
    """Linear RGB (height, width, 3) of the photo's size, as the lens throws it on the sensor."""
    mi = _mitsuba()
    film = film_for(built.camera, scale)
    with tempfile.TemporaryDirectory() as folder:
        scene = mi.load_dict(scene_dict(built, Path(folder), film))
        integrator = mi.load_dict({"type": "path", "max_depth": 6, "rr_depth": 4})
        passes, each = max(1, samples // 8), min(samples, 8)
        total: Array | None = None
        ceiling: float | None = None
        for k in range(passes):
            image = np.array(mi.render(scene, spp=each, seed=k, integrator=integrator), dtype=np.float32)[
                ..., :3
            ]
            if ceiling is None:
                ceiling = 1.6 * float(np.percentile(image, 98.0))
            # a few light paths are far too bright for their rarity: cap them in every pass
            image = np.minimum(image, ceiling)
            total = image.astype(float) if total is None else total + image
    assert total is not None
    picture = _without_specks(total / passes)
    if denoise and mi.variant().startswith("cuda"):
        clean = mi.OptixDenoiser(input_size=[film[1], film[2]])
        # some of the grain stays: a denoised texture looks painted
        picture = 0.8 * np.array(clean(mi.TensorXf(picture)), dtype=np.float32) + 0.2 * picture
    return through_lens(picture.astype(float), built.camera, film)


def visible_fractions(built: Built) -> list[float]:
    """For every member, the share of its front face the camera sees (through clear sheets too).

    What falls outside the photo counts as not seen.
    """
    mi = _mitsuba()
    camera, stage = built.camera, built.stage
    parts: dict[str, Any] = {"type": "scene"}
    with tempfile.TemporaryDirectory() as folder:
        for i, (name, meshes) in enumerate(sorted(stage.meshes.items())):
            if stage.materials[name].kind != "film":
                path = Path(folder) / f"{i}.ply"
                write_ply(joined(meshes), path)
                parts[f"part_{i}"] = {"type": "ply", "filename": str(path)}
        scene = mi.load_dict(parts)
    eye = np.asarray(camera.position_in)
    groups = [visibility_points(m) for m in built.plan.members]
    points = np.vstack(groups)
    px = camera.project(points)
    seen = np.all((px >= 0) & (px <= [camera.width_px - 1, camera.height_px - 1]), axis=1)
    way = points - eye
    reach = np.linalg.norm(way, axis=1)
    way = way / reach[:, None]
    if mi.variant().startswith("scalar"):
        for k in np.flatnonzero(seen):
            ray = mi.Ray3f(list(map(float, eye)), list(map(float, way[k])))
            ray.maxt = float(reach[k])
            seen[k] = not scene.ray_test(ray)
    else:
        origin = mi.Point3f(*(mi.Float([float(v)]) for v in eye))
        ray = mi.Ray3f(origin, mi.Vector3f(*(mi.Float(way[:, k].astype(np.float32)) for k in range(3))))
        ray.maxt = mi.Float(reach.astype(np.float32))
        seen &= ~np.array(scene.ray_test(ray), dtype=bool)
    ends = np.cumsum([0] + [len(g) for g in groups])
    return [float(seen[a:b].mean()) for a, b in pairwise(ends)]


def _without_specks(picture: Array) -> Array:
    """Pull single pixels far brighter than their neighbours (rare light paths) back to them."""
    light = picture.mean(axis=2)
    wide = np.pad(light, 1, mode="edge")
    rows, columns = light.shape
    around = [wide[i : i + rows, j : j + columns] for i in range(3) for j in range(3)]
    middle = np.partition(np.stack(around), 5, axis=0)[5]
    gain = np.minimum(1.0, 1.35 * middle / np.maximum(light, 1e-9))
    return np.asarray(picture * np.where(gain < 1.0, gain / 1.35, 1.0)[..., None])


def through_lens(picture: Array, camera: Camera, film: tuple[float, int, int]) -> Array:
    """Resample the undistorted film at every pixel of the photo (bicubic)."""
    f, width, height = film
    out = np.empty((camera.height_px, camera.width_px, 3))
    x = np.arange(camera.width_px, dtype=float)
    for top in range(0, camera.height_px, 128):
        y = np.arange(top, min(top + 128, camera.height_px), dtype=float)
        grid = np.stack(np.meshgrid(x, y), -1).reshape(-1, 2)
        n = camera.undistorted(grid)
        at = n * f + np.array([(width - 1) / 2, (height - 1) / 2])
        out[top : top + len(y)] = _cubic(picture, at).reshape(len(y), -1, 3)
    return np.maximum(out, 0.0)


def _cubic(picture: Array, at: Array) -> Array:
    """Catmull-Rom interpolation of (H, W, 3) at (N, 2) positions (x, y)."""
    base = np.floor(at).astype(int)
    t = at - base

    def weights(u: Array) -> list[Array]:
        return [
            -0.5 * u + u**2 - 0.5 * u**3,
            1 - 2.5 * u**2 + 1.5 * u**3,
            0.5 * u + 2 * u**2 - 1.5 * u**3,
            -0.5 * u**2 + 0.5 * u**3,
        ]

    wx, wy = weights(t[:, 0]), weights(t[:, 1])
    total = np.zeros((len(at), 3))
    for j in range(4):
        rows = np.clip(base[:, 1] + j - 1, 0, picture.shape[0] - 1)
        for i in range(4):
            cols = np.clip(base[:, 0] + i - 1, 0, picture.shape[1] - 1)
            total += (wx[i] * wy[j])[:, None] * picture[rows, cols]
    return total
