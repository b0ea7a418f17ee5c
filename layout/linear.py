"""A linear program that grows by columns, solved by the HiGHS that comes with scipy.

scipy's public `linprog` starts from nothing at every call.  Its own binding of HiGHS keeps
the last basis, which makes a round of column generation ten times faster; it is private to
scipy, so where it is missing or has changed, `linprog` is used instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csc_array, hstack, vstack

try:
    from scipy.optimize._highspy import _core as _highs
except ImportError:  # pragma: no cover - depends on the scipy installed
    _highs = None

__all__ = ["GrowingProgram", "Solution"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Solution:
    """Value, column values and the rows' shadow prices."""

    value: float
    x: Floats
    duals: Floats


# From this many rows on, the solver is told how to start from the last basis; see `GrowingProgram`.
LARGE_ROWS = 150


class GrowingProgram:
    """Minimise cost @ x, row_low <= A x <= row_high, x >= 0; columns can be added.

    Parameters
    ----------
    costs : ndarray, shape (N,)
    matrix : csc_array, shape (M, N)
    row_low, row_high : ndarray, shape (M,)
    warm : bool
        False to use `linprog` even where the faster way is there.
    """

    def __init__(
        self, costs: Floats, matrix: csc_array, row_low: Floats, row_high: Floats, warm: bool = True
    ) -> None:
        self._rows = len(row_low)
        self.low, self.high = row_low, row_high
        self._costs = [costs]
        self._parts = [matrix]
        self._solver: Any = self._open(costs, matrix) if warm and _highs is not None else None

    def _open(self, costs: Floats, matrix: csc_array) -> Any:
        try:
            solver = _highs._Highs()
            solver.setOptionValue("output_flag", False)
            if self._rows > LARGE_ROWS:
                # New columns leave the last basis primal feasible: HiGHS chooses its primal simplex
                # then (0), and needs no perturbed bounds: a half to a third of the time, measured.
                # A small program is fast anyway, and its usual answers round to better plans.
                solver.setOptionValue("simplex_strategy", 0)
                solver.setOptionValue("primal_simplex_bound_perturbation_multiplier", 0.0)
            model = _highs.HighsLp()
            model.num_col_, model.num_row_ = len(costs), self._rows
            model.col_cost_ = costs
            model.col_lower_ = np.zeros(len(costs))
            model.col_upper_ = np.full(len(costs), _highs.kHighsInf)
            model.row_lower_ = np.where(np.isfinite(self.low), self.low, -_highs.kHighsInf)
            model.row_upper_ = np.where(np.isfinite(self.high), self.high, _highs.kHighsInf)
            model.a_matrix_.format_ = _highs.MatrixFormat.kColwise
            model.a_matrix_.start_ = matrix.indptr.astype(np.int32)
            model.a_matrix_.index_ = matrix.indices.astype(np.int32)
            model.a_matrix_.value_ = matrix.data.astype(float)
            solver.passModel(model)
            return solver
        except (AttributeError, TypeError):  # pragma: no cover - another scipy
            return None

    def add_columns(self, costs: Floats, matrix: csc_array) -> None:
        """Add columns, shape (M, K), at the end."""
        if len(costs) == 0:
            return
        self._costs.append(costs)
        self._parts.append(matrix)
        if self._solver is not None:
            self._solver.addCols(
                len(costs),
                costs,
                np.zeros(len(costs)),
                np.full(len(costs), _highs.kHighsInf),
                len(matrix.data),
                matrix.indptr[:-1].astype(np.int32),
                matrix.indices.astype(np.int32),
                matrix.data.astype(float),
            )

    def solve(self) -> Solution:
        """Solve it, from the last basis where that is possible."""
        if self._solver is not None:
            self._solver.run()
            if self._solver.getModelStatus() == _highs.HighsModelStatus.kOptimal:
                found = self._solver.getSolution()
                value = self._solver.getInfo().objective_function_value
                return Solution(float(value), np.array(found.col_value), np.array(found.row_dual))
        return self._solve_cold()

    def columns(self) -> tuple[Floats, csc_array]:
        """Costs and matrix of all columns."""
        return np.concatenate(self._costs), csc_array(hstack(self._parts, format="csc"))

    def _solve_cold(self) -> Solution:

        matrix = hstack(self._parts, format="csr")
        equal = self.low == self.high
        below = ~equal & np.isfinite(self.high)
        above = ~equal & np.isfinite(self.low)
        upper = vstack([matrix[below], -matrix[above]], format="csc")
        limit = np.concatenate([self.high[below], -self.low[above]])
        found = linprog(
            np.concatenate(self._costs),
            A_eq=matrix[equal].tocsc() if equal.any() else None,
            b_eq=self.high[equal] if equal.any() else None,
            A_ub=upper if len(limit) else None,
            b_ub=limit if len(limit) else None,
            method="highs",
        )
        if found.x is None:
            raise RuntimeError(f"the linear program was not solved: {found.message}")
        duals = np.zeros(self._rows)
        duals[equal] = found.eqlin.marginals if equal.any() else 0.0
        if len(limit):
            count = int(below.sum())
            duals[below] += found.ineqlin.marginals[:count]
            duals[above] -= found.ineqlin.marginals[count:]
        return Solution(float(found.fun), np.asarray(found.x), duals)
