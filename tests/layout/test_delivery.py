"""Counting on delivery day: nothing is lost or doubled, whatever order the taps arrive in."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.delivery import TAPS, Delivery, delivery_of, ordered_lines
from layout.plan_types import OrderLine
from layout.site_taps import SiteTap, TapError, read_tap

ORDER = ordered_lines(
    (
        OrderLine("regular", 0.5, 48.0, 144.0, 12, 2),
        OrderLine("regular", 0.5, 54.0, 120.0, 6, 0),
    )
)
TWELVES, TENS = (line.line for line in ORDER)


def arrived(number: int, line: str = TWELVES, what: str = "arrived") -> list[SiteTap]:
    return [SiteTap(f"{line}-{what}-{n}", line, what, 1, clock=n) for n in range(number)]


def test_spares_belong_to_what_was_ordered_and_one_size_is_one_line() -> None:
    assert [(line.line, line.count) for line in ORDER] == [
        ("regular-1/2-48-144", 14),
        ("regular-1/2-54-120", 6),
    ]
    twice = ordered_lines(
        (OrderLine("regular", 0.5, 48.0, 96.0, 2, 1), OrderLine("regular", 0.5, 48.0, 96.0, 3, 0))
    )
    assert [line.count for line in twice] == [6]


def test_two_short_one_damaged_and_one_too_many_are_to_be_taken_up() -> None:
    day = delivery_of(ORDER, [*arrived(12), *arrived(1, what="damaged"), *arrived(7, TENS)])
    twelves, tens = day.to_take_up
    assert (twelves.short, twelves.damaged, twelves.over, twelves.usable) == (2, 1, 0, 11)
    assert (tens.short, tens.damaged, tens.over, tens.usable) == (0, 0, 1, 7)


def test_a_delivery_that_is_all_there_has_nothing_to_take_up() -> None:
    assert delivery_of(ORDER, [*arrived(14), *arrived(6, TENS)]).to_take_up == ()


def test_a_slip_of_the_finger_is_taken_back() -> None:
    day = delivery_of(ORDER, [*arrived(3), SiteTap("back", TWELVES, "arrived", -1)])
    assert day.tallies[0].arrived == 2
    assert delivery_of(ORDER, [SiteTap("back", TWELVES, "arrived", -1)]).tallies[0].arrived == 0


def test_of_two_notes_the_later_one_stays_whichever_arrives_first() -> None:
    old = SiteTap("zz", TWELVES, "note", text="corner crushed", clock=4)
    new = SiteTap("aa", TWELVES, "note", text="two corners crushed", clock=9)
    for taps in ([old, new], [new, old]):
        assert delivery_of(ORDER, taps).tallies[0].note == "two corners crushed"


ANY_TAP = st.builds(
    SiteTap,
    id=st.integers(0, 40).map(str),
    line=st.sampled_from([TWELVES, TENS, "", "no-such-line"]),
    what=st.sampled_from(["arrived", "damaged", "note", "finished"]),
    change=st.integers(-3, 3),
    text=st.text(max_size=5),
    clock=st.integers(0, 9),
)


@settings(max_examples=100, deadline=None)
@given(st.lists(ANY_TAP, max_size=30, unique_by=lambda tap: tap.id), st.data())
def test_order_and_repetition_of_taps_change_nothing(taps: list[SiteTap], data: st.DataObject) -> None:
    once = delivery_of(ORDER, taps)
    again = data.draw(st.lists(st.sampled_from(taps), max_size=20)) if taps else []
    shuffled = data.draw(st.permutations([*taps, *again]))
    assert delivery_of(ORDER, shuffled) == once


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(ANY_TAP, max_size=8), max_size=5))
def test_no_board_counted_is_ever_lost(batches: list[list[SiteTap]]) -> None:
    """Batches that overlap, as a phone sends them again and again, count every distinct tap once."""
    distinct = {tap.id: tap for batch in batches for tap in batch}
    sent = [distinct[tap.id] for batch in batches for tap in batch]
    day = delivery_of(ORDER, sent)
    for tally in day.tallies:
        by_hand = sum(
            tap.change for tap in distinct.values() if (tap.line, tap.what) == (tally.ordered.line, "arrived")
        )
        assert tally.arrived == max(0, by_hand)
    assert day.ids == frozenset(distinct)


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"id": "a", "line": TWELVES},
        {"id": "", "line": TWELVES, "what": "arrived"},
        {"id": "a", "line": TWELVES, "what": "stolen", "change": 1},
        {"id": "a", "line": TWELVES, "what": "arrived", "change": 1.5},
        {"id": "a", "line": TWELVES, "what": "arrived", "change": True},
        {"id": "a", "line": TWELVES, "what": "arrived", "change": 10**9},
        {"id": "a", "line": TWELVES, "what": "note", "text": "n" * 501},
        {"id": "a", "line": TWELVES, "what": "note", "text": ["x"]},
        {"id": "a", "line": TWELVES, "what": "arrived", "change": 1, "clock": -1},
    ],
)
def test_a_tap_that_is_none_is_refused_in_a_sentence(sent: dict) -> None:
    with pytest.raises(TapError, match=r"\.$"):
        read_tap(sent, TAPS)


def test_a_tap_is_read_as_it_was_sent() -> None:
    sent = {"id": "a", "line": TWELVES, "what": "arrived", "change": -1, "clock": 7}
    assert read_tap(sent, TAPS) == SiteTap("a", TWELVES, "arrived", -1, "", 7)
    assert delivery_of((), ()) == Delivery()
