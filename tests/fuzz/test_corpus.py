"""The kept inputs of the fuzzer go through every parser: answered or refused in one sentence."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parent))

import parsers

KEPT = [(file.parent.name, file) for file in sorted(parsers.CORPUS.rglob("*")) if file.is_file()]


@pytest.mark.parametrize(("name", "file"), KEPT, ids=[f"{name}/{file.name}" for name, file in KEPT])
def test_a_kept_input_is_answered_or_refused(name: str, file: Path) -> None:
    parsers.bounded(parsers.PARSERS[name], file.read_bytes())


def test_every_parser_has_kept_inputs() -> None:
    assert {name for name, _ in KEPT} == set(parsers.PARSERS)
