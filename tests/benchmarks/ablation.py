"""What each cue adds to the reading: ``python -m tests.benchmarks.ablation --set DIR``.

Reads every photo once as it is, then again with one cue taken away at a time, each with the tape or
level in the photo, and prints a line per cue. The view and the model's answer are worked out once
per photo (the view once more for the line on what it hangs on), so that a line shows its cue alone.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray

import vision.best_apart as best_apart
import vision.measured as measured
import vision.members as members
import vision.ply_cues as ply_cues
import vision.standing as standing
import vision.survey as survey
import vision.under_view as under_view
import vision.wall_ends as wall_ends
import vision.wall_picture as wall_picture
from tests.benchmarks.cases import Case, own_cases
from tests.benchmarks.leans import leans_of
from tests.benchmarks.reading import RENDERED, found_of, reference_for
from tests.benchmarks.scoring import Score, score
from vision import load_photo, read_wall
from vision.curves import Curves
from vision.plumb import Leans
from vision.survey import Survey
from vision.viewing import Viewed

Change = tuple[Any, str, Any]


def _same(first: Any, *_: Any, **__: Any) -> Any:
    return first


def _nothing(*_: Any, **__: Any) -> None:
    return None


def _none(*_: Any, **__: Any) -> list[Any]:
    return []


def _plumb(curves: Curves, survey: Survey, inches_per_unit: float) -> Leans:
    """Every member taken for plumb."""
    count = len(survey.members)
    return Leans(np.zeros(count), np.zeros(count), np.zeros(count, bool))


def _module(name: str) -> Any:
    return sys.modules[name]  # `vision.read_wall` as an attribute is the function of that name


def changes() -> dict[str, list[Change]]:
    """What is replaced when a cue is taken away, by the cue's name."""
    return {
        "as it is": [],
        "the column network": [(survey, "judge", _nothing)],
        "plates' outer edges and ends": [(wall_picture, "refine_region", _same)],
        "the corner where the plates bend": [(standing, "up_to_the_corner", _nothing)],
        "a second look, wider": [(standing, "wider", _nothing)],
        "the next wall's plates at a corner": [(standing, "without_the_next_wall", _nothing)],
        "plates from where the studs end": [(standing, "settle_plates", _same)],
        "both edges of a stud followed together": [(_module("vision.read_wall"), "measure_leans", _plumb)],
        "layout beside the tape": [(under_view, "with_layout", _same)],
        "depth from side faces": [(survey, "depth_seen_px", _nothing)],
        "where a neighbour's side face lies": [(best_apart, "IN_FOOTPRINT", 0.0)],
        "joints between plies": [(ply_cues, "JOINT_FROM", 9.0)],
        "front face left outside": [(members, "SPILL_FAR", 0.0), (members, "SPILL_NEAR", 0.0)],
        "front face between two": [(best_apart, "PAIR_COST", 0.0)],
        "a hidden member where the plates end": [(survey, "add_implied_ends", _same)],
        "the next wall's members cut off": [(survey, "cut_off_neighbours", _same)],
        "edges": [(members, "EDGE_GAIN", 0.0)],
        "pipes told by their colour": [(survey, "drop_foreign", _same)],
        "pipes in bays that are full": [(survey, "with_pipe_signs", _same)],
        "an end's one edge its own": [(wall_ends, "OWN_EDGE", 9.0)],
        "the better edge of an odd face": [(measured, "face_about_better_edge", _same)],
        "fits held to the chosen edge": [(measured, "STRAY", 0.45), (measured, "CLEAR_STRAY", 0.45)],
        "the left end by the layout": [(standing, "end_by_layout", _nothing)],
        "the next wall's stud by the layout": [(standing, "without_next_walls", _nothing)],
        "usual width": [(members, "WIDTH_CAP", 0.0)],
        "openings by their framing": [(survey, "find_rough_openings", _none)],
        "a trimmer by its king": [(survey, "beside_king", _same)],
        "what partial members rest on": [
            (survey, "settle_partials", _same),
            (survey, "complete_on_layout", _same),
        ],
    }


VIEW_OF_ALL_EDGES = "the view on this wall's long edges"


def view_of_all_edges() -> list[Change]:
    """Every traced edge, however short and wherever it runs, weighs the same in settling the view."""
    least = ("PLUMB_LEAST", "OFF_MEMBER_PLUMB", "OFF_MEMBER_LEVEL")
    return [(_module("vision.bundle"), name, 1.0) for name in least]


@contextmanager
def without(replaced: list[Change]) -> Iterator[None]:
    """The reading with these attributes replaced."""
    with ExitStack() as stack:
        for module, name, value in replaced:
            stack.enter_context(patch.object(module, name, value))
        yield


def read_all(case: Case) -> dict[str, tuple[Score, list[float]]]:
    """Scores of one photo and how far off leans are (in), by the cue taken away."""
    photo = load_photo(case.photo.read_bytes())
    reader = _module("vision.read_wall")
    find_view: Callable[..., Viewed | None] = reader.find_view
    viewed = find_view(photo, None)
    with without(view_of_all_edges()):
        viewed_plainly = find_view(photo, None)
    seen: dict[bytes, Any] = {}
    look = wall_picture.look

    def looked(rgb: NDArray[np.uint8], long_side_px: int) -> Any:
        key = rgb[::7, ::7].tobytes()
        if key not in seen:
            seen[key] = look(rgb, long_side_px)
        return seen[key]

    out = {}
    with patch.object(wall_picture, "look", looked):
        for name, replaced in {**changes(), VIEW_OF_ALL_EDGES: []}.items():
            view = viewed_plainly if name == VIEW_OF_ALL_EDGES else viewed
            with without([*replaced, (reader, "find_view", lambda *_, view=view: view)]):
                reading = read_wall(photo, reference_for(case, "reference"), face_in=case.face_in)
            wall = None if reading.refused else reading.wall
            length_in, height_in = (wall.length_in, wall.height_in) if wall else (None, None)
            found = score(case, found_of(reading), reading.refused, length_in, height_in)
            out[name] = found, [abs(read - true) for read, true, _ in leans_of(case, reading)]
    return out


def main(arguments: list[str] | None = None) -> int:
    """Command line; returns the exit status."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.ablation", description=__doc__)
    parser.add_argument("--set", type=Path, default=RENDERED, help="folder of photos of ours")
    chosen = parser.parse_args(arguments)
    totals = {name: Score() for name in (*changes(), VIEW_OF_ALL_EDGES)}
    leans_in: dict[str, list[float]] = {name: [] for name in totals}
    cases = [c for c in own_cases(chosen.set) if c.marks_px]
    for n, case in enumerate(cases, 1):
        for name, (result, off_in) in read_all(case).items():
            totals[name] += result
            leans_in[name] += off_in
        sys.stderr.write(f"\r{n}/{len(cases)} photos ")
    sys.stderr.write("\n")
    head = "no-edit  recall   prec.  short  sure and right  of  median  95 %  height 95 %  lean 95 %"
    print(f"{'taken away':40s} {head}")
    for name, s in totals.items():
        errors = np.array(s.errors) if s.errors else np.array([np.nan])
        print(
            f"{name:40s} {s.no_edit / max(s.walls, 1):7.2f} {s.hit / max(s.true, 1):7.3f} "
            f"{1 - s.false / max(s.reported, 1):7.3f} {s.short_hit / max(s.short, 1):6.2f} "
            f"{s.sure_right:15d} {s.sure:3d} {np.median(errors):7.3f} {np.quantile(errors, 0.95):5.3f} "
            f"{np.quantile(s.height_errors, 0.95):12.2f} {np.quantile(leans_in[name], 0.95):10.3f}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
