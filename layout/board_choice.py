"""Is the chosen board right for the framing?  Thickness, spacing, direction, height.

Each table stands beside its source; a broken limit is a warning that cites it.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from layout.framing import Surface
from layout.lengths import format_length, in_to_mm
from layout.markets import Rules
from layout.plan_types import PlanWarning
from layout.rules import seam_bears_on_member

__all__ = ["CUT_OFF", "GUESSED", "board_warnings", "framing_spacing_in", "row_warnings", "widest_spacing_in"]

CUT_OFF = "wall_cut_off"
"""Code of the warning that a surface goes on where its photo ends; the reading has it under the same one."""
GUESSED = "assumed_spacing"
"""Code of the warning that nobody gave a photo its length; the reading has it under the same one."""

# (surface kind, thickness to, long edge across the members) -> widest spacing in inches.
# Walls: USDA Agriculture Handbook 73 and IRC Table R702.3.5 (values from memory, agreeing
# with a published data sheet): 3/8 in to 16 in, 1/2 and 5/8 in to 24 in either way.
# Ceilings: 3/8 in 16 across only; 1/2 and 5/8 in 24 across, 16 parallel.
_Table = dict[str, tuple[tuple[float, float, float], ...]]
_US: _Table = {
    "wall": ((0.375, 16.0, 16.0), (0.5, 24.0, 24.0), (0.625, 24.0, 24.0)),
    "ceiling": ((0.375, 16.0, 0.0), (0.5, 24.0, 16.0), (0.625, 24.0, 16.0)),
}
_US_SOURCE = "IRC Table R702.3.5 (value from memory); NAVEDTRA 14044 p. 158 for 1/2 in at 16 in"
# NHBC Standards 9.2.4 Table 5: 9.5 mm to 450 mm; 12.5, 15 and 19 mm to 600 mm (walls).
# Ceilings, 2022 table: 9.5 mm 400 mm without noggings, 12.5 mm 450 mm without noggings, 15 mm 600.
_UK: _Table = {
    "wall": ((9.5, 450.0, 450.0), (12.5, 600.0, 600.0), (15.0, 600.0, 600.0), (19.0, 600.0, 600.0)),
    "ceiling": ((9.5, 400.0, 0.0), (12.5, 450.0, 450.0), (15.0, 600.0, 600.0)),
}
_UK_SOURCE = "NHBC Standards 9.2.4 Table 5"
# CMHC text under Ontario Building Code 9.29.5.3: 9.5 mm to 400 mm across; 600 mm needs 12.7 mm;
# ceilings: sag-resistant 12.7 mm across to 600 mm.
_CA: _Table = {
    "wall": ((9.5, 400.0, 0.0), (12.7, 600.0, 600.0), (15.9, 600.0, 600.0)),
    "ceiling": ((9.5, 400.0, 0.0), (12.7, 400.0, 400.0), (15.9, 600.0, 400.0)),
}
_CA_SOURCE = "CMHC text on oncodes.ca under Ontario Building Code 9.29.5.3 (ceiling parallel: assumed)"
_TABLES: dict[str, tuple[_Table, str]] = {
    "us": (_US, _US_SOURCE),
    "uk": (_UK, _UK_SOURCE),
    "ca": (_CA, _CA_SOURCE),
}
HIGH_WALL_IN = 97.0


def framing_spacing_in(surface: Surface) -> float | None:
    """Widest distance between neighbouring full members, inches; None with fewer than two."""
    centres = [m.centre_in for m in surface.members if m.kind == "full"]
    gaps = [b - a for a, b in pairwise(centres)]
    # Openings part the framing; what is boarded there is carried by header and sill.
    inside = [
        (o.left_in, o.right_in) if surface.members_run == "up" else (o.bottom_in, o.top_in)
        for o in surface.openings
    ]
    gaps = [b - a for a, b in pairwise(centres) if not any(low < (a + b) / 2 < high for low, high in inside)]
    return max(gaps, default=None)


def widest_spacing_in(market: str, kind: str, thickness_in: float, across: bool) -> tuple[float, str]:
    """Widest member spacing that a board allows, inches (0: not allowed), and the source.

    Examples
    --------
    >>> widest_spacing_in("us", "ceiling", 0.5, across=False)[0]
    16.0
    """
    surface = "wall" if kind == "wall" else "ceiling"
    scale = 1.0 if market == "us" else 1.0 / in_to_mm(1.0)
    table, source = _TABLES[market]
    widest = 0.0
    for thickness, over, along in table[surface]:
        if thickness_in >= thickness * scale - 1 / 64:
            widest = over if across else along
    return widest * scale, source


def board_warnings(surface: Surface, rules: Rules, upright: bool, courses: int) -> list[PlanWarning]:
    """Warnings about thickness against spacing, direction, height, ends and extent of one surface.

    `courses` is how many rows of boards there are: two that reach from ceiling to floor, as 54-in boards
    do on a 9-ft wall, need no other direction.
    """
    found: list[PlanWarning] = []
    name = surface.name or surface.id
    spacing = framing_spacing_in(surface)
    widest, source = widest_spacing_in(rules.market, surface.kind, surface.thickness_in, not upright)
    # Three quarters of an inch of wander is framing, not another spacing.
    if rules.on("board_suits_the_spacing") and spacing is not None and spacing > widest + 0.75:
        across, _ = widest_spacing_in(rules.market, surface.kind, surface.thickness_in, True)
        remedy = (
            "Run the long edges across the members."
            if upright and spacing <= across + 0.75
            else "Choose a thicker board, or add members between."
        )
        found.append(
            PlanWarning(
                "spacing_too_wide",
                f"The members of {name} are up to {format_length(spacing)} apart; this board "
                f"{'upright ' if upright else ''}is allowed "
                + (f"to {format_length(widest)}" if widest else "not at all this way round")
                + f" ({source}).",
                remedy,
                surface.id,
                "board_suits_the_spacing",
            )
        )
    boarded = surface.height_in - surface.ceiling_board_in
    high = surface.kind == "wall" and boarded > HIGH_WALL_IN and not upright and courses > 2
    if high and rules.on("board_direction_by_height"):
        found.append(
            PlanWarning(
                "high_wall",
                f"{name} is {format_length(boarded)} high under the ceiling: above 8 ft 1 in boards "
                "are often hung upright (NAVEDTRA 14044 p. 161), or 54 in wide to 9 ft.",
                "Compare the plan with upright boards or wider ones.",
                surface.id,
                "board_direction_by_height",
            )
        )
    if surface.guessed:
        found.append(
            PlanWarning(
                GUESSED,
                f"Nobody measured a length on {name}: its size was guessed from the photo, so its boards can "
                "be too many, too few or too short.",
                "Measure one length on it before you order.",
                surface.id,
            )
        )
    if surface.cut_off:
        found.append(
            PlanWarning(
                CUT_OFF,
                f"{name} runs out of its picture, so the boards for the rest of it are not counted.",
                "Take it in two photos, or enter it as measured with a tape.",
                surface.id,
            )
        )
    if any(not opening.sure for opening in surface.openings):
        found.append(
            PlanWarning(
                "opening_unsure",
                f"An opening of {name} is not sure.",
                "Measure it before cutting the boards around it.",
                surface.id,
            )
        )
    return found + _narrow_faces(surface, rules) + _ends_that_hang(surface, rules)


END_IN = 6.0
"""A board may reach this far beyond the last member at a corner (common practice, no source): there the
next wall's stud or a backing strip is often hidden behind the corner."""


ENDS = ("at the left end", "at the right end")
SIDES = ("at the lower side of the drawing", "at the upper side of the drawing")


def _ends_that_hang(surface: Surface, rules: Rules) -> list[PlanWarning]:
    """A note for every end of a surface where no member is near: board ends are to be on framing there too
    (IBC 2508.3).  The edge of an opening has a member, told or not.
    """
    if not rules.on("seam_bears_on_member"):
        return []
    up = surface.members_run == "up"
    span_in = surface.width_in if up else surface.height_in
    held = [(m.centre_in - m.face_in / 2, m.centre_in + m.face_in / 2) for m in surface.members]
    held += [(o.left_in, o.right_in) if up else (o.bottom_in, o.top_in) for o in surface.openings]
    name = surface.name or surface.id
    advice = "Put in a stud or backing at that end before they go up, or add the member that is there."
    if not held:
        return [
            PlanWarning(
                "end_without_member",
                f"{name} has no member that boards could be fixed to.",
                "Add its members, or put in framing before the boards go up.",
                surface.id,
                "seam_bears_on_member",
            )
        ]
    first, last = min(low for low, _ in held), max(high for _, high in held)
    return [
        PlanWarning(
            "end_without_member",
            f"The boards of {name} reach {format_length(free_in)} beyond the last member {where}.",
            advice,
            surface.id,
            "seam_bears_on_member",
        )
        for where, free_in in zip(ENDS if up else SIDES, (first, span_in - last), strict=True)
        if free_in > END_IN
    ]


def _narrow_faces(surface: Surface, rules: Rules) -> list[PlanWarning]:
    """A note where most members are too narrow for timber but as wide as steel studs have to be."""
    if not rules.on("seam_bears_on_member"):
        return []
    narrow = [
        member
        for member in surface.members
        if not seam_bears_on_member(member, rules)
        and seam_bears_on_member(replace(member, material="steel"), rules)
    ]
    if 2 * len(narrow) <= len(surface.members):
        return []
    face_in = min(member.face_in for member in narrow)
    return [
        PlanWarning(
            "face_narrow_for_timber",
            f"The members of {surface.name or surface.id} are {format_length(face_in)} wide: too narrow for "
            "two board ends on timber, wide enough on steel.",
            'If they are steel, say so: `studs --material steel`, or "material": "steel" in the job file.',
            surface.id,
            "seam_bears_on_member",
        )
    ]


THIN_ROW_IN = 12.0
"""A row narrower than this is worth a word (common practice, no source)."""


def row_warnings(surface: Surface, heights_in: tuple[float, ...], upright: bool) -> list[PlanWarning]:
    """A warning where the last row is a thin strip, and how to be rid of it."""
    if len(heights_in) < 2 or heights_in[-1] >= THIN_ROW_IN:
        return []
    name = surface.name or surface.id
    strip = format_length(heights_in[-1])
    if surface.kind != "wall":
        advice = "Start the rows from the other side, or choose wider boards, if the strip would show."
    elif upright:
        advice = "Buy boards long enough to stand from floor to ceiling."
    else:
        advice = "Choose wider boards, or a larger floor gap if the baseboard covers it."
    return [
        PlanWarning(
            "thin_row",
            f"The last row of {name} is a strip of only {strip}.",
            advice,
            surface.id,
            "ripped_edge_goes_to_the_floor",
        )
    ]
