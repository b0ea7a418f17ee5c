"""Members bowed along the wall: how far the middle lies off the straight line between the ends.

A stud that bends flatwise (bow, in lumber grading's words: PS 20) moves its front face along the wall and
curves both its edges in a straight-on photo. A bend towards the room (crook, edgewise) moves the face
along the line of sight and can hardly be seen in one photo: nothing is said of it; a straightedge held
across the studs tells it.

What is left of the lens's distortion curves every upright line too, the more the farther it lies from the
picture's middle (radial law: Brown 1971, from memory). That share is fitted over all members of the wall
and taken out.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.curves import Curves
from vision.directions import ViewDirections
from vision.plumb import PLACE_DOUBTS
from vision.reading import Member, Warning
from vision.rectify import to_rect
from vision.survey import Survey

MOST_BOWED_IN = 0.25
# The figures below were tuned on the tuning scenes, as they are and with studs bent by 0.2 to 0.8 in.
# A bow over 1/4 in is spoken of only when it is more than 1/8 in by 2.5 sigma.
SURELY_MORE_IN, SIGMAS = 0.125, 2.5
# Each edge seen over this share of the height, both together over this, one of them over this much of each
# third of it, and the two bowed alike within this.
EDGE_SHARE, BOTH_SHARE, THIRD_SHARE, EDGES_ALIKE_IN = 0.4, 0.65, 0.3, 0.2
# Sigmas of the distortion left over in r^2 and r^4, and how much usual lumber bows by itself.
K1_LEFT, K2_LEFT, USUAL_BOW_IN = 0.006, 0.02, 0.08
# What the fit's own sigma leaves out: inches on lumber, and pixels in a small picture.
FLOOR_SIGMA_IN, FLOOR_SIGMA_PX = 0.02, 0.3
# A bow is spoken of in spite of doubts about the member's place, or about its edges where straight lines
# were fitted to them; not where it may be no stud, or the scale a wrong one.
OTHER_DOUBTS = PLACE_DOUBTS | {"edges_unclear", "odd_width", "leans", "ply_unclear"}
# Of the bow, how far the middle lies from the straight line: fitted on 1,208 studs of tuning scenes and 971
# of another generator's pictures (0.15, 0.24), whose places lie 1 and 6 % nearer by it.
MIDDLE_SHARE = 0.2
# A face too wide or narrow between straight lines must be a usual one, within this share, between the curves.
USUAL_WIDTH = 0.12


@dataclass(frozen=True)
class Bows:
    """The bow of every member of a survey.

    Attributes
    ----------
    bow_in : (N,) array
        How far the middle lies to the right of the straight line between the member's ends, inches.
    sigma_in : (N,) array
        One standard deviation of its error.
    known : (N,) bool array
        Whether it is measured well enough to speak of it.
    usual : (N,) bool array
        Whether the face between the curves is as wide as the wall's others.
    """

    bow_in: NDArray[np.float64]
    sigma_in: NDArray[np.float64]
    known: NDArray[np.bool_]
    usual: NDArray[np.bool_]


def measure_bows(curves: Curves, view: ViewDirections, survey: Survey, inches_per_unit: float) -> Bows:
    """The bow of each full-height member from both its edges as they were traced in the photo.

    Parameters
    ----------
    curves : Curves
        Of the survey's members (`trace_members`).
    view : ViewDirections
    survey : Survey
    inches_per_unit : float
        Inches per rectified unit.
    """
    members = survey.members
    height = np.array([m.y_bottom - m.y_top for m in members])
    centre = np.array([m.x_centre for m in members])
    width = survey.face * np.array([m.upright.stretch.plies for m in members])
    bow_in = curves.bow * inches_per_unit
    floor_in = np.hypot(FLOOR_SIGMA_IN, FLOOR_SIGMA_PX * inches_per_unit / view.focal_px)
    sigma_in = np.hypot(curves.sigma * inches_per_unit, floor_in)
    known = (
        np.array([m.upright.full and not m.upright.implied for m in members], bool)
        & (curves.share.min(1) > EDGE_SHARE)
        & (curves.share.mean(1) > BOTH_SHARE)
        & (curves.thinnest.max(1) > THIRD_SHARE)
        & (curves.apart * inches_per_unit < EDGES_ALIKE_IN)
    )
    middle = float(to_rect(view, np.array([view.principal_px]))[0, 0])
    gain_in = 0.25 * height**2 * inches_per_unit
    shared_in, shared_sigma_in = shared_bow(centre - middle, gain_in, bow_in, sigma_in, known)
    bow_in = bow_in - shared_in
    sigma_in = np.hypot(sigma_in, shared_sigma_in)
    plain = np.abs(bow_in) - SIGMAS * sigma_in > SURELY_MORE_IN
    return Bows(
        bow_in,
        sigma_in,
        known & (plain | (np.abs(bow_in) <= MOST_BOWED_IN)),
        np.abs(curves.wider) < USUAL_WIDTH * width,
    )


def shared_bow(
    x: NDArray[np.float64],
    gain_in: NDArray[np.float64],
    bow_in: NDArray[np.float64],
    sigma_in: NDArray[np.float64],
    known: NDArray[np.bool_],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The bow that leftover distortion gives each member, and its sigma, inches.

    A point at distance r from the middle is moved by a factor 1 + d1 r^2 + d2 r^4, so that an upright line
    at X gets -(d1 X + 2 d2 X^3) times a quarter of its squared height as bow. d1 and d2 come out of a
    reweighted least-squares fit with Cauchy weights, so that a stud really bowed pulls little.

    Parameters
    ----------
    x : (N,) array
        Distance from the picture's middle, rectified units.
    gain_in : (N,) array
        A quarter of the squared height, rectified units, times inches per unit.
    bow_in, sigma_in, known : (N,) arrays
    """
    law = -np.column_stack([x, 2 * x**3]) * gain_in[:, None]
    prior = np.diag([K1_LEFT**-2, K2_LEFT**-2])
    spread = np.hypot(sigma_in, USUAL_BOW_IN)
    terms, cover = np.zeros(2), np.linalg.inv(prior)
    for _ in range(12):
        weight = known / spread**2 / (1 + ((bow_in - law @ terms) / spread) ** 2)
        cover = np.linalg.inv((law * weight[:, None]).T @ law + prior)
        terms = cover @ (law * weight[:, None]).T @ bow_in
    return law @ terms, np.sqrt(np.einsum("ni,ij,nj->n", law, cover, law))


def with_bows(members: list[Member], bows: Bows, ends: Collection[int | None] = ()) -> list[Member]:
    """The members with their bow, 0 where it is not known, and with its doubt where a board would follow it.

    A place is that at mid-height: a third of the bow from the straight line that the edges were fitted by
    (a parabola's mean), and less of it since the bow is not measured exactly (MIDDLE_SHARE). The members that
    end the wall, `ends`, stay: their straight lines are what its length is measured between.
    A seam is a straight line, and a parabola of bow b strays from its own middle by b / sqrt(5) (root mean
    square over the height, or over the half of it that one row of boards covers). That is added, in
    squares, to the sigma of a member that is pointed out; smaller bows are part of what every sigma holds
    already.
    """
    unusual = np.array(["odd_width" in m.doubts for m in members], bool)
    told = np.where(bows.known & (bows.usual | ~unusual), bows.bow_in, 0.0)
    out = []
    for i, (m, bow) in enumerate(zip(members, told.tolist(), strict=True)):
        strays = abs(bow) / 5**0.5 if abs(bow) > MOST_BOWED_IN else 0.0
        middle = 0.0 if i in ends else MIDDLE_SHARE * bow
        sigma = float(np.hypot(m.sigma_in, strays))
        out.append(replace(m, centre_in=m.centre_in + middle, bow_in=bow, sigma_in=sigma))
    return out


def speaks_of(m: Member) -> bool:
    """Whether a member is pointed out as bowed."""
    return abs(m.bow_in) > MOST_BOWED_IN and OTHER_DOUBTS.issuperset(m.doubts)


def bow_warnings(members: list[Member]) -> list[Warning]:
    """One sentence for each member bowed more than a quarter inch along the wall.

    The remedies are common practice, no source.
    """
    out = []
    for m in members:
        if speaks_of(m):
            side = "right" if m.bow_in > 0 else "left"
            out.append(
                Warning(
                    "bowed",
                    f"The stud at {m.centre_in:.0f} in is bowed {abs(m.bow_in):.1f} in along the wall, "
                    f"its middle to the {side}.",
                    "A seam is straight and would run off its face: keep seams off it, push it straight with "
                    "a block to the next stud, or fix a straight stud beside it. Take no stud out of a wall "
                    "that may carry load.",
                )
            )
    return out
