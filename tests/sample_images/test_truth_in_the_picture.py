"""What the truth says is where the renderer put it: checked by OpenCV's projection."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from sample_images.build import Built, build
from sample_images.demo import demo_scenes
from sample_images.meshes import sheet
from sample_images.stage import Stage

pytest.importorskip("mitsuba")

TARGETS = np.array(
    [(20.0, 20.0, 0.0), (150.0, 24.0, 0.0), (96.0, 50.0, 0.0), (30.0, 80.0, 0.0), (170.0, 76.0, 0.0)]
)


def with_targets() -> Built:
    """The demo wall's camera before a bare white wall with five black-and-white targets."""
    scene = next(iter(demo_scenes()))
    shot = replace(scene.shot, width_px=640)
    view = replace(scene.view, k1=-0.05, k2=0.02, yaw_deg=6.0, off_centre=(0.006, -0.004))
    built = build(replace(scene, shot=shot, view=view, lights=(), services=()))
    stage = Stage(ambient=(1.0, 1.0, 1.0))
    white = stage.paint((235, 235, 235), "matt")
    black = stage.paint((20, 20, 20), "matt")
    stage.add(white, sheet((-50, -50, -0.02), (300, 0, 0), (0, 250, 0)))
    for x, y, z in TARGETS:
        stage.add(
            black, sheet((x, y, z), (8, 0, 0), (0, 8, 0)), sheet((x - 8, y - 8, z), (8, 0, 0), (0, 8, 0))
        )
    return replace(built, stage=stage)


def test_known_points_lie_within_half_a_pixel_of_where_opencv_projects_them() -> None:
    from sample_images.tracing import trace, use_fastest_variant

    use_fastest_variant()
    built = with_targets()
    picture = trace(built, samples=16)
    grey = np.clip(picture.mean(axis=2) / picture.mean() * 128, 0, 255).astype(np.uint8)
    c = built.camera
    turn, _ = cv2.Rodrigues(np.asarray(c.rotation))
    k = np.array([[c.f_px, 0, c.cx_px], [0, c.f_px, c.cy_px], [0, 0, 1]])
    lens = np.array([c.k1, c.k2, 0.0, 0.0])
    expected = cv2.projectPoints(TARGETS, turn, c.translation_in, k, lens)[0].reshape(-1, 1, 2)
    rough = (expected + 1.5).astype(np.float32)
    seen = cv2.cornerSubPix(grey, rough.copy(), (5, 5), (-1, -1), (3, 50, 0.001))
    miss = np.linalg.norm(seen - expected, axis=2).ravel()
    assert miss.max() < 0.5, miss


def test_a_member_behind_a_post_is_said_to_be_hidden() -> None:
    from sample_images.meshes import box
    from sample_images.tracing import use_fastest_variant, visible_fractions

    use_fastest_variant()
    built = with_targets()
    member = built.plan.members[5]
    before = visible_fractions(replace(built, stage=Stage(meshes={}, materials={})))[5]
    post = Stage()
    grey = post.paint((90, 90, 90), "matt")
    post.add(grey, box((member.centre_in - 6, 0, 2), (member.centre_in + 6, 97, 4)))
    assert before > 0.95
    assert visible_fractions(replace(built, stage=post))[5] < 0.1
