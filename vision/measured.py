"""One member measured in the photo: both edges of its front face, its lean, its reach and its error."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.edges import EdgeLine, measure_edge
from vision.extent import Upright
from vision.rectify import RectGrid
from vision.viewing import Viewed
from vision.wall_region import Region

# A face this much off its width, in faces, has one wrong edge; wholly so a ramp further on.
WIDTH_OFF, WIDTH_OFF_RAMP, BETTER_EDGE = 0.067, 0.08, 1.5
# What the fits' own sigma leaves out, in faces: an odd width, and edges that show over little of the height
# (tuning scenes).
WIDTH_SIGMA, EDGE_SIGMA, CLEAR_EDGE = 0.05, 0.15, 0.9
# An edge that shows over less of the height than this, and is fitted over less than half of it, may be
# a face's width beside the one edge seen (tuning: 2 of 13 such members were wrong, 0 of 361 others).
NO_EDGE_SHARE, HALF_FITTED = 0.15, 0.5
# A fit that ends farther than this from where the edge was chosen, in faces, has followed another edge: of
# 334 such edges on the tuning scenes the chosen place was within 0.08 in in the median, the fit 0.24 in.
STRAY, CLEAR_STRAY, CLEAR_FIT, CLEAR_SEEN, SLOPE_STRAY = 0.09, 0.15, 0.8, 0.3, 0.02
# Gap between king and trimmer as they were read, in faces; the king's say in where the trimmer stands.
NAILED, KING_WEIGHT = 0.6, 0.7
ROUGH_SIGMA = 0.05  # of an edge placed without a fit, in faces


@dataclass(frozen=True)
class Measured:
    """One member in rectified units.

    Attributes
    ----------
    x_left, x_right : float
        Edges of the front face at mid-height of the region.
    slope : float
        dX per unit of Y, downward.
    y_top, y_bottom : float
        Reach.
    sigma : float
        Formal sigma of the centre.
    width_seen : float
        How far apart the two edges were seen, whatever the face's width must be.
    left, right : EdgeLine or None
        The fitted edges; None when only the coarse position is known.
    upright : Upright
    by_mark : bool
        It was plainly moved towards the mark that it was likely set on.
    """

    x_left: float
    x_right: float
    slope: float
    y_top: float
    y_bottom: float
    sigma: float
    width_seen: float
    left: EdgeLine | None
    right: EdgeLine | None
    upright: Upright
    by_mark: bool = False

    @property
    def x_centre(self) -> float:
        """Middle of the front face at mid-height."""
        return 0.5 * (self.x_left + self.x_right)

    @property
    def width(self) -> float:
        """Width of the front face."""
        return self.x_right - self.x_left

    @property
    def fitted_shares(self) -> tuple[float, float]:
        """Share of the height over which the left and the right edge were fitted; 0 where one was not."""
        return _share(self.left), _share(self.right)

    @property
    def one_edge(self) -> bool:
        """Whether only one side of the face is seen."""
        s = self.upright.stretch
        return min(s.edge_left, s.edge_right) < NO_EDGE_SHARE and min(self.fitted_shares) < HALF_FITTED


def _share(edge: EdgeLine | None) -> float:
    return edge.share if edge is not None else 0.0


def without_outer_plies(m: Measured, plies: int, order: int) -> Measured:
    """A member without so many of its outer plies; `order`: 1 at the left end of a wall, -1 at the right."""
    if not plies:
        return m
    s = m.upright.stretch
    face, step = m.width / s.plies, (s.right - s.left) / s.plies
    left, right = (plies, 0) if order > 0 else (0, plies)
    inner = replace(s, left=s.left + left * step, right=s.right - right * step, plies=s.plies - plies)
    return replace(
        m,
        x_left=m.x_left + left * face,
        x_right=m.x_right - right * face,
        width_seen=m.width_seen * inner.plies / s.plies,
        left=None if left else m.left,
        right=None if right else m.right,
        upright=replace(m.upright, stretch=inner),
    )


def beside_king(m: Measured, members: Sequence[Measured], face: float) -> Measured:
    """A trimmer with its place by its king's, which it is nailed to, and by its own edge at the opening.

    The king's edges run over all the height and lie better: by its own edges alone 95 % of the trimmers on
    the tuning scenes lay within 0.40 in. All lengths in rectified units, `face` being one face's width.
    """
    kings = [k for k in members if k.upright.full and abs(k.x_centre - m.x_centre) < 2.5 * face + k.width]
    if not kings:
        return m
    king = min(kings, key=lambda k: abs(k.x_centre - m.x_centre))
    right = m.x_centre > king.x_centre
    gap = m.x_left - king.x_right if right else king.x_left - m.x_right
    if abs(gap) > NAILED * face:
        return m
    width = m.upright.stretch.plies * face
    by_king = king.x_right + 0.5 * width if right else king.x_left - 0.5 * width
    own = m.x_right - 0.5 * width if right else m.x_left + 0.5 * width
    centre = KING_WEIGHT * by_king + (1 - KING_WEIGHT) * own
    return replace(m, x_left=centre - 0.5 * width, x_right=centre + 0.5 * width)


def face_about_better_edge(
    pos: list[float],
    fitted_share: tuple[float, float],
    column_share: tuple[float, float],
    width: float,
    face: float,
) -> list[float]:
    """Edges of a member whose `width` is known: where the two seen lie otherwise apart, one is wrong.

    The better seen edge then carries the member; the edge away from the camera's foot, which stands
    against what is behind the wall, is a little likelier to be right than the one beside the side face.
    `fitted_share` and `column_share` say over how much of the height each edge was fitted and seen. All
    lengths in rectified units. Weights fitted on the tuning scenes: 95 % of the centres within 0.14 in
    (0.21 with the plain middle).
    """
    off = abs(pos[1] - pos[0] - width) / face
    doubt = float(np.clip((off - WIDTH_OFF) / WIDTH_OFF_RAMP, 0.0, 1.0))
    if doubt == 0.0:
        return pos
    away = float(np.tanh(-0.5 * (pos[0] + pos[1]) / (6 * face)))
    better = (
        1.5 * (column_share[0] - column_share[1]) + 2.0 * (fitted_share[0] - fitted_share[1]) + 0.26 * away
    )
    left = 0.5 * (1 - doubt) + doubt / (1 + np.exp(-BETTER_EDGE * better))
    centre = left * (pos[0] + 0.5 * width) + (1 - left) * (pos[1] - 0.5 * width)
    half = 0.5 * ((1 - doubt) * (pos[1] - pos[0]) + doubt * width)
    return [float(centre - half), float(centre + half)]


def is_chosen_edge(e: EdgeLine, x: float, seen: float, slope: float, face: float) -> bool:
    """Whether a fitted edge is the one that was chosen at `x`, and not another beside it.

    `seen` says over how much of the height the chosen edge shows, `slope` how it runs; lengths in
    rectified units, `face` being one face's width.
    """
    most = CLEAR_STRAY if e.share >= CLEAR_FIT and seen >= CLEAR_SEEN else STRAY
    return abs(e.x_mid - x) <= most * face and abs(e.slope - slope) <= SLOPE_STRAY


def measure(
    up: Upright,
    grey: NDArray[np.float32],
    viewed: Viewed,
    grid: RectGrid,
    region: Region,
    face_px: float,
    width_known: bool,
) -> Measured:
    """Measure one member; `width_known` says that the face's width is more than a guess from the picture."""
    s = up.stretch
    y_top = region.top + up.top * region.height
    y_bottom = region.top + up.bottom * region.height
    # Stay clear of the plates, whose own ends and shadows pull.
    trim = 0.03 * region.height if up.full else 0.1 * (y_bottom - y_top)
    a, b = y_top + trim, y_bottom - trim
    y_mid = 0.5 * (a + b)
    slope = s.slope
    mid_region = region.top + 0.5 * region.height
    shift = slope * (y_mid - mid_region)
    face = face_px * grid.step
    reach = 0.28 * face
    x = [float(grid.x(s.left)) + shift, float(grid.x(s.right)) + shift]
    fitted = [measure_edge(grey, viewed.view, q, slope, a, b, reach) for q in x]
    seen = s.edge_left, s.edge_right
    near = [
        e if e is not None and is_chosen_edge(e, q, edge, slope, face) else None
        for e, q, edge in zip(fitted, x, seen, strict=True)
    ]
    pos = [q if e is None else e.x_mid for q, e in zip(x, near, strict=True)]
    slopes = [e.slope for e in near if e is not None]
    width = pos[1] - pos[0]
    if width < 0.4 * face:
        pos = x
        width = pos[1] - pos[0]
    if width_known:
        pos = face_about_better_edge(pos, (_share(near[0]), _share(near[1])), seen, face * s.plies, face)
    # A short member's own edges say little of its lean, and half the wall's height would make much of it.
    lean = float(np.mean(slopes)) if slopes and up.full else slope
    back = lean * (mid_region - y_mid)
    best = max(min(1.0, a) * _share(b) for a, b in zip(seen, fitted, strict=True))
    formal = np.sqrt(sum((e.sigma if e is not None else ROUGH_SIGMA * face) ** 2 for e in near)) / 2
    odd = WIDTH_SIGMA * max(0.0, abs(width / (face * s.plies) - 1) - 0.06) * face
    sigma = float(formal + odd + EDGE_SIGMA * max(0.0, CLEAR_EDGE - best) ** 2 * face)
    return Measured(
        pos[0] + back, pos[1] + back, lean, y_top, y_bottom, sigma, width, fitted[0], fitted[1], up
    )
