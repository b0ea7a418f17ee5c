"""Where members stand under one view or another, and what the view's own doubt makes of their places."""

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

# Of the focal length, relative; as OWN_SIGMA_SHARE in placing.py, K1_SIGMA and YAW_SIGMA_SHARE too.
FOCAL_SIGMA, GUESSED_FOCAL_SIGMA = 0.006, 0.024
MARK_SIGMA_PX = 0.7  # a mark snapped or carefully placed, px of a 1600 px copy
# A mark of which nobody says how it was set may have been set without looking closely. A layout is taken for
# what the marks mean where no other usual spacing lies within so many of their sigmas. With 0, 1, 2 px of
# noise on the tuning walls' marks 666 of 668, 592 of 595, 487 of 512 sure studs are right; where the noise is
# known 693 of 695, 615 of 619, 440 of 441 (706 of 708, 629 of 637, 551 of 640 were, without either).
ROUGH_MARK_PX = 1.2
ROUGH_SIGMAS = 2.5
K1_SIGMA = 0.0029
YAW_SIGMA_FLOOR_DEG = 0.03
# The fit counts each traced point with a full pixel's error (they err together): on 201 tuning scenes 68 % of
# the directions found were within 0.82 of the formal sigma, 95 % within 2.2. The places err by about half of
# what that would do to them, since what turns the view wrongly bends it to fit (focal length, distortion).
YAW_SIGMA_SHARE = 0.46
END_MARK_WEIGHT = 0.7  # one end of the two begins the layout
EASED_EDGE_IN = 0.08  # silhouettes lie this far behind the front plane (feasibility study, §6)


def scale_of(
    reference: Reference | None,
    view: ViewDirections,
    centres: NDArray[np.float64],
    weights: NDArray[np.float64],
    face_units: float | None,
    face_in: float,
    copy_scale: float,
    by_face: bool = False,
    assumed_in: tuple[float, ...] = ASSUMED_SPACINGS_IN,
) -> Scale | None:
    """The scale a reference gives under a view; None when it gives none (too few studs on a layout).

    Without a reference it is the one of the spacings `assumed_in` (inches) that suits the members best.
    """
    if reference is not None and reference.kind == "tape":
        assert reference.from_px is not None
        assert reference.to_px is not None
        marks = to_rect(view, np.array([reference.from_px, reference.to_px]))
        return scale_from_marks(
            marks[0],
            marks[1],
            reference.length_in,
            reference.sigma_in,
            mark_sigma_px(reference, copy_scale) / (view.focal_px * copy_scale),
            reference.stands_proud_in,
        )
    if by_face and face_units is not None:
        return scale_from_face(face_units, face_in)
    spacings = assumed_in if reference is None else (reference.length_in,)
    return scale_from_spacing(centres, spacings, face_units, face_in, weights)


def mark_sigma_px(reference: Reference, copy_scale: float, unknown_px: float = MARK_SIGMA_PX) -> float:
    """One standard deviation of a mark, px of the working copy; `unknown_px` where nobody knows it."""
    if reference.mark_sigma_px is None:
        return unknown_px
    return max(MARK_SIGMA_PX, reference.mark_sigma_px * copy_scale)


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


@dataclass(frozen=True)
class Under:
    """Members' middles (N,), the wall's length and height (2,), in inches, and the scale, under one view."""

    centre_in: NDArray[np.float64]
    lengths_in: NDArray[np.float64]
    scale: Scale


@dataclass(frozen=True)
class InPhoto:
    """What the reading rests on, as photo pixels, to be put in inches under one view or another.

    Attributes
    ----------
    left_px, right_px : (N, 2) arrays
        The members' edges at mid-height.
    sides_px : (4, 2) array
        The region's left, right, top and bottom, in the middle of each side.
    weights, plies : (N,) arrays
        How well each member is seen; its faces side by side.
    origin, end : int or None
        The members that end the wall.
    assumed_in : tuple of float
        Spacings to choose from where there is no reference, inches.
    """

    survey: Survey
    viewed: Viewed
    reference: Reference | None
    face_in: float
    by_face: bool
    left_px: NDArray[np.float64]
    right_px: NDArray[np.float64]
    sides_px: NDArray[np.float64]
    weights: NDArray[np.float64]
    plies: NDArray[np.int64]
    origin: int | None
    end: int | None
    assumed_in: tuple[float, ...]

    def eased(self, inches_per_unit: float) -> float:
        """Inches of the faces' edges, which lie behind the plane of a tape, per inch of that plane."""
        taped = self.reference is not None and self.reference.kind == "tape"
        return 1.0 + EASED_EDGE_IN / inches_per_unit if taped else 1.0

    def under(self, view: ViewDirections) -> Under | None:
        """Places under a view; None when the reference gives no scale."""
        region, origin, end = self.survey.region, self.origin, self.end
        left, right = to_rect(view, self.left_px)[:, 0], to_rect(view, self.right_px)[:, 0]
        centre = 0.5 * (left + right)
        # An end that the photo cuts off is only the last member seen.
        ends = None if region.cut_left else origin, None if region.cut_right else end
        marks, mark_weights = layout_marks(left, right, self.plies == 1, self.weights, *ends)
        scale = scale_of(
            self.reference,
            view,
            marks,
            mark_weights,
            self.survey.face,
            self.face_in,
            self.viewed.scale,
            self.by_face,
            self.assumed_in,
        )
        if scale is None:
            return None
        if self.reference is not None and self.reference.kind == "tape":
            ends_px = np.array([self.reference.from_px, self.reference.to_px])
            span_px = float(np.hypot(*(ends_px[1] - ends_px[0]))) * self.viewed.scale
            rough_px = mark_sigma_px(self.reference, self.viewed.scale, ROUGH_MARK_PX)
            rough = ROUGH_SIGMAS * rough_px * 2**0.5 / span_px
            scale = with_layout(scale, marks, mark_weights, EASED_EDGE_IN, rough)
        s = scale.inches_per_unit
        side = to_rect(view, self.sides_px)
        eased = self.eased(s)
        # The ends are the outer faces of the end members: from their middles, half a face out. A face's
        # two edges err in opposite ways (shading, easing), so its middle is the better measured.
        half = 0.5 * self.face_in / (s * eased)
        x0 = centre[origin] - half * self.plies[origin] if origin is not None else side[0, 0]
        x1 = centre[end] + half * self.plies[end] if end is not None else side[1, 0]
        lengths = np.array([(x1 - x0) * s * eased, (side[3, 1] - side[2, 1]) * s])
        return Under((centre - x0) * s * eased, lengths, scale)


def in_photo(
    survey: Survey,
    viewed: Viewed,
    reference: Reference | None,
    face_in: float,
    by_face: bool,
    ends: tuple[int | None, int | None],
    assumed_in: tuple[float, ...],
) -> InPhoto:
    """Members found under `viewed`, as photo pixels; `ends`: the members that end the wall."""
    view, region = viewed.view, survey.region
    mid = region.top + 0.5 * region.height
    middle = 0.5 * (region.left + region.right)
    flat = np.full(len(survey.members), mid)
    sides = [[region.left, mid], [region.right, mid], [middle, region.top], [middle, region.bottom]]
    return InPhoto(
        survey,
        viewed,
        reference,
        face_in,
        by_face,
        to_photo(view, np.column_stack([[m.x_left for m in survey.members], flat])),
        to_photo(view, np.column_stack([[m.x_right for m in survey.members], flat])),
        to_photo(view, np.array(sides)),
        np.array(
            [
                min(1.0, m.upright.stretch.front + 0.2) * (1.0 if m.upright.full else 0.2)
                for m in survey.members
            ]
        ),
        np.array([m.upright.stretch.plies for m in survey.members]),
        *ends,
        assumed_in,
    )


def by_the_view(seen: InPhoto, base: Under) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Variances of the places (N,) and of length and height (2,), in square inches, that the view brings."""
    viewed = seen.viewed
    var, var_lengths = np.zeros(len(base.centre_in)), np.zeros(2)
    yaw_sigma = max(YAW_SIGMA_FLOOR_DEG, min(YAW_SIGMA_SHARE * viewed.adjusted.yaw_sigma_deg, 1.0))
    focal_sigma = FOCAL_SIGMA if viewed.focal_known else GUESSED_FOCAL_SIGMA
    for by in ((yaw_sigma, 0.0, 0.0), (0.0, K1_SIGMA, 0.0), (0.0, 0.0, focal_sigma)):
        moved = seen.under(turned(viewed.view, *by))
        if moved is not None and moved.scale.spacing_in == base.scale.spacing_in:
            change = moved.centre_in - base.centre_in
            # A layout matched to other marks under the moved view is another reading, not an error bar.
            if np.abs(change).max() < 0.1 * max(base.lengths_in[0], 1.0):
                var += change**2
                var_lengths += (moved.lengths_in - base.lengths_in) ** 2
    return var, var_lengths
