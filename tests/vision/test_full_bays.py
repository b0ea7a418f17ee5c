"""What stands in a bay that is full already, and beside the marks that the other studs are set on."""

from __future__ import annotations

import pytest

from vision.full_bays import faint_extras, in_full_bays, off_the_marks
from vision.reading import Member


def full(centre_in: float) -> Member:
    line = ((centre_in, 0.0), (centre_in, 96.0))
    return Member(centre_in, 0.05, 1.5, 0.0, 1, "full", True, line, 1.5, 94.5)


def suspects_in_bays(*places_in: tuple[float, bool]) -> list[float]:
    members = [full(at) for at, _ in places_in]
    found = in_full_bays(members, [suspect for _, suspect in places_in])
    return [m.centre_in for m, inside in zip(members, found, strict=True) if inside]


def test_what_stands_in_the_middle_of_a_bay_may_be_a_pipe() -> None:
    assert suspects_in_bays((0.75, False), (16.0, False), (24.5, True), (32.0, False)) == [24.5]


def test_a_stud_on_its_mark_is_none_however_it_looks() -> None:
    assert suspects_in_bays((0.75, False), (16.0, False), (32.0, True), (48.0, False)) == []


def test_a_king_beside_a_stud_is_none() -> None:
    assert suspects_in_bays((16.0, False), (18.2, True), (32.0, False)) == []


def test_two_pipes_in_one_bay_are_both_told() -> None:
    assert suspects_in_bays((16.0, False), (21.0, True), (27.0, True), (32.0, False)) == [21.0, 27.0]


def test_a_stud_of_another_colour_closes_a_bay_all_the_same() -> None:
    """24 in on centre: the grey stud at 24 is a suspect, too, and stands where a stud is wanted."""
    assert suspects_in_bays((0.75, False), (24.0, True), (35.0, True), (48.0, False), (72.0, False)) == [35.0]


def suspects_off_marks(*places_in: tuple[float, bool]) -> list[float]:
    members = [full(at) for at, _ in places_in]
    found = off_the_marks(members, [suspect for _, suspect in places_in])
    return [m.centre_in for m, off in zip(members, found, strict=True) if off]


ON_MARKS = [(0.75, False), *((24.0 * k, False) for k in range(1, 6)), (143.25, False)]


def test_what_rather_differs_and_stands_on_no_mark_may_be_a_pipe() -> None:
    """A grey pipe in the end bay, which is no spacing wide."""
    assert suspects_off_marks(*sorted([*ON_MARKS, (6.7, True)])) == [6.7]


@pytest.mark.parametrize("at_in", [48.3, 51.0])
def test_a_stud_of_another_colour_on_its_mark_or_nailed_to_one_is_none(at_in: float) -> None:
    places = (
        [*ON_MARKS, (at_in, True)]
        if at_in == 51.0
        else [(48.3, True) if x == 48 else (x, s) for x, s in ON_MARKS]
    )
    assert suspects_off_marks(*sorted(places)) == []


def test_the_end_of_a_wall_stands_on_no_mark_and_is_no_pipe() -> None:
    assert suspects_off_marks(*ON_MARKS[:-1], (131.0, True)) == []


def test_studs_on_no_layout_make_no_pipe_of_another() -> None:
    odd = [
        (0.75, False),
        (13.0, False),
        (31.0, False),
        (44.0, True),
        (58.0, False),
        (70.0, False),
        (89.0, False),
    ]
    assert suspects_off_marks(*odd) == []


def faint_in(places_in: list[tuple[float, str]], framing_in: tuple[float, ...] = ()) -> list[float]:
    """Which of these full-height members, each with its one doubt or none, are left out."""
    members = [full(at).doubted(doubt) if doubt else full(at) for at, doubt in places_in]
    out = faint_extras(members, [m.centre_in in framing_in for m in members])
    return [m.centre_in for m, extra in zip(members, out, strict=True) if extra]


SIXTEENS = [(0.75, ""), *((16.0 * k, "") for k in range(1, 6)), (95.25, "")]


@pytest.mark.parametrize("doubt", ["faint", "fainter", "little_seen"])
@pytest.mark.parametrize("at_in", [34.0, 40.0, 44.5])
def test_what_hardly_looks_like_a_stud_is_none_in_a_full_bay(at_in: float, doubt: str) -> None:
    assert faint_in(sorted([*SIXTEENS, (at_in, doubt)])) == [at_in]


@pytest.mark.parametrize("doubt", ["", "edges_unclear", "crowded"])
def test_a_backer_for_a_partition_that_looks_like_a_stud_stays(doubt: str) -> None:
    assert faint_in(sorted([*SIXTEENS, (40.0, doubt)])) == []


def test_a_faint_stud_on_its_mark_stays() -> None:
    assert faint_in([(at, "faint" if at == 48.0 else doubt) for at, doubt in SIXTEENS]) == []


def test_a_faint_stud_between_studs_32_in_apart_stays() -> None:
    """The one on the mark beside it was not found: the bay is not full."""
    assert faint_in(sorted([*(p for p in SIXTEENS if p[0] != 48.0), (50.0, "faint")])) == []


def test_a_faint_king_stands_where_its_opening_is() -> None:
    assert faint_in(sorted([*SIXTEENS, (40.0, "faint")]), framing_in=(40.0,)) == []


def test_faint_ends_of_a_wall_stay() -> None:
    ends = [(0.75, "faint"), *SIXTEENS[1:-1], (90.0, "faint")]
    assert faint_in(ends) == []
