"""Openings and short members found on a set's photos: ``python -m tests.benchmarks.openings --set DIR``.

A door or a window counts as found where a proposal of its kind has both sides within 1 in and its head
within 2 in of the rough opening as it is seen in the photo: how well the wall itself is placed is another
benchmark's matter. A trimmer or a cripple of which at least 0.4 is seen counts as found where a short member
stands within 3/4 in of it over more than half its height; one that a full-height double takes in with its
king is counted apart. Where a wall's left end is mistaken all its short members count as missed.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np

from tests.benchmarks.cases import Case, own_cases
from tests.benchmarks.reading import RENDERED, reference_for
from vision import Member, Opening, Reading, load_photo, read_wall

SIDE_IN, HEAD_IN, GATE_IN, PLAIN = 1.0, 2.0, 0.75, 0.4
KINDS = ("trimmer", "cripple above", "cripple below")
SIDES = ("left", "right", "bottom", "top")


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.openings", description=__doc__)
    parser.add_argument("--set", type=Path, default=RENDERED, help="folder of photos of ours")
    counts: Counter[str] = Counter()
    off_in: dict[str, list[float]] = {side: [] for side in SIDES}
    centre_off_in: list[float] = []
    for case in own_cases(parser.parse_args().set):
        truth = json.loads(case.photo.with_suffix(".json").read_text())
        mode = "reference" if case.marks_px else "spacing"
        reading = read_wall(
            load_photo(case.photo.read_bytes()), reference_for(case, mode), face_in=case.face_in
        )
        before = faults(counts)
        count_openings(case, truth["openings"], reading, counts, off_in)
        if "sheet" not in case.row:
            count_short(truth["members"], reading, counts, centre_off_in)
            if truth["openings"]:
                counts["walls"] += 1
                counts["right walls"] += faults(counts) == before
    print(f"Openings: {counts['openings']}, found {counts['found']}, false {counts['false']}.")
    for side in SIDES:
        if off_in[side]:
            print(f"  {side}: {_spread(off_in[side])}")
    for kind in KINDS:
        print(
            f"{kind}: {counts[kind]}, found {counts[kind + ' found']}, "
            f"in a double with its king {counts[kind + ' in a double']}."
        )
    print(f"Short members that are none: {counts['no short member']}.")
    print(f"Walls with openings: {counts['walls']}, all of this right on {counts['right walls']}.")
    if centre_off_in:
        print(f"Their middles: {_spread(centre_off_in)}")
    print(f"Short members shown as sure: {counts['sure']}, of these within 3/8 in: {counts['sure right']}.")


def faults(counts: Counter[str]) -> int:
    """Openings and short members missed or false so far."""
    missed = counts["openings"] - counts["found"]
    for kind in KINDS:
        missed += counts[kind] - counts[f"{kind} found"] - counts[f"{kind} in a double"]
    return missed + counts["false"] + counts["no short member"]


def count_openings(
    case: Case, truth: list[Any], reading: Reading, counts: Counter[str], off_in: dict[str, list[float]]
) -> None:
    """Add one photo's openings to `counts` and how far off their sides are to `off_in`."""
    counts["openings"] += len(truth)
    if reading.plane is None:
        return
    left = list(reading.openings)
    for one in truth:
        left_in, right_in, low_in, high_in = (one[f"{side}_in"] for side in SIDES)
        corners = [(left_in, low_in), (right_in, low_in), (right_in, high_in), (left_in, high_in)]
        x, y = reading.plane.to_wall(case.camera.project(np.array([(*c, 0.0) for c in corners]))).T
        seen = x[[0, 3]].mean(), x[1:3].mean(), y[:2].mean(), y[2:].mean()
        near = [o for o in left if o.kind == one["kind"] and _is_at(o, seen)]
        if not near:
            continue
        left.remove(near[0])
        counts["found"] += 1
        for side, at in zip(SIDES, seen, strict=True):
            if side != "bottom" or one["kind"] == "window":
                off_in[side].append(abs(getattr(near[0], f"{side}_in") - float(at)))
    counts["false"] += len(left)


def _is_at(o: Opening, seen: tuple[float, ...]) -> bool:
    sides = abs(o.left_in - seen[0]), abs(o.right_in - seen[1])
    return max(sides) < SIDE_IN and abs(o.top_in - seen[3]) < HEAD_IN


def count_short(truth: list[Any], reading: Reading, counts: Counter[str], centre_off_in: list[float]) -> None:
    """Add one photo's trimmers and cripples to `counts`."""
    short = [m for m in reading.members if m.kind == "partial"]
    full = [m for m in reading.members if m.kind == "full"]
    real: set[int] = set()
    for one in truth:
        near = [k for k, m in enumerate(short) if _stands_for(m, one)]
        real.update(near)
        if one["full_height"] or one["visible"] < PLAIN:
            continue
        kind = one["kind"]
        if kind == "cripple":
            kind += " above" if one["bottom_in"] > 0.4 * reading_height(reading) else " below"
        counts[kind] += 1
        counts[f"{kind} found"] += bool(near)
        double = [m for m in full if abs(m.centre_in - one["centre_in"]) < m.face_in / 2]
        counts[f"{kind} in a double"] += bool(double and not near)
        centre_off_in += [abs(short[k].centre_in - one["centre_in"]) for k in near if short[k].plies == 1]
    counts["no short member"] += len(short) - len(real)
    for k, m in enumerate(short):
        if m.sure:
            off = min(
                (abs(m.centre_in - one["centre_in"]) for one in truth if _stands_for(m, one)), default=9.0
            )
            counts["sure"] += 1
            counts["sure right"] += k in real and off <= 0.375


def reading_height(reading: Reading) -> float:
    """Height of the wall in inches, a usual one where it is not known."""
    return reading.wall.height_in if reading.wall else 97.0


def _stands_for(m: Member, one: Any) -> bool:
    overlap = min(m.top_in, one["top_in"]) - max(m.bottom_in, one["bottom_in"])
    near = abs(m.centre_in - one["centre_in"]) < GATE_IN + 0.75 * (m.plies - 1)
    return not one["full_height"] and near and overlap > 0.5 * (one["top_in"] - one["bottom_in"])


def _spread(values: list[float]) -> str:
    return f"{len(values)}, median {np.median(values):.2f} in, 95 % within {np.percentile(values, 95):.2f} in"


if __name__ == "__main__":
    main()
