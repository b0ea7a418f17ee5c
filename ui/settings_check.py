"""The settings of a job and of its surfaces in a file from elsewhere, looked at before they are kept.

Settings that this release does not know are left as they are: nothing here reads them.
"""

from __future__ import annotations

from typing import Any

from layout import JobError
from layout.checks import finite, text
from layout.framing import MAX_SPAN_IN
from ui.buying import buying_of
from ui.by_hand import by_hand_of
from ui.corners import check_ways
from ui.market import market_of
from ui.material import material_of
from ui.wishes import wishes_of

__all__ = ["check_job_settings", "check_surface_settings"]

MOST_LENGTHS = 100


def check_job_settings(settings: dict[str, Any]) -> None:
    """Refuse settings of a job that the screens cannot read.

    Raises
    ------
    JobError
        Names the setting and says what is wrong.
    """
    buying_of(settings)
    check_ways(settings)
    market_of(settings)
    if "units" in settings:
        text("units", settings["units"])
    lengths = settings.get("lengths_in")
    if lengths is None:
        return
    if not isinstance(lengths, dict) or not all(isinstance(each, list) for each in lengths.values()):
        raise JobError("lengths_in", "must be lists of lengths: choose the lengths on sale again.")
    if sum(map(len, lengths.values())) > MOST_LENGTHS:
        raise JobError("lengths_in", f"holds more than {MOST_LENGTHS} lengths: choose them again.")
    for each in lengths.values():
        for length_in in each:
            finite("lengths_in", length_in, 1.0, MAX_SPAN_IN)


def check_surface_settings(settings: dict[str, Any]) -> None:
    """The same for the settings of a surface."""
    by_hand_of(settings)
    material_of(settings)
    wishes_of(settings)
    for name in ("board_width", "board_kind", "room", "height_text"):
        if settings.get(name) is not None:
            text(name, settings[name], empty_allowed=True)
    for name in ("height_in", "thickness_in"):
        if settings.get(name) is not None:
            finite(name, settings[name], 0.0, MAX_SPAN_IN)
    sample = settings.get("sample")
    if sample is not None and not isinstance(sample, bool):
        text("sample", sample)
