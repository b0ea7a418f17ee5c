"""A reading as ``seamwright studs`` prints it: the JSON object and the short table."""

from __future__ import annotations

import math
from typing import Any

from layout.lengths import format_length
from ui.plus_minus import along_wall, plus_minus
from vision import DOUBT_WORDS
from vision.checks import best_next_reading
from vision.photo import Photo
from vision.reading import Member, Reading


def studs_json(reading: Reading, photo: Photo, material: str = "timber") -> dict[str, Any]:
    """The object that ``--json`` prints; lengths in inches, pixels those of the upright photo file.

    `material` is what the user said that the wall is framed with: the photo does not tell.

    `reading` is already in the file's own pixels (`ui.bridge.in_file_px`). Figures that are not
    finite become null: JSON knows no others.
    """
    wall, reference = reading.wall, reading.reference
    report = {
        "photo": {
            "width_px": reading.width_px,
            "height_px": reading.height_px,
            "focal_px": None if photo.focal_px is None else photo.focal_px * photo.shrunk_by,
            "focal_doubt": photo.focal_doubt,
        },
        "reference": {
            "kind": reference.kind,
            "length_in": reference.length_in,
            "assumed": reference.assumed,
        },
        "wall": None
        if wall is None
        else {
            "length_in": wall.length_in,
            "length_sigma_in": wall.length_sigma_in,
            "height_in": wall.height_in,
            "height_sigma_in": wall.height_sigma_in,
            "corners_px": [list(corner) for corner in wall.corners_px],
        },
        "material": material,
        "studs": [_stud_json(member) for member in _from_the_left(reading)],
        "openings": [
            {
                "kind": opening.kind,
                "left_in": opening.left_in,
                "right_in": opening.right_in,
                "bottom_in": opening.bottom_in,
                "top_in": opening.top_in,
                "sure": opening.sure,
            }
            for opening in reading.openings
        ],
        "boxes": [
            {
                "left_in": box.left_in,
                "right_in": box.right_in,
                "bottom_in": box.bottom_in,
                "top_in": box.top_in,
                "sure": box.sure,
            }
            for box in reading.boxes
        ],
        "warnings": [
            {"code": warning.code, "message": warning.message, "advice": warning.advice}
            for warning in reading.warnings
        ],
        "refused": reading.refused,
    }
    best = best_next_reading(_from_the_left(reading))
    if best is not None and not reading.refused:
        report["best_next_reading"] = {
            "stud": best + 1,
            "centre_in": _from_the_left(reading)[best].centre_in,
        }
    return finite(report)


def _stud_json(member: Member) -> dict[str, Any]:
    return {
        "centre_in": member.centre_in,
        "sigma_in": member.sigma_in,
        "face_in": member.face_in,
        "lean_in": member.lean_in,
        "bow_in": member.bow_in,
        "plies": member.plies,
        "kind": member.kind,
        "sure": member.sure,
        "front_px": [list(end) for end in member.front_px],
        "bottom_in": member.bottom_in,
        "top_in": member.top_in,
        "doubts": list(member.doubts),
    }


def finite(value: Any) -> Any:
    """The same value with every NaN and infinity turned to None, all the way down."""
    if isinstance(value, dict):
        return {key: finite(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [finite(inner) for inner in value]
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    return value


def studs_table(reading: Reading, style: str) -> str:
    """What a person reads: the wall, its scale, one line per stud, then the doubts.

    `style` is a style of `layout.lengths.format_length`: "feet_inches" or "mm".
    """
    lines = []
    if reading.wall is not None:
        wall = reading.wall
        lines.append(
            f"Wall {format_length(wall.length_in, style)} {plus_minus(wall.length_sigma_in, style)} long, "
            f"{format_length(wall.height_in, style)} {plus_minus(wall.height_sigma_in, style)} high."
        )
    lines.append(_scale_line(reading, style))
    members = _from_the_left(reading)
    if members:
        lines += ["", "Studs, centre from the wall's left end:"]
        rows = [
            (
                str(number),
                along_wall(member.centre_in, style),
                plus_minus(member.sigma_in, style),
                _note(member, style),
            )
            for number, member in enumerate(members, start=1)
        ]
        widths = [max(len(row[column]) for row in rows) for column in range(3)]
        for row in rows:
            cells = [f"{cell:>{width}}" for cell, width in zip(row, widths, strict=False)]
            lines.append(f"  {'  '.join(cells)}  {row[3]}".rstrip())
    else:
        lines.append("No studs were found.")
    for opening in (*reading.openings, *reading.boxes):
        lines.append(
            f"Opening ({opening.kind}{'' if opening.sure else ', please check'}): "
            f"{along_wall(opening.left_in, style)} to {along_wall(opening.right_in, style)} along, "
            f"{along_wall(opening.bottom_in, style)} to {along_wall(opening.top_in, style)} up."
        )
    best = best_next_reading(members)
    if best is not None and not reading.refused:
        place = along_wall(members[best].centre_in, style)
        lines += [
            "",
            f"One more tape reading would help most at stud {best + 1}: measure from the wall's left end to "
            f"its middle and give --check {members[best].centre_in:.0f}in=LENGTH (the photo says {place}).",
        ]
    if reading.warnings:
        lines.append("")
        lines += [f"Note: {warning.message} {warning.advice}" for warning in reading.warnings]
    return "\n".join(lines)


def _scale_line(reading: Reading, style: str) -> str:
    reference = reading.reference
    length = format_length(reference.length_in, style)
    if reference.kind == "tape":
        return f"Scale: {length} between the two marks."
    if reading.scale_guessed:
        return f"Scale: {length} on centre, ASSUMED from the photo. Measure one length to be sure."
    if reference.assumed:
        return "Scale: by your tape reading."
    return f"Scale: studs {length} on centre, as stated."


def _note(member: Member, style: str) -> str:
    notes = []
    if not member.sure:
        why = "; ".join(DOUBT_WORDS.get(code, code) for code in member.doubts)
        notes.append(f"LOOK, put a tape here{f' ({why})' if why else ''}")
    if member.plies > 1:
        notes.append(f"{member.plies} together, {along_wall(member.face_in, style)} wide")
    if member.kind == "partial":
        notes.append(
            f"only from {along_wall(member.bottom_in, style)} to {along_wall(member.top_in, style)} up"
        )
    return ", ".join(notes)


def _from_the_left(reading: Reading) -> list[Member]:
    return sorted(reading.members, key=lambda member: member.centre_in)
