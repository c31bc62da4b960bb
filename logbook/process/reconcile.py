"""Flows that balance: the readings of a network of nodes and streams, reconciled.

>>> import numpy as np
>>> splitter = np.array([[1.0, -1.0, -1.0]])  # stream 0 in, streams 1 and 2 out
>>> found = reconcile_flows(splitter, np.array([100.0, 61.0, 42.0]), np.array([1.0, 1.0, 1.0]))
>>> found.value.round(3).tolist()
[101.0, 60.0, 41.0]
>>> round(found.chi2, 3), found.dof, round(found.p_value, 4), found.suspects
(3.0, 1, 0.0833, ())
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.process.chance import chi_square_tail
from logbook.process.gross_errors import (
    Suspicion,
    node_z,
    same_to_all_checks,
    serial_elimination,
    z_limit,
)
from logbook.process.least_squares import Array, Flags, Solution, solve


@dataclass(frozen=True, slots=True)
class Reconciliation:
    """Flows that keep every balance, nearest to the readings; in the unit of the readings.

    Arrays have one entry per stream, in the order given. What is seldom asked for is worked out
    when it is.
    """

    value: Array
    """Reconciled flow; NaN where neither reading nor balances tell it."""
    adjustment: Array
    """Value less reading; NaN where not measured."""
    sigma: Array
    """Standard uncertainty of `value`; NaN where it cannot be told."""
    observable: Flags
    """Measured, or told by the balances."""
    redundant: Flags
    """Measured, and told by the balances if it were not: only these can be checked."""
    chi2: float
    """Global test: sum of the squared scaled adjustments."""
    dof: int
    """Number of independent checks."""
    p_value: float
    """Probability of so large a `chi2` if all is well; NaN without a check."""
    suspects: tuple[int, ...]
    """Streams whose reading is accused, worst first; all members of sets that look the same."""
    suspicions: tuple[Suspicion, ...]
    """The steps of the elimination, with the size of each error."""
    measurement_z: Array
    """Adjustment over its standard deviation; NaN where nothing checks it."""
    level: float
    """Rate at which good readings are accused, at most."""
    problem: Problem
    """What was given."""
    solution: Solution

    @property
    def suspect_sets(self) -> tuple[tuple[int, ...], ...]:
        """Suspects set by set: of each set one reading is wrong, and no balance says which."""
        return tuple(step.variables for step in self.suspicions)

    @property
    def measurement_limit(self) -> float:
        """Size of `measurement_z` that is beyond chance at `level`, corrected for their number."""
        return z_limit(np.isfinite(self.measurement_z), self.level, self.problem.correction)

    @property
    def node_z(self) -> Array:
        """Imbalance of the readings at each node over its standard deviation (nodal test).

        NaN at nodes with unmeasured streams.
        """
        return node_z(self.problem.incidence, self.problem.measured, self.problem.sigma)

    @property
    def node_limit(self) -> float:
        """Size of `node_z` that is beyond chance at `level`, corrected for their number."""
        return z_limit(np.isfinite(self.node_z), self.level, self.problem.correction)

    @property
    def covariance(self) -> Array:
        """(streams, streams), of `value`."""
        return self.solution.covariance

    @property
    def indistinguishable(self) -> tuple[tuple[int, ...], ...]:
        """Sets of measured streams whose errors would look the same."""
        return same_to_all_checks(self.solution.direction, np.isfinite(self.measurement_z))

    def without_suspects(self) -> Reconciliation:
        """Reconcile again with the first of each suspect set taken as not measured."""
        if not self.suspicions:
            return self
        kept = self.problem.measured.copy()
        kept[[step.variables[0] for step in self.suspicions]] = np.nan
        one = self.problem
        return reconcile_flows(
            one.incidence, kept, one.sigma, level=self.level, correction=one.correction
        )


@dataclass(frozen=True, slots=True)
class Problem:
    """The arguments of a reconciliation."""

    incidence: Array
    measured: Array
    sigma: Array
    correction: str


def reconcile_flows(
    incidence: npt.ArrayLike,
    measured: npt.ArrayLike,
    sigma: npt.ArrayLike,
    *,
    level: float = 0.05,
    correction: str = "sidak",
) -> Reconciliation:
    """Reconcile measured flows with the balances of a network, and name the readings at fault.

    Args:
        incidence: (nodes, streams): +1 where the stream enters the node, -1 where it leaves, 0
            elsewhere. Other factors are taken as they are.
        measured: (streams,): readings of one unit; NaN where a stream is not measured.
        sigma: (streams,): standard uncertainties in the same unit; 0 for a flow that is known
            exactly and must not be changed; not looked at where a stream is not measured.
        level: rate at which good readings may be accused (global test and, together, all
            measurement tests).
        correction: for the number of tests: "sidak", "bonferroni" or "none".

    Raises:
        ValueError: shapes, signs or uncertainties that cannot be meant, said in one sentence.
        ContradictionError: (a ValueError) exact flows that contradict one another.

    Method: weighted least squares after projecting the unmeasured streams out by QR; see
    `logbook.process.least_squares` and `logbook.process.gross_errors`.
    """
    a, y, s = _checked(incidence, measured, sigma, level)
    solution = solve(a, y, s)
    chi2 = solution.chi2
    steps = serial_elimination(solution, s, level=level, correction=correction)
    return Reconciliation(
        solution.value,
        solution.adjustment,
        solution.sigma,
        solution.observable,
        solution.redundant,
        chi2,
        solution.dof,
        chi_square_tail(chi2, solution.dof),
        tuple(k for step in steps for k in step.variables),
        steps,
        solution.z,
        level,
        Problem(a, y, s, correction),
        solution,
    )


def _checked(
    incidence: npt.ArrayLike, measured: npt.ArrayLike, sigma: npt.ArrayLike, level: float
) -> tuple[Array, Array, Array]:
    """Return the arguments as float arrays, or say what is wrong with them."""
    a, y, s = (np.asarray(one, dtype=np.float64) for one in (incidence, measured, sigma))
    if a.ndim != 2 or not a.size:
        _refuse(f"incidence has shape {a.shape}: it must be (nodes, streams), with one of each")
    for name, one in (("measured", y), ("sigma", s)):
        if one.shape != (a.shape[1],):
            _refuse(
                f"{name} has shape {one.shape}, but incidence has {a.shape[1]} streams: "
                f"it must be ({a.shape[1]},)"
            )
    if not 0.0 < level < 1.0:
        _refuse(f"level is {level}: it is a probability between 0 and 1, such as 0.05")
    _check_signs(a, y)
    _check_readings(y, s)
    return a, y, s


def _check_signs(a: Array, y: Array) -> None:
    # A sum is finite only where every part is.
    if not math.isfinite(a.sum()) and not np.isfinite(a).all():
        node, stream = (int(k) for k in np.argwhere(~np.isfinite(a))[0])
        _refuse(f"incidence of node {node}, stream {stream} is {a[node, stream]}: give 1, -1 or 0")
    enters, leaves = a.max(axis=1) > 0.0, a.min(axis=1) < 0.0
    for node in np.flatnonzero(~(enters & leaves)).tolist():
        if not (enters[node] or leaves[node]) or not (y[a[node] != 0.0] < 0.0).any():
            _refuse(
                f"node {node} of incidence has no stream that enters or none that leaves, and "
                "cannot balance: a stream is +1 where it enters a node and -1 where it leaves one"
            )


def _check_readings(y: Array, s: Array) -> None:
    fine = (np.abs(y) < np.inf) & (s >= 0.0) & (s < np.inf)
    if fine.all():
        return
    for stream in np.flatnonzero(~fine & ~np.isnan(y)).tolist():
        if math.isinf(y[stream]):
            _refuse(
                f"measured flow of stream {stream} is {y[stream]}: give a number, or NaN for none"
            )
        _refuse(
            f"sigma of stream {stream} is {s[stream]}: a measured stream needs a standard "
            "uncertainty above 0, or 0 if it is exact"
        )


def _refuse(message: str) -> None:
    raise ValueError(message)
