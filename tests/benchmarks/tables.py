"""Turns scores into the lines of the benchmark's tables."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.benchmarks.scoring import RIGHT_IN, Score

HEADINGS = (
    f"{'':44s} walls no-edit recall  prec. short sure-ok sure%   med   p95   max "
    "in1/8 in3/8  1sig  2sig refus length height xLSD  time"
)


def _share(a: int, b: int) -> float | None:
    return round(a / b, 4) if b else None


def figures(s: Score) -> dict[str, Any]:
    """The plain numbers of one line; None where there is nothing to divide by."""
    e, sigma = np.array(s.errors), np.array(s.sigmas)
    z = e / np.maximum(sigma, 1e-6)

    def of(values: Any, q: float) -> float | None:
        return round(float(np.percentile(values, q)), 4) if len(values) else None

    return {
        "walls": s.walls,
        "no_edit": _share(s.no_edit, s.walls),
        "recall": _share(s.hit, s.true),
        "precision": _share(s.reported - s.false, s.reported),
        "short_recall": _share(s.short_hit, s.short),
        "sure_right": _share(s.sure_right, s.sure),
        "shown_sure": _share(s.sure, s.reported),
        "error_median_in": of(e, 50),
        "error_p95_in": of(e, 95),
        "error_max_in": of(e, 100),
        "within_1_8": round(float(np.mean(e <= 0.125)), 4) if len(e) else None,
        "within_3_8": round(float(np.mean(e <= RIGHT_IN)), 4) if len(e) else None,
        "coverage_1_sigma": round(float(np.mean(z <= 1)), 4) if len(e) else None,
        "coverage_2_sigma": round(float(np.mean(z <= 2)), 4) if len(e) else None,
        "refused": s.refused,
        "length_error_median_in": of(s.length_errors, 50),
        "height_error_median_in": of(s.height_errors, 50),
        "times_line_detector": round(float(np.median(s.seconds)) / float(np.median(s.detector_seconds)), 2)
        if s.seconds and s.detector_seconds
        else None,
        "seconds_median": of(s.seconds, 50),
        "members_true": s.true,
    }


def line(name: str, s: Score) -> str:
    """One line of a table."""
    f = figures(s)

    def cell(key: str, width: int, digits: int) -> str:
        value = f[key]
        return f"{'-':>{width}s}" if value is None else f"{value:{width}.{digits}f}"

    return (
        f"{name:44s} {s.walls:5d} {cell('no_edit', 7, 2)} {cell('recall', 6, 3)} "
        f"{cell('precision', 6, 3)} {cell('short_recall', 5, 2)} "
        f"{cell('sure_right', 7, 3)} {cell('shown_sure', 5, 2)} "
        f"{cell('error_median_in', 5, 3)} {cell('error_p95_in', 5, 3)} {cell('error_max_in', 5, 2)} "
        f"{cell('within_1_8', 5, 2)} {cell('within_3_8', 5, 2)} {cell('coverage_1_sigma', 5, 2)} "
        f"{cell('coverage_2_sigma', 5, 2)} {s.refused:5d} {cell('length_error_median_in', 6, 2)} "
        f"{cell('height_error_median_in', 6, 2)} {cell('times_line_detector', 4, 1)} "
        f"{cell('seconds_median', 5, 2)}"
    )


def print_real(results: list[dict[str, Any]]) -> None:
    """Real photos: one line each, then the sums by view and by what was given."""
    print(f"\nreal photos\n{'':12s} {'view':14s} {'given':8s} true found false sure-false")
    sums: dict[tuple[str, str], list[int]] = {}
    for r in results:
        print(
            f"{r['photo']:12s} {r['view']:14s} {r['given']:8s} {r['true']:4d} {r['hit']:5d} "
            f"{r['false']:5d} {r['sure_false']:6d} {'refused' if r['refused'] else ''}"
        )
        for view in (r["view"], "frontal or near" if r["view"] != "hard" else "hard"):
            total = sums.setdefault((view, r["given"]), [0, 0, 0, 0])
            for i, k in enumerate(("true", "hit", "false", "sure_false")):
                total[i] += r[k]
    for (view, given), (true, hit, false, sure) in sorted(sums.items()):
        precision = hit / (hit + false) if hit + false else float("nan")
        print(
            f"{view:16s} given {given:8s} recall {hit / max(true, 1):.3f} "
            f"precision {precision:.3f} sure but not there {sure}"
        )
