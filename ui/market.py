"""Where the house of a kept job is: its market, and what is usual there.

Kept in the job's settings under ``market`` as plain JSON with a version; what is damaged or comes from a
newer release is refused in one sentence. A job that says nothing goes by the rules of the United States.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from layout import MARKETS, JobError, mm_to_in
from ui.by_hand import USUAL_HEIGHT_IN, USUAL_SPACING_IN
from ui.store_rows import Surface
from vision import ASSUMED_SPACINGS_IN

__all__ = [
    "MARKETS",
    "SETTING",
    "STYLES",
    "Usual",
    "market_of",
    "market_said",
    "market_to_json",
    "spacings_to_assume_in",
    "units_of",
    "usual_for",
    "usual_of",
]

SETTING = "market"
VERSION = 1
STYLES = ("inches", "feet_inches", "mm")
"""How lengths may be shown."""


@dataclass(frozen=True)
class Usual:
    """What is usual in a market, until the user says otherwise.

    Attributes
    ----------
    units : {"inches", "mm"}
        How lengths are shown.
    widths : tuple of str
        Board widths on sale, by their names in `ui.job_plan.WIDTHS_IN`; a surface that names none has the
        first.
    thicknesses_in : tuple of float
        To choose from.
    thickness_in : float
        Of a surface that names none.
    spacing_in : float
        Of studs and joists, on centre.
    height_in : float
        Of a wall that is typed in, shown before it is measured.
    assumed_in : tuple of float
        Spacings that a photo without a known length is read by: the one that suits it.
    """

    units: str
    widths: tuple[str, ...]
    thicknesses_in: tuple[float, ...]
    thickness_in: float
    spacing_in: float
    height_in: float
    assumed_in: tuple[float, ...]

    def own_first(self, names: Iterable[str]) -> list[str]:
        """Names of lengths such as "16in" and "400mm": those in the market's own units first.

        >>> usual_for("uk").own_first(("16in", "24in", "400mm"))
        ['400mm', '16in', '24in']
        """
        return sorted(names, key=lambda name: name.endswith("mm") != (self.units == "mm"))


_IMPERIAL = Usual(
    "inches",
    ("48in", "54in"),
    (0.375, 0.5, 0.625),
    0.5,
    USUAL_SPACING_IN,
    USUAL_HEIGHT_IN,
    ASSUMED_SPACINGS_IN,
)
_METRIC = Usual(
    "mm",
    ("1200mm", "900mm"),
    # EN 520, notes to 4.9.2
    tuple(mm_to_in(thickness_mm) for thickness_mm in (9.5, 12.5, 15.0)),
    mm_to_in(12.5),
    mm_to_in(400.0),
    mm_to_in(2400.0),  # spacing, and a height as the usual board is long: common practice, no source
    (mm_to_in(400.0), mm_to_in(600.0)),  # common practice, no source
)
_USUAL = {"us": _IMPERIAL, "ca": _IMPERIAL, "uk": _METRIC}
# Jobs from before the market was asked could have 1200 mm boards, and 15 mm ones.
_NOT_SAID = replace(
    _IMPERIAL, widths=("48in", "54in", "1200mm"), thicknesses_in=(0.375, 0.5, mm_to_in(15.0), 0.625)
)


def market_of(settings: Mapping[str, Any]) -> str:
    """The market that a job's settings say; "us" until somebody says another.

    Raises
    ------
    JobError
        What is kept is damaged, or of another release.

    Examples
    --------
    >>> market_of({}), market_of({"market": market_to_json("uk")})
    ('us', 'uk')
    """
    return market_said(settings) or "us"


def market_said(settings: Mapping[str, Any]) -> str | None:
    """The same, None where nobody has said where the house is."""
    kept = settings.get(SETTING)
    if kept is None or isinstance(kept, str):
        # a bare name stands in stores from before there was a choice: nothing read it, and nothing does now
        return None
    if not isinstance(kept, dict) or kept.get("version") != VERSION or kept.get("name") not in MARKETS:
        raise JobError(SETTING, "where the house of this job is cannot be read: choose it again under Walls.")
    return str(kept["name"])


def market_to_json(market: str) -> dict[str, Any]:
    """Plain JSON; `market_of` gives the same value back."""
    return {"version": VERSION, "name": market}


def usual_for(market: str) -> Usual:
    """What is usual in a market."""
    return _USUAL[market]


def usual_of(settings: Mapping[str, Any]) -> Usual:
    """What is usual where the house of a job is."""
    said = market_said(settings)
    return _NOT_SAID if said is None else _USUAL[said]


def spacings_to_assume_in(photo: Surface) -> tuple[float, ...]:
    """Spacings on centre that a kept photo without a known length is read by, inches.

    Settings that cannot be read are no reason not to look at the photo: whoever lays out boards refuses them.
    """
    try:
        return usual_of(photo.job_settings or {}).assumed_in
    except JobError:
        return _NOT_SAID.assumed_in


def units_of(settings: Mapping[str, Any]) -> str:
    """How a job prints lengths: as the user chose, until then as its market does.

    Settings that cannot be read are no reason to show no length: whoever lays out boards refuses them.

    Examples
    --------
    >>> units_of({}), units_of({"market": market_to_json("uk")})
    ('inches', 'mm')
    """
    chosen = settings.get("units")
    if chosen in STYLES:
        return str(chosen)
    try:
        return usual_of(settings).units
    except JobError:
        return _NOT_SAID.units
