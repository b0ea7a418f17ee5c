"""The plan read back from the JSON that `layout.job_file.plan_to_json` wrote."""

from __future__ import annotations

from typing import Any

from layout.checks import JobError
from layout.plan_types import (
    Cut,
    CutOut,
    OrderLine,
    Piece,
    Plan,
    PlanWarning,
    Row,
    Score,
    Seam,
    Sheet,
    SurfacePlan,
)

__all__ = ["read_plan"]


def read_plan(data: dict[str, Any]) -> Plan:
    """A plan from the object that `plan_to_json` made of it.

    Raises
    ------
    JobError
        It is not such an object.

    Notes
    -----
    ``read_plan(plan_to_json(plan)) == plan`` for every plan.
    """
    try:
        score = {name: value for name, value in data["score"].items() if name != "gap"}
        return Plan(
            tuple(_surface(surface) for surface in data["surfaces"]),
            tuple(
                Sheet(**{**sheet, "cuts": tuple(Cut(**cut) for cut in sheet["cuts"])})
                for sheet in data["sheets"]
            ),
            tuple(OrderLine(**line) for line in data["order"]),
            Score(**score),
            tuple(PlanWarning(**warning) for warning in data["warnings"]),
            bool(data.get("stopped", False)),
        )
    except (KeyError, TypeError, AttributeError) as fault:
        raise JobError("plan", f"cannot be read ({fault}): plan the boards again.") from None


def _surface(data: dict[str, Any]) -> SurfacePlan:
    return SurfacePlan(**{**data, "rows": tuple(_row(row) for row in data["rows"])})


def _row(data: dict[str, Any]) -> Row:
    return Row(
        **{
            **data,
            "pieces": tuple(
                Piece(**{**piece, "cutouts": tuple(CutOut(**hole) for hole in piece["cutouts"])})
                for piece in data["pieces"]
            ),
            "seams": tuple(Seam(**seam) for seam in data["seams"]),
        }
    )
