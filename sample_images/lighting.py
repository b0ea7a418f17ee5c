"""Where the light comes from."""

from __future__ import annotations

import numpy as np

from .draws import Scene
from .stage import Light, Stage
from .wall_plan import WallPlan

Colour = tuple[float, float, float]
WARM: Colour = (1.0, 0.72, 0.42)
NEUTRAL: Colour = (1.0, 0.93, 0.82)
COOL: Colour = (0.78, 0.9, 1.0)


def _times(colour: Colour, power: float) -> Colour:
    return (colour[0] * power, colour[1] * power, colour[2] * power)


def _beside_end(rng: np.random.Generator, scene: Scene, length: float, left: bool) -> float:
    """Where a lamp stands by one end of the wall: past it, or inside the wall that closes the room there."""
    x = -rng.uniform(-6, 24) if left else length + rng.uniform(-6, 24)
    if scene.sides[0 if left else 1] is not None:
        x = np.clip(x, 8, length - 8)
    return float(x)


def add_lights(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, eye: np.ndarray) -> None:
    """Lamps by kind, and an even glow from the rest of the building behind the camera."""
    length, height, reach = plan.length_in, plan.height_in, float(eye[2])
    tint = [NEUTRAL, WARM, COOL][int(rng.choice([0, 1, 2], p=[0.5, 0.2, 0.3]))]
    level = 0.35 * scene.ambient
    stage.ambient = _times(tint, level)
    for kind in scene.lights:
        if kind in ("bulbs", "mixed"):
            for _ in range(int(rng.integers(1, 4))):
                at = (rng.uniform(-0.1, 1.1) * length, height - rng.uniform(8, 24), rng.uniform(35, reach))
                lamp = WARM if rng.random() < 0.6 else NEUTRAL
                stage.lights.append(Light("ball", at, _times(lamp, 260.0), 2.2))
        if kind in ("window", "mixed"):
            left = rng.random() < 0.5
            at = (-36.0 if left else length + 36.0, rng.uniform(48, 66), rng.uniform(50, 110))
            if kind == "mixed":
                at = (at[0], at[1], reach + 20)
            towards = (length / 2 - at[0], 0.0, -at[2] * 0.6)
            size = (rng.uniform(28, 50), rng.uniform(28, 46))
            stage.lights.append(Light("panel", at, _times(COOL, 9.0), towards=towards, size_in=size))
        if kind == "tubes":
            for _ in range(int(rng.integers(1, 3))):
                at = (rng.uniform(0.1, 0.9) * length, height - 1.5, rng.uniform(40, 110))
                stage.lights.append(Light("panel", at, _times((0.95, 1.0, 0.9), 55.0), size_in=(47.0, 3.0)))
        if kind == "flash":
            at = (float(eye[0]) - 1.2, float(eye[1]) + 1.6, reach - 0.5)
            power = 9000.0 * (reach / 150.0) ** 2
            stage.lights.append(
                Light("panel", at, _times((1.0, 0.97, 0.92), power), towards=(0, 0, -1), size_in=(0.9, 0.9))
            )
        if kind.startswith("work_light"):
            left = rng.random() < 0.5
            high = rng.uniform(58, 84) if kind.endswith("high") else rng.uniform(8, 30)
            x = _beside_end(rng, scene, length, left)
            at = (x, high, rng.uniform(28, 75))
            towards = (length / 2 - x, 0.0, -at[2])
            stage.lights.append(
                Light("panel", at, _times((1.0, 0.95, 0.85), 420.0), towards=towards, size_in=(6.0, 4.0))
            )
        if kind == "two_lamps":
            for left in (True, False):
                x = _beside_end(rng, scene, length, left)
                at = (x, rng.uniform(24, 80), rng.uniform(36, 80))
                power = 320.0 * float(rng.uniform(0.3, 1.0))
                towards = (length / 2 - x, 0.0, -at[2])
                beam = Light(
                    "panel", at, _times((1.0, 0.96, 0.9), power), towards=towards, size_in=(7.0, 5.0)
                )
                stage.lights.append(beam)
        if kind == "skylight":
            # overhead near the wall: its light grazes down the faces
            at = (rng.uniform(0.15, 0.85) * length, height - 1.0, rng.uniform(16, 40))
            size = (rng.uniform(30, 60), rng.uniform(14, 28))
            stage.lights.append(
                Light("panel", at, _times((0.86, 0.94, 1.0), 14.0), towards=(0, -1, -0.1), size_in=size)
            )
        if kind == "sun_patch":
            sign = float(rng.choice([-1, 1]))
            towards = (sign * rng.uniform(0.5, 1.4), -rng.uniform(0.5, 0.9), -1.0)
            stage.lights.append(Light("sun", (0, 0, 0), _times((1.0, 0.93, 0.8), 2.6), towards=towards))
        if kind == "daylight":
            stage.ambient = (0.75, 0.82, 0.95)
            if rng.random() < 0.6:
                sign, deep = float(rng.choice([-1, 1])), float(rng.choice([-1, -1, 0.6]))
                towards = (sign * rng.uniform(0.3, 1.2), -rng.uniform(0.7, 1.6), deep)
                stage.lights.append(Light("sun", (0, 0, 0), _times((1.0, 0.92, 0.78), 3.2), towards=towards))
