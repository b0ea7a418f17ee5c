"""What the user changed on a photo, in the form kept on disk."""

from __future__ import annotations

from typing import Any

from ui.corrections import (
    MOST_MARK_SIGMA_PX,
    MOST_MARKS,
    MOST_PROUD_IN,
    Corrections,
    LinePx,
    OpeningMark,
    ReferenceMark,
    StudMark,
    point_px,
    quad_px,
)
from ui.tape_readings import TapeReading


def corrections_to_json(corrections: Corrections) -> dict[str, Any]:
    """Plain lists and numbers, fit for JSON; `corrections_from_json` gives the same value back."""
    return {
        "studs": [
            {"id": m.mark_id, "front_px": m.front_px, "corrects_px": m.corrects_px} for m in corrections.studs
        ],
        "removed_px": list(corrections.removed_px),
        "confirmed_px": list(corrections.confirmed_px),
        "openings": [
            {"id": m.mark_id, "kind": m.kind, "corners_px": m.corners_px, "corrects_px": m.corrects_px}
            for m in corrections.openings
        ],
        "removed_openings_px": list(corrections.removed_openings_px),
        "corners_px": corrections.corners_px,
        "reference": _reference_to_json(corrections.reference),
        "second": _reference_to_json(corrections.second),
        "tape_readings": [
            {"front_px": t.front_px, "length_in": t.length_in, "length_text": t.length_text}
            for t in corrections.tape_readings
        ],
    }


def _reference_to_json(reference: ReferenceMark | None) -> dict[str, Any] | None:
    if reference is None:
        return None
    return {
        "kind": reference.kind,
        "length_in": reference.length_in,
        "length_text": reference.length_text,
        "from_px": reference.from_px,
        "to_px": reference.to_px,
        "stands_proud_in": reference.stands_proud_in,
        "from_sigma_px": reference.from_sigma_px,
        "to_sigma_px": reference.to_sigma_px,
    }


def _reference_from_json(reference: Any) -> ReferenceMark | None:
    if reference is None:
        return None
    return ReferenceMark(
        "tape" if reference["kind"] == "tape" else "on_centre",
        None if reference.get("length_in") is None else _tape_length(reference["length_in"]),
        str(reference.get("length_text", "")),
        point_px(reference["from_px"]) if reference.get("from_px") else None,
        point_px(reference["to_px"]) if reference.get("to_px") else None,
        _proud(reference.get("stands_proud_in", 0.0)),
        _sigma_px(reference.get("from_sigma_px")),
        _sigma_px(reference.get("to_sigma_px")),
    )


def corrections_from_json(data: dict[str, Any]) -> Corrections:
    """Read the form written by `corrections_to_json`; raises ValueError, KeyError or TypeError on others."""
    if not isinstance(data, dict):
        raise TypeError("corrections are an object of lists")
    if any(isinstance(marks, list) and len(marks) > MOST_MARKS for marks in data.values()):
        raise ValueError("more marks than a wall can have")
    return Corrections(
        studs=tuple(
            StudMark(
                str(m["id"]),
                line_from_json(m["front_px"]),
                line_from_json(m["corrects_px"]) if m["corrects_px"] else None,
            )
            for m in data.get("studs", ())
        ),
        removed_px=tuple(line_from_json(line) for line in data.get("removed_px", ())),
        confirmed_px=tuple(line_from_json(line) for line in data.get("confirmed_px", ())),
        openings=tuple(
            OpeningMark(
                str(m["id"]),
                m["kind"] if m["kind"] in ("door", "box") else "window",
                quad_px(m["corners_px"]),
                quad_px(m["corrects_px"]) if m["corrects_px"] else None,
            )
            for m in data.get("openings", ())
        ),
        removed_openings_px=tuple(quad_px(quad) for quad in data.get("removed_openings_px", ())),
        corners_px=quad_px(data["corners_px"]) if data.get("corners_px") else None,
        reference=_reference_from_json(data.get("reference")),
        tape_readings=tuple(
            TapeReading(
                line_from_json(t["front_px"]), _tape_length(t["length_in"]), str(t.get("length_text", ""))
            )
            for t in data.get("tape_readings", ())
        ),
        second=_reference_from_json(data.get("second")),
    )


def line_from_json(values: Any) -> LinePx:
    """A line of the photo, bottom end then top end; ValueError or TypeError when it is none."""
    start, end = values
    return (point_px(start), point_px(end))


def _proud(value: Any) -> float:
    proud_in = float(value or 0.0)
    if not 0 <= proud_in <= MOST_PROUD_IN:  # also refuses NaN
        raise ValueError("marks stand at most a foot in front of the studs")
    return proud_in


def _sigma_px(value: Any) -> float | None:
    if value is None:
        return None
    sigma_px = float(value)
    if not 0 <= sigma_px <= MOST_MARK_SIGMA_PX:  # also refuses NaN
        raise ValueError("a mark lies in the photo")
    return sigma_px


def _tape_length(value: Any) -> float:
    length_in = float(value)
    if not 0 < length_in < 1e5:  # also refuses NaN
        raise ValueError("a tape reading must be a length")
    return length_in
