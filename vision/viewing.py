"""From a photo to a settled view of the wall: segments, directions, fine adjustment, the wall's region."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.bundle import Adjusted, adjust_view
from vision.directions import ViewDirections, find_directions
from vision.lines import find_segments
from vision.photo import Photo
from vision.plates_beyond import as_far_as_its_plates
from vision.rectify import grid_over, photo_extent, sample, to_photo
from vision.wall_region import (
    COARSE_COLUMNS,
    COARSE_ROWS,
    Region,
    region_from_corners,
    region_from_evidence,
)
from vision.what import LONG_SIDE_WHOLE_PX, WhatMaps, look

# When the photo states no focal length: a phone's main camera, 35 mm equivalent (trade-common 24-28).
GUESSED_FOCAL_MM = 27.0
OUTSIDE_WEIGHT = 0.25  # trust in segments off the wall; joists and other walls run elsewhere


@dataclass(frozen=True)
class Viewed:
    """A settled view.

    Attributes
    ----------
    adjusted : Adjusted
        View with its leftover error.
    region : Region or None
        None: the wall's rectangle was not found.
    working_rgb : (H, W, 3) uint8 array
        The photo's working copy.
    scale : float
        Copy size / photo size.
    focal_known : bool
    model : bool
        False: read without the learned model.
    """

    adjusted: Adjusted
    region: Region | None
    working_rgb: NDArray[np.uint8]
    scale: float
    focal_known: bool
    model: bool

    @property
    def view(self) -> ViewDirections:
        """The settled directions and lens."""
        return self.adjusted.view


def find_view(photo: Photo, corners_px: NDArray[np.float64] | None) -> Viewed | None:
    """Settle the view of the wall; None when no wall-like directions are found.

    Parameters
    ----------
    corners_px : (4, 2) array or None
        Roughly tapped corners, order top left, top right, bottom right, bottom left.
    """
    rgb = photo.working_rgb
    k = rgb.shape[1] / photo.width_px
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    diagonal = float(np.hypot(photo.width_px, photo.height_px))
    focal_known = photo.focal_px is not None
    focal = photo.focal_px or photo.focal_guess_px or GUESSED_FOCAL_MM * diagonal / 43.2666
    principal = ((photo.width_px - 1) / 2, (photo.height_px - 1) / 2)
    with ThreadPoolExecutor(max_workers=1) as beside:  # the detector works on one core alone
        finding = beside.submit(find_segments, grey)
        maps = look(rgb, LONG_SIDE_WHOLE_PX)
        segments = (finding.result() + 0.5) / k - 0.5
    if len(segments) < 4:
        return None
    weights = np.ones(len(segments))
    start = None
    if corners_px is not None:
        weights = _inside_weight(segments, corners_px)
        start = directions_of_corners(corners_px, focal, principal)
    elif maps is not None:
        weights = _map_weight(segments, maps.wall, k)
    view = find_directions(segments, weights, focal, principal, start)
    if view is None and start is not None:
        view = start
    if view is None:
        return None
    region = _region(view, photo, maps, k, corners_px)
    adjusted = _adjusted(grey, k, view, focal_known, region, maps)
    region = _region(adjusted.view, photo, maps, k, corners_px)
    return Viewed(adjusted, region, rgb, k, focal_known, maps is not None)


def _adjusted(
    grey: NDArray[np.uint8],
    scale: float,
    view: ViewDirections,
    focal_known: bool,
    region: Region | None,
    maps: WhatMaps | None,
) -> Adjusted:
    """The view fitted to the lines in and a little around the region; as it was where none can be traced."""
    limits = None
    if region is not None:
        mx, my = 0.06 * region.width, 0.08 * region.height
        limits = (region.left - mx, region.top - my, region.right + mx, region.bottom + my)
    adjusted = adjust_view(grey, scale, view, focal_known, limits, maps)
    return adjusted if np.isfinite(adjusted.rms_px) else Adjusted(view, 1.0, 1.0, 0, 0)


def narrowed(viewed: Viewed, region: Region) -> Viewed:
    """The view of a part of what was taken for the wall: fitted anew to the lines of that part alone."""
    grey = cv2.cvtColor(viewed.working_rgb, cv2.COLOR_RGB2GRAY)
    old = viewed.view
    adjusted = _adjusted(grey, viewed.scale, old, viewed.focal_known, region, None)
    corners = np.array(
        [
            [region.left, region.top],
            [region.right, region.top],
            [region.right, region.bottom],
            [region.left, region.bottom],
        ]
    )
    there = region_from_corners(adjusted.view, to_photo(old, corners))
    if there is None:
        return replace(viewed, region=region)
    there = replace(region, left=there.left, top=there.top, right=there.right, bottom=there.bottom)
    return replace(viewed, adjusted=adjusted, region=there)


def directions_of_corners(
    corners_px: NDArray[np.float64], focal_px: float, principal_px: tuple[float, float]
) -> ViewDirections:
    """Wall directions from four corners: opposite sides meet in the vanishing points (H&Z 2004, §8.6)."""
    u = (np.asarray(corners_px, float) - principal_px) / focal_px
    p = np.column_stack([u, np.ones(4)])
    tl, tr, br, bl = p
    h = np.cross(np.cross(tl, tr), np.cross(bl, br))
    v = np.cross(np.cross(tl, bl), np.cross(tr, br))
    h = h / np.linalg.norm(h) * (1 if h[0] >= 0 else -1)
    v = v / np.linalg.norm(v) * (1 if v[1] >= 0 else -1)
    # The two are at right angles on a real wall: share the difference between them.
    u1, _, vt = np.linalg.svd(np.vstack([h, v]), full_matrices=False)
    h, v = u1 @ vt
    return ViewDirections(np.vstack([h, v, np.cross(h, v)]), focal_px, 0.0, principal_px, 0.0, 0.0)


def _inside_weight(segments: NDArray[np.float64], corners_px: NDArray[np.float64]) -> NDArray[np.float64]:
    centre = corners_px.mean(0)
    grown = (centre + (corners_px - centre) * 1.08).astype(np.float32)
    mid = 0.5 * (segments[:, :2] + segments[:, 2:])
    return np.array(
        [1.0 if cv2.pointPolygonTest(grown, (float(x), float(y)), False) >= 0 else 0.0 for x, y in mid]
    )


def _map_weight(segments: NDArray[np.float64], wall: NDArray[np.float32], k: float) -> NDArray[np.float64]:
    mid = 0.5 * (segments[:, :2] + segments[:, 2:])
    at = (mid + 0.5) * k - 0.5
    h, w = wall.shape
    grown = cv2.dilate(wall, np.ones((2 * (h // 60) + 1,) * 2, np.uint8))
    v = grown[
        np.clip(np.rint(at[:, 1]), 0, h - 1).astype(int), np.clip(np.rint(at[:, 0]), 0, w - 1).astype(int)
    ]
    return OUTSIDE_WEIGHT + (1 - OUTSIDE_WEIGHT) * np.clip(v, 0, 1).astype(float)


def _region(
    view: ViewDirections,
    photo: Photo,
    maps: WhatMaps | None,
    k: float,
    corners_px: NDArray[np.float64] | None,
) -> Region | None:
    if corners_px is not None:
        return region_from_corners(view, corners_px)
    if maps is None:
        return None
    left, top, right, bottom = photo_extent(view, photo.width_px, photo.height_px, reach=2.0)
    grid = grid_over(
        left, top, right, bottom, (right - left) / (COARSE_COLUMNS - 1), (bottom - top) / (COARSE_ROWS - 1)
    )
    # Shrink by area first: a coarse sample of a fine map would miss most of it.
    small = cv2.resize(maps.wall, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    kk = small.shape[1] / maps.wall.shape[1] * k
    wall = sample(small, view, grid, kk, outside=-1.0)
    half = (0.5 * (right - left) / (COARSE_COLUMNS - 1), 0.5 * (bottom - top) / (COARSE_ROWS - 1))
    extent = (left - half[0], top - half[1], right + half[0], bottom + half[1])
    region = region_from_evidence(np.clip(wall, 0, 1), wall >= 0, extent)
    return region and as_far_as_its_plates(region, maps, view, k, (left, right))
