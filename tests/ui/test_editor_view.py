"""What goes to the picture editor and what comes back from it."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from layout.lengths import MM_PER_IN, format_length
from tests.ui.test_corrections import WALL, line_at, plane, reading, shown
from ui.corrections import Corrections, ReferenceMark, StudMark, correct
from ui.corrections_json import corrections_to_json
from ui.editor_view import (
    EditRefused,
    PhotoShown,
    editor_view,
    length_scale,
    reference_problem,
    take_edit,
)
from ui.plus_minus import plus_minus
from ui.words import CATALOGUES, Words, language_of
from vision.reading import Reference

ENGLISH = Words("en")
TAPE = ReferenceMark("tape", 96.0, "8 ft", (200.0, 1100.0), (1160.0, 1100.0))


def edit(corrections: Corrections) -> dict:
    return {"seq": 1, "revision": 1, "corrections": json.loads(json.dumps(corrections_to_json(corrections)))}


def taken(after: Corrections, before: Corrections | None = None) -> Corrections:
    return take_edit(edit(after), before or Corrections(), 1600, 1200)


def test_the_view_is_plain_json_and_names_each_stud():
    wall = shown(reading(WALL, doubtful=(48.0,)), Corrections())
    view = editor_view(
        wall,
        Corrections(),
        PhotoShown("photo.jpg", 1600, 1200),
        None,
        ENGLISH,
        "inches",
        session="s",
        seq=0,
        revision=1,
        can_undo=False,
        can_redo=False,
    )
    view = json.loads(json.dumps(view, allow_nan=False))
    assert [s["number"] for s in view["studs"]] == [1, 2, 3, 4, 5, 6, 7]
    assert view["studs"][3]["sure"] is False
    assert "remove it" in view["studs"][3]["why"]
    assert view["studs"][0]["sigma_text"] == '± 1/8"'


def test_a_stud_drawn_in_the_browser_is_kept_as_it_was_drawn():
    marks = Corrections(studs=(StudMark("m", line_at(20.0, plane())),))
    assert taken(marks) == marks


@pytest.mark.parametrize(
    "spoilt",
    [
        {"corrections": None},
        {"corrections": {"studs": [{"id": "m"}]}},
        {
            "corrections": {
                "studs": [{"id": "m", "front_px": [[0, 0], [float("nan"), 1]], "corrects_px": None}]
            }
        },
        {"corrections": {"corners_px": [[0, 0], [1, 1]]}},
        {},
    ],
)
def test_an_edit_of_another_form_is_refused_whole(spoilt):
    with pytest.raises(EditRefused):
        take_edit(spoilt, Corrections(), 1600, 1200)


def test_a_mark_far_outside_the_photo_is_refused():
    with pytest.raises(EditRefused):
        taken(Corrections(studs=(StudMark("m", ((20_000.0, 0.0), (20_000.0, 900.0))),)))


def test_a_tape_length_is_read_as_people_write_it():
    for text, inches in (
        ("8 ft", 96.0),
        ("112 1/4", 112.25),
        ("9' 4-1/2\"", 112.5),
        ("2440 mm", 2440 / MM_PER_IN),
    ):
        after = taken(Corrections(reference=replace(TAPE, length_in=None, length_text=text)))
        assert after.reference.length_in == pytest.approx(inches)
        assert after.reference.length_text == text
        assert reference_problem(after.reference, ENGLISH) == ""


@pytest.mark.parametrize("text", ["0", "nine feet", "9-4-8", "-5"])
def test_a_length_that_cannot_be_read_is_said_in_one_sentence_and_marks_stay(text):
    after = taken(Corrections(reference=replace(TAPE, length_in=None, length_text=text)))
    assert after.reference.length_in is None
    assert after.reference.from_px == TAPE.from_px
    assert reference_problem(after.reference, ENGLISH)
    assert after.reference.for_reading() is None


def test_moving_a_tape_mark_keeps_the_length_that_was_typed():
    moved = replace(TAPE, length_in=None, to_px=(1150.0, 1100.0))
    assert taken(Corrections(reference=moved), Corrections(reference=TAPE)).reference.length_in == 96.0


def test_a_second_tape_length_is_read_and_shown_like_the_first():
    second = replace(TAPE, length_in=None, length_text="4 ft 2", from_px=(300.0, 200.0), to_px=(900.0, 200.0))
    after = taken(Corrections(reference=TAPE, second=second), Corrections(reference=TAPE))
    assert after.second.length_in == pytest.approx(50.0)
    assert after.second_for_reading() == Reference.tape(50.0, (300.0, 200.0), (900.0, 200.0))
    # it checks the first: without that, on one spot, or the same over again it says nothing
    assert replace(after, reference=None).second_for_reading() is None
    assert replace(after, second=replace(after.second, to_px=(303.0, 200.0))).second_for_reading() is None
    assert replace(after, second=after.reference).second_for_reading() is None
    with pytest.raises(EditRefused):
        taken(Corrections(second=replace(TAPE, to_px=(90_000.0, 0.0))))


def test_marks_on_one_spot_are_told_apart_from_a_missing_length():
    same = replace(TAPE, to_px=(203.0, 1100.0))
    assert reference_problem(same, ENGLISH) == ENGLISH("say.marks_coincide")
    # no length yet is no fault: the card asks for it
    assert reference_problem(replace(TAPE, length_in=None, length_text=""), ENGLISH) == ""


@pytest.mark.parametrize("inches", [0.0, 1 / 16, 15.25, 16.0, 112.25, 95 + 15 / 16])
def test_the_editor_prints_a_place_as_the_tape_is_printed_elsewhere(inches):
    scale = length_scale("inches")
    steps = round(inches / scale["step_in"])
    whole, part = divmod(steps, scale["steps_per_whole"])
    text = " ".join(filter(None, (str(whole) if whole or not part else "", scale["parts"][part])))
    assert text + scale["suffix"] == format_length(inches, "inches")


def test_the_doubt_shown_is_two_standard_deviations_rounded_up():
    assert plus_minus(0.06, "inches") == '± 1/8"'
    assert plus_minus(0.01, "inches") == '± 1/16"'
    assert plus_minus(0.0625, "inches") == '± 1/8"'
    assert plus_minus(0.5 / MM_PER_IN, "mm") == "± 1 mm"
    assert plus_minus(0.6 / MM_PER_IN, "mm") == "± 2 mm"


def test_every_language_has_the_same_words_with_the_same_gaps():
    import string

    def gaps(text: str) -> set[str]:
        return {name for _, name, _, _ in string.Formatter().parse(text) if name}

    english = CATALOGUES["en"]
    for language, catalogue in CATALOGUES.items():
        assert catalogue.keys() == english.keys(), language
        for key, text in catalogue.items():
            assert gaps(text) == gaps(english[key]), (language, key)


def test_the_browser_language_chooses_the_words():
    assert language_of("es-MX") == "es"
    assert language_of("en-GB") == "en"
    assert language_of("fr") == "en"
    assert language_of(None) == "en"


def test_a_refused_wall_still_has_a_view():
    read = replace(reading(()), plane=None, wall=None, refused=True)
    wall = correct(read, Corrections(), lambda line: None)
    view = editor_view(
        wall,
        Corrections(),
        PhotoShown("photo.jpg", 1600, 1200),
        None,
        ENGLISH,
        "mm",
        session="s",
        seq=0,
        revision=1,
        can_undo=False,
        can_redo=False,
        start_tool="corners",
    )
    assert view["plane"] is None
    assert view["studs"] == []
