"""Reading whole photos: what is refused and how, what is found, and what must not change the answer."""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import Any

import cv2
import numpy as np
import pytest
from sample_walls import CASES, DEMO, photo_of, reading_of, tape_of

from tests.benchmarks.scoring import Found, score
from vision import (
    Photo,
    Reading,
    ReadingError,
    Reference,
    TapeCheck,
    measure_member,
    read_wall,
)

pytestmark = pytest.mark.usefixtures("_labels_kept")
OPEN_BAYS = [c.name for c in CASES.values() if c.row.startswith("open bays") and c.whole]
# Buckets, shelves and boxes stand before this one; see the mark on its test.


def full_centres(reading: Reading) -> np.ndarray:
    return np.array([m.centre_in for m in reading.members if m.kind == "full"])


def photo_made_of(rgb: np.ndarray, focal_px: float | None = 1250.0) -> Photo:
    height, width = rgb.shape[:2]
    return replace(photo_of(DEMO), rgb=rgb, width_px=width, height_px=height, focal_px=focal_px)


def one_sentence(error: pytest.ExceptionInfo[ReadingError]) -> str:
    text = str(error.value)
    assert "\n" not in text
    assert text[0].isupper()
    assert text.endswith(".")
    assert text.count(". ") == 0
    return text


# What cannot be used is said in one sentence.


@pytest.mark.parametrize(
    ("reference", "says"),
    [
        (Reference.tape(120, (500, 600), (500, 600)), "same spot"),
        (Reference.tape(120, (500, 600), (508, 600)), "same spot"),
        (Reference.tape(120, (-40, 600), (900, 600)), "-40"),
        (Reference.tape(120, (500, 600), (900, 99999)), "99999"),
        (Reference.tape(120, (float("nan"), 600), (900, 600)), "not a number"),
        (Reference.tape(0, (500, 600), (900, 600)), "more than zero"),
        (Reference.tape(-12, (500, 600), (900, 600)), "more than zero"),
        (Reference.tape(float("nan"), (500, 600), (900, 600)), "more than zero"),
        (Reference.tape(float("inf"), (500, 600), (900, 600)), "more than zero"),
        (Reference("tape", 120), "two marks"),
        (Reference.on_centre(0), "more than zero"),
        (Reference.on_centre(2), "2 in on centre"),
        (Reference.on_centre(160), "160 in on centre"),
    ],
)
def test_a_reference_that_cannot_be_used_is_refused_in_one_sentence(reference: Reference, says: str) -> None:
    with pytest.raises(ReadingError) as error:
        read_wall(photo_of(DEMO), reference)
    assert says in one_sentence(error)


@pytest.mark.parametrize(
    "corners",
    [
        [(100, 100), (900, 100), (900, 700)],
        [(100, 100), (900, 100), (900, 700), (100, float("nan"))],
        [(100, 100), (900, 100), (1e9, 700), (100, 700)],
        [(100, 100), (100, 100), (100, 100), (100, 100)],
        [(100, 100), (500, 500), (900, 900), (300, 300)],
        [(100, 100), (900, 100), (400, 250), (100, 700)],
        [(100, 100), (140, 100), (140, 130), (100, 130)],
    ],
)
def test_corners_that_make_no_wall_are_refused_in_one_sentence(corners: list[tuple[float, float]]) -> None:
    with pytest.raises(ReadingError) as error:
        read_wall(photo_of(DEMO), None, corners)
    assert "corner" in one_sentence(error)


@pytest.mark.parametrize("face_in", [0.0, -1.5, 40.0, float("nan")])
def test_a_face_no_stud_has_is_refused(face_in: float) -> None:
    with pytest.raises(ReadingError) as error:
        read_wall(photo_of(DEMO), None, face_in=face_in)
    assert "face" in one_sentence(error)


@pytest.mark.parametrize("length_in", [0.0, -96.0, float("nan")])
def test_an_extra_tape_reading_of_no_length_is_refused(length_in: float) -> None:
    case = CASES[DEMO]
    with pytest.raises(ReadingError) as error:
        read_wall(photo_of(DEMO), tape_of(case), checks=[TapeCheck(96.0, length_in)])
    assert "tape" in one_sentence(error)


# A photo without a wall is refused with a reason, never with a crash.


def pictures_of_no_wall() -> dict[str, np.ndarray]:
    rng = np.random.default_rng(8)
    x = np.linspace(0, 255, 640)
    return {
        "flat grey": np.full((480, 640, 3), 128, np.uint8),
        "black": np.zeros((480, 640, 3), np.uint8),
        "noise": rng.integers(0, 256, (480, 640, 3), dtype=np.uint8),
        "a ramp of light": np.repeat(np.tile(x, (480, 1))[..., None], 3, 2).astype(np.uint8),
    }


@pytest.mark.parametrize("name", list(pictures_of_no_wall()))
@pytest.mark.parametrize("reference", [None, Reference.tape(96, (100, 240), (540, 240))])
def test_a_photo_without_a_wall_is_refused_with_its_reason(name: str, reference: Reference | None) -> None:
    reading = read_wall(photo_made_of(pictures_of_no_wall()[name], 520.0), reference)
    assert reading.refused
    assert not any(m.sure for m in reading.members)
    assert reading.warnings
    assert all(w.code and w.message.endswith(".") and w.advice.endswith(".") for w in reading.warnings)


# Open walls are read right.


@pytest.mark.parametrize("name", OPEN_BAYS)
def test_the_studs_of_an_open_wall_are_found_and_none_that_is_not_there(name: str) -> None:
    case, reading = CASES[name], reading_of(name)
    found = [
        Found(m.centre_in, m.sigma_in, m.plies, m.kind == "full", m.sure, m.front_px) for m in reading.members
    ]
    s = score(case, found, reading.refused)
    assert not reading.refused
    assert s.hit >= 0.95 * s.true
    assert s.reported - s.false >= 0.95 * s.reported
    assert np.mean(np.array(s.errors) <= 0.2) >= 0.95
    assert s.sure_right == s.sure


def test_the_demo_wall_is_as_long_and_as_high_as_it_was_built() -> None:
    case, wall = CASES[DEMO], reading_of(DEMO).wall
    assert wall is not None
    assert abs(wall.length_in - case.length_in) <= max(0.25, 2 * wall.length_sigma_in)
    assert abs(wall.height_in - case.height_in) <= max(0.5, 2 * wall.height_sigma_in)
    for ours, theirs in zip(wall.corners_px, case.corners_px, strict=True):
        assert np.hypot(ours[0] - theirs[0], ours[1] - theirs[1]) < 12


def test_studs_are_drawn_on_their_front_faces() -> None:
    """The line drawn on the photo and the inches stated are one place, by the photo's true camera too."""
    case, reading = CASES[DEMO], reading_of(DEMO)
    assert reading.plane is not None
    for m in reading.members:
        ours = reading.plane.to_wall(np.array(m.front_px)).mean(0)[0]
        assert ours == pytest.approx(m.centre_in, abs=0.1)
        assert case.to_wall(m.front_px).mean(0)[0] == pytest.approx(m.centre_in, abs=0.4)


# What must not change the answer.


def test_the_same_photo_read_twice_gives_the_same_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    case = CASES[DEMO]
    reading_of(DEMO)
    monkeypatch.undo()  # the network is asked again, too
    assert read_wall(photo_of(DEMO), tape_of(case), face_in=case.face_in) == reading_of(DEMO)


def test_a_mirrored_photo_gives_the_mirrored_studs() -> None:
    case, photo, plain = CASES[DEMO], photo_of(DEMO), reading_of(DEMO)
    a, b = ((photo.width_px - 1 - x, y) for x, y in case.marks_px)
    tape = Reference.tape(case.reference_in, b, a, stands_proud_in=case.in_front_in)
    turned = replace(photo, rgb=np.ascontiguousarray(photo.rgb[:, ::-1]))
    mirrored = read_wall(turned, tape, face_in=case.face_in)
    assert mirrored.wall is not None
    back = mirrored.wall.length_in - full_centres(mirrored)[::-1]
    doubt = np.hypot(
        [m.sigma_in for m in plain.members if m.kind == "full"],
        [m.sigma_in for m in mirrored.members if m.kind == "full"][::-1],
    )
    assert len(back) == len(full_centres(plain))
    assert np.all(np.abs(back - full_centres(plain)) <= 2 * doubt)


def test_a_smaller_copy_of_the_photo_gives_the_same_inches() -> None:
    case, photo, plain = CASES[DEMO], photo_of(DEMO), reading_of(DEMO)
    k = 0.75
    size = (round(photo.width_px * k), round(photo.height_px * k))
    rgb = np.asarray(cv2.resize(photo.rgb, size, interpolation=cv2.INTER_AREA))
    marks = [((x + 0.5) * k - 0.5, (y + 0.5) * k - 0.5) for x, y in case.marks_px]
    tape = Reference.tape(case.reference_in, marks[0], marks[1], stands_proud_in=case.in_front_in)
    assert photo.focal_px is not None
    small = read_wall(photo_made_of(rgb, photo.focal_px * k), tape, face_in=case.face_in)
    assert len(full_centres(small)) == len(full_centres(plain))
    np.testing.assert_allclose(full_centres(small), full_centres(plain), atol=0.15)


def test_a_sliver_of_the_wall_tapped_as_its_corners_is_refused_with_what_to_do() -> None:
    """The lines inside run as no wall of this outline has them; the reading broke off once."""
    sliver = [(1515.0, 300.0), (1555.0, 240.0), (1575.0, 1073.0), (1515.0, 1053.0)]
    reading = read_wall(photo_of(DEMO), tape_of(CASES[DEMO]), sliver)
    assert reading.refused
    assert not reading.members
    last = reading.warnings[-1]
    assert last.code == "not_these_corners"
    assert "again" in last.advice


def test_the_corners_may_be_tapped_in_any_order() -> None:
    case, photo = CASES[DEMO], photo_of(DEMO)
    tl, tr, br, bl = case.corners_px
    one = read_wall(photo, tape_of(case), [tl, tr, br, bl], face_in=case.face_in)
    other = read_wall(photo, tape_of(case), [br, tl, bl, tr], face_in=case.face_in)
    assert one == other
    assert len(full_centres(one)) == sum(m.full for m in case.members)


def test_the_studs_own_spacing_serves_as_the_reference() -> None:
    case = CASES[DEMO]
    reading = read_wall(photo_of(DEMO), Reference.on_centre(case.spacing_in), face_in=case.face_in)
    true = np.array([m.centre_in for m in case.members if m.full])
    assert reading.reference.kind == "on_centre"
    assert len(full_centres(reading)) == len(true)
    assert np.abs(full_centres(reading) - true).max() < 0.75


def test_with_no_length_given_the_spacing_is_one_that_is_usual_where_the_wall_stands() -> None:
    """400 and 600 mm instead of 16 and 24 in: the same studs, by 1.6 % nearer each other."""
    by_inches = read_wall(photo_of(DEMO))
    by_mm = read_wall(photo_of(DEMO), assumed_in=(400 / 25.4, 600 / 25.4))
    assert (by_inches.reference.length_in, by_inches.reference.assumed) == (16.0, True)
    assert (by_mm.reference.length_in, by_mm.reference.assumed) == (400 / 25.4, True)
    ratio = full_centres(by_mm)[1:] / full_centres(by_inches)[1:]
    assert ratio == pytest.approx(400 / 25.4 / 16.0, rel=1e-3)
    assert not any(m.sure for m in by_mm.members), "a guess all the same"


@pytest.mark.parametrize("assumed", [False, True])
def test_a_spacing_that_hardly_fixes_the_scale_is_refused_and_a_tape_asked_for(
    assumed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("vision.advice.LOOSE_SCALE", 1e-5)  # no wall's studs stand so well
    spacing = Reference.on_centre(CASES[DEMO].spacing_in)
    reading = read_wall(photo_of(DEMO), None if assumed else spacing)
    assert reading.refused is not assumed  # nothing given: shown as a guess all the same
    assert reading.warnings[-1].code == "loose_scale"
    assert not any(m.sure for m in reading.members)
    assert len(full_centres(reading)) > 8
    assert not read_wall(photo_of(DEMO), tape_of(CASES[DEMO])).refused


def test_marks_set_roughly_on_a_small_picture_leave_more_doubt_and_move_hardly_anything() -> None:
    case = CASES[DEMO]
    careful = reading_of(DEMO)
    tape = replace(tape_of(case), mark_sigma_px=8.0)
    rough = read_wall(photo_of(DEMO), tape, face_in=case.face_in)
    assert rough.says("rough_marks")
    assert not careful.says("rough_marks")
    for a, b in zip(careful.members, rough.members, strict=True):
        assert b.sigma_in >= a.sigma_in - 1e-6
        assert abs(b.centre_in - a.centre_in) < 2 * b.sigma_in
        assert a.sure or not b.sure
    assert rough.wall.length_sigma_in > 2 * careful.wall.length_sigma_in


def test_a_tape_check_scales_studs_and_drawing_together() -> None:
    case, plain = CASES[DEMO], reading_of(DEMO)
    far = max((m for m in plain.members if m.kind == "full"), key=lambda m: m.centre_in)
    check = TapeCheck(far.centre_in, far.centre_in * 1.001)
    checked = read_wall(photo_of(DEMO), tape_of(case), face_in=case.face_in, checks=[check])
    assert checked.plane is not None
    assert full_centres(checked)[-1] > full_centres(plain)[-1]
    for before, after in zip(plain.members, checked.members, strict=True):
        assert after.front_px == before.front_px
        assert after.sigma_in <= before.sigma_in
        assert checked.plane.to_wall(np.array(after.front_px)).mean(0)[0] == pytest.approx(
            after.centre_in, abs=0.1
        )


def test_a_darker_print_of_the_photo_shows_the_same_studs() -> None:
    case, plain = CASES[DEMO], reading_of(DEMO)
    darker = replace(photo_of(DEMO), rgb=(photo_of(DEMO).rgb * 0.7).astype(np.uint8))
    reading = read_wall(darker, tape_of(case), face_in=case.face_in)
    assert len(full_centres(reading)) == len(full_centres(plain))
    np.testing.assert_allclose(full_centres(reading), full_centres(plain), atol=0.15)


def test_a_photo_of_half_the_wall_says_that_the_wall_runs_on() -> None:
    photo = photo_of(DEMO)
    half = np.ascontiguousarray(photo.rgb[:, : photo.width_px // 2])
    reading = read_wall(photo_made_of(half, None), Reference.on_centre(CASES[DEMO].spacing_in))
    assert "wall_cut_off" in {w.code for w in reading.warnings}
    assert "focal_unknown" in {w.code for w in reading.warnings}


# Without the part that recognises studs.


@pytest.fixture
def _no_model(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "vision.learned.model", None)


@pytest.mark.usefixtures("_no_model")
def test_without_the_model_the_photo_is_refused_and_the_reason_given() -> None:
    reading = read_wall(photo_of(DEMO), tape_of(CASES[DEMO]))
    assert "no_model" in {w.code for w in reading.warnings}
    assert not any(m.sure for m in reading.members)


@pytest.mark.usefixtures("_no_model")
def test_without_the_model_tapped_corners_still_give_studs_none_of_them_sure() -> None:
    case = CASES[DEMO]
    reading = read_wall(photo_of(DEMO), tape_of(case), case.corners_px, face_in=case.face_in)
    assert "no_model" in {w.code for w in reading.warnings}
    assert all(not m.sure and "no_model" in m.doubts for m in reading.members)


# A stud placed by hand.


def test_a_line_drawn_over_a_found_stud_gives_its_inches_back() -> None:
    reading = reading_of(DEMO)
    for m in (m for m in reading.members if m.kind == "full"):
        drawn = measure_member(reading, *m.front_px)
        assert drawn.centre_in == pytest.approx(m.centre_in, abs=0.1)
        assert drawn.lean_in == pytest.approx(m.lean_in, abs=0.25)
        assert (drawn.kind, drawn.sure, drawn.plies) == ("full", True, 1)
        assert 0 < drawn.sigma_in < 0.75


def test_a_line_may_be_drawn_from_head_to_foot_as_well() -> None:
    reading = reading_of(DEMO)
    bottom, top = reading.members[4].front_px
    up, down = measure_member(reading, bottom, top), measure_member(reading, top, bottom)
    assert (up.centre_in, up.lean_in, up.bottom_in, up.top_in) == (
        down.centre_in,
        down.lean_in,
        down.bottom_in,
        down.top_in,
    )


def test_a_stud_drawn_at_true_inches_stands_there() -> None:
    reading = reading_of(DEMO)
    assert reading.plane is not None
    ends = reading.plane.to_photo(np.array([[60.0, 3.0], [60.5, 90.0]]))
    drawn = measure_member(reading, tuple(ends[0]), tuple(ends[1]), plies=2)
    assert drawn.centre_in == pytest.approx(60.25, abs=0.05)
    assert (drawn.face_in, drawn.plies) == (3.0, 2)
    assert (drawn.bottom_in, drawn.top_in) == (pytest.approx(3.0, abs=0.01), pytest.approx(90.0, abs=0.01))


def test_a_short_line_is_a_partial_member() -> None:
    reading = reading_of(DEMO)
    assert reading.plane is not None
    ends = reading.plane.to_photo(np.array([[60.0, 3.0], [60.0, 30.0]]))
    assert measure_member(reading, tuple(ends[0]), tuple(ends[1])).kind == "partial"


def refused_line(reading: Reading, *ends: Any) -> str:
    with pytest.raises(ReadingError) as error:
        measure_member(reading, *ends)
    return one_sentence(error)


def test_a_line_that_cannot_be_a_stud_is_refused_in_one_sentence() -> None:
    reading = reading_of(DEMO)
    assert "up the wall" in refused_line(reading, (500, 700), (900, 700))
    assert "up the wall" in refused_line(reading, (500, 700), (500, 700))
    assert "outside" in refused_line(reading, (float("nan"), 700), (500, 300))
    without_scale = replace(reading, plane=None, wall=None)
    assert "reference" in refused_line(without_scale, (500, 900), (500, 300))


def test_studs_of_steel_read_as_timber_are_told_by_their_narrow_faces() -> None:
    case = CASES["steel_wall"]
    as_timber = read_wall(photo_of("steel_wall"), tape_of(case), face_in=1.5)
    assert "like_steel" in {w.code for w in as_timber.warnings}
    for name in ("steel_wall", DEMO, "insulated_wall"):
        assert "like_steel" not in {w.code for w in reading_of(name).warnings}
