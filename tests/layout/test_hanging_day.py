"""Ticks while hanging: none is lost, whatever order they arrive in and however often."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from layout.hanging_day import progress_of
from layout.site_taps import SiteTap

ANY_TAP = st.builds(
    SiteTap,
    id=st.integers(0, 60).map(str),
    line=st.integers(1, 6).map(str),
    what=st.sampled_from(["hung", "spoiled"]),
    change=st.integers(0, 2),
    clock=st.integers(0, 9),
)


@settings(max_examples=100, deadline=None)
@given(st.lists(ANY_TAP, max_size=25, unique_by=lambda tap: tap.id), st.data())
def test_ticks_in_any_order_and_any_number_of_times_say_the_same(taps, data) -> None:
    once = progress_of(taps)
    again = data.draw(st.lists(st.sampled_from(taps), max_size=15)) if taps else []
    assert progress_of(data.draw(st.permutations([*taps, *again]))) == once
    assert once.ids == {tap.id for tap in taps}
    assert {spoil.id for spoil in once.spoils} == {tap.id for tap in taps if tap.what == "spoiled"}


def test_a_piece_taken_down_again_is_not_up_and_the_later_word_stands() -> None:
    up, down = SiteTap("a", "4", "hung", 1, clock=1), SiteTap("b", "4", "hung", 0, clock=2)
    assert progress_of([up]).hung == {4}
    assert progress_of([down, up]).hung == frozenset()


def test_a_spoiled_piece_is_not_up_until_it_is_hung_again() -> None:
    up, broke = SiteTap("a", "4", "hung", 1, clock=1), SiteTap("b", "4", "spoiled", 2, clock=2)
    again = SiteTap("c", "4", "hung", 1, clock=3)
    assert progress_of([up, broke]).hung == frozenset()
    assert progress_of([again, broke, up]).hung == {4}
    assert [(s.piece, s.whole_sheet) for s in progress_of([broke]).spoils] == [(4, True)]


def test_a_tick_on_what_is_no_piece_is_left_out() -> None:
    assert progress_of([SiteTap("a", "no piece", "hung", 1)]).hung == frozenset()
