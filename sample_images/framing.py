"""Draws a framed wall: where each member stands and how crooked it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from .wall_plan import Bar, Box, Member, Opening, WallPlan


@dataclass(frozen=True)
class WallStyle:
    """What is asked of :func:`draw_wall`; lengths in inches.

    ``bowed`` sets the bow of some full-height members: (which one from the left, beginning at 0; inches).
    It draws nothing, so the rest of the wall is the same with it and without.
    """

    length_in: float
    height_in: float
    spacing_in: float = 16.0
    layout_from: str = "left"
    material: str = "wood"
    ply_face_in: float = 1.5
    depth_in: float = 3.5
    double_top: bool = False
    jitter_in: float = 0.1
    crooked: float = 1.0
    features: tuple[str, ...] = ()
    bowed: tuple[tuple[int, float], ...] = ()


def draw_wall(rng: np.random.Generator, style: WallStyle) -> WallPlan:
    """Lay out the members as a framer would, then make them real lumber."""
    face, features = style.ply_face_in, set(style.features)
    plate = 1.5 if style.material == "wood" else 1.25
    if style.ply_face_in < 1.5 and style.material == "wood":
        plate = style.ply_face_in
    bottom, top = plate, style.height_in - plate * (2 if style.double_top else 1)
    openings, framed = _openings(rng, style, bottom, top)
    members = list(framed[0])
    bars = _plates(style, plate, openings)
    bars += framed[1]
    members += _ends(rng, style, bottom, top)
    members = _commons(rng, style, members, openings, bottom, top)
    members = [_as_lumber(rng, m, style) for m in members]
    members.sort(key=lambda m: m.centre_in)
    full = [i for i, m in enumerate(members) if m.full_height]
    for which, bow_in in style.bowed:
        if which < len(full):
            members[full[which]] = replace(members[full[which]], bow_in=bow_in)
    if "blocking" in features:
        bars += _blocking(rng, style, members, bottom, top)
    if "brace" in features:
        bars.append(_brace(rng, style))
    bars += _spacers(rng, style, bottom, top)
    boxes = _boxes(rng, style, members) if "boxes" in features else ()
    return WallPlan(
        style.length_in,
        style.height_in,
        style.spacing_in,
        style.layout_from,
        style.material,
        face,
        style.depth_in,
        tuple(members),
        tuple(bars),
        tuple(openings),
        boxes,
        tuple(sorted(features)),
    )


def _plates(style: WallStyle, plate: float, openings: list[Opening]) -> list[Bar]:
    height, length, depth = style.height_in, style.length_in, style.depth_in
    cuts = [(o.left_in, o.right_in) for o in openings if o.kind == "door"]
    bars, start = [], 0.0
    for left, right in sorted(cuts):
        bars.append(Bar("bottom_plate", start, left, 0.0, plate, depth_in=depth))
        start = right
    bars.append(Bar("bottom_plate", start, length, 0.0, plate, depth_in=depth))
    bars.append(Bar("top_plate", 0.0, length, height - plate, height, depth_in=depth))
    if style.double_top:
        low = height - 2 * plate
        bars.append(Bar("top_plate", 0.0, length, low, height - plate, depth_in=depth))
    return bars


def _ends(rng: np.random.Generator, style: WallStyle, bottom: float, top: float) -> list[Member]:
    face, length, depth = style.ply_face_in, style.length_in, style.depth_in
    ends = []
    for side in ("left", "right"):
        sign, at = (1.0, 0.0) if side == "left" else (-1.0, length)
        if f"corner_{side}" in style.features:
            # two studs with blocks between them: the third face the next wall nails to
            ends.append(Member("corner", at + sign * face / 2, face, bottom, top, depth_in=depth))
            ends.append(Member("corner", at + sign * face * 2.5, face, bottom, top, depth_in=depth))
        elif f"double_{side}" in style.features:
            ends.append(Member("double", at + sign * face, face, bottom, top, 2, depth_in=depth))
        else:
            ends.append(Member("end", at + sign * face / 2, face, bottom, top, depth_in=depth))
    return ends


def _openings(
    rng: np.random.Generator, style: WallStyle, bottom: float, top: float
) -> tuple[list[Opening], tuple[list[Member], list[Bar]]]:
    face, depth, length = style.ply_face_in, style.depth_in, style.length_in
    openings: list[Opening] = []
    members: list[Member] = []
    bars: list[Bar] = []
    wanted = [f for f in style.features if f in ("door", "window", "window_wide")]
    slots = np.linspace(0.0, length, len(wanted) + 1)
    for i, kind in enumerate(wanted):
        room = slots[i + 1] - slots[i] - 4 * face - 14.0
        if kind == "door":
            width = min(float(rng.choice([32.0, 34.5, 38.5])), room)
            sill, head = 0.0, min(82.5, top - 6.0)
        else:
            low, high = (30.0, 44.0) if kind == "window" else (46.0, 66.0)
            width = min(float(rng.uniform(low, high)), room)
            sill = float(rng.uniform(28.0, 42.0))
            head = min(float(rng.uniform(76.0, 82.0)), top - 6.0)
        if width < 20.0:
            continue
        spare = slots[i + 1] - slots[i] - width
        left = float(slots[i] + rng.uniform(2 * face + 5.0, spare - 2 * face - 5.0))
        right = left + width
        deep = float(rng.choice([3.5, 5.5, 7.25, 9.25]))
        header = min(deep, top - head)
        openings.append(Opening("door" if kind == "door" else "window", left, right, sill, head))
        for x, name, high_in in (
            (left - 1.5 * face, "king", top),
            (left - 0.5 * face, "trimmer", head),
            (right + 0.5 * face, "trimmer", head),
            (right + 1.5 * face, "king", top),
        ):
            members.append(Member(name, x, face, bottom, high_in, depth_in=depth))
        bars.append(Bar("header", left - face, right + face, head, head + header, 0.0, depth))
        over, under = (head + header, top), (bottom, sill - face)
        spots = _layout(style, left + face, right - face)
        if over[1] - over[0] > 2.0:
            ends = [left - 0.5 * face, right + 0.5 * face]
            for x in ends + spots:
                members.append(Member("cripple", x, face, over[0], over[1], depth_in=depth))
        if kind != "door":
            bars.append(Bar("sill", left, right, sill - face, sill, 0.0, depth))
            for x in [left + face / 2, right - face / 2] + [
                s for s in spots if left + 2 * face < s < right - 2 * face
            ]:
                members.append(Member("cripple", x, face, under[0], under[1], depth_in=depth))
    return openings, (members, bars)


def _layout(style: WallStyle, low: float, high: float) -> list[float]:
    """Layout marks (stud centres) between ``low`` and ``high``."""
    steps = np.arange(1, int(style.length_in / style.spacing_in) + 1) * style.spacing_in
    marks = steps if style.layout_from == "left" else style.length_in - steps
    return sorted(float(x) for x in marks if low <= x <= high)


def _commons(
    rng: np.random.Generator,
    style: WallStyle,
    members: list[Member],
    openings: list[Opening],
    bottom: float,
    top: float,
) -> list[Member]:
    face, depth = style.ply_face_in, style.depth_in
    out = list(members)
    spots = _layout(style, 2 * face, style.length_in - 2 * face)
    if "missing" in style.features and len(spots) > 4:
        spots.pop(int(rng.integers(1, len(spots) - 1)))
    displaced = int(rng.integers(0, len(spots))) if "displaced" in style.features else -1
    many = [i for i in range(len(spots)) if "doubles" in style.features and rng.random() < 0.25]
    if "doubles" in style.features and not many and spots:
        many = [int(rng.integers(0, len(spots)))]
    for i, spot in enumerate(spots):
        x = spot + float(rng.normal(0.0, style.jitter_in))
        if i == displaced:
            x += float(rng.choice([-1, 1]) * rng.uniform(0.8, 4.0))
        plies = 1
        if i in many:
            plies = 3 if rng.random() < 0.25 else 2
        kind = {1: "common", 2: "double", 3: "triple"}[plies]
        if any(o.left_in - 2 * face < x < o.right_in + 2 * face for o in openings):
            continue
        member = Member(kind, x, face, bottom, top, plies, depth_in=depth)
        if _clear(member, out):
            out.append(member)
    return out


def _clear(member: Member, others: list[Member], gap_in: float = 0.75) -> bool:
    return all(
        abs(member.centre_in - o.centre_in) >= (member.face_in + o.face_in) / 2 + gap_in
        for o in others
        if o.top_in > member.bottom_in and o.bottom_in < member.top_in
    )


def _as_lumber(rng: np.random.Generator, member: Member, style: WallStyle) -> Member:
    """Give it lean, bow, crook, and a front face a little off the plane."""
    share = (member.top_in - member.bottom_in) / 96.0
    c = style.crooked * (0.4 if style.material == "steel" else 1.0)
    tied = member.kind in ("king", "trimmer", "end", "corner", "double", "cripple")
    lean = float(rng.normal(0.0, 0.05 if tied else 0.14)) * c * share
    if not tied and rng.random() < 0.06 * c:
        lean += float(rng.choice([-1, 1]) * rng.uniform(0.3, 0.7))
    sway = 0.02 if member.kind in ("king", "trimmer", "corner") else 0.06
    return replace(
        member,
        lean_in=lean,
        bow_in=float(np.clip(rng.normal(0.0, sway), -0.2, 0.2)) * c * share,
        crook_in=float(np.clip(rng.normal(0.0, 0.06), -0.2, 0.2)) * c * share,
        proud_in=float(np.clip(rng.normal(0.0, 0.04), -0.125, 0.125)) * min(c, 1.0),
    )


def _spacers(rng: np.random.Generator, style: WallStyle, bottom: float, top: float) -> list[Bar]:
    """Short blocks between the two studs of a three-stud corner."""
    face, bars = style.ply_face_in, []
    for side, at in (("left", face), ("right", style.length_in - 2 * face)):
        if f"corner_{side}" in style.features:
            for y in np.linspace(bottom + 2.0, top - 14.0, 3):
                front = -float(rng.uniform(0.02, 0.3))
                bars.append(Bar("spacer", at, at + face, y, y + 12.0, front, style.depth_in - 0.3))
    return bars


def _blocking(
    rng: np.random.Generator, style: WallStyle, members: list[Member], bottom: float, top: float
) -> list[Bar]:
    full = [m for m in members if m.full_height]
    level = float(rng.choice([0.5 * style.height_in, 48.0, rng.uniform(30.0, 70.0)]))
    staggered = rng.random() < 0.6
    share = rng.uniform(0.5, 1.0)
    bars = []
    for i, (a, b) in enumerate(pairwise(full)):
        left = float(a.centre_at(level)) + a.face_in / 2
        right = float(b.centre_at(level)) - b.face_in / 2
        between = [m for m in members if not m.full_height and left < m.centre_in < right]
        if right - left < 4.0 or right - left > 30.0 or between or rng.random() > share:
            continue
        y = level + (1.6 * (i % 2) if staggered else 0.0) + float(rng.normal(0.0, 0.1))
        y = min(max(y, bottom + 8.0), top - 8.0)
        front = float(np.clip(rng.normal(-0.03, 0.05), -0.125, 0.06))
        bars.append(Bar("block", left, right, y, y + 1.5, front, style.depth_in))
    return bars


def _brace(rng: np.random.Generator, style: WallStyle) -> Bar:
    reach = min(style.length_in * float(rng.uniform(0.45, 0.8)), style.height_in * 1.2)
    left = float(rng.uniform(0.0, style.length_in - reach))
    rise = (style.height_in - 3.5) * float(rng.choice([-1, 1]))
    low = 0.5 if rise > 0 else style.height_in - 4.0
    # a 1x4 let into the studs: its face is flush with theirs
    return Bar("brace", left, left + reach, low, low + 3.5, 0.02, 0.75, rise)


def _boxes(rng: np.random.Generator, style: WallStyle, members: list[Member]) -> tuple[Box, ...]:
    full = [m for m in members if m.full_height and m.kind != "corner"]
    boxes = []
    for m in full[1:-1]:
        if rng.random() > 0.3:
            continue
        right = rng.random() < 0.5
        y = float(rng.choice([12.0, 16.0, 44.0, 46.0]) + rng.normal(0.0, 0.3))
        x = m.centre_in + (m.face_in / 2 if right else -m.face_in / 2 - 2.25)
        clear = [o for o in members if o is not m and o.bottom_in < y + 4 and o.top_in > y]
        if any(x - o.face_in / 2 - 0.2 < o.centre_in < x + 2.45 + o.face_in / 2 for o in clear):
            continue
        if not 2.0 < x < style.length_in - 5.0:
            continue
        boxes.append(Box(x, x + 2.25, y, y + 3.75, float(rng.choice([0.25, 0.5, 0.625]))))
    return tuple(boxes)
