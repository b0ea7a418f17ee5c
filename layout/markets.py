"""Markets and money: the numbers that the rules use, and what a joint is worth.

Every number can be changed by the user; the source of each default stands beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

from layout.checks import JobError, finite, one_of, text
from layout.lengths import mm_to_in

__all__ = ["MARKETS", "PRESETS", "Prefs", "Rules", "prefs_for", "rules_for", "wants_lowest_price"]

MARKETS = ("us", "ca", "uk")
PRESETS = ("fewest_butt_joints", "balanced", "lowest_price")


@dataclass(frozen=True, slots=True)
class Rules:
    """Numbers of the application rules.

    Attributes
    ----------
    market : {"us", "ca", "uk"}
        Chooses the tables of spacing against thickness.
    min_bearing_in : float
        Bearing that each board end needs on a member.  US: screw 3/8 in from the board's
        end (GA-216/ASTM C840; mcvicker residential code guide p. 15) plus 1/4 in of wood
        beyond it = 5/8 in.  UK: 13 mm from a cut end plus 6 mm to the timber's edge
        (NBS clause 610) = 19 mm.
    steel_face_in : float
        Least width of a steel member under a seam: 1 1/4 in (a building design and construction
        handbook, gypsum board finishes; read in a copy).
    steel_bearing_in : float
        Bearing that each board end needs on a steel member: screw 3/8 in from the board's end plus
        1/8 in of flange for it to hold in.  The sources leave it between 3/8 in, the screw at the
        flange's very edge, and 5/8 in, half of 1 1/4 in, which no seam could miss by anything; the
        1/8 in is common practice, no source.  NBS clause 590 gives 10 mm between screw and board edge
        for metal and no distance to the flange's edge.
    sigma_factor : float
        Standard deviations of a member's position kept clear of that bearing.
    stagger_in : float
        Least distance between the seams of neighbouring rows: one bay of 16 in, less an
        inch for framing that wanders (IRC R702.3.6: not on the same joist; NAVEDTRA
        14044 p. 162: end joints must be staggered).
    opposite_stagger_in : float
        Least distance between seams on the two faces of a partition (not on the same
        stud: a BC trade manual, section 9.5; NBS clause 612).
    min_piece_in : float
        Shortest piece that ends at a seam (common practice, no source).
    opening_clearance_in : float
        Seams stay this far from the edge of an opening (NAVEDTRA 14044 p. 162: 6 in; a
        BC trade manual wants 12 in).
    floor_gap_in : float
        Gap aimed at when the last row is ripped (NAVEDTRA p. 162: 1/2 in is acceptable).
    floor_gap_least_in, floor_gap_most_in : float
        Gap left without ripping: at least 1/4 in (GA-216, value from memory), at most
        7/8 in (a builders' magazine gives 1/2 to 7/8 in).
    end_gap_in : float
        Gap allowed at a corner or an opening that no neighbour covers: 1/8 in, below the
        1/4 in that is filled (mcvicker guide p. 15).
    min_strip_in : float
        Narrowest ripped row (common practice, no source).
    switched_off : tuple of str
        Names of rules of `layout.rules` that the user turned off.
    """

    market: str = "us"
    min_bearing_in: float = 0.625
    steel_face_in: float = 1.25
    steel_bearing_in: float = 0.5
    sigma_factor: float = 2.0
    stagger_in: float = 15.0
    opposite_stagger_in: float = 15.0
    min_piece_in: float = 24.0
    opening_clearance_in: float = 6.0
    floor_gap_in: float = 0.5
    floor_gap_least_in: float = 0.25
    floor_gap_most_in: float = 0.875
    end_gap_in: float = 0.125
    min_strip_in: float = 6.0
    switched_off: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        one_of("market", self.market, MARKETS)
        for name, most in (
            ("min_bearing_in", 3.0),
            ("steel_face_in", 6.0),
            ("steel_bearing_in", 3.0),
            ("sigma_factor", 6.0),
            ("stagger_in", 120.0),
            ("opposite_stagger_in", 120.0),
            ("min_piece_in", 96.0),
            ("opening_clearance_in", 48.0),
            ("floor_gap_in", 6.0),
            ("floor_gap_least_in", 6.0),
            ("floor_gap_most_in", 6.0),
            ("end_gap_in", 2.0),
            ("min_strip_in", 24.0),
        ):
            finite(name, getattr(self, name), 0.0, most)
        if self.floor_gap_most_in < self.floor_gap_least_in:
            raise JobError("floor_gap_most_in", "must not be less than floor_gap_least_in.")
        for name in self.switched_off:
            text("switched_off", name)

    def on(self, rule: str) -> bool:
        """Whether the rule of that name counts."""
        return rule not in self.switched_off


@dataclass(frozen=True, slots=True)
class Prefs:
    """The one objective, in money.

    Attributes
    ----------
    joint_price_per_ft : float
        What a foot of butt joint is worth to the user (finishing it, seeing it).
    cut_end_charge : float
        Charge for a cut end at a seam.
    unsure_seam_charge : float
        Charge for a seam on a member that is not sure.
    board_length_most_in : float or None
        Longest board that can be brought in.
    """

    joint_price_per_ft: float = 2.0
    cut_end_charge: float = 4.0
    unsure_seam_charge: float = 5.0
    board_length_most_in: float | None = None

    def __post_init__(self) -> None:
        for name in ("joint_price_per_ft", "cut_end_charge", "unsure_seam_charge"):
            finite(name, getattr(self, name), 0.0, 1e5)
        if self.board_length_most_in is not None:
            finite("board_length_most_in", self.board_length_most_in, 12.0, 480.0)


def rules_for(market: str) -> Rules:
    """Default rules of a market."""
    if market == "uk":
        return Rules(
            market="uk",
            min_bearing_in=mm_to_in(19.0),
            stagger_in=mm_to_in(390.0),
            opposite_stagger_in=mm_to_in(390.0),
            min_piece_in=mm_to_in(600.0),
            opening_clearance_in=mm_to_in(150.0),
            end_gap_in=mm_to_in(3.0),
            floor_gap_in=mm_to_in(12.0),
        )
    return Rules(market=market)


def wants_lowest_price(prefs: Prefs) -> bool:
    """Whether joints and cut ends count as little as in the preset "lowest_price", or less."""
    lowest = prefs_for("lowest_price")
    return (
        prefs.joint_price_per_ft <= lowest.joint_price_per_ft
        and prefs.cut_end_charge <= lowest.cut_end_charge
    )


def prefs_for(preset: str) -> Prefs:
    """Objective of a preset.  The amounts are the project's own choice, not a trade figure."""
    one_of("preset", preset, PRESETS)
    if preset == "fewest_butt_joints":
        return Prefs(joint_price_per_ft=25.0, cut_end_charge=10.0)
    if preset == "lowest_price":
        return Prefs(joint_price_per_ft=0.25, cut_end_charge=1.0, unsure_seam_charge=2.0)
    return Prefs()
