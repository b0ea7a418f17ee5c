"""The colours are the same however the app is started, and text stands out from its ground."""

from __future__ import annotations

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
