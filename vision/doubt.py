"""Is this member sure? Every doubt has a code; a member is sure only when it has none."""

from __future__ import annotations

from vision.placing import Placed
from vision.survey import Measured, Survey
from vision.viewing import Viewed

# Thresholds tuned on the tuning scenes for 99.5 % right among the sure (tests/benchmarks/reading.py).
FAINT_FRONT = 0.55
LITTLE_SEEN = 0.6
LEAST_EDGE_SHARE = 0.35
ODD_WIDTH = 0.22
WIDE_SIGMA_IN = 0.25
STRONG_LEAN_IN = 1.2

DOUBT_WORDS = {
    "faint": "it hardly looks like the front of a stud",
    "little_seen": "much of it is hidden",
    "edges_unclear": "its edges are not clear",
    "odd_width": "its face is wider or narrower than a stud's",
    "hidden_end": "its end is hidden",
    "wide_error": "its place is not known well enough",
    "leans": "it leans more than studs do",
    "no_model": "the picture was read by its edges alone",
    "wall_end_unsure": "it is not clear that the wall reaches this far",
}


def judge(
    m: Measured, survey: Survey, placed: Placed, viewed: Viewed, index: int, face_in: float
) -> tuple[bool, tuple[str, ...]]:
    """Decide whether member `index` is sure; the reason codes of DOUBT_WORDS otherwise."""
    s = m.upright.stretch
    doubts = []
    if not viewed.model:
        doubts.append("no_model")
    if s.front < FAINT_FRONT:
        doubts.append("faint")
    if m.upright.visible < LITTLE_SEEN:
        doubts.append("little_seen")
    shares = [e.share if e is not None else 0.0 for e in (m.left, m.right)]
    if max(shares) < LEAST_EDGE_SHARE or min(shares) < 0.5 * LEAST_EDGE_SHARE:
        doubts.append("edges_unclear")
    if abs(placed.face_in[index] / (face_in * s.plies) - 1) > ODD_WIDTH:
        doubts.append("odd_width")
    if m.upright.hidden_end:
        doubts.append("hidden_end")
    if placed.sigma_in[index] > WIDE_SIGMA_IN:
        doubts.append("wide_error")
    if abs(placed.lean_in[index]) > STRONG_LEAN_IN:
        doubts.append("leans")
    face = survey.face
    if m.x_right < survey.region.left + 0.2 * face or m.x_left > survey.region.right - 0.2 * face:
        doubts.append("wall_end_unsure")
    return not doubts, tuple(doubts)
