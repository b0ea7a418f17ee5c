"""What ``seamwright studs --json`` printed for several walls, put together into one job file."""

from __future__ import annotations

import json
from typing import Any

from layout import (
    USUAL_CEILING_BOARD_IN,
    Box,
    Job,
    JobError,
    Member,
    Opening,
    Surface,
    rules_for,
    stock_for,
)
from layout.board_choice import CUT_OFF, GUESSED
from layout.framing import MATERIALS
from layout.lengths import format_length
from layout.offers import has_width
from layout.stock import usual_width_in
from ui.first_job import letter
from ui.material import TIMBER

LARGEST_FILE_CHARS = 20_000_000


class GatherError(ValueError):
    """A file that is not what ``studs`` printed, or a reading that must not be built on."""


def gather(
    walls: list[tuple[str, bytes]],
    *,
    name: str = "",
    market: str = "us",
    board_width_in: float | None = None,
    take_openings: bool = False,
) -> Job:
    """One job from the JSON of several photos.

    Parameters
    ----------
    walls : list of (name, bytes)
        The walls' names, in the job's order, and the JSON that ``studs`` printed for each.
    board_width_in : float or None
        One that the market has; None: its usual one.
    take_openings : bool
        Count the openings and boxes that the photos proposed as accepted; otherwise openings stay unsure
        and boxes are left out.

    Raises
    ------
    GatherError
        Names the wall, says what is wrong and what to do.
    """
    if not walls:
        raise GatherError("No walls were given: name at least one file that `seamwright studs --json` wrote.")
    width_in = _board_width_in(market, board_width_in)
    surfaces = []
    for number, (wall_name, text) in enumerate(walls):
        try:
            surfaces.append(_surface(letter(number), wall_name, text, width_in, take_openings))
        except JobError as fault:
            raise GatherError(f"{wall_name}: {fault.field}: {fault.message}") from fault
    return Job(surfaces=tuple(surfaces), stock=stock_for(market), rules=rules_for(market), name=name)


def _board_width_in(market: str, asked_in: float | None) -> float:
    """The width asked for, or the market's usual one; a width that nobody sells there boards no wall."""
    if asked_in is None:
        return usual_width_in(market)
    stock = [board for board in stock_for(market) if board.kind == "regular"]
    if not has_width(stock, asked_in):
        widths = sorted({board.width_in for board in stock})
        style = "mm" if market == "uk" else "inches"
        raise GatherError(
            f"The {market} market has no board {format_length(asked_in, style)} wide: "
            f"choose {' or '.join(format_length(width, style) for width in widths)}."
        )
    return asked_in


def _surface(surface_id: str, name: str, text: bytes, board_width_in: float, take_openings: bool) -> Surface:
    report = _report(name, text)
    if report.get("refused"):
        raise GatherError(f"{name}: this reading was refused as unreliable: take the photo again as advised.")
    wall, studs = report.get("wall"), report.get("studs")
    if not isinstance(wall, dict) or not isinstance(studs, list):
        raise GatherError(f"{name}: it holds no wall with studs: run `seamwright studs` on the photo again.")
    material = report.get("material", TIMBER)  # a reading from before it was asked is of timber
    if material not in MATERIALS:
        raise GatherError(
            f"{name}: material is none of {', '.join(MATERIALS)}: run `seamwright studs` on the photo again."
        )
    members = tuple(
        Member(
            id=str(number),
            centre_in=_number(name, stud, "centre_in"),
            sigma_in=_number(name, stud, "sigma_in"),
            face_in=_number(name, stud, "face_in"),
            plies=int(_number(name, stud, "plies")),
            kind=str(_field(name, stud, "kind")),
            sure=_field(name, stud, "sure") is True,
            bottom_in=_reach(stud, "bottom_in"),
            top_in=_reach(stud, "top_in"),
            material=material,
        )
        for number, stud in enumerate(studs, start=1)
    )
    openings = tuple(
        Opening(
            str(number),
            *_sides(name, opening),
            kind=str(_field(name, opening, "kind")),
            sure=take_openings or _field(name, opening, "sure") is True,
        )
        for number, opening in enumerate(_items(name, report, "openings"), start=1)
    )
    boxes = tuple(
        Box(str(number), *_sides(name, box))
        for number, box in enumerate(_items(name, report, "boxes"), start=1)
        if take_openings or _field(name, box, "sure") is True
    )
    codes = {_field(name, warning, "code") for warning in _items(name, report, "warnings")}
    return Surface(
        id=surface_id,
        name=name,
        boxes=boxes,
        width_in=_number(name, wall, "length_in"),
        height_in=_number(name, wall, "height_in"),
        members=members,
        openings=openings,
        board_width_in=board_width_in,
        cut_off=CUT_OFF in codes,
        guessed=GUESSED in codes,
        ceiling_board_in=USUAL_CEILING_BOARD_IN,
    )


def _items(name: str, report: dict[str, Any], field: str) -> list[Any]:
    """A list of the reading; empty where it has none."""
    items = report.get(field) or []
    if not isinstance(items, list):
        raise GatherError(f"{name}: {field} is no list: run `seamwright studs` on the photo again.")
    return items


def _sides(name: str, item: Any) -> tuple[float, float, float, float]:
    """Left, right, bottom and top of an opening or a box."""
    return (
        _number(name, item, "left_in"),
        _number(name, item, "right_in"),
        _number(name, item, "bottom_in"),
        _number(name, item, "top_in"),
    )


def _report(name: str, text: bytes) -> dict[str, Any]:
    if len(text) > LARGEST_FILE_CHARS:
        raise GatherError(f"{name}: the file is larger than 20 MB: that is not a reading.")
    try:
        report = json.loads(text.decode("utf-8-sig"))
    except (ValueError, RecursionError) as fault:
        raise GatherError(
            f"{name}: the file is not JSON: give a file that `seamwright studs --json` wrote."
        ) from fault
    if not isinstance(report, dict):
        raise GatherError(
            f"{name}: the file is no reading: give a file that `seamwright studs --json` wrote."
        )
    return report


def _field(name: str, item: Any, field: str) -> Any:
    if not isinstance(item, dict) or field not in item:
        raise GatherError(f"{name}: {field} is missing: run `seamwright studs` on the photo again.")
    return item[field]


def _number(name: str, item: Any, field: str) -> float:
    value = _field(name, item, field)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < 1e15:
        raise GatherError(f"{name}: {field} is no number: run `seamwright studs` on the photo again.")
    return float(value)


def _reach(stud: dict[str, Any], field: str) -> float | None:
    """How far a partial member reaches; None for one from plate to plate."""
    value = stud.get(field)
    if stud.get("kind") != "partial" or isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value)
