"""Annotated real photos: is the stud where it is drawn? In pixels, since no scale is known."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.benchmarks.cases import RealPhoto, RealStud
from vision import Member, load_photo, read_wall

JITTER = 0.03  # of the wall's size: how roughly a user taps a corner


def column_at(member: Member, row_y: float) -> float | None:
    """Where the member's front centre line crosses a row of pixels; None beyond its ends."""
    (xb, yb), (xt, yt) = member.front_px
    if abs(yt - yb) < 1e-6:
        return None
    share = (row_y - yb) / (yt - yb)
    return xb + share * (xt - xb) if -0.05 <= share <= 1.05 else None


def count(photo: RealPhoto, members: list[Member]) -> dict[str, int]:
    """Studs found, reports that are no stud, and such reports shown as sure.

    A report stands for a stud when its centre lies on the stud's annotated face. A report on a
    partial member is neither found nor false, and several reports on one built-up group count
    once.
    """
    hit: set[int] = set()
    false = sure_false = 0
    for m in members:
        x = column_at(m, photo.row_y)
        if x is None:
            continue
        on = [i for i, s in enumerate(photo.studs) if _on(s, x, m.plies)]
        if on:
            hit |= set(on if m.plies > 1 else on[:1])
        else:
            false += 1
            sure_false += int(m.sure)
    wanted = {i for i, s in enumerate(photo.studs) if s.kind in ("full", "king", "group")}
    return {"true": len(wanted), "hit": len(hit & wanted), "false": false, "sure_false": sure_false}


def _on(stud: RealStud, x: float, plies: int) -> bool:
    slack = 2.0 + (0.5 * (stud.right_px - stud.left_px) if plies > 1 else 0.0)
    return stud.left_px - slack <= x <= stud.right_px + slack


def score_real_photos(photos: list[RealPhoto]) -> list[dict[str, Any]]:
    """Read each photo with nothing but itself and, where annotated, with roughly tapped corners."""
    out = []
    for n, photo in enumerate(photos):
        picture = load_photo(photo.path.read_bytes())
        given: list[tuple[str, Any]] = [("photo", None)]
        if photo.corners_px is not None:
            corners = np.asarray(photo.corners_px)
            size = np.ptp(corners, axis=0)
            rough = np.random.default_rng(n).uniform(-JITTER, JITTER, (4, 2)) * size / 2
            rough = np.clip(corners + rough, 0, [picture.width_px - 1, picture.height_px - 1])
            given.append(("corners", [tuple(map(float, c)) for c in rough]))
        for name, taps in given:
            reading = read_wall(picture, corners_px=taps)
            out.append(
                {
                    "photo": photo.name,
                    "view": photo.view,
                    "given": name,
                    "refused": reading.refused,
                    **count(photo, list(reading.members)),
                }
            )
    return out
