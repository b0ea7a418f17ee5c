"""How high each member reaches: full height, or partial above or below an opening; and its plies."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.columns import ColumnShares
from vision.members import Stretch
from vision.ply_cues import PlyCues

PRESENT = 0.35  # share of front face in a band that counts as seen
# A gap this share of the height is bridged: blocking, a cable, a box in front.
BRIDGED_GAP = 0.14
HIDDEN_BETWEEN = 0.3  # share of the height that clutter may hide between two parts of one member
# Within this share of the height from a plate the member is taken to reach it.
REACHES = 0.09
# A partial member's free end meets a header or sill within this share of the height, of this "across".
END_REACH, MEETS_ACROSS = 0.07, 0.3
# Rising this high from the bottom plate, this near (in bays) the layout of this share of the rest.
RISES_TO, OFF_LAYOUT, ON_LAYOUT_SHARE = 0.4, 0.06, 0.5
# Rising from the bottom plate nearly to the top one, in plain sight: the light burns out what is missing.
NEARLY_UP, NEARLY_SCORE, NEARLY_EDGES = 0.2, 1.2, 0.45
# Hanging from the top plate and lost behind clutter: least scores, by how far down it is seen.
HANGS_HALFWAY, HANGS_SCORE, HANGS_SHORT_SCORE = 0.5, 0.5, 0.9
HANGS_NEAR_END, HANGS_END_SCORE = 0.8, 0.3  # faces from where the wall ends


# Mean of what the column network says: a full-height face, and hardly any face at all. Tuning scenes.
JUDGED_FULL, JUDGED_NONE = 0.5, 0.3


@dataclass(frozen=True)
class Upright:
    """A member with its vertical reach, all in the rectified picture.

    Attributes
    ----------
    stretch : Stretch
    top, bottom : float
        0 at the region's top, 1 at its bottom.
    visible : float
        Share of bands between top and bottom in which the front face is seen.
    full : bool
        Reaches both plates, or is hidden where it would.
    hidden_end : bool
        Taken as full although one end is not seen.
    implied : bool
        Not seen at all: a wall ends with a member, and this one's plates end here.
    odd_colour : bool
        Of another colour than the wall's other members, with an edge that is lost: it may be a pipe.
    looks_round, other_colour, rather_other, plainly_other : bool
        Signs of a pipe that count where it stands in a bay that is full without it, or beside the marks that
        the others are set on (`pipes.py`).
    """

    stretch: Stretch
    top: float
    bottom: float
    visible: float
    full: bool
    hidden_end: bool = False
    implied: bool = False
    odd_colour: bool = False
    looks_round: bool = False
    other_colour: bool = False
    rather_other: bool = False
    plainly_other: bool = False


def presence(front: NDArray[np.float32], left: float, right: float, slope_px: float) -> NDArray[np.float64]:
    """Mean share of front face per band (B,) in a leaning stretch of columns."""
    bands, width = front.shape
    t = (np.arange(bands) + 0.5) / bands - 0.5
    n = max(3, round(right - left))
    inner = np.linspace(left, right, n + 2)[1:-1]
    col = np.clip(np.rint(inner[None, :] + slope_px * t[:, None]), 0, width - 1).astype(int)
    return np.take_along_axis(front, col, 1).mean(1).astype(float)


def longest_run(present: NDArray[np.bool_], bridge: int) -> tuple[int, int]:
    """First and last+1 band of the longest run, gaps of at most `bridge` bands closed; (0, 0) if none."""
    on = np.flatnonzero(present)
    if not len(on):
        return 0, 0
    breaks = np.flatnonzero(np.diff(on) > bridge + 1)
    starts = np.concatenate([[on[0]], on[breaks + 1]])
    ends = np.concatenate([on[breaks], [on[-1]]]) + 1
    k = int(np.argmax(ends - starts))
    return int(starts[k]), int(ends[k])


def measure_extent(
    front: NDArray[np.float32], seen: NDArray[np.bool_], stretch: Stretch, height_px: float
) -> Upright:
    """Vertical reach of one stretch from the banded share of front face `front` (B, W)."""
    bands = len(front)
    p = presence(front, stretch.left, stretch.right, stretch.slope * height_px)
    centre = int(np.clip(round(stretch.centre), 0, seen.shape[1] - 1))
    visible_here = seen[:, centre]
    on = (p > PRESENT) & visible_here
    a, b = longest_run(on, round(BRIDGED_GAP * bands))
    if b == a:
        return Upright(stretch, 0.0, 1.0, 0.0, True, True)
    share = float(on[a:b].mean())
    # Bands that the photo does not show cannot speak against the member.
    first_seen = int(np.argmax(visible_here)) if visible_here.any() else 0
    last_seen = bands - int(np.argmax(visible_here[::-1])) if visible_here.any() else bands
    top = 0.0 if a <= first_seen + REACHES * bands else a / bands
    bottom = 1.0 if b >= last_seen - REACHES * bands else b / bands
    full = top == 0.0 and bottom == 1.0
    hidden = False
    if not full:
        # Clutter stands on the floor: a member that comes down from the top plate past mid-height
        # and is lost there is taken as full, with doubt. One that stops short of the top is not.
        hidden = top == 0.0 and bottom > 0.55
        full = hidden
    return Upright(stretch, top, bottom, share, full, hidden)


def reach_by_columns(ups: list[Upright], judged: ColumnShares) -> list[Upright]:
    """Take as full-height what the column network says is, and drop what it says is no member.

    One that the pixels show only in part is full with doubt (`hidden_end`).
    """
    out = []
    for u in ups:
        full, short = judged.over(u.stretch.left, u.stretch.right)
        if full >= JUDGED_FULL:
            out.append(replace(u, top=0.0, bottom=1.0, full=True, hidden_end=u.hidden_end or not u.full))
        elif full + short >= JUDGED_NONE:
            out.append(u)
    return out


def split_plies(
    front: NDArray[np.float32], seen: NDArray[np.bool_], up: Upright, height_px: float
) -> list[Upright]:
    """Part a group whose plies differ in height: a king and its trimmer, a cripple beside a stud."""
    s = up.stretch
    if s.plies < 2:
        return [up]
    step = s.width / s.plies
    parts = []
    for k in range(s.plies):
        one = Stretch(
            s.left + k * step,
            s.left + (k + 1) * step,
            1,
            s.front,
            s.edge_left if k == 0 else 0.3,
            s.edge_right if k == s.plies - 1 else 0.3,
            s.score / s.plies,
            s.slope,
        )
        parts.append(measure_extent(front, seen, one, height_px))
    same = all(abs(p.top - parts[0].top) < 0.05 and abs(p.bottom - parts[0].bottom) < 0.05 for p in parts)
    return [up] if same else parts


def ends_across(across: NDArray[np.float32], up: Upright, face_px: float) -> tuple[bool, bool]:
    """Whether something across (header, sill, beam) is seen just above and just below a member.

    `across` (B, W) is the banded share of what runs across. A plate counts: an end at 0 or 1 is one.
    """
    bands, width = across.shape
    a = int(np.clip(np.floor(up.stretch.left - 0.4 * face_px), 0, width - 1))
    b = int(np.clip(np.ceil(up.stretch.right + 0.4 * face_px), a + 1, width))
    share = across[:, a:b].mean(1)

    def met(band: float) -> bool:
        lo, hi = round(band - END_REACH * bands), round(band + END_REACH * bands)
        part = share[max(0, lo) : max(1, hi)]
        return bool(part.size and part.max() > MEETS_ACROSS)

    return up.top == 0.0 or met(up.top * bands), up.bottom == 1.0 or met(up.bottom * bands)


def settle_partials(
    ups: list[Upright],
    across: NDArray[np.float32],
    face_px: float,
    ends: tuple[float, float] = (-np.inf, np.inf),
) -> list[Upright]:
    """Keep the partial members that can be: drop leaning boards, rails, second rows; complete hidden ones.

    A cripple or trimmer runs from a plate to a header, or from a sill to a plate. What hangs from the
    top plate in plain sight and is lost halfway down is a member behind clutter, taken as full with
    doubt; where this wall ends (`ends`, columns), less of it is asked, since a member stands there anyway.
    What rises in plain sight nearly to the top plate is a member too, with doubt. Anything else that begins
    at no plate or ends in the open is no member.
    """
    reach = HANGS_NEAR_END * face_px
    out = []
    for u in ups:
        if u.full:
            out.append(u)
            continue
        above, below = ends_across(across, u, face_px)
        least = HANGS_SCORE if u.bottom >= HANGS_HALFWAY else HANGS_SHORT_SCORE
        if min(abs(u.stretch.left - ends[0]), abs(u.stretch.right - ends[1])) < reach:
            least = HANGS_END_SCORE
        if above and below and (u.top == 0.0 or u.bottom == 1.0):
            out.append(u)
        elif u.top == 0.0 and u.stretch.score > least:
            out.append(replace(u, bottom=1.0, visible=u.visible * u.bottom, full=True, hidden_end=True))
        elif u.bottom == 1.0 and u.top <= NEARLY_UP and _plain(u.stretch):
            out.append(replace(u, top=0.0, visible=u.visible * (1 - u.top), full=True, hidden_end=True))
    return out


def _plain(s: Stretch) -> bool:
    return s.score > NEARLY_SCORE and min(s.edge_left, s.edge_right) > NEARLY_EDGES


def complete_on_layout(ups: list[Upright], pitch_px: float) -> list[Upright]:
    """Take as full, with doubt, what rises from the bottom plate on the layout of the others.

    Under a sheet the upper end of many members is lost at once; a single short one is more likely a
    leaning board.
    """
    rising = [u for u in ups if not u.full and u.bottom == 1.0 and u.top <= RISES_TO and u.visible > 0.8]
    on = []
    for u in rising:
        others = [q.stretch.centre for q in ups if q is not u and (q.full or q in rising)]
        bays = np.abs(np.array(others) - u.stretch.centre) / pitch_px
        off = np.abs(bays - np.rint(bays))
        if np.sum((off < OFF_LAYOUT) & (bays > 0.5)) >= max(3, ON_LAYOUT_SHARE * len(others)):
            on.append(u)
    if len(on) < 2:
        return ups
    return [
        replace(u, top=0.0, visible=u.visible * (1 - u.top), full=True, hidden_end=True) if u in on else u
        for u in ups
    ]


def join_hidden(
    ups: list[Upright], face_px: float, across: NDArray[np.float32] | None = None
) -> list[Upright]:
    """One member of two parts in one line, one from the top plate, one to the bottom: hidden between.

    Where the parts end at something across (a header above, a sill below), they are cripples.
    """
    out: list[Upright] = []
    for u in ups:
        for i, q in enumerate(out):
            upper, lower = (q, u) if q.top < u.top else (u, q)
            in_line = abs(q.stretch.centre - u.stretch.centre) < 0.35 * face_px
            hidden = 0 < lower.top - upper.bottom < HIDDEN_BETWEEN
            if in_line and hidden and upper.top == 0.0 and lower.bottom == 1.0:
                if across is not None and (
                    ends_across(across, upper, face_px)[1] and ends_across(across, lower, face_px)[0]
                ):
                    continue
                seen = upper.visible * (upper.bottom - upper.top) + lower.visible * (lower.bottom - lower.top)
                best = max((q, u), key=lambda p: p.bottom - p.top)
                out[i] = Upright(best.stretch, 0.0, 1.0, seen, True, True)
                break
        else:
            out.append(u)
    return out


def drop_side_faces(ups: list[Upright], foot: float, cues: PlyCues, face_px: float) -> list[Upright]:
    """Drop broken stretches where only a neighbour's side face can be.

    A member in full view hides its neighbour's side face and reaches both plates. One that does not,
    standing apart from a full-height neighbour yet where that one must show its side, is that side.
    """
    full = [u for u in ups if u.full and not u.hidden_end]
    out = []
    for u in ups:
        whole = u.full and not u.hidden_end
        at = u.stretch.centre
        inside = False
        for q in full:
            s = q.stretch
            if q is u or (s.centre - foot) * (at - foot) < 0:
                continue
            near = s.left - foot if s.centre > foot else foot - s.right
            shows = max(0.0, near) * cues.depth_px / (cues.distance_px + cues.depth_px)
            gap = s.left - u.stretch.right if s.centre > foot else u.stretch.left - s.right
            inside = inside or (-0.3 * face_px < gap < 0.8 * shows and gap > 0.12 * face_px)
        if whole or not inside:
            out.append(u)
    return out


def drop_beyond_ends(ups: list[Upright], left: float, right: float, face_px: float) -> list[Upright]:
    """Drop what stands outside the plates' ends when a member already ends the wall there."""
    full = [u for u in ups if u.full]
    near = 0.8 * face_px
    first = [u.stretch.left for u in full if abs(u.stretch.left - left) < near]
    last = [u.stretch.right for u in full if abs(u.stretch.right - right) < near]
    low = min(min(first), left) if first else -np.inf
    high = max(max(last), right) if last else np.inf
    return [u for u in ups if low <= u.stretch.centre <= high]


def merge_touching(ups: list[Upright], face_px: float) -> list[Upright]:
    """Count members of one height that stand side by side and touch as one group of plies."""
    out: list[Upright] = []
    for u in ups:
        if out:
            q = out[-1]
            gap = u.stretch.left - q.stretch.right
            alike = q.full == u.full and abs(q.top - u.top) < 0.08 and abs(q.bottom - u.bottom) < 0.08
            if gap < 0.17 * face_px and alike:
                a, b = q.stretch, u.stretch
                wide = a.width + b.width
                joined = Stretch(
                    a.left,
                    b.right,
                    a.plies + b.plies,
                    (a.front * a.width + b.front * b.width) / wide,
                    a.edge_left,
                    b.edge_right,
                    a.score + b.score,
                    0.5 * (a.slope + b.slope),
                )
                out[-1] = Upright(
                    joined,
                    min(q.top, u.top),
                    max(q.bottom, u.bottom),
                    min(q.visible, u.visible),
                    q.full,
                    q.hidden_end or u.hidden_end,
                )
                continue
        out.append(u)
    return out
