"""What the picture editor is given to draw, and how its edits come back. Pure functions, no Streamlit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from layout.lengths import LengthError, format_length, mm_to_in, parse_length_in
from ui.bridge import BoardShapes, PieceShape
from ui.corrections import (
    CorrectedWall,
    Corrections,
    ReferenceMark,
)
from ui.corrections_json import corrections_from_json, corrections_to_json
from ui.plus_minus import along_wall, plus_minus
from ui.words import Words
from vision.wall_plane import WallPlane

SPACINGS_IN = {"16in": 16.0, "24in": 24.0, "400mm": mm_to_in(400.0), "600mm": mm_to_in(600.0)}
"""The spacings of studs to choose from, on centre."""
OUTSIDE_SHARE = 0.5
"""A mark may lie this share of the photo's side outside it (a wall cut off by the frame), no more."""


@dataclass(frozen=True)
class PhotoShown:
    """The picture the browser loads, and the size of the photo whose pixels all marks refer to."""

    url: str
    width_px: int
    height_px: int


class EditRefused(ValueError):  # noqa: N818 - what is refused is said to the user, nothing is lost
    """The edit cannot be taken; the text says why and what to do."""


def editor_view(
    wall: CorrectedWall,
    corrections: Corrections,
    photo: PhotoShown,
    boards: BoardShapes | None,
    words: Words,
    style: str,
    *,
    session: str,
    seq: int,
    revision: int,
    can_undo: bool,
    can_redo: bool,
    boards_current: bool = True,
    problem: str = "",
    start_tool: str = "",
    marks_again: bool = False,
) -> dict[str, Any]:
    """Everything the editor draws, as plain lists, numbers and strings.

    `seq` is the number of the newest edit that has arrived, `revision` rises when the marks were
    replaced here (another photo, undo), `session` tells one run of the server's session from the
    next. `boards_current` is False while the boards drawn are those of before the newest edit.
    `marks_again` asks for the two marks of the known length first.
    """
    reading = wall.reading
    return {
        "session": session,
        "seq": seq,
        "revision": revision,
        "photo": {"url": photo.url, "width_px": photo.width_px, "height_px": photo.height_px},
        "plane": _plane(reading.plane),
        "wall": None
        if reading.wall is None
        else {"length_in": reading.wall.length_in, "height_in": reading.wall.height_in},
        "scale": length_scale(style),
        "marks_again": marks_again,
        "spacings": [
            {
                "name": name,
                "length_in": length_in,
                "text": words("editor.on_centre", spacing=name.replace("in", " in").replace("mm", " mm")),
            }
            for name, length_in in SPACINGS_IN.items()
            if name.endswith("mm") == (style == "mm")
        ],
        "studs": [
            {
                "key": shown.key,
                "number": shown.number,
                "bottom_px": shown.member.front_px[0],
                "top_px": shown.member.front_px[1],
                "centre_in": shown.member.centre_in,
                "sigma_text": plus_minus(shown.member.sigma_in, style),
                "sure": shown.member.sure,
                "yours": shown.yours,
                "why": "" if shown.member.sure or shown.yours else why_doubtful(shown.member.doubts, words),
                "corrects_px": shown.corrects_px,
            }
            for shown in wall.members
        ],
        "openings": [
            {
                "key": shown.key,
                "kind": shown.opening.kind,
                "corners_px": shown.corners_px,
                "yours": shown.yours,
                "sure": shown.opening.sure,
                "corrects_px": shown.corrects_px,
                "text": f"{words('editor.' + shown.opening.kind)} "
                f"{along_wall(shown.opening.right_in - shown.opening.left_in, style)} × "
                f"{along_wall(shown.opening.top_in - shown.opening.bottom_in, style)}",
            }
            for shown in wall.openings
        ],
        "corners_px": corrections.corners_px or (reading.wall.corners_px if reading.wall else None),
        "corners_yours": corrections.corners_px is not None,
        "tape_texts": {
            "reference": _tape_text(corrections.reference, style),
            "second": _tape_text(corrections.second, style),
        },
        "boards": [] if boards is None else [_piece(shape, style) for shape in boards.pieces],
        "boards_current": boards_current,
        "seams": []
        if boards is None
        else [{"line_px": seam.line_px, "sure": seam.sure} for seam in boards.seams],
        "corrections": corrections_to_json(corrections),
        "can_undo": can_undo,
        "can_redo": can_redo,
        "problem": problem,
        "start_tool": start_tool,
        "words": _editor_words(words, style),
    }


def _tape_text(reference: ReferenceMark | None, style: str) -> str:
    if reference is None or reference.kind != "tape" or reference.length_in is None:
        return ""
    return format_length(reference.length_in, style)


def _piece(shape: PieceShape, style: str) -> dict[str, Any]:
    return {
        "outline_px": shape.outline_px,
        "cutouts_px": shape.cutouts_px,
        "label_px": shape.label_px,
        "text": format_length(shape.length_in, style),
        "number": str(shape.number),
        "sheet": shape.sheet,
    }


def _plane(plane: WallPlane | None) -> dict[str, Any] | None:
    if plane is None:
        return None
    wall_from_view = np.asarray(plane.wall_from_view, dtype=float)
    return {
        "focal_px": float(plane.focal_px),
        "principal_px": [float(v) for v in plane.principal_px],
        "k1": float(plane.k1),
        "k2": float(plane.k2),
        "wall_from_view": [float(v) for v in wall_from_view.ravel()],
        "view_from_wall": [float(v) for v in np.linalg.inv(wall_from_view).ravel()],
    }


def length_scale(style: str) -> dict[str, Any]:
    """How the editor prints a place along the wall while a mark is being dragged.

    A length is `steps_per_whole` steps of `step_in` inches to the whole unit; `parts` holds the
    printed fraction of each step. The texts come from `layout.lengths`, the one place that prints.
    """
    if style == "mm":
        return {"step_in": mm_to_in(1.0), "steps_per_whole": 1, "parts": [""], "suffix": " mm"}
    parts = [format_length(step / 16, "inches").rstrip('"') for step in range(16)]
    return {"step_in": 1 / 16, "steps_per_whole": 16, "parts": ["", *parts[1:]], "suffix": '"'}


def _editor_words(words: Words, style: str) -> dict[str, Any]:
    step = "1 mm" if style == "mm" else format_length(1 / 16, "inches")
    group: dict[str, Any] = words.group("editor")
    group["step"] = step
    group["length_hint"] = words.in_units("editor.length_hint", style)
    group["nudge_left"] = words("editor.nudge_left", step=step)
    group["nudge_right"] = words("editor.nudge_right", step=step)
    group["corner_names"] = [group.pop(f"corner_{n}") for n in (1, 2, 3, 4)]
    return group


def why_doubtful(doubts: tuple[str, ...], words: Words) -> str:
    """What makes a stud doubtful and what to do about it, one sentence per reason."""
    general = words("doubt.other")
    return " ".join(dict.fromkeys(words.or_else(f"doubt.{code}", general) for code in doubts)) or general


def take_edit(edit: dict[str, Any], before: Corrections, width_px: int, height_px: int) -> Corrections:
    """The corrections an edit of the browser leads to.

    Parameters
    ----------
    edit : dict
        What the editor sent: its `corrections` hold the whole new document.
    before : Corrections
        What holds now; a tape length that was already read is kept as it was typed.
    width_px, height_px : int
        Size of the photo.

    Raises
    ------
    EditRefused
        The document has another form than ours or a mark lies far outside the photo.
    """
    try:
        after = corrections_from_json(edit["corrections"])
    except (KeyError, TypeError, ValueError) as fault:
        raise EditRefused("say.mark_outside") from fault
    low = (-OUTSIDE_SHARE * width_px, -OUTSIDE_SHARE * height_px)
    high = ((1 + OUTSIDE_SHARE) * width_px, (1 + OUTSIDE_SHARE) * height_px)
    for x, y in _all_points(after):
        if not (low[0] <= x <= high[0] and low[1] <= y <= high[1]):
            raise EditRefused("say.mark_outside")
    return replace(
        after,
        reference=_with_length_read(after.reference, before.reference),
        second=_with_length_read(after.second, before.second),
    )


def _all_points(corrections: Corrections) -> list[tuple[float, float]]:
    points = [p for mark in corrections.studs for p in mark.front_px]
    points += [p for mark in corrections.openings for p in mark.corners_px]
    points += list(corrections.corners_px or ())
    for reference in (corrections.reference, corrections.second):
        if reference is not None:
            points += [p for p in (reference.from_px, reference.to_px) if p is not None]
    return points


def _with_length_read(after: ReferenceMark | None, before: ReferenceMark | None) -> ReferenceMark | None:
    if after is None or after.kind != "tape":
        return after
    if before is not None and before.kind == "tape" and before.length_text == after.length_text:
        return replace(after, length_in=before.length_in)
    try:
        length_in = parse_length_in(after.length_text)
    except LengthError:
        length_in = None
    return replace(after, length_in=length_in if length_in and length_in > 0 else None)


def reference_problem(reference: ReferenceMark | None, words: Words) -> str:
    """One sentence when the tape marks cannot be used as they stand, else ""."""
    if reference is None or reference.kind != "tape":
        return ""
    if reference.from_px is None or reference.to_px is None:
        return ""
    if reference.on_one_spot():
        return words("say.marks_coincide")
    if reference.length_in is not None:
        return ""
    if not reference.length_text.strip():
        return ""  # the card asks for it
    try:
        parse_length_in(reference.length_text)
    except LengthError as fault:
        return words.said(str(fault))
    return words("say.length_positive", text=reference.length_text.strip())
