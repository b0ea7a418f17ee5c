"""The plan read back from the JSON that `layout.job_file.plan_to_json` wrote."""

from __future__ import annotations

import math
from dataclasses import is_dataclass
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints

from layout.checks import JobError
from layout.plan_types import Plan

__all__ = ["read_plan"]


def read_plan(data: dict[str, Any]) -> Plan:
    """A plan from the object that `plan_to_json` made of it.

    Raises
    ------
    JobError
        It is not such an object: a part is missing, one is too much, or a value is not of its kind.

    Notes
    -----
    ``read_plan(plan_to_json(plan)) == plan`` for every plan.
    """
    try:
        score = {name: value for name, value in data["score"].items() if name != "gap"}
        plan: Plan = _read(
            Plan, {**{name: data[name] for name in _REQUIRED}, "score": score} | _stopped(data)
        )
        return plan
    except (KeyError, TypeError, AttributeError, ValueError, OverflowError) as fault:
        raise JobError("plan", f"cannot be read ({str(fault)[:80]}): plan the boards again.") from None


_REQUIRED = ("surfaces", "sheets", "order", "warnings")


def _stopped(data: dict[str, Any]) -> dict[str, Any]:
    return {"stopped": data["stopped"]} if "stopped" in data else {}


@cache
def _kinds(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _read(kind: Any, value: Any) -> Any:
    """`value` as `kind`: one of the plan's own classes, a tuple of one kind, a text, a number."""
    if is_dataclass(kind) and isinstance(kind, type):
        kinds = _kinds(kind)
        return kind(**{name: _read(kinds[name], inner) for name, inner in value.items()})
    if get_origin(kind) is tuple:
        if not isinstance(value, (list, tuple)):
            raise TypeError("a list is missing")
        return tuple(_read(get_args(kind)[0], inner) for inner in value)
    if kind is float:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            raise TypeError("a number is missing")
        return value
    if type(value) is not kind:
        raise TypeError(f"a value is not of its kind, {kind.__name__}")
    return value
