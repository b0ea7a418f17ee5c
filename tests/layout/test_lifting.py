"""Loads beside published figures for lifting."""

from __future__ import annotations

import pytest

from layout.lifting import lifts_of, multipliers, recommended_weight_limit_lb
from layout.plan_types import OrderLine


@pytest.mark.parametrize(
    ("which", "values"),
    [
        # CCOHS, "Calculating Recommended Weight Limit": the table of multipliers.  Printed to two places
        # with halves up, so within 0.006.
        (0, {25: 1.00, 30: 0.83, 40: 0.63, 50: 0.50, 60: 0.42}),
        (1, {0: 0.78, 30: 0.87, 50: 0.93, 70: 0.99, 100: 0.93, 150: 0.78, 175: 0.70}),
        (2, {40: 0.93, 55: 0.90, 100: 0.87, 145: 0.85, 175: 0.85}),
        (3, {90: 0.71, 60: 0.81, 45: 0.86, 30: 0.90}),
    ],
)
def test_the_multipliers_are_those_of_the_published_table(which: int, values: dict[int, float]) -> None:
    at = [25.0, 75.0, 25.0, 0.0]
    for value, printed in values.items():
        at[which] = float(value)
        assert multipliers(*at)[which] == pytest.approx(printed, abs=0.006)


def test_a_lift_out_of_reach_has_no_limit_at_all() -> None:
    # the same page: beyond 175 cm of height or travel the multiplier is 0
    assert recommended_weight_limit_lb(25, 176, 25) == 0.0
    assert recommended_weight_limit_lb(25, 75, 176) == 0.0
    assert recommended_weight_limit_lb(25, 75, 25) == pytest.approx(51.0)


def test_the_printed_example_of_the_punch_press_comes_out_within_its_rounding() -> None:
    # NIOSH 94-110, example 1 (values from memory): H 23 in, V 15 in, D 48 in, fair grip (0.95 of a good
    # one); printed 16.3 lb with rounded multipliers, 16.0 with exact ones; the metric multipliers used
    # here give 15.8
    limit_lb = 0.95 * recommended_weight_limit_lb(23 * 2.54, 15 * 2.54, 48 * 2.54)
    assert limit_lb == pytest.approx(16.0, abs=0.3)


@pytest.mark.parametrize(
    ("thickness_in", "length_in", "weight_lb", "advice"),
    [
        (0.5, 96.0, 51.2, "two"),  # over 50 lb: never alone
        (0.5, 144.0, 76.8, "two"),
        (0.625, 120.0, 88.0, "two"),
        (0.625, 144.0, 105.6, "too_heavy"),  # over 2 x 51 lb, the NIOSH load constant for two
        (0.5, 168.0, 89.6, "two"),
        (0.5, 192.0, 102.4, "too_heavy"),
        (0.375, 96.0, 44.8, "one"),
    ],
)
def test_each_board_is_named_with_its_weight_and_who_lifts_it(
    thickness_in: float, length_in: float, weight_lb: float, advice: str
) -> None:
    (lift,) = lifts_of((OrderLine("regular", thickness_in, 48.0, length_in, 3, 0),))
    assert (lift.weight_lb, lift.advice) == (pytest.approx(weight_lb), advice)
    assert lift.each_of_two_lb == pytest.approx(weight_lb / 2)


def test_a_panel_over_90_lb_is_flagged_heavy() -> None:
    # Washington State's drywall ergonomics project: over 90 lb is a heavy panel
    (lift,) = lifts_of((OrderLine("regular", 0.5, 54.0, 168.0, 1, 0),))
    assert (round(lift.weight_lb, 1), lift.advice) == (100.8, "heavy")
