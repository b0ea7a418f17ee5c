"""What marks set roughly do: ``python -m tests.benchmarks.rough_marks --set DIR``.

The scenes' marks are exact, a finger's are not. Each of the two is moved at random, by one standard deviation
of 0, 1, 2 and 4 px of a 1600 px photo, and every photo is read as if nobody knew of it and as the app does,
which knows how large the photo was shown. Photos behind sheets are left out.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

import numpy as np

from tests.benchmarks.cases import Case, own_cases
from tests.benchmarks.reading import RENDERED, found_of, reference_for
from tests.benchmarks.scoring import Score, score
from vision import Photo, load_photo, read_wall

OFF_PX = (0.0, 1.0, 2.0, 4.0)


def read_roughly(case: Case, photo: Photo, off_px: float, known: bool, seed: int) -> Score:
    """One photo's score with its marks `off_px` of a 1600 px copy off."""
    sigma_px = off_px * max(photo.width_px, photo.height_px) / 1600
    slip = np.random.default_rng(seed).normal(0, sigma_px, (2, 2))
    last = (photo.width_px - 1, photo.height_px - 1)
    marks = np.clip(np.array(case.marks_px) + slip, 0, last)
    reference = reference_for(replace(case, marks_px=tuple(map(tuple, marks.tolist()))), "reference")
    assert reference is not None
    if known:
        reference = replace(reference, mark_sigma_px=sigma_px)
    reading = read_wall(photo, reference, face_in=case.face_in)
    return score(case, found_of(reading), reading.refused)


def main() -> None:
    """Print a line per amount."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.rough_marks", description=__doc__)
    parser.add_argument("--set", type=Path, default=RENDERED, help="folder of photos of ours")
    cases = [c for c in own_cases(parser.parse_args().set) if c.marks_px and "sheet" not in c.row]
    photos = [load_photo(case.photo.read_bytes()) for case in cases]
    print("off, px  known  no-edit  sure and right   of   95 % off, in  within 1 and 2 sigma")
    for off_px in OFF_PX:
        for known in (False, True):
            total = Score()
            for seed, (case, photo) in enumerate(zip(cases, photos, strict=True)):
                total += read_roughly(case, photo, off_px, known, seed)
            errors, sigmas = np.array(total.errors), np.array(total.sigmas)
            within = [float((errors < k * sigmas).mean()) for k in (1, 2)]
            print(
                f"{off_px:7.0f}  {'yes' if known else 'no':>5s}  {total.no_edit:3d}/{total.walls:3d}"
                f"  {total.sure_right:14d} {total.sure:4d}  {np.percentile(errors, 95):13.2f}"
                f"  {within[0]:13.2f} {within[1]:6.2f}",
                flush=True,
            )


if __name__ == "__main__":
    main()
