"""The framed wall of a sample scene, in wall inches.

Wall coordinates: x along the wall from its left end, y up from the underside of the bottom
plate, z towards the viewer. The front faces (those that take the board) lie at z = 0 but for
what real lumber does: a member may stand proud or shy, lean, crook (bend along the wall) and
bow (bend towards the viewer).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FULL_KINDS = ("end", "common", "king", "double", "triple", "corner")


@dataclass(frozen=True)
class Member:
    """One vertical member, or several nailed together (``plies`` > 1).

    ``centre_in`` is the centre of the front face at the member's own mid-height,
    ``lean_in`` how far its top lies to the right of its bottom, ``bow_in`` how far its middle lies to
    the right of the straight line between its ends, ``crook_in`` how far in front of it.
    """

    kind: str
    centre_in: float
    ply_face_in: float
    bottom_in: float
    top_in: float
    plies: int = 1
    lean_in: float = 0.0
    bow_in: float = 0.0
    crook_in: float = 0.0
    proud_in: float = 0.0
    depth_in: float = 3.5

    @property
    def face_in(self) -> float:
        """Width of the front face of all plies together, inches."""
        return self.ply_face_in * self.plies

    @property
    def full_height(self) -> bool:
        """True when it runs from the bottom plate to the top plate."""
        return self.kind in FULL_KINDS

    def centre_at(self, y_in: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """Centre of the front face at height ``y_in``."""
        t = self._along(y_in)
        bend = self.bow_in * (np.sin(np.pi * t) - 1.0)
        return self.centre_in + self.lean_in * (t - 0.5) + bend

    def front_at(self, y_in: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """Where the front face lies in front of (+) or behind (-) the wall plane."""
        t = self._along(y_in)
        return np.asarray(self.proud_in + self.crook_in * np.sin(np.pi * t))

    def _along(self, y_in: NDArray[np.float64] | float) -> NDArray[np.float64]:
        y = np.asarray(y_in, dtype=float)
        return (y - self.bottom_in) / (self.top_in - self.bottom_in)


@dataclass(frozen=True)
class Bar:
    """A horizontal (or, with ``rise_in``, a diagonal) piece of the frame."""

    kind: str
    left_in: float
    right_in: float
    bottom_in: float
    top_in: float
    front_in: float = 0.0
    depth_in: float = 3.5
    rise_in: float = 0.0


@dataclass(frozen=True)
class Opening:
    """A rough opening."""

    kind: str
    left_in: float
    right_in: float
    bottom_in: float
    top_in: float


@dataclass(frozen=True)
class Box:
    """An electrical box fixed to the side of a member."""

    left_in: float
    right_in: float
    bottom_in: float
    top_in: float
    front_in: float


@dataclass(frozen=True)
class WallPlan:
    """Everything that is framed, before anything is put around it."""

    length_in: float
    height_in: float
    spacing_in: float
    layout_from: str
    material: str
    ply_face_in: float
    depth_in: float
    members: tuple[Member, ...]
    bars: tuple[Bar, ...]
    openings: tuple[Opening, ...]
    boxes: tuple[Box, ...]
    features: tuple[str, ...]
