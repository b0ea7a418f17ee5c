"""Lifting: what a board weighs beside what a person should lift, and what to say about it.

Figures for judging a lift, not permission to make it: how high, how far out, how often and how one
stands count for more than the weight alone.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from layout.lots import size_name
from layout.plan_types import OrderLine
from layout.weights import board_weight_lb

__all__ = ["HEAVY_LB", "LOAD_CONSTANT_LB", "Lift", "lifts_of", "recommended_weight_limit_lb"]

LOAD_CONSTANT_LB = 51.0
"""What most healthy adults can lift in the best posture (NIOSH lifting equation, 1991: 23 kg)."""
TWO_PEOPLE_LB = 50.0
"""Boards heavier than this are named: one person must not lift them alone."""
HEAVY_LB = 90.0
"""Washington State's drywall ergonomics project flags panels over 90 lb as heavy (via eLCOSH)."""


@dataclass(frozen=True, slots=True)
class Lift:
    """One size of board as a load.

    `advice` is one of "one" (a strong person could), "two" (two people), "heavy" (two people and
    a panel lift or cart), "too_heavy" (more than twice the load constant: not by two people's
    hands alone).
    """

    line: str
    kind: str
    thickness_in: float
    width_in: float
    length_in: float
    weight_lb: float
    each_of_two_lb: float
    advice: str


def lifts_of(order: Iterable[OrderLine]) -> tuple[Lift, ...]:
    """The sizes of an order as loads, the heaviest first."""
    found = {}
    for line in order:
        size = (line.kind, line.thickness_in, line.width_in, line.length_in)
        weight_lb = board_weight_lb(*size)
        found[size] = Lift(size_name(*size), *size, weight_lb, weight_lb / 2, _advice(weight_lb))
    return tuple(sorted(found.values(), key=lambda lift: (-lift.weight_lb, lift.line)))


def _advice(weight_lb: float) -> str:
    if weight_lb > 2 * LOAD_CONSTANT_LB:
        return "too_heavy"
    if weight_lb > HEAVY_LB:
        return "heavy"
    return "two" if weight_lb > TWO_PEOPLE_LB else "one"


def recommended_weight_limit_lb(
    out_cm: float, height_cm: float, travel_cm: float, turn_deg: float = 0.0
) -> float:
    """Recommended weight limit of the revised NIOSH lifting equation for a rare lift with a good grip.

    ``RWL = 51 lb x HM x VM x DM x AM`` with the multipliers of `multipliers`.

    Parameters
    ----------
    out_cm, height_cm, travel_cm : float
        Hands out from the ankles, height of the hands at the start, how far up they go.
    turn_deg : float
        How far the body is turned.
    """
    limit = LOAD_CONSTANT_LB
    for factor in multipliers(out_cm, height_cm, travel_cm, turn_deg):
        limit *= factor
    return limit


def multipliers(
    out_cm: float, height_cm: float, travel_cm: float, turn_deg: float
) -> tuple[float, float, float, float]:
    """The equation's multipliers: distance out, height, travel, turn (Waters et al. 1993; CCOHS's page)."""
    out = 0.0 if out_cm > 63.0 else min(1.0, 25.0 / max(out_cm, 25.0))
    height = 0.0 if height_cm > 175.0 else 1.0 - 0.003 * abs(height_cm - 75.0)
    travel = 0.0 if travel_cm > 175.0 else 0.82 + 4.5 / max(travel_cm, 25.0)
    turn = 0.0 if turn_deg > 135.0 else 1.0 - 0.0032 * turn_deg
    return out, height, travel, turn
