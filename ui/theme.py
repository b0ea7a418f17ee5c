"""The colours of the app, light for a sunny room and dark for a basement at night."""

from __future__ import annotations

THEME: dict[str, dict[str, str]] = {
    "light": {
        "primaryColor": "#0a5c4a",
        "backgroundColor": "#faf8f3",
        "secondaryBackgroundColor": "#ece8dc",
        "textColor": "#10140f",
        "borderColor": "#8d8775",
    },
    "dark": {
        "primaryColor": "#5fd3ae",
        "backgroundColor": "#171b17",
        "secondaryBackgroundColor": "#262c26",
        "textColor": "#f1efe6",
        "borderColor": "#7e8577",
    },
}
"""Under Streamlit's own names of the settings; `.streamlit/config.toml` holds the same."""


def theme_settings() -> dict[str, str]:
    """The colours as settings of Streamlit: an install has no settings file."""
    return {f"theme.{mode}.{name}": colour for mode, kept in THEME.items() for name, colour in kept.items()}
