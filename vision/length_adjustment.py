"""Places of one photo's members once further lengths are known: one weighted adjustment.

What a tape shows at a stud differs from the photo by the tape's own error, the stud's, the left end's and the
scale's; each takes the share of the difference that its variance has (least squares with prior variances, as
in any textbook of adjustment; formulae as in the Kalman update, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.error_parts import ErrorParts


@dataclass(frozen=True)
class Length:
    """A length that was measured, less the same length as the photo has it: `off`, with its `sigma`.

    Of the place of `member`, inches from the left end; or, where that is None, of any length in the photo's
    plane as a share of itself.
    """

    member: int | None
    off: float
    sigma: float


@dataclass(frozen=True)
class Adjusted:
    """Places ``x`` of the photo are truly ``x + offset_in + stretch x``, the leftmost one's without offset.

    Attributes
    ----------
    at_in, sigma_in : (N,) arrays
        Places of the members, each with its own error in it.
    offset_in, stretch : float
    common : (2, 2) array
        Covariance of offset and stretch.
    """

    at_in: NDArray[np.float64]
    sigma_in: NDArray[np.float64]
    offset_in: float
    stretch: float
    common: NDArray[np.float64]

    def shared_in2(self, at_in: float) -> float:
        """Variance of a place `at_in` from the left end, its own error aside, square inches."""
        row = np.array([1.0, at_in])
        return float(row @ self.common @ row)


def adjust_to_lengths(at_in: NDArray[np.float64], parts: ErrorParts, lengths: Sequence[Length]) -> Adjusted:
    """Fuse the places (N,) of a photo's members with `lengths`."""
    n = len(at_in)
    first = int(np.argmin(at_in))
    # Unknowns: offset, stretch, each member's own error.
    prior = np.diag(np.concatenate([[parts.origin_in**2, parts.relative**2], parts.own_in**2]))
    places = np.column_stack([np.arange(n) != first, at_in, np.eye(n)])
    scale = np.zeros(n + 2)
    scale[1] = 1.0
    seen = np.array([scale if q.member is None else places[q.member] for q in lengths])
    off = np.array([q.off for q in lengths])
    spread = np.diag([q.sigma**2 for q in lengths])
    gain = np.linalg.solve(seen @ prior @ seen.T + spread, seen @ prior).T
    found = gain @ off
    cover = prior - gain @ seen @ prior
    sigma = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", places, cover, places), 0))
    return Adjusted(at_in + places @ found, sigma, float(found[0]), float(found[1]), cover[:2, :2])
