"""How the console command prints lengths: as asked for, or as its job or its options measure."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from layout import Job as BoardJob
    from ui.store import Job

FEET, MM = "feet_inches", "mm"


class MetricLength(float):
    """Inches that were written in a metric unit."""


def add_units(command: argparse.ArgumentParser) -> None:
    """`--mm` and `--feet`; neither: what the job, or the known length, is measured in."""
    either: Any = command.add_mutually_exclusive_group()
    either.add_argument(
        "--mm",
        dest="style",
        action="store_const",
        const=MM,
        help="print millimetres (usual for UK jobs, and where the length given is metric)",
    )
    either.add_argument(
        "--feet", dest="style", action="store_const", const=FEET, help="print feet and inches (else usual)"
    )


def style_of(options: argparse.Namespace, job: BoardJob | None = None, kept: Job | None = None) -> str:
    """The style of `layout.format_length` to print in.

    What `--mm` or `--feet` asks for; else millimetres where the kept job shows them in the app, where a job
    whose units nobody chose, or that is not kept, is of the UK market, and where the known length was
    written in a metric unit.
    """
    if options.style is not None:
        return str(options.style)
    chosen = kept.settings.get("units") if kept is not None else None
    if chosen is not None:
        return MM if chosen == MM else FEET
    tapes = getattr(options, "tape", None)
    known = [*(tapes if isinstance(tapes, list) else [tapes]), getattr(options, "on_centre", None)]
    metric = any(isinstance(length, MetricLength) for length in known)
    return MM if metric or _in_uk(job, kept) else FEET


def _in_uk(job: BoardJob | None, kept: Job | None) -> bool:
    """Whether the house is there now: the plan that is being hung may be of before that was said."""
    if kept is None:
        return job is not None and job.rules.market == "uk"
    from ui.market import units_of  # what asks for no kept job starts without it

    return units_of(kept.settings) == MM
