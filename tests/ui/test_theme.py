"""The colours are the same however the app is started, and text stands out from its ground."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from ui.launch import streamlit_flags
from ui.theme import THEME

CONFIG = tomllib.loads((Path(__file__).parents[2] / ".streamlit" / "config.toml").read_text())


def test_a_checkout_and_an_install_have_the_same_colours():
    assert CONFIG["theme"] == THEME
    flags = streamlit_flags(8501, True)
    for mode, kept in THEME.items():
        for name, colour in kept.items():
            assert f"--theme.{mode}.{name}={colour}" in flags


def test_a_checkout_listens_on_this_computer_only_and_reports_nothing():
    assert CONFIG["server"]["address"] == "127.0.0.1"
    assert CONFIG["browser"]["gatherUsageStats"] is False


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition of "relative luminance")."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_text_and_borders_stand_out_as_wcag_asks(mode):
    # WCAG 2.2: 1.4.3 asks 4.5 for text, 1.4.11 asks 3 for the edges of what can be pressed
    theme = THEME[mode]
    for ground in ("backgroundColor", "secondaryBackgroundColor"):
        assert contrast(theme["textColor"], theme[ground]) > 7
        assert contrast(theme["primaryColor"], theme[ground]) > 4.5
    assert contrast(theme["borderColor"], theme["backgroundColor"]) > 3


EDITOR_CSS = (Path(__file__).parents[2] / "ui" / "wall_editor" / "editor.css").read_text(encoding="utf-8")
# Machado, Oliveira, Fernandes: A Physiologically-based Model for Simulation of Color Vision Deficiency (IEEE
# TVCG 15(6), 2009), severity 1.0; applied to linear RGB.
SEEN_BY = {
    "everybody else": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def as_seen(colour: str, matrix) -> str:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    mixed = [min(1.0, max(0.0, sum(m * v for m, v in zip(row, linear, strict=True)))) for row in matrix]
    shown = [12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055 for v in mixed]
    return "#" + "".join(f"{round(255 * v):02x}" for v in shown)


def editor_colour(name: str) -> str:
    return re.search(rf"--{name}: (#[0-9a-f]{{6}});", EDITOR_CSS)[1]


@pytest.mark.parametrize("who", sorted(SEEN_BY))
def test_marks_on_the_photo_stand_out_for_the_colour_blind(who):
    # each mark is a bright line over a wider dark one, so this holds on any photo; WCAG 2.2 asks 3 (1.4.11)
    # for the line and 4.5 (1.4.3) for the dark number on the badge
    dark = as_seen(editor_colour("under"), SEEN_BY[who])
    for kind in ("sure", "doubt", "own"):
        assert contrast(as_seen(editor_colour(kind), SEEN_BY[who]), dark) > 4.5, kind
    for text, ground in (("#1c221a", "#f3efe4"), ("#1c221a", "#e2ded0")):  # a board's number
        assert text in EDITOR_CSS
        assert ground in EDITOR_CSS
        assert contrast(as_seen(text, SEEN_BY[who]), as_seen(ground, SEEN_BY[who])) > 4.5


@pytest.mark.parametrize("who", sorted(SEEN_BY))
@pytest.mark.parametrize("mode", ["light", "dark"])
def test_pages_can_be_read_by_the_colour_blind(mode, who):
    theme = {name: as_seen(colour, SEEN_BY[who]) for name, colour in THEME[mode].items()}
    for ground in ("backgroundColor", "secondaryBackgroundColor"):
        assert contrast(theme["textColor"], theme[ground]) > 7
        assert contrast(theme["primaryColor"], theme[ground]) > 4.5
    assert contrast(theme["borderColor"], theme["backgroundColor"]) > 3
