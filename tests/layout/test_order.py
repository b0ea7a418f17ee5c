"""The order: spares, bundles and sums, against published examples and sums made by hand."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout import JobError
from layout.order import SPARE_RULES, SpareRule, make_order, order_lines
from layout.plan_types import Sheet


def sheets(
    count: int, length_in: float = 144.0, price: float = 20.0, width_in: float = 48.0, **size
) -> list[Sheet]:
    kind, thickness_in = size.get("kind", "regular"), size.get("thickness_in", 0.5)
    return [Sheet(n, kind, thickness_in, width_in, length_in, price) for n in range(count)]


def test_the_sums_of_an_order_made_by_hand() -> None:
    order = make_order(
        [*sheets(9, 144.0, 21.40), *sheets(2, 120.0, 17.90), *sheets(4, 96.0, 14.20)], bundle=2
    )
    # 9 and 2 spare make 11, one more fills the bundle: 12; 2 and 4 are whole bundles
    assert [(row.length_in, row.needed, row.spare, row.to_fill, row.count) for row in order.rows] == [
        (144.0, 9, 2, 1, 12),
        (120.0, 2, 0, 0, 2),
        (96.0, 4, 0, 0, 4),
    ]
    assert order.boards_cost == pytest.approx(12 * 21.40 + 2 * 17.90 + 4 * 14.20)  # 349.40
    assert order.boards_cost == pytest.approx(349.40)
    assert order.area_sqft == pytest.approx(12 * 48 + 2 * 40 + 4 * 32)  # 784
    # 1.6 lb on the square foot of 1/2 in board (a published submittal sheet)
    assert order.weight_lb == pytest.approx(784 * 1.6)
    assert (order.spare_cost, order.to_fill_cost) == (pytest.approx(42.80), pytest.approx(21.40))


def test_five_percent_rounds_as_the_textbook_does() -> None:
    # Dagostino & Peterson, Estimating in Building Construction, example 16-3, p. 203:
    # 37 + 75 sheets and 5 % are 118, 38 and 5 % are 40; the partition's 174 and 5 % are 183
    rule = SpareRule("percent", percent=5.0)
    for needed, bought in ((37 + 75, 118), (38, 40), (174, 183)):
        assert make_order(sheets(needed), rule, bundle=1).count == bought


def test_weights_of_boards_as_published() -> None:
    # a published submittal sheet: 1.6 psf at 1/2 in, 2.2 psf at 5/8 in
    for length_in, thickness_in, pounds in (
        (96, 0.5, 51.2),
        (144, 0.5, 76.8),
        (96, 0.625, 70.4),
        (144, 0.625, 105.6),
    ):
        (row,) = make_order(sheets(1, length_in, thickness_in=thickness_in), SpareRule("none"), 1).rows
        assert row.weight_lb == pytest.approx(pounds)


def test_two_of_the_longest_are_spare_until_the_user_says_otherwise() -> None:
    mixed = [*sheets(5, 96.0), *sheets(3, 144.0), *sheets(2, 120.0, kind="type_x", thickness_in=0.625)]
    spare = {(row.kind, row.length_in): row.spare for row in make_order(mixed).rows}
    assert spare == {("regular", 96.0): 0, ("regular", 144.0): 2, ("type_x", 120.0): 0}
    spare = {
        (row.kind, row.length_in): row.spare for row in make_order(mixed, SpareRule("longest_of_each")).rows
    }
    assert spare == {("regular", 96.0): 0, ("regular", 144.0): 2, ("type_x", 120.0): 2}
    own = make_order(mixed, own_spares={"regular-1/2-48-144": 0, "regular-1/2-48-96": 4})
    assert {(row.kind, row.length_in): row.spare for row in own.rows} == {
        ("regular", 96.0): 4,
        ("regular", 144.0): 0,
        ("type_x", 120.0): 0,
    }


def test_a_wrong_number_of_spares_is_refused_in_words() -> None:
    with pytest.raises(JobError, match="no number of boards"):
        make_order(sheets(1), own_spares={"regular-1/2-48-144": -1})
    with pytest.raises(JobError, match="bundle"):
        make_order(sheets(1), bundle=0)


def test_nothing_to_buy_costs_nothing_not_even_the_delivery() -> None:
    assert make_order([], delivery_price=80.0).total == 0.0
    assert make_order(sheets(2), SpareRule("none"), delivery_price=80.0).total == 120.0


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["regular", "type_x"]),
            st.sampled_from([0.5, 0.625]),
            st.sampled_from([48.0, 54.0]),
            st.sampled_from([96.0, 120.0, 144.0]),
            st.integers(1, 30),
        ),
        unique_by=lambda line: line[:4],
        max_size=6,
    ),
    st.sampled_from(SPARE_RULES),
    st.integers(0, 5),
    st.integers(1, 4),
)
@settings(max_examples=60, deadline=None)
def test_totals_are_the_sums_of_the_lines_and_bundles_are_whole(lines, rule, count, bundle) -> None:
    all_sheets = [
        Sheet(1, kind, thick, width, length, 10.0 + length / 12)
        for kind, thick, width, length, number in lines
        for _ in range(number)
    ]
    order = make_order(all_sheets, SpareRule(rule, count), bundle, 50.0)
    assert order.count == sum(row.count for row in order.rows)
    assert order.total == pytest.approx(
        sum(row.count * row.price for row in order.rows) + (50.0 if lines else 0)
    )
    assert sum(row.needed for row in order.rows) == len(all_sheets)
    assert all(row.count % bundle == 0 and 0 <= row.to_fill < bundle for row in order.rows)
    assert sum(line.to_buy for line in order_lines(order)) == order.count
    assert order.boards_cost >= make_order(all_sheets, SpareRule("none"), 1).boards_cost - 1e-9
