"""What is refused is said without names of fields and with lengths as on a tape."""

from __future__ import annotations

import pytest

from layout import JobError, Surface
from layout.prices import read_prices
from ui.board_size import board_size, size_of_any_length
from ui.plain_faults import plain_fault
from ui.words import Words


def test_a_wall_as_long_as_a_town_is_refused_in_feet() -> None:
    with pytest.raises(JobError) as fault:
        Surface("A", 1e6, 97.0, ())
    said = plain_fault(fault.value, Words("en"), "feet_inches")
    assert said == "A length of 83333' 4\" is not possible here: it must be from 1\" to 400'."
    assert "1e+06" not in plain_fault(str(fault.value), Words("es"), "mm")


def test_a_line_of_a_price_list_keeps_its_number_and_a_price_is_no_length() -> None:
    head = "supplier,kind,thickness,width,length,price\n"
    with pytest.raises(JobError) as length:
        read_prices(head + "Yard,regular,0.5,48,100000,16\n")
    said = plain_fault(length.value, Words("es"), "feet_inches")
    assert said.startswith("línea ")
    assert "Una longitud de" in said
    with pytest.raises(JobError) as price:
        read_prices(head + "Yard,regular,0.5,48,96,-5\n")
    said = plain_fault(price.value, Words("en"), "feet_inches")
    assert said == "line 2: A price of -5.00 is not possible: it must be from 0.00 to 1,000,000.00."


def test_a_board_is_written_length_first_and_in_millimetres_with_one_unit() -> None:
    assert board_size(144.0, 54.0, "inches", 0.625) == '12\' × 54" × 5/8"'
    assert board_size(144.0, 54.0, "feet_inches") == "12' × 54\""
    assert board_size(3600 / 25.4, 1200 / 25.4, "mm", 15 / 25.4) == "3600 × 1200 × 15 mm"


def test_boards_of_any_length_keep_that_order_width_before_thickness() -> None:
    assert size_of_any_length(48.0, 0.5, "feet_inches") == '48" × 1/2"'
    assert size_of_any_length(1200 / 25.4, 12.5 / 25.4, "mm") == "1200 × 12.5 mm"
