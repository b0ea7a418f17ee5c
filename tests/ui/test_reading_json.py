"""A kept reading comes back equal, and never for another photo, input or reader."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
import walls

from ui import reading_json
from ui.reading_json import reading_from_json, reading_key, reading_to_json
from vision.reading import Opening, Reference, TapeCheck, Warning


def test_a_reading_comes_back_equal_to_the_last_digit() -> None:
    tape = Reference.tape(96.0, (10.5, 20.25), (1000.125, 30.0), stands_proud_in=0.5)
    full = replace(
        walls.reading(openings=(Opening("door", 20.0, 58.0, 0.0, 82.5),)),
        reference=tape,
        warnings=(Warning("few_horizontals", "what", "do"),),
        refused=True,
    )
    assert reading_from_json(json.loads(json.dumps(reading_to_json(full)))) == full
    empty = replace(full, wall=None, plane=None, members=(), openings=(), reference=Reference.on_centre(16.0))
    assert reading_from_json(reading_to_json(empty)) == empty


@pytest.mark.parametrize("broken", [{}, {"plane": None}, {"plane": None, "wall": None, "width_px": "x"}])
def test_anything_else_is_refused(broken: dict) -> None:
    with pytest.raises((ValueError, KeyError, TypeError)):
        reading_from_json(broken)


def test_the_key_changes_with_each_input_and_with_the_reader(monkeypatch) -> None:
    tape = Reference.tape(96.0, (1.0, 2.0), (3.0, 4.0))
    corners = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0))
    keys = [
        reading_key("a", None),
        reading_key("b", None),
        reading_key("a", tape),
        reading_key("a", replace(tape, length_in=96.5)),
        reading_key("a", tape, corners),
        reading_key("a", tape, corners, 1.5),
        reading_key("a", tape, corners, 1.5, TapeCheck(64.0, 64.25)),
    ]
    assert len(set(keys)) == len(keys)
    assert reading_key("a", tape) == keys[2]
    monkeypatch.setattr(reading_json, "_reader_digest", lambda: "another reader")
    assert reading_key("a", tape) != keys[2]
