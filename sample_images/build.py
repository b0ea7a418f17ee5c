"""From a drawn scene to a built one: plan, camera, stage and reference."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .camera import Camera, aimed, focal_px
from .carpentry import add_reference, add_services, add_wall, add_woods
from .clutter import add_clutter
from .draws import Scene, View
from .dressing import add_fill, add_sheet
from .framing import draw_wall
from .lighting import add_lights
from .room import add_room
from .stage import Stage
from .wall_plan import WallPlan


@dataclass(frozen=True)
class Built:
    """A scene ready to be rendered."""

    scene: Scene
    plan: WallPlan
    camera: Camera
    stage: Stage
    reference: dict[str, object] | None


def place_camera(view: View, plan: WallPlan, width_px: int) -> Camera:
    """Stand back until the wall takes the wanted share of the picture, then aim."""
    small = round(width_px * 0.75)
    w, h = (small, width_px) if view.portrait else (width_px, small)
    f = focal_px(view.f35_mm, w, h)
    length, height = plan.length_in, plan.height_in
    tall = view.fill if view.fill <= 1 else (1.12 if view.fill > 1.3 else 0.95)
    distance = view.distance_in or max(length / view.fill * f / w, height / tall * f / h)
    corners = [(x, y, 0.0) for x in (0.0, length) for y in (0.0, height)]
    for _ in range(60):
        x = length * (0.5 + view.shift) - distance * np.tan(np.radians(view.yaw_deg))
        lift = np.degrees(np.arctan2(height / 2 - view.eye_in, distance))
        pitch = float(np.clip(lift + view.pitch_deg, -10, 10))
        rotation = aimed(view.yaw_deg, pitch, view.roll_deg)
        camera = Camera(
            w,
            h,
            f,
            (w - 1) / 2 + view.off_centre[0] * w,
            (h - 1) / 2 + view.off_centre[1] * w,
            view.k1,
            view.k2,
            (float(x), view.eye_in, float(distance)),
            tuple(tuple(float(v) for v in row) for row in rotation),  # type: ignore[misc]
            view.f35_mm,
        )
        px = camera.project(corners)
        inside = np.all((px > [0.012 * w, 0.012 * h]) & (px < [w * 0.988, h * 0.988]))
        if view.fill > 1.0 or view.distance_in or inside:
            break
        distance *= 1.025
    return camera


def build(scene: Scene) -> Built:
    """Everything that depends on nothing but the scene (its seed included)."""
    streams = [np.random.default_rng([scene.seed, k]) for k in range(9)]
    plan = draw_wall(streams[0], scene.style)
    camera = place_camera(scene.view, plan, scene.shot.width_px)
    eye = np.asarray(camera.position_in)
    stage = Stage()
    add_woods(stage, streams[1], scene.wood)
    add_wall(stage, streams[2], plan)
    reference = add_reference(stage, streams[3], plan, scene.reference, scene.reference_off_in, scene.accent)
    add_room(stage, streams[4], scene, plan, eye)
    add_services(stage, streams[5], plan, scene.services)
    if scene.fill is not None:
        add_fill(stage, streams[6], scene, plan)
    if scene.sheet is not None:
        add_sheet(stage, streams[6], scene, plan)
    add_clutter(stage, streams[7], scene, plan)
    add_lights(stage, streams[8], scene, plan, eye)
    return Built(scene, plan, camera, stage, reference)
