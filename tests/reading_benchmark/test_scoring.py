"""The benchmark tells a right reading from a wrong one."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

import sample_images
from tests.benchmarks.cases import Case, RealPhoto, RealStud, own_cases
from tests.benchmarks.real import count
from tests.benchmarks.scoring import Found, Score, score
from tests.benchmarks.tables import figures, line
from vision import Member

FOLDER = sample_images.photo_path(sample_images.sample_names()[0]).parent
CASES = {c.name: c for c in own_cases(FOLDER)}
WHOLE = [c for c in CASES.values() if c.whole]


def perfect(case: Case) -> list[Found]:
    """A reading made from the truth."""
    found = []
    for m in case.members:
        ends = np.array([(m.centre_in, m.bottom_in, 0.0), (m.centre_in, m.top_in, 0.0)])
        (a, b) = case.camera.project(ends)
        line_px = ((float(a[0]), float(a[1])), (float(b[0]), float(b[1])))
        found.append(Found(m.centre_in, 0.05, m.plies, m.full, True, line_px))
    return found


def moved(found: list[Found], by_in: float) -> list[Found]:
    return [replace(f, centre_in=f.centre_in + by_in) for f in found]


def read_right(case: Case) -> Score:
    return score(case, perfect(case), False, case.length_in, case.height_in)


@pytest.mark.parametrize("case", CASES.values(), ids=list(CASES))
def test_the_truth_itself_scores_perfectly(case: Case) -> None:
    s = read_right(case)
    assert (s.no_edit, s.hit, s.false) == (1, s.true, 0)
    assert s.short_hit == s.short
    assert s.true >= 5
    assert s.sure_right == s.sure
    assert max(s.errors) < 0.02
    if case.whole:
        assert s.length_errors == [0.0]


def test_without_its_trimmers_and_cripples_a_door_wall_counts_them_missed() -> None:
    case = CASES["door_wall"]
    s = score(case, [f for f in perfect(case) if f.full])
    assert (s.short_hit, s.short) == (0, 5)
    assert s.no_edit == 1, "the share that needs no edit speaks of full-height studs"


@pytest.mark.parametrize("case", WHOLE, ids=lambda c: c.name)
def test_everything_an_inch_too_far_right_is_all_wrong(case: Case) -> None:
    s = score(case, moved(perfect(case), 1.0))
    assert s.no_edit == 0
    assert s.hit <= 0.25 * s.true  # a king and its trimmer stand 1 1/2 in apart
    assert s.sure_right <= 0.25 * s.sure
    assert s.false >= 0.75 * s.reported


@pytest.mark.parametrize("case", WHOLE, ids=lambda c: c.name)
def test_half_an_inch_is_found_but_needs_an_edit(case: Case) -> None:
    s = score(case, moved(perfect(case), 0.5))
    assert s.no_edit == 0
    assert figures(s)["within_3_8"] < 0.5


@pytest.mark.parametrize("case", CASES.values(), ids=list(CASES))
def test_one_stud_left_out_costs_recall_and_one_made_up_costs_precision(case: Case) -> None:
    found = perfect(case)
    gone = next(i for i, m in enumerate(case.members) if m.full and m.counted and m.plies == 1)
    fewer = score(case, found[:gone] + found[gone + 1 :])
    assert (fewer.hit, fewer.no_edit) == (fewer.true - 1, 0)
    gaps = [(b.centre_in - a.centre_in, i) for i, (a, b) in enumerate(pairwise(found))]
    at = max(gaps)[1]
    a, b = found[at], found[at + 1]
    between = tuple(
        tuple((p + q) / 2 for p, q in zip(pa, pb, strict=True))
        for pa, pb in zip(a.front_px, b.front_px, strict=True)
    )
    extra = replace(a, centre_in=(a.centre_in + b.centre_in) / 2, full=True, front_px=between)  # type: ignore[arg-type]
    more = score(case, [*found, extra])
    assert (more.hit, more.false, more.no_edit) == (more.true, 1, 0)
    assert more.sure - more.sure_right == 1


def test_a_cripple_called_a_full_height_stud_is_false() -> None:
    case = CASES["door_wall"]
    found = [
        replace(f, full=True) if m.kind == "cripple" else f
        for f, m in zip(perfect(case), case.members, strict=True)
    ]
    cripples = sum(m.kind == "cripple" for m in case.members)
    assert cripples
    assert score(case, found).false == cripples


def test_a_king_and_its_trimmer_read_as_one_double_are_both_found() -> None:
    case = CASES["door_wall"]
    found = perfect(case)
    king = next(i for i, m in enumerate(case.members) if m.kind == "king")
    trimmer = min(
        (i for i, m in enumerate(case.members) if m.kind == "trimmer"),
        key=lambda i: abs(case.members[i].centre_in - case.members[king].centre_in),
    )
    middle = (found[king].centre_in + found[trimmer].centre_in) / 2
    both = replace(found[king], centre_in=middle, plies=2)
    rest = [f for i, f in enumerate(found) if i not in (king, trimmer)]
    s = score(case, [*rest, both])
    assert (s.hit, s.false, s.no_edit) == (s.true, 0, 1)


def test_nothing_read_is_nothing_found_and_a_refusal_is_counted() -> None:
    s = score(WHOLE[0], [], refused=True)
    assert (s.hit, s.no_edit, s.refused) == (0, 0, 1)
    assert figures(s)["recall"] == 0.0
    assert figures(s)["precision"] is None


def test_stated_doubt_too_small_shows_in_the_coverage() -> None:
    rng = np.random.default_rng(5)
    total = Score()
    for _ in range(40):
        for case in WHOLE:
            noisy = [replace(f, centre_in=f.centre_in + float(rng.normal(0, 0.1))) for f in perfect(case)]
            total += score(case, [replace(f, sigma_in=0.1) for f in noisy])
    honest = figures(total)
    # a normal error lies within one and two standard deviations in 68.3 % and 95.4 % of cases
    assert honest["coverage_1_sigma"] == pytest.approx(0.683, abs=0.03)
    assert honest["coverage_2_sigma"] == pytest.approx(0.954, abs=0.02)
    total.sigmas = [s / 3 for s in total.sigmas]
    assert figures(total)["coverage_2_sigma"] < 0.6
    assert line("all", total).startswith("all")


def test_a_real_stud_counts_when_the_drawn_line_lies_on_its_face() -> None:
    photo = RealPhoto(
        "x", FOLDER, "frontal", 100.0, (RealStud(50, 62, "full"), RealStud(90, 96, "cripple")), None
    )

    def member(x: float, sure: bool = True) -> Member:
        return Member(16.0, 0.1, 1.5, 0.0, 1, "full", sure, ((x, 200.0), (x, 0.0)), 1.5, 96.0)

    assert count(photo, [member(55)]) == {"true": 1, "hit": 1, "false": 0, "sure_false": 0}
    assert count(photo, [member(75)]) == {"true": 1, "hit": 0, "false": 1, "sure_false": 1}
    assert count(photo, [member(93, False)]) == {"true": 1, "hit": 0, "false": 0, "sure_false": 0}
