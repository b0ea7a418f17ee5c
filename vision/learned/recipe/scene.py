"""A scene as plain lists of oriented boxes, their materials and their labels.

Coordinates are inches: x along the wall, y up from the underside of the bottom
plate, z towards the viewer; the front faces of the members lie near z = 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

OTHER, STUD_FRONT, CROSS_FRONT, PLATE_FRONT, SIDE_FACE = range(5)
CLASS_COUNT = 5


@dataclass
class Scene:
    """Boxes (15 numbers each), materials, labels and the settings of one picture."""

    boxes: list[list[float]] = field(default_factory=list)
    materials: list[list[float]] = field(default_factory=list)
    labels: list[list[float]] = field(default_factory=list)
    outline: list[float] = field(default_factory=list)  # x0, x1, y0, y1 left, y1 right
    depth_in: float = 3.5
    outdoors: bool = False
    weird: bool = False
    open_behind: bool = False
    metal: bool = False
    wood_kind: dict[str, object] | None = None  # what the studs have in common
    overlay: list[float] = field(default_factory=list)
    windows: list[tuple[float, float, float, float]] = field(default_factory=list)

    def box(
        self,
        x: tuple[float, float],
        y: tuple[float, float],
        z: tuple[float, float],
        material: list[float],
        front: int = OTHER,
        side: int = OTHER,
        *,
        roll_deg: float = 0.0,
        tilt_deg: float = 0.0,
        turn_deg: float = 0.0,
        joint_left: bool = False,
        joint_right: bool = False,
    ) -> None:
        """Add a box given by its extents before rotation about its own centre.

        ``roll`` turns about z (in the wall plane), ``tilt`` about x, ``turn`` about y.
        ``front`` labels the face towards +z, ``side`` the five others.
        """
        centre = [(x[0] + x[1]) / 2, (y[0] + y[1]) / 2, (z[0] + z[1]) / 2]
        half = [max((b - a) / 2, 0.01) for a, b in (x, y, z)]
        rotation = rotation_rows(roll_deg, tilt_deg, turn_deg)
        self.boxes.append([*centre, *rotation, *half])
        self.materials.append(material)
        self.labels.append([float(front), float(side), float(joint_left), float(joint_right)])

    def bar(
        self,
        start: tuple[float, float, float],
        end: tuple[float, float, float],
        width: float,
        thick: float,
        material: list[float],
    ) -> None:
        """Add a straight bar between two points (loose boards, ladder rails, pipes)."""
        d = [b - a for a, b in zip(start, end, strict=True)]
        length = math.sqrt(sum(c * c for c in d)) or 1e-3
        ey = [c / length for c in d]
        reference = (0.0, 0.0, 1.0) if abs(ey[2]) < 0.9 else (1.0, 0.0, 0.0)
        ex = _cross(ey, reference)
        norm = math.sqrt(sum(c * c for c in ex))
        ex = [c / norm for c in ex]
        ez = _cross(ex, ey)
        centre = [(a + b) / 2 for a, b in zip(start, end, strict=True)]
        self.boxes.append([*centre, *ex, *ey, *ez, width / 2, length / 2, thick / 2])
        self.materials.append(material)
        self.labels.append([0.0, 0.0, 0.0, 0.0])


def _cross(a: list[float] | tuple[float, ...], b: list[float] | tuple[float, ...]) -> list[float]:
    return [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]


def rotation_rows(roll_deg: float, tilt_deg: float, turn_deg: float) -> list[float]:
    """Return the nine numbers of the world-to-local rotation, row by row."""
    if roll_deg == tilt_deg == turn_deg == 0:
        return [1, 0, 0, 0, 1, 0, 0, 0, 1]
    cz, sz = math.cos(math.radians(roll_deg)), math.sin(math.radians(roll_deg))
    cx, sx = math.cos(math.radians(tilt_deg)), math.sin(math.radians(tilt_deg))
    cy, sy = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    ex = [cy * cz, cy * sz, -sy]
    ey = [sx * sy * cz - cx * sz, sx * sy * sz + cx * cz, sx * cy]
    ez = [cx * sy * cz + sx * sz, cx * sy * sz - sx * cz, cx * cy]
    return [*ex, *ey, *ez]
