"""Checks at the door: a value that cannot be used is refused by name, in one sentence."""

from __future__ import annotations

import math

__all__ = ["JobError", "finite", "one_of", "ordered", "text", "truth", "whole"]


class JobError(ValueError):
    """Input that cannot be used: names the field, says what is wrong and what to do.

    Attributes
    ----------
    field : str
        Path of the field, such as ``surfaces[0].members[3].centre_in``.
    """

    def __init__(self, field: str, message: str) -> None:
        self.field = field
        self.message = message
        super().__init__(f"{field}: {message}")

    def under(self, path: str) -> JobError:
        """The same error with the path of the object around it put in front."""
        return JobError(f"{path}.{self.field}" if self.field else path, self.message)


def ordered(name: str, low: float, high: float) -> None:
    if not low < high:
        raise JobError(name, f"{high} in must be more than the other side, {low} in.")


def finite(name: str, value: float, low: float, high: float, unit: str = " in") -> None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        if unit != " in":
            raise JobError(name, f"must be a number, not {str(value)[:40]!r}.")
        raise JobError(name, f"must be a number of inches, not {str(value)[:40]!r}.")
    # compared before it is a float: a whole number of hundreds of digits cannot become one
    if not low <= value <= high or not math.isfinite(value):
        shown = f"{value:g}" if abs(value) < 1e15 else str(value)[:40]
        raise JobError(name, f"must be between {_plain(low)} and {_plain(high)}{unit}, not {shown}.")


def _plain(limit: float) -> str:
    """1000000, not 1e+06."""
    return f"{limit:.0f}" if limit == int(limit) else f"{limit:g}"


def whole(name: str, value: int, low: int, high: int) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise JobError(name, f"must be a whole number from {low} to {high}, not {value!r:.40}.")


def truth(name: str, value: bool) -> None:
    if not isinstance(value, bool):
        raise JobError(name, f"must be true or false, not {str(value)[:40]!r}.")


def one_of(name: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise JobError(name, f"must be one of {', '.join(allowed)}, not {str(value)[:40]!r}.")


def text(name: str, value: str, empty_allowed: bool = False) -> None:
    if not isinstance(value, str) or len(value) > 80 or not (value or empty_allowed):
        raise JobError(name, f"must be a text of 1 to 80 characters, not {str(value)[:40]!r}.")
