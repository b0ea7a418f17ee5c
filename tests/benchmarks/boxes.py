"""Electrical boxes proposed on photos: ``python -m tests.benchmarks.boxes [--set DIR] [--renders DIR]``.

A box counts as found where a proposal's middle lies within 1 in of its own along the wall and 1 1/4 in up, as
both are seen in the photo: how well the wall itself is placed is another benchmark's matter.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

import numpy as np

from tests.benchmarks.cases import Case, other_cases, own_cases
from vision import Reference, load_photo, read_wall
from vision.boxes import propose_boxes

ALONG_IN, UP_IN = 1.0, 1.25


def rims_px(case: Case) -> list[np.ndarray]:
    """Corners (4, 2) of every true box's rim in the photo."""
    boxes = json.loads(case.photo.with_suffix(".json").read_text())["boxes"]
    if case.source != "own":
        return [np.array(box["photo_rect"]) for box in boxes]
    out = []
    for box in boxes:
        left, right, low, high, front = (
            box[name] for name in ("left_in", "right_in", "bottom_in", "top_in", "front_in")
        )
        corners = [(left, low, front), (right, low, front), (right, high, front), (left, high, front)]
        out.append(case.camera.project(np.array(corners)))
    return out


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--set", type=Path, help="folder of photos of ours")
    parser.add_argument("--renders", type=Path, help="folder of another generator's photos")
    given = parser.parse_args()
    if given.set:
        print_counts("ours", list(own_cases(given.set)))
    if given.renders:
        print_counts("the other generator's", list(other_cases(given.renders)))


def print_counts(name: str, cases: list[Case]) -> None:
    """Read the photos and compare."""
    found = missed = false = photos = 0
    off_in: list[float] = []
    seconds = whole = 0.0
    for case in cases:
        tape = case.marks_px and case.reference_kind == "tape"
        given = Reference.tape(case.reference_in, *case.marks_px) if tape else None
        photo = load_photo(case.photo.read_bytes())
        begun = time.process_time()
        reading = read_wall(photo, given or Reference.on_centre(case.spacing_in))
        whole += time.process_time() - begun
        if reading.refused or reading.wall is None or reading.plane is None:
            continue
        photos += 1
        begun = time.process_time()
        proposed = list(propose_boxes(photo.rgb, reading.plane, reading.members, reading.wall.height_in))
        seconds += time.process_time() - begun
        for rim in rims_px(case):
            seen = reading.plane.to_wall(rim)
            x, y = seen.mean(axis=0)
            near = [
                p
                for p in proposed
                if abs((p.left_in + p.right_in) / 2 - x) < ALONG_IN
                and abs((p.bottom_in + p.top_in) / 2 - y) < UP_IN
            ]
            if not near:
                missed += 1
                continue
            found += 1
            proposed.remove(near[0])
            sides = (near[0].left_in, near[0].right_in, near[0].bottom_in, near[0].top_in)
            true = (seen[:, 0].min(), seen[:, 0].max(), seen[:, 1].min(), seen[:, 1].max())
            off_in.append(float(np.max(np.abs(np.subtract(sides, true)))))
        false += len(proposed)
    counts = f"{found} found, {missed} missed, {false} false"
    print(f"{name}: {photos} photos read, {found + missed} boxes: {counts}.")
    if off_in:
        median, most = np.percentile(off_in, (50, 90))
        print(f"The side furthest off, in: median {median:.2f}, 90 % within {most:.2f}.")
    print(f"Share of the reading's processor time: {seconds / whole:.3f}.")


if __name__ == "__main__":
    main()
