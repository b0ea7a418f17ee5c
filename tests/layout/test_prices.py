"""Price lists read and written, and a job planned with one supplier or another."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout import Board, Job, JobError, Surface, plan_job
from layout.access import Corner, Gap, Way
from layout.offers import offers_of, on_stock, without_width
from layout.order import SpareRule
from layout.prices import KINDS, Supplier, read_prices, write_prices
from tests.layout.common import sixteen_in_wall

LIST = """supplier;kind;thickness;width;length;price
North yard;regular;1/2";48 in;8 ft;14,20
North yard;Type X;5/8 in;48;12';25.50

River Road;moisture;12.5 mm;1200 mm;2400 mm;$18.00
"""


def test_a_list_is_read_as_people_write_it() -> None:
    north, river = read_prices(LIST)
    assert (north.name, river.name) == ("North yard", "River Road")
    assert north.boards == (
        Board("regular", 0.5, 48.0, 96.0, 14.20),
        Board("type_x", 0.625, 48.0, 144.0, 25.50),
    )
    (board,) = river.boards
    assert (board.kind, board.price) == ("moisture", 18.0)
    assert board.length_in == pytest.approx(2400 / 25.4)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("", "empty"),
        ("kind,thickness,width,length\nregular,1/2,48,96", "no column 'price'"),
        ("kind,thickness,width,length,price", "no board below"),
        ("kind,thickness,width,length,price\nregular,1/2 in,48 in,8 ft,cheap", "line 2: price: 'cheap'"),
        ("kind,thickness,width,length,price\nregular,1/2 in,48 in,far,9", "line 2"),
        ("kind,thickness,width,length,price\nregular,1/2 in,48 in,8 ft,nan", "line 2"),
        ("kind,thickness,width,length,price\nregular,1/2 in,48 in,8 ft,15,50", "line 2: it has 6 cells"),
        ("kind,thickness,width,length,price,,\nregular,1/2 in,48 in,8 ft,15,50,", "line 2: it has 7 cells"),
        (
            "kind,thickness,width,length,price\nregular,1/2 in,48 in,8 ft,-4",
            "line 2: price: must be between 0 and 1000000, not -4",
        ),
    ],
)
def test_a_list_that_cannot_be_used_names_the_line_and_the_remedy(table, said) -> None:
    with pytest.raises(JobError, match=said):
        read_prices(table)


def test_empty_cells_at_the_end_and_a_quoted_decimal_comma_are_read() -> None:
    head = "kind,thickness,width,length,price"
    (yard,) = read_prices(f'{head},,\nregular,1/2 in,48 in,8 ft,"15,50",,\n')
    assert yard.boards[0].price == 15.5
    (yard,) = read_prices(f"{head}\nregular,1/2 in,48 in,8 ft,15.50,\n")
    assert yard.boards[0].price == 15.5


def test_a_name_that_a_spreadsheet_takes_for_a_formula_is_written_as_text() -> None:
    yard = Supplier("=1+1", (Board("regular", 0.5, 48.0, 96.0, 14.0),))
    written = write_prices((yard,))
    assert "\n'=1+1," in written
    assert read_prices(written)[0].name == "=1+1"


@given(
    st.lists(
        st.builds(
            Board,
            st.sampled_from(KINDS),
            st.sampled_from([0.25, 0.375, 0.5, 0.625]),
            st.sampled_from([48.0, 54.0]),
            st.sampled_from([96.0, 108.0, 120.0, 125.5, 144.0, 192.0]),
            st.integers(0, 9999).map(lambda cents: cents / 100),
        ),
        min_size=1,
        max_size=8,
    )
)
@settings(max_examples=40, deadline=None)
def test_a_list_that_was_written_reads_back_the_same(boards) -> None:
    yard = Supplier("Yard, north", tuple(boards))
    assert read_prices(write_prices((yard,))) == (yard,)


@given(st.text(max_size=200), st.binary(max_size=200))
@settings(max_examples=150, deadline=None)
def test_any_text_is_a_list_or_is_refused_in_words(text, data) -> None:
    head = "kind,thickness,width,length,price\n"
    for table in (
        text,
        head + text,
        head + data.decode("latin-1"),
        head + "regular,1/2 in,48 in,8 ft," + text,
    ):
        with contextlib.suppress(JobError):
            found = read_prices(table)
            assert all(board.price >= 0 for supplier in found for board in supplier.boards)


def tall_wall() -> Surface:
    """9 ft 1 in: made for two rows of 54 in boards."""
    wall = sixteen_in_wall(192.0)
    return Surface("A", 192.0, 109.125, wall.members, name="tall", board_width_in=54.0, ceiling_board_in=0.5)


def boards(*sizes: tuple[float, float, float]) -> tuple[Board, ...]:
    return tuple(Board("regular", 0.5, width, length, price) for width, length, price in sizes)


def test_a_yard_without_54_in_boards_gets_a_plan_of_its_own() -> None:
    yard = Supplier(
        "North", boards((48.0, 144.0, 20.0), (48.0, 96.0, 14.0), (54.0, 144.0, 25.0), (54.0, 96.0, 17.0))
    )
    narrow = without_width(yard, 54.0, "North without")
    assert narrow is not None
    job = Job((tall_wall(),), yard.boards)
    wide, without = offers_of(job, (yard, narrow), (), plan_job, SpareRule("none"))
    assert {row.width_in for row in wide.order.rows} == {54.0}
    assert {row.width_in for row in without.order.rows} == {48.0}
    assert without.complete
    assert len(without.plan.surfaces[0].rows) == 3
    assert len(wide.plan.surfaces[0].rows) == 2
    assert without_width(narrow, 48.0, "nothing") is None


def test_the_jobs_own_list_swaps_no_width_side_by_side_either() -> None:
    """As an order from it: only another supplier makes a wall of 54 in boards one of 48 in."""
    own = Supplier("own", boards((48.0, 144.0, 20.0), (48.0, 96.0, 14.0)))
    job = Job((tall_wall(),), own.boards)
    (kept,) = offers_of(job, (own,), (), plan_job, SpareRule("none"), own_list=own.boards)
    assert (kept.unboarded, kept.order.rows) == (("tall",), ())
    assert kept.plan.bare == plan_job(on_stock(job, own.boards, own_list=own.boards)).bare
    (elsewhere,) = offers_of(job, (own,), (), plan_job, SpareRule("none"))
    assert elsewhere.complete


def test_the_users_own_bundle_and_spares_go_before_the_suppliers_in_an_offer() -> None:
    yard = Supplier("North", boards((48.0, 96.0, 14.0)), bundle=4)
    job = Job((sixteen_in_wall(192.0),), yard.boards)
    (by_yard,) = offers_of(job, (yard,), (), plan_job, SpareRule("none"))
    size = by_yard.order.rows[0].id
    (by_user,) = offers_of(job, (yard,), (), plan_job, SpareRule("none"), 1, {size: 3})
    needed = by_yard.order.rows[0].needed
    assert by_yard.order.count % 4 == 0
    assert by_user.order.count == needed + 3


def test_a_board_that_cannot_pass_changes_the_order_before_it_is_placed() -> None:
    yard = Supplier("North", boards((48.0, 144.0, 20.0), (48.0, 96.0, 14.0)))
    wall = sixteen_in_wall(192.0)
    job = Job((wall,), yard.boards)
    (free,) = offers_of(job, (yard,), (), plan_job)
    (corner,) = offers_of(job, (yard,), (Way("hall", (Corner("turn", 36.0, 36.0),)),), plan_job)
    assert {row.length_in for row in corner.order.rows} == {96.0}
    assert [board.length_in for board in corner.turned_away] == [144.0]
    assert corner.complete
    assert corner.plan.surfaces[0].rows
    assert free.turned_away == ()
    # nothing gets in: nothing is ordered, and the surface is named
    (shut,) = offers_of(job, (yard,), (Way("window", (Gap("small", 20.0, 24.0),)),), plan_job)
    assert (shut.plan, shut.order.rows, shut.complete) == (None, (), False)
    assert shut.unboarded == ("A",)


def test_a_surface_keeps_its_board_width_where_it_is_stocked() -> None:
    job = Job((tall_wall(),), boards((54.0, 144.0, 25.0), (48.0, 144.0, 20.0)))
    assert on_stock(job, job.stock).surfaces[0].board_width_in == 54.0
    assert on_stock(job, job.stock[1:]).surfaces[0].board_width_in is None
