"""Photos with what is known about them, from three sources, in one form for the benchmark."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sample_images.camera import Camera

SHORT_KINDS = ("trimmer", "cripple")


@dataclass(frozen=True)
class TrueMember:
    """A member that is really there. ``counted`` False: hidden or out of the photo."""

    kind: str
    full: bool
    centre_in: float
    face_in: float
    plies: int
    bottom_in: float
    top_in: float
    counted: bool = True


@dataclass(frozen=True)
class Case:
    """One photo of a wall with its truth."""

    name: str
    source: str
    row: str
    tags: tuple[str, ...]
    photo: Path
    members: tuple[TrueMember, ...]
    length_in: float
    height_in: float
    spacing_in: float
    whole: bool
    corners_px: tuple[tuple[float, float], ...]
    reference_kind: str
    reference_in: float
    marks_px: tuple[tuple[float, float], ...]
    in_front_in: float
    camera: Camera
    face_in: float

    def to_wall(self, points_px: ArrayLike) -> NDArray[np.float64]:
        """True wall inches (x, y) of photo pixels."""
        return self.camera.wall_xy(np.atleast_2d(points_px))


def _points(values: Any) -> tuple[tuple[float, float], ...]:
    return tuple((float(a), float(b)) for a, b in values)


MARK_MARGIN_PX = 6.0
SHORTEST_TAPE_IN = 12.0


def tape_in_photo(
    camera: Camera, marks_in: NDArray[np.float64]
) -> tuple[float, tuple[tuple[float, float], ...]]:
    """Length and marks of the part of a tape that the photo shows, between whole inches of the tape.

    Who photographs a wall that runs out of the picture reads the tape where it is still in it.
    `marks_in` (2, 3) are the tape's ends in wall inches. (0, ()) when less than SHORTEST_TAPE_IN is seen.
    """
    whole_in = float(np.linalg.norm(marks_in[1] - marks_in[0]))
    at_in = np.arange(0.0, whole_in + 0.01)
    points_px = camera.project(marks_in[0] + np.outer(at_in / whole_in, marks_in[1] - marks_in[0]))
    low = MARK_MARGIN_PX
    high = np.array([camera.width_px, camera.height_px]) - 1 - MARK_MARGIN_PX
    shown = np.flatnonzero(((points_px >= low) & (points_px <= high)).all(1))
    if not len(shown) or at_in[shown[-1]] - at_in[shown[0]] < SHORTEST_TAPE_IN:
        return 0.0, ()
    return float(at_in[shown[-1]] - at_in[shown[0]]), _points(points_px[[shown[0], shown[-1]]])


def own_cases(folder: Path) -> Iterator[Case]:
    """Photos of this project's generator, by name."""
    for path in sorted(folder.glob("*.json")):
        t = json.loads(path.read_text())
        wall, c, ref = t["wall"], t["camera"], t["reference"]
        camera = Camera(
            t["photo"]["width_px"],
            t["photo"]["height_px"],
            *(c[k] for k in ("f_px", "cx_px", "cy_px", "k1", "k2")),
            tuple(c["position_in"]),
            tuple(tuple(r) for r in c["rotation"]),
            c["f35_mm"],
        )
        length_in, marks_px = ref.get("length_in", 0.0), _points(ref.get("marks_px", []))
        size = (camera.width_px, camera.height_px)
        if any(not 0 <= v <= n - 1 for p in marks_px for v, n in zip(p, size, strict=True)):
            length_in, marks_px = tape_in_photo(camera, np.array(ref["marks_in"]))
        yield Case(
            name=t["name"],
            source="own",
            row=t["row"],
            tags=tuple(t["tags"]),
            photo=path.with_suffix(".jpg"),
            members=tuple(
                TrueMember(
                    m["kind"],
                    m["full_height"],
                    m["centre_in"],
                    m["face_in"],
                    m["plies"],
                    m["bottom_in"],
                    m["top_in"],
                    m["visible"] >= 0.3,
                )
                for m in t["members"]
            ),
            length_in=wall["length_in"],
            height_in=wall["height_in"],
            spacing_in=wall["spacing_in"],
            whole=wall["whole_in_photo"],
            corners_px=_points(wall["corners_px"]),
            reference_kind=ref["kind"],
            reference_in=length_in,
            marks_px=marks_px,
            in_front_in=ref.get("in_front_in", 0.0),
            camera=camera,
            face_in=min(m["face_in"] / m["plies"] for m in t["members"]),
        )


def other_cases(folder: Path) -> Iterator[Case]:
    """Photos of the other generator (``../shared/photos/renders``), where that folder exists."""
    for path in sorted(folder.glob("*.json")):
        t = json.loads(path.read_text())
        wall, c, ref, size = t["wall"], t["camera"], t["reference"], t["size"]
        kind = {"spacing": "none", "level_vertical": "level"}.get(ref["kind"], ref["kind"])
        corners = t["corners_px"]
        camera = Camera(
            size[0],
            size[1],
            c["f_px"],
            c["c_px"][0],
            c["c_px"][1],
            c["k1"],
            c["k2"],
            tuple(c["position"]),
            tuple(tuple(r) for r in c["R"]),
            c["f35_exif"] or 26.0,
        )
        yield Case(
            name=t["id"],
            source="other",
            row="other generator",
            tags=tuple(t["tags"]),
            photo=path.with_suffix(".jpg"),
            members=tuple(
                TrueMember(
                    s["kind"],
                    s["full_height"],
                    s["centre_in"],
                    s["right_bottom"] - s["left_bottom"],
                    max(1, round((s["right_bottom"] - s["left_bottom"]) / wall["face"])),
                    s["y"][0],
                    s["y"][1],
                    s["visible_fraction"] >= 0.3,
                )
                for s in t["studs"]
            ),
            length_in=wall["length"],
            height_in=wall["height"],
            spacing_in=wall["spacing"],
            whole=t["whole_wall_in_photo"],
            corners_px=_points(corners[k] for k in ("top_left", "top_right", "bottom_right", "bottom_left")),
            reference_kind=kind,
            reference_in=ref.get("true_in", 0.0) if kind != "none" else 0.0,
            marks_px=_points(ref.get("ends_px", [])) if kind != "none" else (),
            in_front_in=1.0 if kind == "level" else 0.0,
            camera=camera,
            face_in=wall["face"],
        )


@dataclass(frozen=True)
class RealStud:
    """A member read by eye on a real photo: its face's edges at one row of pixels."""

    left_px: float
    right_px: float
    kind: str


@dataclass(frozen=True)
class RealPhoto:
    """An annotated real photo."""

    name: str
    path: Path
    view: str
    row_y: float
    studs: tuple[RealStud, ...]
    corners_px: tuple[tuple[float, float], ...] | None


def real_photos(folder: Path) -> Iterator[RealPhoto]:
    """Annotated photos named by ``index.json`` in the folder."""
    for entry in json.loads((folder / "index.json").read_text())["photos"]:
        note = entry.get("annotation")
        if not note:
            continue
        corners = note.get("corners") or {}
        spots = [corners.get(k) for k in ("tl", "tr", "br", "bl")]
        yield RealPhoto(
            entry["file"],
            folder / entry["file"],
            entry["view"],
            float(note["row_y"]),
            tuple(RealStud(float(s["l"]), float(s["r"]), s["type"]) for s in note["studs"]),
            _points(spots) if all(spots) else None,
        )
