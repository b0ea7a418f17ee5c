"""Where the reading of photos stands: ``python -m tests.benchmarks.reading --set DIR``.

Reads every photo of the given folders with every reference it allows (the tape or level in it,
the spacing given, nothing given), scores it against the truth, and prints one table per
reference with a line per condition, two peers on the same photos beside it. Render a set first:
``python -m sample_images.render --set validation``.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import time
from collections import defaultdict
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from sample_images.draws import ROWS
from tests.benchmarks.cases import Case, other_cases, own_cases, real_photos
from tests.benchmarks.one_reading import PHONE_PX, peak_mb
from tests.benchmarks.peers import paired_segments, segments, wall_direction_by_vanishing_points
from tests.benchmarks.real import score_real_photos
from tests.benchmarks.scoring import Found, Score, score
from tests.benchmarks.tables import HEADINGS, figures, line, print_real
from vision import Photo, PhotoError, Reading, ReadingError, Reference, load_photo, read_wall

RENDERED = Path(__file__).parents[2] / "sample_images" / "rendered" / "validation"
MODES = ("reference", "spacing", "nothing")


def reference_for(case: Case, mode: str) -> Reference | None:
    """What a user of this mode tells the program."""
    if mode == "nothing":
        return None
    if mode == "spacing":
        return Reference.on_centre(case.spacing_in)
    proud = round(case.in_front_in * 8) / 8 if case.in_front_in > 0.2 else 0.0
    return Reference.tape(case.reference_in, *case.marks_px, stands_proud_in=proud)


def found_of(reading: Reading) -> list[Found]:
    """The reading's members as the scoring wants them."""
    return [
        Found(m.centre_in, m.sigma_in, m.plies, m.kind == "full", m.sure, m.front_px) for m in reading.members
    ]


def direction_error_deg(case: Case, reading: Reading) -> float | None:
    """Angle between the true wall direction and the reading's."""
    if reading.plane is None:
        return None
    along = np.linalg.inv(np.asarray(reading.plane.wall_from_view))[:, 0]
    cosine = along @ np.asarray(case.camera.rotation)[:, 0] / np.linalg.norm(along)
    return float(np.degrees(np.arccos(min(1.0, abs(cosine)))))


def read_case(case: Case, photo: Photo, mode: str, drawn: bool = False) -> tuple[Score, Reading | None]:
    """Read one photo one way; a reading that raises counts as failed and as refused."""
    started = time.perf_counter()
    face = case.face_in if abs(case.face_in - 1.5) > 0.1 else 1.5
    try:
        reading = read_wall(photo, reference_for(case, mode), face_in=face)
    except ReadingError:
        result = score(case, [], refused=True)
        result.failed = 1
        return result, None
    spent = time.perf_counter() - started
    wall = reading.wall
    result = score(
        case,
        found_of(reading),
        reading.refused,
        wall.length_in if wall and not reading.refused else None,
        wall.height_in if wall and not reading.refused else None,
        by_pixel=drawn,
    )
    result.seconds.append(spent)
    return result, reading


def run(cases: list[Case], modes: list[str], peers: bool, drawn: bool = False) -> dict[str, Any]:
    """Read all cases; returns scores by mode and row, peers' scores, directions, and details."""
    scores: dict[str, dict[str, Score]] = defaultdict(lambda: defaultdict(Score))
    directions: dict[str, list[float]] = defaultdict(list)
    details = []
    for n, case in enumerate(cases, 1):
        try:
            photo = load_photo(case.photo.read_bytes())
        except PhotoError as problem:
            print(f"{case.name}: {problem}", file=sys.stderr)
            continue
        grey: NDArray[np.uint8] = cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY)
        started = time.perf_counter()
        segments(grey)
        detector = time.perf_counter() - started
        for mode in modes:
            if mode == "reference" and not case.marks_px:
                continue
            label = mode if mode != "reference" else case.reference_kind
            result, reading = read_case(case, photo, mode, drawn)
            result.detector_seconds.append(detector)
            scores[label][case.row] += result
            scores[label]["all"] += result
            if case.row in ROWS[:5]:
                scores[label]["all but sheets"] += result
            details.append({"photo": case.name, "reference": label, **asdict(result)})
            error = direction_error_deg(case, reading) if reading else None
            if error is not None and mode == modes[0]:
                directions["reading"].append(error)
        if peers:
            result = score(case, paired_segments(case, grey), by_pixel=False)
            scores["peer: paired segments on the true corners"][case.row] += result
            scores["peer: paired segments on the true corners"]["all"] += result
            error = wall_direction_by_vanishing_points(case, photo.rgb)
            if error is not None:
                directions["lu-vp-detect"].append(error)
        sys.stderr.write(f"\r{n}/{len(cases)} photos ")
        sys.stderr.flush()
    sys.stderr.write("\n")
    return {"scores": scores, "directions": directions, "details": details}


def _commit() -> str:
    try:
        done = subprocess.run(
            ["git", "rev-parse", "--short", "HEAD"],
            capture_output=True,
            text=True,
            check=True,
            cwd=Path(__file__).parent,
        )
    except (OSError, subprocess.CalledProcessError):
        return "unknown"
    return done.stdout.strip()


def main(arguments: list[str] | None = None) -> int:
    """Command line; returns the exit status."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.reading", description=__doc__)
    parser.add_argument("--set", type=Path, help="folder of photos of ours (default: validation)")
    parser.add_argument("--renders", type=Path, help="folder of the other generator's photos")
    parser.add_argument("--photos", type=Path, help="folder of annotated real photos")
    parser.add_argument("--mode", choices=MODES, action="append", help="default: all three")
    parser.add_argument("--only", help="comma-separated names of photos")
    parser.add_argument("--every", type=int, default=1, help="every n-th photo only")
    parser.add_argument("--no-peers", action="store_true")
    parser.add_argument(
        "--drawn",
        action="store_true",
        help="pair members by where they are drawn on the photo, not by their stated inches",
    )
    parser.add_argument("--json", type=Path, help="keep the figures here")
    chosen = parser.parse_args(arguments)
    modes = chosen.mode or list(MODES)
    cases: list[Case] = []
    folder = chosen.set or (None if chosen.photos or chosen.renders else RENDERED)
    if folder is not None:
        cases += list(own_cases(folder))
        if not cases:
            print(
                f"No photos in {folder}: make them with python -m sample_images.render --set validation",
                file=sys.stderr,
            )
            return 2
    if chosen.renders is not None:
        cases += list(other_cases(chosen.renders))
    if chosen.only:
        cases = [c for c in cases if c.name in chosen.only.split(",")]
    cases = cases[:: chosen.every]
    kept: dict[str, Any] = {"date": date.today().isoformat(), "commit": _commit()}
    if cases:
        results = run(cases, modes, not chosen.no_peers, chosen.drawn)
        kept["photos"] = len(cases)
        kept["tables"] = {}
        for label, rows in results["scores"].items():
            print(f"\n{label}\n{HEADINGS}")
            order = [*ROWS, "other generator", "all but sheets", "all"]
            for row in sorted(rows, key=order.index):
                print(line(row, rows[row]))
            kept["tables"][label] = {row: figures(s) for row, s in rows.items()}
        for who, errors in results["directions"].items():
            p = np.percentile(errors, [50, 90])
            print(f"wall direction, {who}: median {p[0]:.3f} deg, 90 % within {p[1]:.3f} deg")
            kept.setdefault("wall_direction_deg", {})[who] = [round(float(v), 4) for v in p]
        kept["details"] = results["details"]
    if chosen.photos is not None:
        real = score_real_photos(list(real_photos(chosen.photos)))
        print_real(real)
        kept["real"] = real
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\npeak memory of this process {peak:.0f} MB")
    kept["peak_memory_mb"] = round(peak)
    if cases:
        own, phone = (peak_mb(cases[0].photo, pixels) for pixels in (0.0, PHONE_PX))
        print(f"peak memory of one reading in a fresh process {own:.0f} MB, at 12 megapixels {phone:.0f} MB")
        kept["peak_memory_of_one_reading_mb"] = {"own size": round(own), "12 megapixels": round(phone)}
    if chosen.json is not None:
        chosen.json.write_text(json.dumps(kept, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
