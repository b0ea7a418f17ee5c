"""Is this member sure? Every doubt has a code; a member is sure only when it has none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from vision.measured import Measured
from vision.placing import Placed
from vision.reading import Member, Opening
from vision.survey import Survey
from vision.viewing import Viewed
from vision.wall_ends import front_beside

# Thresholds tuned on the tuning scenes for 99.5 % right among the sure (tests/benchmarks/reading.py).
FAINT_FRONT = 0.55
LITTLE_SEEN = 0.6
LEAST_EDGE_SHARE = 0.35
ODD_WIDTH = 0.22
# One edge over nearly the whole height, or both over half of it.
ONE_EDGE_SHARE, BOTH_EDGES_SHARE, FAR_EDGE_SHARE = 0.85, 0.5, 0.5
CROWDED_FACES = 2.7  # middles nearer than this, not touching: one of the two may be a side face
WIDE_SIGMA_IN = 0.19  # a place is right within 3/8 in: two of these
# Where the spacing alone gives the scale, all places are wrong together: of 99 sure ones from here to 0.17 in
# 3 were wrong, of 1,592 within it 4 (tuning scenes and another generator's; with a tape 2 of 1,161).
WIDE_SIGMA_BY_SPACING_IN = 0.155
STRONG_LEAN_IN = 1.2
# Share of front face beside those of the wall's other members: a pipe's is less (tuning: 0.69).
FAINTER_THAN_OTHERS = 0.75
# The column network's word, over the face but for a margin (of a face) and near its two edges. Tuning scenes.
PLAINLY_FULL, PLAINLY_EDGE, PLAIN_MARGIN = 0.985, 0.9, 0.15
# Share of front face of a short member in an opening's framing. Tuning scenes, by the spacing: 91 of 163 are
# sure then (65 without this), and none of them is off by over 3/8 in.
PLAIN_SHORT = 0.85
MOSTLY_UNSURE = 0.6  # of the full-height members
NEAR_OPENING_IN = 5.0  # trimmer and king beside the rough opening
LEAST_FULL = 3  # one or two faces under paper are no wall
MOST_PLIES_AT_END = 2  # more may be the neighbouring wall's first stud, lined up beside ours

DOUBT_WORDS = {
    "faint": "it hardly looks like the front of a stud",
    "little_seen": "much of it is hidden",
    "edges_unclear": "its edges are not clear",
    "odd_width": "its face is wider or narrower than a stud's",
    "hidden_end": "its end is hidden",
    "wide_error": "its place is not known well enough",
    "leans": "its edges seem to slant more than a stud's",
    "no_model": "the picture was read by its edges alone",
    "wall_unclear": "most studs of this wall are unclear in the photo",
    "no_opening": "it does not reach both plates, and no opening is near",
    "assumed_scale": "no length was given, so its place rests on a guessed spacing",
    "odd_spacing": "with this reference the studs stand at an unusual spacing",
    "face_doubtful": "with this reference the studs' faces come out wider or narrower than studs are",
    "crowded": "another stands too close beside it: one of the two may be a side face",
    "fainter": "it looks less like the front of a stud than the others do",
    "ply_unclear": "there may be one stud more or less side by side here",
    "moved": "the phone moved: the photo is smeared by more than half the width of a stud",
    "odd_colour": "it is of another colour than the other studs, or much darker or lighter: it may be a pipe",
    "end_implied": "it was not seen: the plates end here, and walls end with a stud",
    "wall_end_unsure": "it is not clear that the wall reaches this far",
}


def mostly_unsure(members: Sequence[Member]) -> bool:
    """Whether most full-height members are doubtful, or there are hardly any: so is where the wall ends."""
    full = [m for m in members if m.kind == "full"]
    return sum(not m.sure for m in full) > MOSTLY_UNSURE * len(full) or len(full) < LEAST_FULL


def judge(
    m: Measured, survey: Survey, placed: Placed, viewed: Viewed, index: int, face_in: float, by_spacing: bool
) -> tuple[bool, tuple[str, ...]]:
    """Decide whether member `index` is sure; the reason codes of DOUBT_WORDS otherwise.

    `by_spacing` says that nothing but the studs' spacing gave the scale.
    """
    if m.upright.implied:
        return False, ("end_implied",)
    s = m.upright.stretch
    doubts = []
    if not viewed.model:
        doubts.append("no_model")
    if s.front < FAINT_FRONT:
        doubts.append("faint")
    elif s.front < FAINTER_THAN_OTHERS * _usual_front(survey):
        doubts.append("fainter")
    if m.upright.visible < LITTLE_SEEN:
        doubts.append("little_seen")
    shares = m.fitted_shares
    plain = _plainly_judged(m, survey)
    weak = max(shares) < LEAST_EDGE_SHARE or min(shares) < 0.5 * LEAST_EDGE_SHARE or m.one_edge
    # Where gradients fit no edge at all, as under a sheet, the network's word is not enough for its place.
    if weak or (_weak_edges(m) and not plain) or m.by_mark:
        doubts.append("edges_unclear")
    if _crowded(m, survey, index) and not plain:
        doubts.append("crowded")
    if abs(placed.face_in[index] / (face_in * s.plies) - 1) > ODD_WIDTH:
        doubts.append("odd_width")
    at_end = _at_end(survey, index)
    trusted = plain and not (at_end and s.plies > 1)  # a double at the end is never plain enough
    if (not trusted and front_beside(m, survey)) or (at_end and s.plies > MOST_PLIES_AT_END):
        doubts.append("ply_unclear")
    if m.upright.odd_colour:
        doubts.append("odd_colour")
    if m.upright.hidden_end:
        doubts.append("hidden_end")
    if placed.sigma_in[index] > most_sigma_in(by_spacing):
        doubts.append("wide_error")
    if abs(placed.lean_in[index]) > STRONG_LEAN_IN:
        doubts.append("leans")
    face = survey.face
    if m.x_right < survey.region.left + 0.2 * face or m.x_left > survey.region.right - 0.2 * face:
        doubts.append("wall_end_unsure")
    return not doubts, tuple(doubts)


def widened(members: Sequence[Member], by_spacing: bool) -> list[Member]:
    """Doubt the places that something found later, as a bow, has made less certain than sure ones may be."""
    most = most_sigma_in(by_spacing)
    return [m.doubted("wide_error") if m.sigma_in > most else m for m in members]


def most_sigma_in(by_spacing: bool) -> float:
    """Standard deviation of a place that may still be called sure, inches."""
    return WIDE_SIGMA_BY_SPACING_IN if by_spacing else WIDE_SIGMA_IN


def doubt_together(members: list[Member], openings: tuple[Opening, ...]) -> list[Member]:
    """Doubts that rest on more than one member.

    Where most full-height members are doubtful, or there are hardly any, so is the wall's end they are
    measured from: doubt all. A partial member away from every opening is more likely clutter: doubt it.
    """
    mostly = mostly_unsure(members)
    out = []
    for m in members:
        doubts = m.doubts
        if m.kind == "partial" and not near_opening(m, openings):
            doubts = (*doubts, "no_opening")
        if mostly and m.sure:
            doubts = (*doubts, "wall_unclear")
        out.append(replace(m, sure=not doubts, doubts=doubts))
    return out


def near_opening(m: Member, openings: tuple[Opening, ...]) -> bool:
    """Whether a member can belong to the framing of one of these openings."""
    return any(o.left_in - NEAR_OPENING_IN <= m.centre_in <= o.right_in + NEAR_OPENING_IN for o in openings)


def _plainly_judged(m: Measured, survey: Survey) -> bool:
    """Whether the column network has no doubt: a face over all its width, and both of its edges.

    A trimmer or a cripple is plain where an opening's framing holds it and its whole face is seen: its few
    inches show edges less surely, and others stand close beside it.
    """
    if m.upright in [u for o in survey.openings for u in o.short]:
        return m.upright.stretch.front > PLAIN_SHORT
    if survey.judged is None:
        return False
    s = m.upright.stretch
    inside = PLAIN_MARGIN * survey.face / survey.grid.step
    full, _ = survey.judged.over(s.left + inside, s.right - inside)
    return full > PLAINLY_FULL and min(survey.judged.edges(s.left, s.right, inside)) > PLAINLY_EDGE


def _weak_edges(m: Measured) -> bool:
    """One edge must run over nearly all of the height or both over half; the far one never less.

    The far edge (away from the camera's foot, X = 0) stands against what is behind the wall. Where it
    is weak and the near one strong, a side face was read as front.
    """
    s = m.upright.stretch
    low, high = sorted((s.edge_left, s.edge_right))
    far = s.edge_right if m.x_centre > 0 else s.edge_left
    return (high < ONE_EDGE_SHARE and low < BOTH_EDGES_SHARE) or far < FAR_EDGE_SHARE


def _usual_front(survey: Survey) -> float:
    """Share of front face that the full-height members of this wall have in the middle."""
    fronts = [m.upright.stretch.front for m in survey.members if m.upright.full]
    return float(np.median(fronts)) if fronts else 0.0


def _at_end(survey: Survey, index: int) -> bool:
    full = [i for i, m in enumerate(survey.members) if m.upright.full]
    return bool(full) and index in (full[0], full[-1])


def _crowded(m: Measured, survey: Survey, index: int) -> bool:
    """Whether a better seen member of the same reach stands beside this one without touching it."""
    for i, q in enumerate(survey.members):
        if i == index or q.upright.stretch.score <= m.upright.stretch.score:
            continue
        if min(q.y_bottom, m.y_bottom) <= max(q.y_top, m.y_top):
            continue
        apart = abs(q.x_centre - m.x_centre) - 0.5 * (q.width + m.width) + survey.face
        if q.upright.full == m.upright.full and apart < CROWDED_FACES * survey.face:
            return True
    return False
