"""How studs lean, on a set's photos: ``python -m tests.benchmarks.leans --set DIR``.

A full-height single member within 0.6 in of one of the reading's is held against it; leans are over the
wall's height. A wall whose left end is mistaken gives no pairs.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np

from tests.benchmarks.cases import Case, own_cases
from tests.benchmarks.reading import RENDERED, reference_for
from vision import Reading, load_photo, read_wall
from vision.plumb import MOST_OUT_OF_PLUMB_IN, speaks_of

SAME_IN, NEARLY_IN = 0.6, 0.2


def leans_of(case: Case, reading: Reading) -> list[tuple[float, float, bool]]:
    """Lean read, true lean, whether it is pointed out, of every single member that is one of the photo's."""
    if reading.refused:
        return []
    members = json.loads(case.photo.with_suffix(".json").read_text())["members"]
    single = [m for m in members if m["full_height"] and m["plies"] == 1]
    out = []
    for m in reading.members:
        near = [t for t in single if abs(t["centre_in"] - m.centre_in) < SAME_IN]
        if m.kind == "full" and m.plies == 1 and len(near) == 1:
            out.append((m.lean_in, near[0]["lean_in"], speaks_of(m)))
    return out


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.leans", description=__doc__)
    parser.add_argument("--set", type=Path, default=RENDERED, help="folder of photos of ours")
    pairs: list[tuple[float, float, bool]] = []
    for case in own_cases(parser.parse_args().set):
        reference = reference_for(case, "reference" if case.marks_px else "spacing")
        reading = read_wall(load_photo(case.photo.read_bytes()), reference, face_in=case.face_in)
        pairs += leans_of(case, reading)
    lean_in, true_in = np.array([p[:2] for p in pairs]).T
    told = np.array([p[2] for p in pairs])
    leaning = np.abs(true_in) > MOST_OUT_OF_PLUMB_IN
    off_in = np.percentile(np.abs(lean_in - true_in), (50, 90, 95))
    as_plumb_in = np.percentile(np.abs(true_in), (50, 90, 95))
    print("{} studs; lean off by, in: median {:.3f}, 90 % {:.3f}, 95 % {:.3f}".format(len(pairs), *off_in))
    print("  (all taken for plumb: {:.3f}, {:.3f}, {:.3f})".format(*as_plumb_in))
    wrong_side = (told & (lean_in * true_in < 0)).sum()
    print(f"{leaning.sum()} lean over {MOST_OUT_OF_PLUMB_IN} in: {(told & leaning).sum()} pointed out.")
    less = told & (np.abs(true_in) < NEARLY_IN)
    print(
        f"Others pointed out: {(told & ~leaning).sum()}; under {NEARLY_IN} in {less.sum()}, "
        f"to the wrong side {wrong_side}."
    )


if __name__ == "__main__":
    main()
