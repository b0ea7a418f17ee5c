"""Studs bowed along the wall, on a set's photos: ``python -m tests.benchmarks.bows --set DIR``.

The set's truth must say how each member bows (`bow_in`): render one with
``python -m sample_images.render --set validation-bowed``. A member that the photo shows is held against
the reading's member nearest to it in the photo, whatever its place in inches.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np

from tests.benchmarks.cases import Case, own_cases
from tests.benchmarks.reading import reference_for
from vision import load_photo, read_wall
from vision.bow import MOST_BOWED_IN, speaks_of
from vision.reading import Member, Reading

SAME_IN, PER_BOW = 0.375, 0.4  # a bowed member's straight line may lie this much farther off
LEAST_VISIBLE = 0.3


def nearest(case: Case, reading: Reading, member: dict[str, Any]) -> Member | None:
    """The full-height member of the reading that lies where this one is in the photo."""
    middle_in = 0.5 * (member["bottom_in"] + member["top_in"])
    best, best_in = None, SAME_IN + PER_BOW * abs(member["bow_in"])
    for m in reading.members:
        (x0, y0), (x1, y1) = case.to_wall(np.array(m.front_px))
        off_in = abs(x0 + (middle_in - y0) / (y1 - y0) * (x1 - x0) - member["centre_in"])
        if m.kind == "full" and off_in < best_in:
            best, best_in = m, off_in
    return best


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--set", type=Path, required=True, help="folder of photos of ours")
    bowed = found = said = wrong_side = straight = false = 0
    off_in: list[float] = []
    for case in own_cases(parser.parse_args().set):
        truth = json.loads(case.photo.with_suffix(".json").read_text())["members"]
        reference = reference_for(case, "reference" if case.marks_px else "spacing")
        reading = read_wall(load_photo(case.photo.read_bytes()), reference, face_in=case.face_in)
        spoken = [] if reading.refused else [m for m in reading.members if speaks_of(m)]
        for member in truth:
            if not member["full_height"] or member["visible"] < LEAST_VISIBLE:
                continue
            m, true_in = nearest(case, reading, member), member["bow_in"]
            told = m is not None and m in spoken
            if m is not None and m.bow_in:
                off_in.append(abs(m.bow_in - true_in))
            if abs(true_in) > MOST_BOWED_IN:
                bowed, found, said = bowed + 1, found + (m is not None), said + told
                wrong_side += told and m is not None and m.bow_in * true_in < 0
            else:
                straight, false = straight + (m is not None), false + told
            spoken = [q for q in spoken if q is not m]
        false += len(spoken)
    print(f"{bowed} members bowed over {MOST_BOWED_IN} in: {found} found, {said} pointed out, ", end="")
    print(f"{wrong_side} of them to the wrong side. {straight} others found, {false} pointed out.")
    if off_in:
        median, most = np.percentile(off_in, (50, 95))
        print(f"{len(off_in)} bows measured; error, in: median {median:.3f}, 95 % within {most:.3f}.")


if __name__ == "__main__":
    main()
