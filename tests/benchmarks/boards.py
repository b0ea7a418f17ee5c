"""How cheap, how well proved and how fast the board plans are, against simpler ways.

    python -m tests.benchmarks.boards [--json FILE] [--table FILE] [--most N] [--cp-sat-seconds S]

The same jobs are planned four ways:

- `plan`: seams and cutting together, with its proved bound;
- `no sharing`: the optimum of each surface by itself, off-cuts never leave it;
- `first fit`: the cheapest seams row by row, pieces packed longest first into 12-ft sheets;
- `CP-SAT`: OR-Tools packs the pieces of the `no sharing` seams into sheets in a given time.

Seconds are given twice: as they passed, and as this process spent them (`cpu`), because the
machine may be busy with other things.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import subprocess
import time
from collections.abc import Callable
from typing import Any

from layout import Job, Opening, Plan, Surface, members_on_spacing, plan_job, plan_surface
from layout.cutting_stock import first_fit_decreasing


def sample_wall(rng: random.Random, name: str) -> Surface:
    """A wall of 2 1/2 to 27 ft, framed at 16 in from either a full or a short first bay."""
    length = rng.choice([rng.uniform(30, 90), rng.uniform(100, 200), rng.uniform(150, 320)])
    length = round(length * 16) / 16
    openings: tuple[Opening, ...] = ()
    if length > 120 and rng.random() < 0.6:
        left = rng.uniform(20, length - 60)
        if rng.random() < 0.5:
            openings = (Opening("d", left, left + 34, 0, 82.5, "door"),)
        else:
            openings = (Opening("w", left, left + 38, 36, 82, "window"),)
    members = members_on_spacing(length, 16.0, rng.choice([16.0, rng.uniform(6, 16)]))
    return Surface(name, length, 97.125, members, openings=openings, ceiling_board_in=0.5)


def basement(seed: int = 1) -> Job:
    """Twelve walls and a ceiling, about 60 rows with their stretches between openings."""
    rng = random.Random(seed)
    ceiling = Surface("C", 318.0, 262.0, members_on_spacing(318.0, 16.0), kind="ceiling")
    return Job((ceiling, *(sample_wall(rng, f"W{n}") for n in range(12))))


def house(surfaces: int, seed: int = 5) -> Job:
    """A house: seven walls to a ceiling."""
    rng = random.Random(seed)
    made = []
    for number in range(surfaces):
        if number % 8 == 7:
            width, height = rng.randint(100, 260) + 0.5, rng.randint(90, 200) + 0.25
            made.append(Surface(f"C{number}", width, height, members_on_spacing(width, 16.0), kind="ceiling"))
        else:
            made.append(sample_wall(rng, f"W{number}"))
    return Job(tuple(made))


def _timed(make: Callable[[], Plan]) -> dict[str, Any]:
    started, spent = time.perf_counter(), time.process_time()
    plan = make()
    seconds, cpu = time.perf_counter() - started, time.process_time() - spent
    return {
        "cost": round(plan.score.total, 2),
        "bound": round(plan.score.lower_bound, 2),
        "gap_percent": round(100 * plan.score.gap, 3) if plan.score.lower_bound else None,
        "sheets": len(plan.sheets),
        "rows": sum(len(surface.rows) for surface in plan.surfaces),
        "seconds": round(seconds, 3),
        "cpu": round(cpu, 3),
    }


def _pieces(plan: Plan) -> list[tuple[float, float]]:
    return [
        (piece.length_in, piece.height_in)
        for surface in plan.surfaces
        for row in surface.rows
        for piece in row.pieces
    ]


def _other_costs(plan: Plan) -> float:
    return plan.score.total - plan.score.sheet_cost


def first_fit(job: Job, alone: Plan) -> dict[str, Any]:
    """Pieces of the plan without sharing, longest first into 12-ft sheets (16 ft where longer)."""
    started = time.perf_counter()
    prices = {b.length_in: b.price for b in job.stock if (b.thickness_in, b.width_in) == (0.5, 48.0)}
    lengths = [round(length * 32) for length, _ in _pieces(alone)]
    short = tuple(n for n in lengths if n <= 144 * 32)
    bins = first_fit_decreasing(144 * 32, short)
    cost = sum(min(p for n, p in prices.items() if n * 32 >= sum(b)) for b in bins)
    cost += sum(min(p for n, p in prices.items() if n * 32 >= n32) for n32 in lengths if n32 > 144 * 32)
    return {
        "cost": round(cost + _other_costs(alone), 2),
        "sheets": len(bins) + len(lengths) - len(short),
        "seconds": round(time.perf_counter() - started, 3),
    }


def cp_sat(job: Job, alone: Plan, seconds: float) -> dict[str, Any] | None:
    """OR-Tools CP-SAT packs the same pieces into sheets of any length; None where not installed."""
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        return None
    started, spent = time.perf_counter(), time.process_time()
    prices = {b.length_in: b.price for b in job.stock if (b.thickness_in, b.width_in) == (0.5, 48.0)}
    kinds = sorted(prices.items())
    pieces = sorted((round(length * 32) for length, _ in _pieces(alone)), reverse=True)
    count = len(pieces)
    model = cp_model.CpModel()
    put = [[model.new_bool_var("") for s in range(p + 1)] for p in range(count)]
    kind = [[model.new_bool_var("") for _ in kinds] for _ in range(count)]
    for p in range(count):
        model.add_exactly_one(put[p])
    for s in range(count):
        model.add_at_most_one(kind[s])
        room = sum(int(length * 32) * kind[s][k] for k, (length, _) in enumerate(kinds))
        model.add(sum(pieces[p] * put[p][s] for p in range(s, count)) <= room)
    model.minimize(
        sum(round(price * 100) * kind[s][k] for s in range(count) for k, (_, price) in enumerate(kinds))
    )
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return {"cost": None, "seconds": round(time.perf_counter() - started, 3)}
    bound = solver.best_objective_bound / 100 + _other_costs(alone)
    return {
        "cost": round(solver.objective_value / 100 + _other_costs(alone), 2),
        "bound_for_these_seams": round(bound, 2),
        "seconds": round(time.perf_counter() - started, 3),
        "cpu": round(time.process_time() - spent, 3),
    }


def run(
    most: int, cp_sat_seconds: float, kept: Callable[[dict[str, Any]], None] = lambda found: None
) -> dict[str, Any]:
    """All figures; `kept` gets what there is after every part, so that a stop loses little."""
    plan_surface(sample_wall(random.Random(0), "warm"))
    found: dict[str, Any] = {"walls": [], "jobs": {}, "scaling": []}
    for seed in range(8):
        wall = sample_wall(random.Random(seed), "A")
        found["walls"].append({"width_in": wall.width_in, **_timed(lambda w=wall: plan_surface(w))})
    kept(found)
    for name, job in (("basement", basement()), ("house of 24", house(24))):
        alone = plan_job(job, share=False)
        found["jobs"][name] = {
            "plan": _timed(lambda j=job: plan_job(j)),
            "no sharing": _timed(lambda j=job: plan_job(j, share=False)),
            "first fit": first_fit(job, alone),
            "CP-SAT": cp_sat(job, alone, cp_sat_seconds),
        }
        kept(found)
    for count in (1, 4, 12, 40, 100, 400):
        if count <= most:
            found["scaling"].append({"surfaces": count, **_timed(lambda n=count: plan_job(house(n)))})
            kept(found)
    return found


def table(found: dict[str, Any]) -> str:
    """The figures as Markdown."""
    when = time.strftime("%Y-%m-%d")
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False
    ).stdout.strip()
    lines = [f"# Board plans, measured {when} at {commit} on {os.cpu_count()} cores", ""]
    lines += ["| one wall, in | ms | cpu ms | gap % |", "| --- | --- | --- | --- |"]
    for wall in found["walls"]:
        ms, cpu = 1000 * wall["seconds"], 1000 * wall["cpu"]
        lines.append(f"| {wall['width_in']} | {ms:.0f} | {cpu:.0f} | {wall['gap_percent']} |")
    lines += ["", "| job | way | cost | bound | gap % | s | cpu s |", "| --- " * 7 + "|"]
    for name, ways in found["jobs"].items():
        for way, figures in ways.items():
            cells = [(figures or {}).get(k, "") for k in ("cost", "bound", "gap_percent", "seconds", "cpu")]
            lines.append("| " + " | ".join(str(cell) for cell in (name, way, *cells)) + " |")
    lines += ["", "| surfaces | rows | sheets | cost | bound | gap % | s | cpu s |", "| --- " * 8 + "|"]
    keys = ("surfaces", "rows", "sheets", "cost", "bound", "gap_percent", "seconds", "cpu")
    for line in found["scaling"]:
        lines.append("| " + " | ".join(str(line[key]) for key in keys) + " |")
    lines += ["", "CP-SAT packs the pieces of the plans without sharing; it may not move a seam."]
    lines += ["", f"Load of the machine at the end: {os.getloadavg()[1]:.1f} busy processes.", ""]
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", help="also write the figures to this file")
    parser.add_argument("--table", help="also write them as a Markdown table to this file")
    parser.add_argument("--most", type=int, default=400, help="largest job of the scaling table")
    parser.add_argument("--cp-sat-seconds", type=float, default=60.0)
    asked = parser.parse_args()

    def kept(found: dict[str, Any]) -> None:
        for name, text in ((asked.table, table(found)), (asked.json, json.dumps(found, indent=1))):
            if name:
                with open(name, "w", encoding="utf-8") as file:
                    file.write(text)

    found = run(asked.most, asked.cp_sat_seconds, kept)
    for wall in found["walls"]:
        print(
            f"wall {wall['width_in']:7.2f} in  {wall['seconds'] * 1000:6.0f} ms  gap {wall['gap_percent']} %"
        )
    for name, ways in found["jobs"].items():
        for way, figures in ways.items():
            print(f"{name:12} {way:10} {figures}")
    for line in found["scaling"]:
        print(line)


if __name__ == "__main__":
    main()
