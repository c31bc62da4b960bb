"""Weighted least squares under linear balances, with some variables measured and some not.

Given A x = b, readings y of some x with standard uncertainties s, find the x that keeps the
balances and changes the readings least: minimum of sum(((y - x)/s)^2).

Unmeasured variables are projected out by a QR decomposition (Crowe, Garcia Campos and Hrymak,
"Reconciliation of process flow rates by matrix projection, part I", AIChE Journal 29 (1983) 881;
QR form: Swartz 1989, Sanchez and Romagnoli, Computers and Chemical Engineering 20 (1996) 493;
both cited from memory). What is left, B e = r in the errors e scaled by s, is solved by a second
QR decomposition, never by normal equations, so that uncertainties of very different sizes cost
no digits. A variable with s = 0 is exact: it is never adjusted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from logbook.process.chance import chi_square_tail

Array: TypeAlias = npt.NDArray[np.float64]
Flags: TypeAlias = npt.NDArray[np.bool_]

RANK_TOLERANCE = 1e-9
"""Below this share of the largest, a pivot is rounding: the column adds nothing new."""


class ContradictionError(ValueError):
    """Exact values that cannot all be true in these balances."""


@dataclass(frozen=True, slots=True)
class Solution:
    """What the balances make of the readings; arrays have one entry per variable."""

    value: Array
    """NaN where it cannot be told."""
    adjustment: Array
    """Value less reading; NaN where there is no reading."""
    covariance: Array
    """Of `value`; NaN in the rows and columns of what cannot be told."""
    observable: Flags
    """Measured, or told by the balances."""
    redundant: Flags
    """Measured, and told by the balances if it were not."""
    z: Array
    """Adjustment over its standard deviation; NaN where there is no reading or nothing checks it."""
    direction: Array
    """(variables, checks): how an error shows in the independent checks, scaled by its sigma."""
    shown: Array
    """(checks,): what the readings show in the checks; standard normal if no reading is wrong."""

    @property
    def sigma(self) -> Array:
        """Standard uncertainty of each value."""
        return np.sqrt(np.maximum(np.diagonal(self.covariance), 0.0))

    @property
    def dof(self) -> int:
        """Number of independent checks."""
        return len(self.shown)

    @property
    def chi2(self) -> float:
        """Sum of the squared scaled adjustments."""
        return float(self.shown @ self.shown)

    @property
    def p_value(self) -> float:
        """Probability of so much or more where every reading errs only as stated."""
        return chi_square_tail(self.chi2, self.dof)


def pivoted_qr(matrix: Array) -> tuple[Array, Array, npt.NDArray[np.intp], int]:
    """Return (q, r, pivot, rank) with `matrix[:, pivot] = q @ r`, largest columns first.

    Householder with column pivoting (Golub and Van Loan, Matrix Computations, section 5.4);
    `q` is square. Columns are compared as they are: scale them before.
    """
    rows, columns = matrix.shape
    r, q = matrix.astype(np.float64), np.eye(rows)
    pivot, rank, first = np.arange(columns), 0, 0.0
    for k in range(min(rows, columns)):
        norms = np.einsum("ij,ij->j", r[k:, k:], r[k:, k:])
        best = k + int(norms.argmax())
        length = float(np.sqrt(norms[best - k]))
        first = first or length
        if length <= RANK_TOLERANCE * first or length == 0.0:
            break
        if best != k:
            r[:, [k, best]] = r[:, [best, k]]
            pivot[[k, best]] = pivot[[best, k]]
        _reflect(r, q, k, length)
        rank += 1
    return q, r, pivot, rank


def _reflect(r: Array, q: Array, k: int, length: float) -> None:
    """Bring column k of `r` onto its diagonal, and `q` along with it, in place."""
    mirror = r[k:, k].copy()
    mirror[0] += length if mirror[0] >= 0.0 else -length
    mirror /= np.sqrt(mirror @ mirror)
    r[k:, k:] -= np.outer(2.0 * mirror, mirror @ r[k:, k:])
    q[:, k:] -= np.outer(q[:, k:] @ mirror, 2.0 * mirror)


def full_rank_qr(matrix: Array) -> tuple[Array, Array, Array] | None:
    """Return square (q, r, inverse of r) where the columns are surely independent, else None."""
    rows, columns = matrix.shape
    if columns > rows:
        return None
    q, r = np.linalg.qr(matrix, mode="complete")
    top = r[:columns]
    if np.abs(np.diagonal(top)).min(initial=1.0) == 0.0:
        return None
    inverse = np.linalg.inv(top)
    # Frobenius norms bound the condition number from above.
    if np.linalg.norm(top) * np.linalg.norm(inverse) * RANK_TOLERANCE > 1.0:
        return None
    return q, top, inverse


@dataclass(frozen=True, slots=True)
class _Projection:
    """Unmeasured u: u[told] = back @ (b - A_m x_m); the checks are `checks @ (A_m x_m - b) = 0`."""

    checks: Array
    back: Array
    told: Flags


Order: TypeAlias = tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]
"""Columns that are independent, and those that add nothing to them."""


def independent_columns(matrix: Array) -> Order:
    """Split the columns of `matrix` into independent ones and the rest."""
    _q, _r, pivot, rank = pivoted_qr(matrix / _column_size(matrix))
    return pivot[:rank], pivot[rank:]


def _column_size(matrix: Array) -> Array:
    size = np.sqrt(np.einsum("ij,ij->j", matrix, matrix))
    return np.where(size > 0.0, size, 1.0)


def _project(unmeasured: Array, order: Order | None) -> _Projection:
    """Split the balances into those that tell unmeasured variables and those that check."""
    rows, columns = unmeasured.shape
    if columns == 0:
        return _Projection(np.eye(rows), np.zeros((0, rows)), np.zeros(0, dtype=bool))
    size = _column_size(unmeasured)
    scaled = unmeasured / size
    q, inverse, beyond, (kept, _rest) = _split(scaled, order)
    rank = len(kept)
    free = np.abs(inverse @ beyond).max(axis=1, initial=0.0)
    back, told = np.zeros((columns, rows)), np.zeros(columns, dtype=bool)
    back[kept] = inverse @ q[:, :rank].T
    told[kept] = free < RANK_TOLERANCE * 10.0
    return _Projection(q[:, rank:].T, back / size[:, None], told)


def _split(scaled: Array, order: Order | None) -> tuple[Array, Array, Array, Order]:
    """Return (square q, inverse of r, q1' times the rest, order), by the cheapest safe way."""
    everything = np.arange(scaled.shape[1])
    kept, rest = order or (everything, everything[:0])
    quick = full_rank_qr(scaled[:, kept])
    if quick is not None:
        q, _top, inverse = quick
        turned = q.T @ scaled[:, rest]
        if np.abs(turned[len(kept) :]).max(initial=0.0) < RANK_TOLERANCE:
            return q, inverse, turned[: len(kept)], (kept, rest)
    turn, r, pivot, rank = pivoted_qr(scaled)
    back = np.asarray(np.linalg.inv(r[:rank, :rank]), dtype=np.float64)
    return turn, back, r[:rank, rank:], (pivot[:rank], pivot[rank:])


def _checks(part: Array, own: Array, sigma: Array, room: Array, gap: Array) -> tuple[Array, Array]:
    """Return (direction, shown) of the checks `(part @ own * sigma) @ e = gap`.

    `direction` has orthonormal columns spanning the checks; the least e is `direction @ shown`.
    A gap of up to `room` (per check) that no reading may take up is rounding.
    """
    checks = (part @ own) * sigma
    length = np.sqrt(np.einsum("ij,ij->i", checks, checks))
    most = np.abs(part) @ (np.abs(own) @ sigma)
    size: Array = np.where(length > RANK_TOLERANCE * most, length, np.inf)
    scaled, gap_scaled = checks / size[:, None], gap / size
    if np.isfinite(size).all():
        quick = full_rank_qr(scaled.T)
        if quick is not None:
            return quick[0][:, : len(gap)], gap_scaled @ quick[2]
    q, r, pivot, rank = pivoted_qr(scaled.T)
    shown = gap_scaled[pivot[:rank]] @ np.linalg.inv(r[:rank, :rank])
    rest = pivot[rank:]
    left = np.where(np.isinf(size), gap, 0.0)
    scale = np.where(np.isinf(size), 0.0, size)[rest]
    left[rest] += (gap_scaled[rest] - shown @ r[:rank, rank:]) * scale
    if (np.abs(left) > room).any():
        msg = (
            "values given as exact (sigma 0) contradict one another in the balances: "
            "give at least one of them an uncertainty"
        )
        raise ContradictionError(msg)
    return q[:, :rank], shown


def solve(
    balances: Array,
    readings: Array,
    sigma: Array,
    wanted: Array | None = None,
    *,
    strict: bool = True,
    order: Order | None = None,
) -> Solution:
    """Reconcile `readings` (NaN: unmeasured) with `balances @ x = wanted` (zeros if not given).

    Shapes: balances (equations, variables), readings and sigma (variables,), wanted
    (equations,). `sigma` is read where there is a reading only. Not `strict`: exact readings
    that contradict one another are let pass. `order` of the unmeasured columns, if known, saves
    time; it is checked.

    Raises:
        ContradictionError: where exact readings contradict one another.
    """
    return _assembly(balances, readings, sigma, wanted, strict, order).solution()


def nearest(
    balances: Array, readings: Array, sigma: Array, wanted: Array, order: Order | None = None
) -> Array:
    """Only the values of `solve`, not `strict`; NaN where they cannot be told."""
    return _assembly(balances, readings, sigma, wanted, False, order).values()  # noqa: FBT003


def _assembly(
    balances: Array,
    readings: Array,
    sigma: Array,
    wanted: Array | None,
    strict: bool,  # noqa: FBT001
    order: Order | None,
) -> _Assembly:
    measured = ~np.isnan(readings)
    part = _project(balances[:, ~measured], order)
    own, s, y = balances[:, measured], sigma[measured], readings[measured]
    left, most = own @ y, np.abs(own) @ np.abs(y)
    if wanted is not None:
        left, most = left - wanted, most + np.abs(wanted)
    room = np.abs(part.checks) @ most * 1e-9 if strict else np.full(len(part.checks), np.inf)
    direction, shown = _checks(part.checks, own, s, room, part.checks @ left)
    return _Assembly(measured, part, own, y, s, left, direction, shown, direction @ shown)


@dataclass(frozen=True, slots=True)
class _Assembly:
    """Puts measured and unmeasured variables together again in their order."""

    measured: Flags
    part: _Projection
    own: Array
    reading: Array
    sigma: Array
    left: Array
    direction: Array
    shown: Array
    error: Array

    def values(self) -> Array:
        """Return the reconciled values."""
        change = -self.sigma * self.error
        value = np.empty(len(self.measured))
        value[self.measured] = self.reading + change
        unmeasured = -self.part.back @ (self.left + self.own @ change)
        value[~self.measured] = np.where(self.part.told, unmeasured, np.nan)
        return value

    def solution(self) -> Solution:
        """Return the whole."""
        measured, told = self.measured, self.part.told
        adjustment, z = np.full(len(measured), np.nan), np.full(len(measured), np.nan)
        adjustment[measured] = -self.sigma * self.error
        observable, redundant = measured.copy(), measured.copy()
        observable[~measured], redundant[measured] = told, self._redundant()
        z[measured] = self._z(redundant[measured])
        shape = np.zeros((len(measured), len(self.shown)))
        shape[measured] = self.direction
        covariance = self._covariance()
        return Solution(
            self.values(), adjustment, covariance, observable, redundant, z, shape, self.shown
        )

    def _redundant(self) -> Flags:
        """Which readings some check sees."""
        seen = self.part.checks @ self.own
        size = np.sqrt(np.einsum("ij,ij->j", seen, seen))
        whole = np.sqrt(np.einsum("ij,ij->j", self.own, self.own))
        return np.asarray(size > RANK_TOLERANCE * whole)

    def _z(self, redundant: Flags) -> Array:
        weight = np.sqrt(np.einsum("ij,ij->i", self.direction, self.direction))
        found = np.full(len(weight), np.nan)
        tested = redundant & (self.sigma > 0.0) & (weight > 0.0)
        found[tested] = -self.error[tested] / weight[tested]
        return found

    def _covariance(self) -> Array:
        """Of all values, by the law of propagation from the reconciled readings."""
        measured, told, count = self.measured, self.part.told, len(self.sigma)
        kept = np.eye(count) - self.direction @ self.direction.T
        small = self.sigma[:, None] * kept * self.sigma
        link = np.zeros((len(measured), count))
        link[measured] = np.eye(count)
        link[~measured] = -self.part.back @ self.own
        covariance = link @ small @ link.T
        blind = np.flatnonzero(~measured)[~told]
        covariance[blind, :] = covariance[:, blind] = np.nan
        return covariance
