"""What the ± of one photo's members is made of: their own, the left end's, and the scale's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.reading import Member

LEAST_OWN_IN = 0.04  # eased edges, members proud of the plane: as for one photo (`vision.placing`)


@dataclass(frozen=True)
class ErrorParts:
    """What the ± of one photo's members is made of.

    Attributes
    ----------
    relative : float
        Common error of the scale, a share of the distance from the left end.
    origin_in : float
        Common error of the left end itself.
    own_in : (N,) array
        Each member's own.
    """

    relative: float
    origin_in: float
    own_in: NDArray[np.float64]

    def shared_in2(self, at_in: float) -> float:
        """Variance that a place `at_in` from the left end shares with the others, square inches."""
        return self.origin_in**2 + (self.relative * at_in) ** 2


def error_parts(members: Sequence[Member]) -> ErrorParts:
    """Split the members' sigmas: variance = own² + origin² + (relative · x)², fitted, none negative.

    The leftmost member's place hangs on no origin (it is half a face from the end), so what the others'
    constant part has more than its own is the origin's.
    """
    x = np.array([m.centre_in for m in members])
    var = np.array([m.sigma_in for m in members]) ** 2
    if not len(x):
        return ErrorParts(0.0, 0.0, var)
    leftmost = int(np.argmin(x))
    rest = np.arange(len(x)) != leftmost if len(x) > 2 else np.ones(len(x), bool)
    relative2 = 0.0
    if np.ptp(x[rest]) > 0:
        relative2 = max(0.0, float(np.polyfit(x[rest] ** 2, var[rest], 1)[0]))
    constant = np.maximum(var - relative2 * x**2, LEAST_OWN_IN**2)
    origin2 = 0.0
    if len(x) > 2:
        origin2 = max(0.0, float(np.median(constant[rest]) - constant[leftmost]))
    own2 = np.maximum(constant - origin2, LEAST_OWN_IN**2)
    own2[leftmost] = constant[leftmost]
    return ErrorParts(float(np.sqrt(relative2)), float(np.sqrt(origin2)), np.sqrt(own2))
