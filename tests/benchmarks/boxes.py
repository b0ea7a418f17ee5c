"""Electrical boxes proposed on a set's photos: ``python -m tests.benchmarks.boxes --set DIR``.

A box counts as found where a proposal's middle lies within 1 in of its own along the wall and 1 1/4 in up, as
both are seen in the photo: how well the wall itself is placed is another benchmark's matter.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

import numpy as np

from tests.benchmarks.cases import own_cases
from vision import Reference, load_photo, read_wall
from vision.boxes import propose_boxes

ALONG_IN, UP_IN = 1.0, 1.25


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--set", type=Path, default=Path("validation"), help="folder of photos of ours")
    folder = parser.parse_args().set
    found = missed = false = photos = 0
    off_in: list[float] = []
    seconds = whole = 0.0
    for case in own_cases(folder):
        truth = json.loads(case.photo.with_suffix(".json").read_text())["boxes"]
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
        for box in truth:
            left, right, low, high = (box[name] for name in ("left_in", "right_in", "bottom_in", "top_in"))
            corners = [(left, low, 0.0), (right, low, 0.0), (right, high, 0.0), (left, high, 0.0)]
            seen = reading.plane.to_wall(case.camera.project(np.array(corners)))
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
    print(f"{photos} photos read, {found + missed} boxes: {found} found, {missed} missed, {false} false.")
    if off_in:
        median, most = np.percentile(off_in, (50, 90))
        print(f"The side furthest off, in: median {median:.2f}, 90 % within {most:.2f}.")
    print(f"Share of the reading's processor time: {seconds / whole:.3f}.")


if __name__ == "__main__":
    main()
