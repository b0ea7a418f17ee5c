"""The application rules, one function each, named after the rule.

The first sentence of a docstring is the rule as a builder says it; `source` says where it
comes from.  `rule_table` makes the documentation's table from these functions, so a rule is
changed in three places: here, its test, and its line in that table by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from layout.bands import Void
from layout.framing import Member, Surface
from layout.lengths import GRID_PER_IN, to_grid
from layout.markets import Rules

__all__ = [
    "RULES",
    "RuleEntry",
    "allowance_in",
    "bearing_in",
    "covered_gap_counts_as_covered",
    "factory_ends_meet_at_seams",
    "member_reaches",
    "no_sliver_at_a_seam",
    "rule_table",
    "seam_bears_on_member",
    "seam_keeps_clear_of_openings",
    "seams_of_neighbouring_rows_are_staggered",
    "seams_of_opposite_faces_differ",
]

HEADER_REACH = 12 * GRID_PER_IN
"""A seam above or below an opening may run over the header or sill, solid wood: up to 12 in."""
PLATE_REACH = 4 * GRID_PER_IN + 20
"""Three plates of 1 1/2 in and the tape's error: what a cripple may stop short of the edge."""
EDGE_REACH = GRID_PER_IN // 2
TOUCHES = 2
"""Course line and opening are rounded each by itself: 1/16 in apart they are taken for one line."""

F = TypeVar("F", bound=Callable[..., object])


@dataclass(frozen=True, slots=True)
class RuleEntry:
    """A line of the table of rules."""

    name: str
    sentence: str
    source: str
    markets: tuple[str, ...]
    switchable: bool


RULES: dict[str, RuleEntry] = {}


def rule(
    source: str, markets: tuple[str, ...] = ("us", "ca", "uk"), switchable: bool = True
) -> Callable[[F], F]:
    """Enter a function into the table of rules under its own name."""

    def enter(function: F) -> F:
        sentence = (function.__doc__ or "").strip().split("\n\n")[0]
        name = getattr(function, "__name__", "")
        RULES[name] = RuleEntry(name, " ".join(sentence.split()), source, markets, switchable)
        return function

    return enter


def rule_table() -> str:
    """All rules as a Markdown table, for the documentation."""
    lines = ["| rule | says | source | can be switched off |", "|---|---|---|---|"]
    lines += [
        f"| `{entry.name}` | {entry.sentence} | {entry.source} | {'yes' if entry.switchable else 'no'} |"
        for entry in RULES.values()
    ]
    return "\n".join(lines)


def bearing_in(member: Member, rules: Rules) -> float:
    """Bearing that each board end needs on a member, in inches, by what the member is made of."""
    return rules.steel_bearing_in if member.material == "steel" else rules.min_bearing_in


def allowance_in(member: Member, rules: Rules) -> float:
    """How far a seam may lie off the member's centre, in inches; negative when the centre is not sure.

    Half the face, less the bearing that a board end needs, less the member's own
    uncertainty.  On a 1 1/2 in stud with 5/8 in of bearing this is 1/8 in, and so it is on a 1 1/4 in
    flange with 1/2 in.
    """
    return member.face_in / 2 - bearing_in(member, rules) - rules.sigma_factor * member.sigma_in


@rule(
    "IBC 2508.3 (ends on framing); US Army field manual ch. 9 (at the centre line); screws 3/8 in "
    "from board ends plus 1/4 in of wood or 1/8 in of steel: calculation; NBS clause 610 (13 mm + 6 mm) in "
    "the UK; steel 1 1/4 in wide at a joint (Building Design and Construction Handbook, gypsumboard finishes)"
)
def seam_bears_on_member(member: Member, rules: Rules) -> bool:
    """Both board ends at a seam bear on a member with room for their screws."""
    if member.material == "steel" and member.face_in < rules.steel_face_in - 2e-3:
        return False
    return member.face_in / 2 - bearing_in(member, rules) >= -1e-3


@rule("IBC 2508.3 (ends on framing)")
def member_reaches(
    member: Member,
    parts: tuple[tuple[int, int], ...],
    band_low: int,
    band_high: int,
    surface: Surface,
    s_is_x: bool = True,
) -> bool:
    """A cripple carries a seam only where it stands behind all of the seam.

    The header or sill at the opening and the plates count as backing.

    Parameters
    ----------
    parts : tuple of (int, int)
        Boarded intervals across the course at the seam, thirty-seconds of an inch.
    band_low, band_high : int
        Edges of the course.
    """
    if member.kind == "full":
        return True
    span = to_grid(surface.height_in if s_is_x else surface.width_in)
    bottom = 0 if member.bottom_in is None else to_grid(member.bottom_in)
    top = span if member.top_in is None else to_grid(member.top_in)
    for low, high in parts:
        below = HEADER_REACH if low > band_low else PLATE_REACH if low <= PLATE_REACH else EDGE_REACH
        above = (
            HEADER_REACH if high < band_high else PLATE_REACH if high >= span - PLATE_REACH else EDGE_REACH
        )
        if bottom > low + below or top < high - above:
            return False
    return bool(parts)


@rule(
    "US Navy NAVEDTRA 14044 p. 162: 6 in from the edge, or over a cripple toward the middle; "
    "a BC trade manual section 9.5: 300 mm"
)
def seam_keeps_clear_of_openings(
    at: int, band_low: int, band_high: int, voids: tuple[Void, ...], rules: Rules
) -> bool:
    """No seam within 6 in of the edge of an opening; over its middle part is allowed.

    An opening that ends on the course line counts for both courses: a seam of the other one
    would run into its corner.
    """
    clear = to_grid(rules.opening_clearance_in)
    return not any(
        void.opening >= 0
        and void.t_low <= band_high + TOUCHES
        and void.t_high >= band_low - TOUCHES
        and min(abs(at - void.s_low), abs(at - void.s_high)) < clear
        for void in voids
    )


@rule("IRC R702.3.6 (not on the same joist); NAVEDTRA 14044 p. 162 (must be staggered)")
def seams_of_neighbouring_rows_are_staggered(at: int, other: int, stagger: int) -> bool:
    """Seams of neighbouring rows lie on different members, a set distance apart."""
    return abs(at - other) >= stagger


@rule("a BC trade manual section 9.5 part 3; NBS clause 612 (staggered on opposite faces)")
def seams_of_opposite_faces_differ(at: int, other: int, stagger: int) -> bool:
    """Seams on the two faces of a partition lie on different studs, a set distance apart."""
    return abs(at - other) >= stagger


@rule("NAVEDTRA 14044 p. 158, 162 (ends are square, edges tapered); charge: the user's own")
def factory_ends_meet_at_seams(cut_ends: int) -> bool:
    """Factory ends meet at a seam; a cut end there is allowed at a charge and shown."""
    return cut_ends == 0


@rule("common practice, no source")
def no_sliver_at_a_seam(length_in: float, seams: int, rules: Rules) -> bool:
    """A piece that ends at a seam is at least 24 in long."""
    return not seams or length_in >= rules.min_piece_in


@rule(
    "common practice, no source, for the covered gap; gaps up to 1/4 in are filled "
    "(mcvicker residential code guide p. 15)"
)
def covered_gap_counts_as_covered(gap_in: float, covered_in: float, rules: Rules) -> bool:
    """A gap at a corner that the neighbour's board will cover counts as boarded."""
    return gap_in <= max(covered_in, rules.end_gap_in)


@rule(
    "NAVEDTRA 14044 p. 162 (1/2 in behind trim); 97 1/8 in of framing less a 1/2 in ceiling "
    "leaves 5/8 in under two 48-in courses: calculation",
    switchable=False,
)
def floor_gap_comes_from_the_measured_height(gap_in: float, rules: Rules) -> bool:
    """The last row is ripped only when whole boards leave too small or too wide a floor gap."""
    return rules.floor_gap_least_in <= gap_in <= rules.floor_gap_most_in


@rule("NAVEDTRA 14044 p. 164; US Army EN5156", switchable=False)
def ceilings_before_walls(kind: str) -> int:
    """Ceilings are boarded before soffits and walls."""
    return {"ceiling": 0, "soffit": 1, "wall": 2}[kind]


@rule(
    "taper meets taper: Building Design and Construction Handbook, gypsumboard finishes",
    switchable=False,
)
def ripped_edge_goes_to_the_floor(index: int, count: int) -> bool:
    """Tapered edges meet each other; a ripped edge goes to the floor, a corner or the ceiling line."""
    return index in (0, count - 1)


@rule("IRC Table R702.3.5; NAVEDTRA 14044 p. 158; NHBC 9.2.4 Table 5; CMHC text under OBC 9.29.5.3")
def board_suits_the_spacing(spacing_in: float, widest_in: float) -> bool:
    """The board's thickness and direction suit the spacing of the framing (a warning, no bar)."""
    return spacing_in <= widest_in


@rule("NAVEDTRA 14044 p. 161-162")
def board_direction_by_height(boarded_in: float) -> bool:
    """Up to 8 ft 1 in under the ceiling boards lie across the studs (a note above that)."""
    return boarded_in <= 97.0
