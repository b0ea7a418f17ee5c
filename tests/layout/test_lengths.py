"""Lengths as people write them, and as a tape shows them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout import LengthError, format_length, in_style, in_to_mm, mm_to_in, parse_length_in


def test_an_inch_is_exactly_25_4_mm() -> None:
    """International yard and pound agreement, 1 July 1959: 1 yd = 0.9144 m."""
    assert mm_to_in(914.4) == 36.0
    assert in_to_mm(1.0) == 25.4
    assert mm_to_in(406.4) == pytest.approx(16.0, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("96in", 96.0),
        ("8ft", 96.0),
        ("8' 2-1/2\"", 98.5),
        ("8'2 1/2\"", 98.5),
        ("8’ 2½″", 98.5),
        ("8′ 2 1⁄2″", 98.5),
        ("8 ft 2 in", 98.0),
        ("8'-2\"", 98.0),
        ("112 1/4", 112.25),
        ("9' 4-1/2\"", 112.5),
        ("0.75", 0.75),
        ("2540mm", 100.0),
        ("254 cm", 100.0),
        ("2.54 m", 100.0),
        ("2540,0 mm", 100.0),
        ("0", 0.0),
    ],
)
def test_a_length_is_read_as_it_is_written(text: str, inches: float) -> None:
    assert parse_length_in(text) == pytest.approx(inches, abs=1e-9)


def test_a_bare_number_takes_the_unit_that_is_asked_for() -> None:
    assert parse_length_in("2540", unit="mm") == pytest.approx(100.0)
    assert parse_length_in("8", unit="ft") == 96.0


@pytest.mark.parametrize(
    "text",
    [
        "", "  ", "9-4-8", "-3", "nan", "inf", "-inf", "infinity", "1e5", "8' 14\"", "1/0", "5/",
        "1,000 mm", "10,5", "8''2'", "abc", "8 9", "1/2/3", "3 5/4", "٣", "9" * 59, "1" * 100,
        "8ft 2ft", "in", "'",
    ],
)  # fmt: skip
def test_what_is_not_a_length_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(LengthError) as error:
        parse_length_in(text)
    assert "\n" not in str(error.value)
    assert len(str(error.value)) < 200


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_never_a_crash(text: str) -> None:
    try:
        length = parse_length_in(text)
    except LengthError:
        return
    assert math.isfinite(length)
    assert length >= 0


@given(
    st.floats(0, 5000, allow_nan=False),
    st.sampled_from(["feet_inches", "inches", "mm"]),
    st.sampled_from([1 / 2, 1 / 8, 1 / 16, 1 / 32]),
)
def test_printing_and_reading_back_never_changes_what_is_shown(
    length_in: float, style: str, to: float
) -> None:
    shown = format_length(length_in, style, to)
    read = parse_length_in(shown)
    assert format_length(read, style, to) == shown
    assert abs(read - length_in) <= (0.5 / 25.4 if style == "mm" else to / 2) + 1e-9


def test_a_tape_is_read_in_feet_inches_and_sixteenths() -> None:
    assert format_length(112.25) == "9' 4-1/4\""
    assert format_length(96.0) == "8'"
    assert format_length(11.97) == "1'"
    assert format_length(-0.5) == '-1/2"'
    assert format_length(112.25, "inches") == '112 1/4"'
    assert format_length(96.0, "mm") == "2438 mm"


def test_a_length_that_is_no_number_cannot_be_printed() -> None:
    with pytest.raises(LengthError):
        format_length(math.nan)


@given(st.floats(0, 5000, allow_nan=False), st.sampled_from(["inches", "mm"]))
def test_a_length_in_a_sentence_comes_out_in_the_style_asked_for(length_in: float, style: str) -> None:
    """Where the exact length is known it is printed as elsewhere; otherwise from the sixteenths read."""
    said = f"Member 7 is centred {format_length(length_in)} from the corner of A's 2nd wall."
    other = f"Member 7 is centred {format_length(length_in, style)} from the corner of A's 2nd wall."
    assert in_style(said, style, [3.0, length_in]) == other
    assert in_style(said, "feet_inches") == said
    read = in_style(said, style).split("centred ")[1].split(" from")[0]
    assert abs(parse_length_in(read) - length_in) <= 1 / 32 + 0.5 / 25.4
