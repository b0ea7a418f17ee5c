"""How right a reading is: members matched to the truth, errors in inches, and sums of them.

A reported member stands for a true one when their centres lie within 3/4 in of each other (half
a 1 1/2 in face: beyond that, a seam on the reported centre misses the stud). Members nailed
together count as one thing: a king and its trimmer reported as one double, or a double reported
as two singles, are right when the places are.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.benchmarks.cases import Case, TrueMember

GATE_IN = 0.75
RIGHT_IN = 0.375


@dataclass(frozen=True)
class Found:
    """A reported member, from the reading or a peer."""

    centre_in: float
    sigma_in: float
    plies: int
    full: bool
    sure: bool
    front_px: tuple[tuple[float, float], tuple[float, float]]


@dataclass
class Score:
    """Counts and errors of one reading, or of many added together.

    `true`, `hit` and the errors are those of full-height members; `short` and `short_hit` count trimmers and
    cripples, those taken in by a double among them.
    """

    walls: int = 0
    no_edit: int = 0
    true: int = 0
    hit: int = 0
    short: int = 0
    short_hit: int = 0
    reported: int = 0
    false: int = 0
    sure: int = 0
    sure_right: int = 0
    refused: int = 0
    failed: int = 0
    errors: list[float] = field(default_factory=list)
    sigmas: list[float] = field(default_factory=list)
    length_errors: list[float] = field(default_factory=list)
    height_errors: list[float] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    detector_seconds: list[float] = field(default_factory=list)

    def __iadd__(self, other: Score) -> Score:
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)
        return self


def positions(case: Case, found: list[Found], by_pixel: bool) -> np.ndarray:
    """Where the reported members stand, in inches of the true wall.

    By inches as the reading states them; or by where they are drawn on the photo (for a wall
    that the frame cuts off, whose left end the reading cannot know).
    """
    if not by_pixel:
        return np.array([f.centre_in for f in found])
    out = []
    for f in found:
        (xb, yb), (xt, yt) = case.to_wall(f.front_px)
        middle = case.height_in / 2 if f.full else (yb + yt) / 2
        share = (middle - yb) / (yt - yb) if abs(yt - yb) > 1e-6 else 0.5
        out.append(xb + share * (xt - xb))
    return np.array(out)


def _groups(members: tuple[TrueMember, ...]) -> list[tuple[int, ...]]:
    """Indices of single members, then of runs of touching ones that can be read as one."""
    alone = [(i,) for i in range(len(members))]
    order = sorted(range(len(members)), key=lambda i: members[i].centre_in)
    pairs = [(i, j) for k, i in enumerate(order) for j in order[k + 1 :] if _touch(members[i], members[j])]
    triples = [(i, j, k) for i, j in pairs for q, k in pairs if q == j]
    return alone + pairs + triples


def _touch(a: TrueMember, b: TrueMember) -> bool:
    """Side by side (``b`` to the right), over at least half the height of the shorter one."""
    overlap = min(a.top_in, b.top_in) - max(a.bottom_in, b.bottom_in)
    gap = b.centre_in - a.centre_in - (a.face_in + b.face_in) / 2
    return abs(gap) < 0.25 and overlap > 0.5 * min(a.top_in - a.bottom_in, b.top_in - b.bottom_in)


def _centre(members: tuple[TrueMember, ...], group: tuple[int, ...]) -> float:
    left = min(members[i].centre_in - members[i].face_in / 2 for i in group)
    right = max(members[i].centre_in + members[i].face_in / 2 for i in group)
    return (left + right) / 2


def match(case: Case, found: list[Found], at: np.ndarray) -> tuple[dict[int, int], set[int]]:
    """Pair reported with true members.

    Returns the true member (or the first of its group) of every paired report, and all true
    members so accounted for. Nearest pairs first; a group only for a report of several plies.
    """
    members = case.members
    options = []
    for k, f in enumerate(found):
        for group in _groups(members):
            if len(group) > 1 and f.plies < 2:
                continue
            gap = abs(at[k] - _centre(members, group))
            prefer = 0.0 if any(members[i].full for i in group) == f.full else 0.3
            if gap < GATE_IN:
                options.append((gap + prefer, k, group))
    pairs: dict[int, int] = {}
    taken: set[int] = set()
    for _, k, group in sorted(options):
        if k not in pairs and not taken & set(group):
            full = [i for i in group if members[i].full]
            pairs[k] = full[0] if full else group[0]
            taken |= set(group)
    # the plies of a double reported one by one: neither false nor found twice
    for k, f in enumerate(found):
        if k in pairs:
            continue
        for i, m in enumerate(members):
            if m.plies > 1 and f.plies < m.plies:
                inside = abs(at[k] - m.centre_in) < m.face_in / 2 - m.face_in / m.plies / 2 + 0.4
                others = [q for q, j in pairs.items() if j == i]
                if inside and (not others or found[others[0]].plies < m.plies):
                    pairs[k] = i
                    taken.add(i)
                    break
    return pairs, taken


def score(
    case: Case,
    found: list[Found],
    refused: bool = False,
    length_in: float | None = None,
    height_in: float | None = None,
    by_pixel: bool = False,
) -> Score:
    """Score one reading of one photo."""
    by_pixel = by_pixel or not case.whole
    at = positions(case, found, by_pixel)
    pairs, taken = match(case, found, at)
    members = case.members
    s = Score(walls=1, refused=int(refused))
    wanted = {i for i, m in enumerate(members) if m.full and m.counted}
    s.true, s.hit = len(wanted), len(wanted & taken)
    short = {i for i, m in enumerate(members) if not m.full and m.counted}
    s.short, s.short_hit = len(short), len(short & taken)
    stated = np.array([f.centre_in for f in found])
    truth = {k: stated_truth(case, found[k], i, at[k]) for k, i in pairs.items()}
    shift = 0.0
    if not case.whole and truth:  # the reading cannot know how much of the wall is cut off
        shift = float(np.median([stated[k] - truth[k] for k in truth]))
    full_errors = []
    for k, f in enumerate(found):
        wrong = k not in pairs or (f.full and members[pairs[k]].kind == "cripple")
        error = abs(stated[k] - shift - truth[k]) if k in truth else np.inf
        s.false += int(wrong)
        s.reported += int(f.full or wrong)
        if f.sure:
            s.sure += 1
            s.sure_right += int(not wrong and error <= RIGHT_IN)
        if not wrong and f.full and members[pairs[k]].full:
            full_errors.append(error)
            s.errors.append(float(error))
            s.sigmas.append(f.sigma_in)
    fine = s.hit == s.true and not s.false and all(e <= RIGHT_IN for e in full_errors)
    s.no_edit = int(bool(fine and not refused))
    if case.whole and length_in is not None and height_in is not None:
        s.length_errors.append(abs(length_in - case.length_in))
        s.height_errors.append(abs(height_in - case.height_in))
    return s


def stated_truth(case: Case, f: Found, i: int, at: float) -> float:
    """True centre of what was reported: the nearest of the member, its group or its ply."""
    m = case.members[i]
    spots = [
        _centre(case.members, g) for g in _groups(case.members) if i in g and (len(g) == 1 or f.plies > 1)
    ]
    if f.plies < m.plies:
        ply = m.face_in / m.plies
        spots += [m.centre_in + (q - (m.plies - 1) / 2) * ply for q in range(m.plies)]
    return min(spots, key=lambda x: abs(x - at))
