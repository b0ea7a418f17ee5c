"""Wall inches and their standard deviations for surveyed members: first-order error propagation.

Every position is a function of the view (yaw, distortion, focal length), of the reference (its marks
or the layout's own scatter) and of the member's own edges. Each is moved by one standard deviation in
turn, all positions are computed anew, and the changes are added in squares (GUM, JCGM 100:2008, §5.1.2).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.directions import ViewDirections
from vision.reading import Reference
from vision.rectify import to_photo, to_rect
from vision.scale import (
    ASSUMED_SPACINGS_IN,
    Scale,
    scale_from_face,
    scale_from_marks,
    scale_from_spacing,
    with_layout,
)
from vision.survey import Survey
from vision.viewing import Viewed
from vision.wall_ends import end_sigma_in
from vision.wall_plane import WallPlane

# What the fit's own formal sigma leaves out: eased edges, side light, members proud or shy of the
# plane (feasibility study, §3.13 and §8). Inches.
FLOOR_SIGMA_IN = 0.03
# Of a member's own formal sigma, and of the focal length's: 1,244 places on tuning scenes, each part's share
# fitted by non-negative least squares (squared errors against parts), rounded to the cautious side.
OWN_SIGMA_SHARE = 0.7
FOCAL_SIGMA, GUESSED_FOCAL_SIGMA = 0.01, 0.04
# End members stand beside the next wall, and are placed worse by this much (tuning scenes).
END_SIGMA_IN = 0.03
MARK_SIGMA_PX = 0.7  # a mark snapped or carefully placed, px of a 1600 px copy
K1_SIGMA = 0.0015
YAW_SIGMA_FLOOR_DEG = 0.03
# The fit counts each traced point with a full pixel's error (they err together): on 201 tuning scenes 68 % of
# the directions found were within 0.82 of the formal sigma, 95 % within 2.2.
YAW_SIGMA_SHARE = 0.82
END_MARK_WEIGHT = 0.7  # one end of the two begins the layout
BARE_END_IN, BARE_END_SHARE = 4.0, 0.2
UNSEEN_END_SIGMA_IN = 0.75  # an end where no member was found: the plates' own
EASED_EDGE_IN = 0.08  # silhouettes lie this far behind the front plane (feasibility study, §6)


@dataclass(frozen=True)
class Placed:
    """Positions in wall inches.

    Attributes
    ----------
    centre_in, sigma_in, face_in, lean_in : (N,) arrays
    bottom_in, top_in : (N,) arrays
    length_in, length_sigma_in, height_in, height_sigma_in : float
    plane : WallPlane
    scale : Scale
    origin : float
        Rectified X of the wall's left end.
    """

    centre_in: NDArray[np.float64]
    sigma_in: NDArray[np.float64]
    face_in: NDArray[np.float64]
    lean_in: NDArray[np.float64]
    bottom_in: NDArray[np.float64]
    top_in: NDArray[np.float64]
    length_in: float
    length_sigma_in: float
    height_in: float
    height_sigma_in: float
    plane: WallPlane
    scale: Scale
    origin: float


def scale_of(
    reference: Reference | None,
    view: ViewDirections,
    centres: NDArray[np.float64],
    weights: NDArray[np.float64],
    face_units: float | None,
    face_in: float,
    copy_scale: float,
    by_face: bool = False,
) -> Scale | None:
    """The scale a reference gives under a view; None when it gives none (too few studs on a layout)."""
    if reference is not None and reference.kind == "tape":
        assert reference.from_px is not None
        assert reference.to_px is not None
        marks = to_rect(view, np.array([reference.from_px, reference.to_px]))
        return scale_from_marks(
            marks[0],
            marks[1],
            reference.length_in,
            reference.sigma_in,
            MARK_SIGMA_PX / (view.focal_px * copy_scale),
            reference.stands_proud_in,
        )
    if by_face and face_units is not None:
        return scale_from_face(face_units, face_in)
    spacings = ASSUMED_SPACINGS_IN if reference is None else (reference.length_in,)
    return scale_from_spacing(centres, spacings, face_units, face_in, weights)


def turned(view: ViewDirections, yaw_deg: float, d_k1: float, log_f: float) -> ViewDirections:
    """The view turned about the plumb line, with another distortion and focal length."""
    axis = view.rotation[1] * np.radians(yaw_deg)
    turn = np.asarray(cv2.Rodrigues(axis.reshape(3, 1))[0])
    return ViewDirections(
        view.rotation @ turn,
        view.focal_px * float(np.exp(log_f)),
        view.k1 + d_k1,
        view.principal_px,
        view.vertical_votes,
        view.horizontal_votes,
    )


def layout_marks(
    left: NDArray[np.float64],
    right: NDArray[np.float64],
    singles: NDArray[np.bool_],
    weights: NDArray[np.float64],
    origin_index: int | None,
    end_index: int | None,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Positions that may stand on the layout, left to right, and how well each is seen.

    Studs are set with their middles on marks measured from one end of the wall (common practice, no
    source): the middles of the single members between the ends, and the outer faces of the end
    members, one of which is the mark the layout begins at. Doubled members have no weight.

    Parameters
    ----------
    left, right : (N,) arrays
        Edges of the members.
    singles : (N,) bool array
        Members of one ply.
    weights : (N,) array
    origin_index, end_index : int or None
        The members that end the wall.
    """
    at = 0.5 * (left + right)
    w = np.where(singles, weights, 0.0)
    for index, face in ((origin_index, left), (end_index, right)):
        if index is not None:
            at[index], w[index] = face[index], END_MARK_WEIGHT * weights[index]
    order = np.argsort(at)
    return at[order], w[order]


def left_end_sigma_in(survey: Survey, origin_index: int | None, inches_per_unit: float) -> float:
    """Standard deviation of the wall's left end as the photo shows it, inches."""
    if origin_index is None:
        return UNSEEN_END_SIGMA_IN
    m = survey.members[origin_index]
    sigma = float(np.hypot(m.sigma * inches_per_unit, END_SIGMA_IN)) + end_sigma_in(
        survey, origin_index, "left"
    )
    if survey.region.cut_left:
        return sigma
    # The farther the wall seems to run on past the first member, the less surely that is its end.
    bare = max(0.0, m.x_left - survey.region.left) * inches_per_unit - BARE_END_IN
    return sigma + BARE_END_SHARE * max(0.0, bare)


def right_end_sigma_in(survey: Survey, end_index: int | None, inches_per_unit: float) -> float:
    """Standard deviation of the wall's right end as the photo shows it, inches."""
    if end_index is None:
        return UNSEEN_END_SIGMA_IN
    own = survey.members[end_index].sigma * inches_per_unit
    return float(np.hypot(own, END_SIGMA_IN)) + end_sigma_in(survey, end_index, "right")


def place(
    survey: Survey,
    viewed: Viewed,
    reference: Reference | None,
    face_in: float,
    origin_index: int | None,
    end_index: int | None,
    by_face: bool = False,
    origin_sigma_in: float | None = None,
) -> Placed | None:
    """Put every member in wall inches; None when the reference gives no scale.

    Parameters
    ----------
    by_face : bool
        Fall back on the width of the faces where no layout gives a scale.
    origin_index, end_index : int or None
        The member whose outer face is the wall's left (right) end; None: the region's own side.
    origin_sigma_in : float, optional
        Standard deviation of the left end where it is known from elsewhere than the photo.
    """
    view = viewed.view
    region = survey.region
    mid = region.top + 0.5 * region.height
    xl = np.array([m.x_left for m in survey.members])
    xr = np.array([m.x_right for m in survey.members])
    n = len(xl)
    flat = np.full(n, mid)
    pts_l = to_photo(view, np.column_stack([xl, flat]))
    pts_r = to_photo(view, np.column_stack([xr, flat]))
    sides = to_photo(
        view,
        np.array(
            [
                [region.left, mid],
                [region.right, mid],
                [0.5 * (region.left + region.right), region.top],
                [0.5 * (region.left + region.right), region.bottom],
            ]
        ),
    )
    weights = np.array(
        [min(1.0, m.upright.stretch.front + 0.2) * (1.0 if m.upright.full else 0.2) for m in survey.members]
    )
    plies = np.array([m.upright.stretch.plies for m in survey.members])
    singles = plies == 1

    def compute(
        v: ViewDirections, marks_shift: float = 0.0
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], Scale] | None:
        a = to_rect(v, pts_l)
        b = to_rect(v, pts_r)
        c = 0.5 * (a[:, 0] + b[:, 0])
        # An end that the photo cuts off is only the last member seen.
        ends = (
            None if region.cut_left else origin_index,
            None if region.cut_right else end_index,
        )
        marks, mark_weights = layout_marks(a[:, 0], b[:, 0], singles, weights, *ends)
        sc = scale_of(reference, v, marks, mark_weights, survey.face, face_in, viewed.scale, by_face)
        if sc is None:
            return None
        if reference is not None and reference.kind == "tape":
            sc = with_layout(sc, marks, mark_weights, EASED_EDGE_IN)
        s = sc.inches_per_unit
        side = to_rect(v, sides)
        eased = 1.0 + EASED_EDGE_IN / s if reference is not None and reference.kind == "tape" else 1.0
        # The ends are the outer faces of the end members: from their middles, half a face out. A face's
        # two edges err in opposite ways (shading, easing), so its middle is the better measured.
        half = 0.5 * face_in / (s * eased)
        x0 = c[origin_index] - half * plies[origin_index] if origin_index is not None else side[0, 0]
        x1 = c[end_index] + half * plies[end_index] if end_index is not None else side[1, 0]
        lengths = np.array([(x1 - x0) * s * eased, (side[3, 1] - side[2, 1]) * s])
        return (c - x0) * s * eased, lengths, sc

    base = compute(view)
    if base is None:
        return None
    centre, lengths, sc = base
    s = sc.inches_per_unit
    var = np.zeros(n)
    var_len = np.zeros(2)
    yaw_sigma = max(YAW_SIGMA_FLOOR_DEG, min(YAW_SIGMA_SHARE * viewed.adjusted.yaw_sigma_deg, 1.0))
    focal_sigma = FOCAL_SIGMA if viewed.focal_known else GUESSED_FOCAL_SIGMA
    for d in ((yaw_sigma, 0.0, 0.0), (0.0, K1_SIGMA, 0.0), (0.0, 0.0, focal_sigma)):
        moved = compute(turned(view, *d))
        if moved is not None and moved[2].spacing_in == sc.spacing_in:
            change, change_len = moved[0] - centre, moved[1] - lengths
            # A layout matched to other marks under the moved view is another reading, not an error bar.
            if np.abs(change).max() < 0.1 * max(lengths[0], 1.0):
                var += change**2
                var_len += change_len**2
    var += (centre * sc.relative_sigma) ** 2
    own = OWN_SIGMA_SHARE * np.array([m.sigma for m in survey.members]) * s
    if origin_sigma_in is None:
        origin_sigma_in = left_end_sigma_in(survey, origin_index, s)
    var += own**2 + FLOOR_SIGMA_IN**2 + np.where(np.arange(n) == origin_index, 0, origin_sigma_in**2)
    end_sigma = right_end_sigma_in(survey, end_index, s)
    length_sigma = np.sqrt(
        var_len[0] + (lengths[0] * sc.relative_sigma) ** 2 + origin_sigma_in**2 + end_sigma**2
    )
    edge_in = 0.35  # a plate's outer edge against floor or ceiling, by judgement
    height_sigma = np.sqrt(var_len[1] + (lengths[1] * sc.relative_sigma) ** 2 + edge_in**2)

    eased = 1.0 + EASED_EDGE_IN / s if reference is not None and reference.kind == "tape" else 1.0
    x0 = region.left
    if origin_index is not None:
        x0 = survey.members[origin_index].x_centre - 0.5 * face_in * plies[origin_index] / (s * eased)
    to_inches = np.array([[s * eased, 0, -s * eased * x0], [0, -s, s * region.bottom], [0, 0, 1.0]])
    h = to_inches @ view.rotation
    plane = WallPlane(
        view.focal_px,
        view.principal_px,
        view.k1,
        0.0,
        tuple((float(r[0]), float(r[1]), float(r[2])) for r in h),
    )
    height_units = region.height
    return Placed(
        centre,
        np.sqrt(var),
        np.array([m.width_seen for m in survey.members]) * s * eased,
        np.array([-m.slope * height_units * s for m in survey.members]),
        np.array([(region.bottom - m.y_bottom) * s for m in survey.members]),
        np.array([(region.bottom - m.y_top) * s for m in survey.members]),
        float(lengths[0]),
        float(length_sigma),
        float(lengths[1]),
        float(height_sigma),
        plane,
        sc,
        float(x0),
    )
