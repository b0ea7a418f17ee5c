"""What one more tape reading does, on a set's photos: ``python -m tests.benchmarks.tape_readings --set DIR``.

Each whole wall is read with its tape, and by the spacing; then the reading that the program asks for is given
to it, and another after that, true to a sixteenth. Where it asks for a member that is none, or not where it
is said to be, the user is taken to measure the nearest one within 6 in. Places are held against the truth.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from tests.benchmarks.cases import Case, own_cases
from tests.benchmarks.reading import RENDERED, found_of, reference_for
from tests.benchmarks.scoring import Score, match, positions, score, stated_truth
from vision import Reading, TapeCheck, best_next_reading, load_photo, read_wall
from vision.checks import with_checks

NEAREST_IN, SIXTEENTH_IN, SLIP_IN = 6.0, 1 / 16, 1 / 20


def asked_for(case: Case, reading: Reading, count: int, rng: np.random.Generator) -> list[TapeCheck]:
    """The readings that the program asks for one after the other, as the tape shows them."""
    found = found_of(reading)
    at = positions(case, found, by_pixel=False)
    pairs, _ = match(case, found, at)
    left = list(range(len(reading.members)))
    checks = []
    for _ in range(count):
        best = best_next_reading([reading.members[i] for i in left])
        if best is None:
            break
        i = left.pop(best)
        place_in = reading.members[i].centre_in
        if i in pairs:  # of a double its own middle
            true_in = [stated_truth(case, found[i], pairs[i], at[i])]
        else:
            true_in = [m.centre_in for m in case.members if abs(m.centre_in - place_in) < NEAREST_IN]
        if true_in:
            tape_in = min(true_in, key=lambda x: abs(x - place_in)) + rng.normal(0, SLIP_IN)
            checks.append(TapeCheck(place_in, round(tape_in / SIXTEENTH_IN) * SIXTEENTH_IN))
    return checks


def main() -> None:
    """Print a line for each reference and number of readings."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.tape_readings", description=__doc__)
    parser.add_argument("--set", type=Path, default=RENDERED, help="folder of photos of ours")
    cases = [c for c in own_cases(parser.parse_args().set) if c.whole]
    for mode in ("reference", "spacing"):
        sums = [Score() for _ in range(3)]
        rng = np.random.default_rng(1)
        for case in cases:
            if mode == "reference" and not case.marks_px:
                continue
            photo = load_photo(case.photo.read_bytes())
            reading = read_wall(photo, reference_for(case, mode), face_in=case.face_in)
            for count, total in enumerate(sums):
                more = with_checks(reading, asked_for(case, reading, count, rng))
                total += score(case, found_of(more), more.refused)
        print(f"{mode}: {sums[0].walls} walls")
        for count, s in enumerate(sums):
            off_in, sigmas = np.abs(s.errors), np.array(s.sigmas)
            print(
                f"  {count} readings: no edit {s.no_edit}, refused {s.refused}, "
                f"sure and right {s.sure_right} of {s.sure}, off by {np.median(off_in):.3f} in (median), "
                f"{np.percentile(off_in, 95):.3f} (95 %), within 1 and 2 sigma "
                f"{np.mean(off_in < sigmas):.2f}, {np.mean(off_in < 2 * sigmas):.2f}"
            )


if __name__ == "__main__":
    main()
