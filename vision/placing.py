"""Wall inches and their standard deviations for surveyed members: first-order error propagation.

Every position is a function of the view (yaw, distortion, focal length), of the reference (its marks
or the layout's own scatter) and of the member's own edges. Each is moved by one standard deviation in
turn, all positions are computed anew, and the changes are added in squares (GUM, JCGM 100:2008, §5.1.2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.reading import Reference
from vision.scale import ASSUMED_SPACINGS_IN, Scale
from vision.survey import Survey
from vision.under_view import by_the_view, in_photo
from vision.viewing import Viewed
from vision.wall_ends import end_sigma_in
from vision.wall_plane import WallPlane

# What the fit's own formal sigma leaves out: eased edges, side light, members proud or shy of the
# plane (feasibility study, §3.13 and §8). Inches.
FLOOR_SIGMA_IN = 0.026
# Of a member's own formal sigma: 2,609 places on tuning scenes and another generator's pictures, each part's
# share fitted by non-negative least squares (squared errors against parts); all but the scale's are 0.85 of
# that, since at 3,872 places the errors in sigmas had a root mean square of 0.77 with a tape and 0.85 by the
# spacing (0.85 and 0.94 with it).
OWN_SIGMA_SHARE = 0.65
# End members stand beside the next wall, and are placed worse by this much (tuning scenes).
END_SIGMA_IN = 0.03
BARE_END_IN, BARE_END_SHARE = 4.0, 0.2
UNSEEN_END_SIGMA_IN = 0.75  # an end where no member was found: the plates' own
PLATE_EDGE_SIGMA_IN = 0.35  # of a height whose plates are not settled, by judgement


@dataclass(frozen=True)
class Placed:
    """Positions in wall inches.

    Attributes
    ----------
    centre_in, sigma_in, face_in : (N,) arrays
    lean_in : (N,) array
        Of the straight lines fitted to the edges; `plumb.py` measures it better.
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
    assumed_in: tuple[float, ...] = ASSUMED_SPACINGS_IN,
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
    assumed_in : tuple of float
        Spacings to choose from where there is no reference, inches.
    """
    seen = in_photo(survey, viewed, reference, face_in, by_face, (origin_index, end_index), assumed_in)
    base = seen.under(viewed.view)
    if base is None:
        return None
    centre, lengths, scale = base.centre_in, base.lengths_in, base.scale
    s = scale.inches_per_unit
    var, var_lengths = by_the_view(seen, base)
    var += (centre * scale.relative_sigma) ** 2
    own = OWN_SIGMA_SHARE * np.array([m.sigma for m in survey.members]) * s
    if origin_sigma_in is None:
        origin_sigma_in = left_end_sigma_in(survey, origin_index, s)
    at_origin = np.arange(len(centre)) == origin_index
    var += own**2 + FLOOR_SIGMA_IN**2 + np.where(at_origin, 0, origin_sigma_in**2)
    end_sigma = right_end_sigma_in(survey, end_index, s)
    length_sigma = np.sqrt(
        var_lengths[0] + (lengths[0] * scale.relative_sigma) ** 2 + origin_sigma_in**2 + end_sigma**2
    )
    plates_in = PLATE_EDGE_SIGMA_IN if survey.height_sigma is None else survey.height_sigma * s
    height_sigma = np.sqrt(var_lengths[1] + (lengths[1] * scale.relative_sigma) ** 2 + plates_in**2)

    region, eased = survey.region, seen.eased(s)
    x0 = region.left
    if origin_index is not None:
        out_in = 0.5 * face_in * seen.plies[origin_index]
        x0 = survey.members[origin_index].x_centre - out_in / (s * eased)
    view = viewed.view
    to_inches = np.array([[s * eased, 0, -s * eased * x0], [0, -s, s * region.bottom], [0, 0, 1.0]])
    h = to_inches @ view.rotation
    plane = WallPlane(
        view.focal_px,
        view.principal_px,
        view.k1,
        0.0,
        tuple((float(r[0]), float(r[1]), float(r[2])) for r in h),
    )
    return Placed(
        centre,
        np.sqrt(var),
        np.array([m.width_seen for m in survey.members]) * s * eased,
        np.array([-m.slope * region.height * s for m in survey.members]),
        np.array([(region.bottom - m.y_bottom) * s for m in survey.members]),
        np.array([(region.bottom - m.y_top) * s for m in survey.members]),
        float(lengths[0]),
        float(length_sigma),
        float(lengths[1]),
        float(height_sigma),
        plane,
        scale,
        float(x0),
    )
