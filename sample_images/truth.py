"""The exact truth of a rendered photo, as a plain dictionary (README.md explains every field)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from .build import Built
from .wall_plan import Member

Array = NDArray[np.float64]


def front_points(member: Member, y_in: Array, offset_in: float = 0.0) -> Array:
    """(N, 3) points on the front face at heights ``y_in``, ``offset_in`` right of its centre."""
    return np.column_stack([member.centre_at(y_in) + offset_in, y_in, member.front_at(y_in)])


def visibility_points(member: Member) -> Array:
    """Points just before the front face whose share in view is the visible fraction."""
    y = np.linspace(member.bottom_in + 0.5, member.top_in - 0.5, 21)
    rows = [front_points(member, y, share * member.face_in) for share in (-0.3, 0.0, 0.3)]
    return np.vstack(rows) + np.array([0.0, 0.0, 0.012])


def _round(values: Any, digits: int = 3) -> Any:
    return np.round(np.asarray(values, float), digits).tolist()


def describe(built: Built, visible: list[float]) -> dict[str, Any]:
    """Everything known about the photo; ``visible`` is one fraction per member of the plan."""
    plan, camera, scene = built.plan, built.camera, built.scene
    size = np.array([camera.width_px, camera.height_px])
    corners = [(0, plan.height_in), (plan.length_in, plan.height_in), (plan.length_in, 0), (0, 0)]
    corners_px = camera.project([(x, y, 0.0) for x, y in corners])
    whole = bool(np.all((corners_px > 0) & (corners_px < size - 1)))
    members = []
    for m, share in zip(plan.members, visible, strict=True):
        ends = np.array([m.bottom_in, m.top_in])
        middle = np.array([(m.bottom_in + m.top_in) / 2])
        sides = [camera.project(front_points(m, middle, s * m.face_in / 2))[0] for s in (-1, 1)]
        members.append(
            {
                "kind": m.kind,
                "full_height": m.full_height,
                "centre_in": round(m.centre_in, 4),
                "face_in": round(m.face_in, 4),
                "plies": m.plies,
                "lean_in": round(m.lean_in, 4),
                "bow_in": round(m.bow_in, 4),
                "proud_in": _round(m.front_at(middle)[0], 4),
                "bottom_in": round(m.bottom_in, 3),
                "top_in": round(m.top_in, 3),
                "visible": round(share, 3),
                "front_px": _round(camera.project(front_points(m, ends))),
                "edges_mid_px": _round(sides),
            }
        )
    truth: dict[str, Any] = {
        "name": scene.name,
        "made_by": "sample_images, a rendered scene",
        "photo": {"width_px": camera.width_px, "height_px": camera.height_px},
        "row": scene.row,
        "tags": [*scene.tags, *([] if whole else ["cut_off"])],
        "kept_for": scene.kept_for,
        "wall": {
            "length_in": plan.length_in,
            "height_in": plan.height_in,
            "spacing_in": plan.spacing_in,
            "layout_from": plan.layout_from,
            "material": plan.material,
            "depth_in": plan.depth_in,
            "corners_px": _round(corners_px),
            "whole_in_photo": whole,
        },
        "members": members,
        "bars": [
            {
                "kind": b.kind,
                "left_in": round(b.left_in, 3),
                "right_in": round(b.right_in, 3),
                "bottom_in": round(b.bottom_in, 3),
                "top_in": round(b.top_in, 3),
            }
            for b in plan.bars
        ],
        "openings": [
            {
                "kind": o.kind,
                "left_in": round(o.left_in, 3),
                "right_in": round(o.right_in, 3),
                "bottom_in": round(o.bottom_in, 3),
                "top_in": round(o.top_in, 3),
            }
            for o in plan.openings
        ],
        "boxes": [
            {
                "left_in": round(b.left_in, 3),
                "right_in": round(b.right_in, 3),
                "bottom_in": round(b.bottom_in, 3),
                "top_in": round(b.top_in, 3),
                "front_in": round(b.front_in, 3),
            }
            for b in plan.boxes
        ],
        "reference": _reference(built),
        "camera": {
            "f_px": camera.f_px,
            "cx_px": camera.cx_px,
            "cy_px": camera.cy_px,
            "k1": camera.k1,
            "k2": camera.k2,
            "rotation": [list(row) for row in camera.rotation],
            "position_in": list(camera.position_in),
            "f35_mm": camera.f35_mm,
            "exif_has_f35": scene.shot.exif_f35,
        },
        "homography_wall_to_undistorted_px": camera.wall_to_undistorted_px().tolist(),
    }
    return truth


def _reference(built: Built) -> dict[str, Any]:
    reference = built.reference
    if reference is None:
        return {"kind": "none"}
    marks = np.asarray(reference["marks"], float)
    on_plane = marks * np.array([1.0, 1.0, 0.0])
    camera = built.camera
    return {
        "kind": reference["kind"],
        "length_in": reference["length_in"],
        "in_front_in": round(float(marks[0, 2]), 4),
        "marks_in": _round(marks, 4),
        "marks_px": _round(camera.project(marks)),
        "marks_on_plane_px": _round(camera.project(on_plane)),
    }
