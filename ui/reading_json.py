"""A reading as JSON for the store, and the key under which it is kept."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Any

import vision.reading
from ui.market import spacings_to_assume_in
from ui.material import FACE_IN, TIMBER, face_to_read_in
from ui.store_rows import Surface
from vision import ASSUMED_SPACINGS_IN
from vision.reading import Member, Opening, PointPx, Reading, Reference, TapeCheck, Wall, Warning
from vision.wall_plane import WallPlane


def reading_key(
    photo_sha256: str,
    reference: Reference | None,
    corners_px: tuple[PointPx, ...] | None = None,
    face_in: float | None = None,
    check: TapeCheck | None = None,
    assumed_in: tuple[float, ...] | None = None,
) -> str:
    """A key that changes with the photo, with anything it was read by, and with the reader itself."""
    inputs: list[Any] = [
        photo_sha256,
        None if reference is None else asdict(reference),
        corners_px,
        face_in,
        None if check is None else asdict(check),
        _reader_digest(),
    ]
    if assumed_in is not None:
        inputs.append(assumed_in)
    return hashlib.sha256(json.dumps(inputs).encode()).hexdigest()


def key_to_read(photo: Surface) -> str:
    """The key of the reading that a kept photo needs now: by its known length (without one, by what is usual
    where the house is), by its corners and by what its wall is framed with."""
    marks = photo.corrections
    reference = marks.reference.for_reading() if marks.reference else None
    face_in = face_to_read_in(photo)
    # none named for timber: what was read before there was a choice stays known
    told_in = None if face_in == FACE_IN[TIMBER] else face_in
    assumed_in = spacings_to_assume_in(photo)
    # those of the United States neither, for the same reason; with a known length none is assumed
    told_spacings_in = None if reference is not None or assumed_in == ASSUMED_SPACINGS_IN else assumed_in
    return reading_key(
        photo.photo_sha256 or "", reference, marks.corners_px, told_in, assumed_in=told_spacings_in
    )


@cache
def _reader_digest() -> str:
    """Digest of the package that reads photos: a kept reading never outlives the code that made it."""
    folder = Path(vision.reading.__file__).parent
    digest = hashlib.sha256()
    for file in sorted(folder.rglob("*")):
        if file.suffix in (".py", ".onnx", ".npz"):
            digest.update(file.relative_to(folder).as_posix().encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


def reading_to_json(reading: Reading) -> dict[str, Any]:
    """Plain lists and numbers; `reading_from_json` gives an equal reading back."""
    return json.loads(json.dumps(asdict(reading), allow_nan=False))


def reading_from_json(data: dict[str, Any]) -> Reading:
    """Read the form written by `reading_to_json`; ValueError, KeyError or TypeError on any other."""
    plane, wall = data["plane"], data["wall"]
    return Reading(
        width_px=int(data["width_px"]),
        height_px=int(data["height_px"]),
        reference=Reference(
            **{
                **data["reference"],
                "from_px": _point(data["reference"]["from_px"]),
                "to_px": _point(data["reference"]["to_px"]),
            }
        ),
        wall=None if wall is None else Wall(**{**wall, "corners_px": _tuples(wall["corners_px"])}),
        plane=None
        if plane is None
        else WallPlane(
            **{
                **plane,
                "principal_px": _point(plane["principal_px"]),
                "wall_from_view": _tuples(plane["wall_from_view"]),
            }
        ),
        members=tuple(
            Member(**{**member, "front_px": _tuples(member["front_px"]), "doubts": tuple(member["doubts"])})
            for member in data["members"]
        ),
        openings=tuple(Opening(**opening) for opening in data["openings"]),
        warnings=tuple(Warning(**warning) for warning in data["warnings"]),
        refused=bool(data["refused"]),
        boxes=tuple(Opening(**box) for box in data.get("boxes", ())),
    )


def _point(values: Any) -> Any:
    return None if values is None else tuple(values)


def _tuples(values: Any) -> Any:
    return tuple(tuple(inner) for inner in values)
