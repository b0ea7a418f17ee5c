"""Renders sets of scenes: ``python -m sample_images.render --set validation``.

Resumable (a scene whose photo and truth are both there is left alone), seeds fixed: the same
command makes the same scenes everywhere, up to the renderer's noise.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from .bowed import draw_bowed_scene
from .build import Built, build
from .demo import demo_scenes
from .develop import develop, jpeg_bytes
from .draws import CATALOGUES, Scene, draw_scene
from .tracing import trace, use_fastest_variant, visible_fractions
from .truth import describe

BOWED_SETS = tuple(f"{name}-bowed" for name in CATALOGUES)
DEFAULT_FOLDER = Path(__file__).resolve().parent / "rendered"


def render_scene(built: Built, folder: Path, samples: int, scale: float = 1.0) -> None:
    """Trace, develop, and write NAME.jpg and NAME.json into ``folder``."""
    scene = built.scene
    light = trace(built, samples, scale)
    upright = develop(light, scene.shot, np.random.default_rng([scene.seed, 99]))
    truth = describe(built, visible_fractions(built))
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{scene.name}.jpg").write_bytes(jpeg_bytes(upright, scene.shot, built.camera.f35_mm))
    (folder / f"{scene.name}.json").write_text(json.dumps(truth, indent=1) + "\n")


def _is_done(folder: Path, scene: Scene) -> bool:
    return all((folder / f"{scene.name}.{end}").exists() for end in ("jpg", "json"))


def _bar(done: int, total: int, started: float) -> None:
    full = int(30 * done / max(total, 1))
    spent = time.monotonic() - started
    left = spent / max(done, 1) * (total - done)
    sys.stderr.write(f"\r[{'#' * full}{'.' * (30 - full)}] {done}/{total}, {left:4.0f} s left ")
    sys.stderr.flush()


def _work(job: tuple[Scene, Path, int, float]) -> str:
    scene, folder, samples, scale = job
    use_fastest_variant()
    try:
        render_scene(build(scene), folder, samples, scale)
    except Exception as problem:
        return f"{scene.name}: {type(problem).__name__}: {problem}"
    return ""


def main(arguments: list[str] | None = None) -> int:
    """Command line; returns the exit status."""
    parser = argparse.ArgumentParser(prog="python -m sample_images.render", description=__doc__)
    parser.add_argument("--set", choices=[*CATALOGUES, *BOWED_SETS, "samples"], required=True)
    parser.add_argument("--count", type=int, default=72, help="scenes of the set (default 72)")
    parser.add_argument("--first", type=int, default=0, help="index of the first scene")
    parser.add_argument("--out", type=Path, help="folder (default: an ignored one of the project)")
    parser.add_argument("--samples", type=int, default=96, help="light paths per pixel")
    parser.add_argument("--scale", type=float, default=1.0, help="film pixels per photo pixel")
    parser.add_argument("--width", type=int, help="longer side of the photo in pixels")
    parser.add_argument("--workers", type=int, default=1, help="processes (GPU or many cores)")
    chosen = parser.parse_args(arguments)
    if chosen.set == "samples":
        scenes, folder = list(demo_scenes()), Path(__file__).resolve().parent / "photos"
    else:
        indices = range(chosen.first, chosen.first + chosen.count)
        draw = draw_bowed_scene if chosen.set in BOWED_SETS else draw_scene
        scenes = [draw(chosen.set.removesuffix("-bowed"), i) for i in indices]
        folder = DEFAULT_FOLDER / chosen.set
    folder = chosen.out or folder
    if chosen.width:
        scenes = [replace(s, shot=replace(s.shot, width_px=chosen.width)) for s in scenes]
    jobs = [(s, folder, chosen.samples, chosen.scale) for s in scenes if not _is_done(folder, s)]
    started, failures = time.monotonic(), []
    context = multiprocessing.get_context("spawn")
    with context.Pool(chosen.workers) as pool:
        for done, problem in enumerate(pool.imap_unordered(_work, jobs), 1):
            failures += [problem] if problem else []
            _bar(done, len(jobs), started)
    for line in failures:
        print(line, file=sys.stderr)
    print(f"\n{len(jobs) - len(failures)} photos written to {folder}", file=sys.stderr)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
