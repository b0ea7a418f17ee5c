"""Every word and every sentence is there in every language."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from layout import reasons
from tests.ui.browser import ROOT
from ui.words import CATALOGUES, Words, language_of
from ui.words.faults_spanish import FAULTS_SPANISH
from ui.words.said_spanish import SAID_SPANISH
from vision import DOUBT_WORDS
from vision.advice import WARNINGS

GAP = re.compile(r"\{\w*\}")
SPOKEN = {
    "vision": ("Warning", "ReadingError", "PhotoError", "JoiningError"),
    "layout": ("PlanWarning", "LengthError", "JobError"),
    "ui": ("StoreError", "ArchiveError", "SiteArchiveError", "KeptJobError", "JobError", "_refuse"),
}
"""The calls whose sentences reach the screens."""
COMMAND_LINE_ONLY = ("job_file.py", "plan_file.py")
"""What reads files that only the command line is given; it speaks English."""
RETURNED = ("_sentence",)
"""Functions that give back a sentence for such a call."""


def sentences():
    """(file, sentence with {} for what is filled in) of every call named in `SPOKEN`."""
    for package, names in SPOKEN.items():
        for file in sorted((ROOT / package).glob("*.py")):
            if file.name in COMMAND_LINE_ONLY:
                continue
            for argument in _arguments(ast.parse(file.read_text(encoding="utf-8")), names):
                text = _text(argument)
                if " " in text and re.search("[a-z]", text):
                    yield file.name, text


def _arguments(tree, names):
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in names:
            yield from node.args
        elif isinstance(node, ast.FunctionDef) and node.name in RETURNED:
            yield from (each.value for each in ast.walk(node) if isinstance(each, ast.Return))


def _text(node: ast.expr) -> str:
    if isinstance(node, ast.Constant):
        return str(node.value) if isinstance(node.value, str) else ""
    if isinstance(node, ast.JoinedStr):
        return "".join("{}" if isinstance(v, ast.FormattedValue) else _text(v) for v in node.values)
    if isinstance(node, ast.BinOp):
        parts = [_text(node.left), _text(node.right)]
        return "" if not all(parts) else "".join(parts)
    return ""


@pytest.mark.parametrize(("file", "text"), sorted(set(sentences())))
def test_every_sentence_of_the_inside_is_spoken_in_spanish(file, text):
    shown = text.replace("{}", "7")
    assert Words("es").said(shown) != shown, file
    assert Words("en").said(shown) == shown


ONE_TERM = {
    "placa": r"tableros?|paneles|panel|planchas?|tablarroca",
    "montante": r"parantes?|pie derecho|pies derechos|puntal(es)?",
    "solera": r"carreras?|durmientes?",
    "vigueta": r"vigas?|cabios?",
    "vano": r"aberturas?",
    "espesor": r"grosor(es)?",
    "cuarto": r"habitaci(ón|ones)|recámaras?",
    "añadir": r"agreg\w+",
    "in": r"pulg",
}
"""The one Spanish word for a thing, and those that are not used for it. "Placa" is the word of UNE-EN 520
("Gypsum plasterboards", titles from memory); the others are common usage, no source."""


@pytest.mark.parametrize("term", ONE_TERM)
def test_a_thing_has_one_name_in_spanish(term):
    spoken = (*CATALOGUES["es"].values(), *SAID_SPANISH.values(), *FAULTS_SPANISH.values())
    assert any(re.search(rf"\b{term[:4]}", each, re.IGNORECASE) for each in spoken)
    assert [each for each in spoken if re.search(rf"\b({ONE_TERM[term]})\b", each, re.IGNORECASE)] == []


@pytest.mark.parametrize("code", sorted(WARNINGS))
def test_every_warning_of_a_reading_is_spoken_in_spanish(code):
    for sentence in WARNINGS[code]:
        assert Words("es").said(sentence) != sentence


def test_every_doubt_about_a_stud_has_its_words_in_every_language():
    for catalogue in CATALOGUES.values():
        assert {f"doubt.{code}" for code in DOUBT_WORDS} <= catalogue.keys()


def test_every_reason_why_a_stud_takes_no_seam_is_spoken_in_spanish():
    for words in reasons.WORDS.values():
        sentence = (
            "No other member can take this seam with the rest of the plan as it is; for example "
            f"member 7 at 8' 2\": {words}."
        )
        assert Words("es").said(sentence) != sentence
        assert Words("es").said(words) != words


def test_spanish_sentences_have_the_gaps_of_the_english_ones():
    for english, spanish in {**SAID_SPANISH, **FAULTS_SPANISH}.items():
        assert set(GAP.findall(spanish)) <= set(GAP.findall(english)), english


def test_what_stands_in_a_gap_is_taken_over_as_it_is():
    said = Words("es").said("'9-4-8' is not a length: write for example 96in, 8ft, 8' 2-1/2\" or 2440mm.")
    assert said.startswith("'9-4-8' no es una longitud")
    assert Words("es").said("Something nobody has written down.") == "Something nobody has written down."


def test_every_key_that_a_screen_asks_for_is_there():
    asked = re.compile(r"""\bwords\(\s*["']([a-z_]+\.[a-z_0-9]+)["']""")
    for file in Path(ROOT / "ui").rglob("*.py"):
        for key in asked.findall(file.read_text(encoding="utf-8")):
            for language, catalogue in CATALOGUES.items():
                assert key in catalogue, (file.name, language, key)


@pytest.mark.parametrize(
    ("accepted", "language"),
    [("es-MX", "es"), ("es_ES.UTF-8", "es"), ("en-US", "en"), ("fr-CA", "en"), (None, "en"), ("", "en")],
)
def test_the_browsers_language_is_spoken(accepted, language):
    assert language_of(accepted) == language
