"""Framing to seams, sheets and order; knows nothing of pixels or screens."""

from layout.drawing import surface_svg
from layout.framing import (
    USUAL_CEILING_BOARD_IN,
    Box,
    JobError,
    Member,
    Opening,
    Pin,
    Surface,
    Wishes,
)
from layout.job import Job
from layout.job_file import JOB_VERSION, plan_to_json, read_job, write_job
from layout.lengths import (
    LengthError,
    format_length,
    in_style,
    in_to_mm,
    mm_to_in,
    parse_length_in,
    round_to,
)
from layout.markets import MARKETS, PRESETS, Prefs, Rules, prefs_for, rules_for
from layout.plan import plan_job, plan_surface
from layout.plan_types import (
    Cut,
    CutOut,
    OrderLine,
    Piece,
    Plan,
    PlanWarning,
    Row,
    Score,
    Seam,
    Sheet,
    SurfacePlan,
)
from layout.rules import RULES, rule_table
from layout.spacing import members_at, members_on_spacing
from layout.stock import METRIC_STOCK, US_STOCK, Board, boards_for, stock_for

__all__ = [
    "JOB_VERSION",
    "MARKETS",
    "METRIC_STOCK",
    "PRESETS",
    "RULES",
    "USUAL_CEILING_BOARD_IN",
    "US_STOCK",
    "Board",
    "Box",
    "Cut",
    "CutOut",
    "Job",
    "JobError",
    "LengthError",
    "Member",
    "Opening",
    "OrderLine",
    "Piece",
    "Pin",
    "Plan",
    "PlanWarning",
    "Prefs",
    "Row",
    "Rules",
    "Score",
    "Seam",
    "Sheet",
    "Surface",
    "SurfacePlan",
    "Wishes",
    "boards_for",
    "format_length",
    "in_style",
    "in_to_mm",
    "members_at",
    "members_on_spacing",
    "mm_to_in",
    "parse_length_in",
    "plan_job",
    "plan_surface",
    "plan_to_json",
    "prefs_for",
    "read_job",
    "round_to",
    "rule_table",
    "rules_for",
    "stock_for",
    "surface_svg",
    "write_job",
]
