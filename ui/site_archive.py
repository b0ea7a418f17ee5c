"""The work on site within a packed job: what was kept and counted goes along, and is checked on the way in.

In ``job.json``::

    "site": {"parts": {"stacks": {…}, "delivery": {…}, "hanging": {…}},
             "logs": {"delivery": [tap, …], "hanging": [tap, …]}}

Other parts are left out. What cannot be read is refused as a whole.
"""

from __future__ import annotations

import sqlite3
from dataclasses import asdict
from typing import Any

from layout import JobError, read_job
from layout.delivery import TAPS as DELIVERY_TAPS
from layout.hanging_day import TAPS as HANGING_TAPS
from layout.plan_file import read_plan
from layout.site_taps import TapError, read_tap
from ui import site_store
from ui.delivery_view import placed_lines
from ui.sheets_in_stacks import held_from_json
from ui.site_stacks import read_choices
from ui.store import Store

__all__ = ["SiteArchiveError", "read_site", "site_to_json", "write_site"]

PARTS = ("stacks", "delivery", "hanging")
LOGS = {"delivery": DELIVERY_TAPS, "hanging": HANGING_TAPS}
MOST_TAPS = 20_000


class SiteArchiveError(ValueError):
    """The work on site in a packed job cannot be read."""


def site_to_json(store: Store, job_id: str) -> dict[str, Any]:
    """What is kept of the work on site of a job; empty when there is nothing."""
    parts = {name: site_store.part(store, job_id, name)[0] for name in PARTS}
    logs = {name: list(site_store.events(store, job_id, name)) for name in LOGS}
    parts = {name: value for name, value in parts.items() if value is not None}
    logs = {name: taps for name, taps in logs.items() if taps}
    return {"parts": parts, "logs": logs} if parts or logs else {}


def read_site(data: Any) -> dict[str, Any]:
    """The same object, every value in it looked at.

    Raises
    ------
    SiteArchiveError
        Anything in it is not as it should be.
    """
    try:
        parts, logs = data.get("parts", {}), data.get("logs", {})
        kept = {name: parts[name] for name in PARTS if name in parts}
        _check_parts(kept)
        taps: dict[str, list[dict[str, Any]]] = {}
        for name, allowed in LOGS.items():
            if len(logs.get(name, ())) > MOST_TAPS:
                raise SiteArchiveError(f"more than {MOST_TAPS} counts")
            taps[name] = [asdict(read_tap(tap, allowed)) for tap in logs.get(name, ())]
        return {"parts": kept, "logs": taps}
    except (TypeError, KeyError, ValueError, AttributeError, JobError, TapError, OverflowError) as fault:
        raise SiteArchiveError("the work on site in it is not as it should be") from fault


def write_site(db: sqlite3.Connection, job_id: str, site: dict[str, Any]) -> None:
    """Put what `read_site` has passed into the store, inside a transaction."""
    for name, value in site.get("parts", {}).items():
        site_store.insert_part(db, job_id, name, value)
    for name, taps in site.get("logs", {}).items():
        site_store.insert_events(db, job_id, name, taps)


def _check_parts(parts: dict[str, Any]) -> None:
    if "stacks" in parts:
        read_choices(parts["stacks"])
    if "delivery" in parts:
        placed_lines(parts["delivery"])
        for places in parts["delivery"]["places"].values():
            for place in places:
                if not all(type(place[name]) is int for name in ("stack", "count")):
                    raise ValueError("a place without its numbers")
                if not all(isinstance(place[name], str) for name in ("wall", "room")):
                    raise ValueError("a place without its wall")
    if "hanging" in parts:
        hanging = parts["hanging"]
        job, plan = read_job(hanging["job"]), read_plan(hanging["plan"])
        known = {surface.id for surface in job.surfaces}
        if not {surface.id for surface in plan.surfaces} <= known:
            raise ValueError("a plan of other surfaces")
        for called in (hanging["rooms"], hanging.get("names", {})):
            if not all(isinstance(text, str) for text in (*called, *called.values())):
                raise ValueError("a room or a surface without its name")
        held_from_json(hanging.get("held", ()))
        for sheet, number in hanging.get("taken", ()):
            if type(sheet) is not int or type(number) is not int:
                raise ValueError("a sheet without its stack")
        for sheet, area in hanging["gone"]:
            if type(sheet) is not int or len([float(at) for at in area]) != 4:
                raise ValueError("a spoiled area without its sides")
        if not all(isinstance(surface, str) for surface in hanging.get("guessed", ())):
            raise ValueError("a surface without its name")
        lists = (hanging["moved"], hanging["bought"], hanging["spares"])
        if not all(type(number) is int for numbers in lists for number in numbers):
            raise ValueError("a piece without its number")
        if not all(isinstance(tap, str) for tap in hanging["handled"]):
            raise ValueError("a tap without its id")
