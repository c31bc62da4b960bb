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
    sigma: Array
    """Standard uncertainty of `value`; NaN where it cannot be told."""
    observable: Flags
    """Measured, or told by the balances."""
    redundant: Flags
    """Measured, and told by the balances if it were not."""
    z: Array
    """Adjustment over its standard deviation; NaN where there is no reading or nothing checks it."""
    shown: Array
    """(checks,): what the readings show in the checks; standard normal if no reading is wrong."""
    measured: Flags
    seen: Array
    """(measured variables, checks): how an error shows in the checks, scaled by its sigma."""
    scale: Array
    """Standard uncertainties of the readings."""
    link: Array
    """(unmeasured, measured): how what is not measured follows what is."""

    @property
    def direction(self) -> Array:
        """(variables, checks): `seen` for all variables, zero where there is no reading."""
        found = np.zeros((len(self.measured), len(self.shown)))
        found[self.measured] = self.seen
        return found

    @property
    def covariance(self) -> Array:
        """(variables, variables), of `value`; NaN in rows and columns of what cannot be told."""
        count = len(self.scale)
        kept = np.eye(count) - self.seen @ self.seen.T
        small = self.scale[:, None] * kept * self.scale
        link = np.zeros((len(self.measured), count))
        link[self.measured] = np.eye(count)
        link[~self.measured] = self.link
        covariance = link @ small @ link.T
        blind = ~self.observable
        covariance[blind, :] = covariance[:, blind] = np.nan
        return covariance

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


def pivoted_qr(
    matrix: Array, *, with_q: bool = True
) -> tuple[Array, Array, npt.NDArray[np.intp], int]:
    """Return (q, r, pivot, rank) with `matrix[:, pivot] = q @ r`, largest columns first.

    Householder with column pivoting (Golub and Van Loan, Matrix Computations, section 5.4);
    `q` is square; not `with_q`: it is empty. Columns are compared as they are: scale them before.
    """
    rows, columns = matrix.shape
    r, q = matrix.astype(np.float64), np.eye(rows) if with_q else np.zeros((0, rows))
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
    if len(q):
        q[:, k:] -= np.outer(q[:, k:] @ mirror, 2.0 * mirror)


def full_rank_qr(matrix: Array, *, square: bool) -> tuple[Array, Array] | None:
    """Return (q, inverse of r) where the columns are surely independent, else None.

    `square`: q with all its columns, else only those that span the matrix.
    """
    rows, columns = matrix.shape
    if columns > rows:
        return None
    q, r = np.linalg.qr(matrix, mode="complete" if square else "reduced")
    top = r[:columns]
    if columns and not np.abs(top.diagonal()).min() > 0.0:
        return None
    inverse = np.linalg.inv(top)
    # Frobenius norms bound the condition number from above.
    if np.vdot(top, top) * np.vdot(inverse, inverse) * RANK_TOLERANCE**2 > 1.0:
        return None
    return q, inverse


@dataclass(frozen=True, slots=True)
class _Projection:
    """Unmeasured u: u[told] = back @ (b - A_m x_m); the checks are `checks @ (A_m x_m - b) = 0`."""

    checks: Array | None
    """None: every balance is a check as it is."""
    back: Array
    told: Flags


Order: TypeAlias = tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]
"""Columns that are independent, and those that add nothing to them."""


def independent_columns(matrix: Array) -> Order:
    """Split the columns of `matrix` into independent ones and the rest."""
    scaled = matrix / _column_size(matrix)
    if full_rank_qr(scaled, square=False) is not None:
        everything = np.arange(matrix.shape[1])
        return everything, everything[:0]
    _q, _r, pivot, rank = pivoted_qr(scaled, with_q=False)
    return pivot[:rank], pivot[rank:]


def _column_size(matrix: Array) -> Array:
    size = np.sqrt(np.einsum("ij,ij->j", matrix, matrix))
    return np.where(size > 0.0, size, 1.0)


def _nothing_unmeasured(rows: int) -> _Projection:
    return _Projection(None, np.zeros((0, rows)), np.zeros(0, dtype=bool))


def _project(unmeasured: Array, order: Order | None) -> _Projection:
    """Split the balances into those that tell unmeasured variables and those that check."""
    rows, columns = unmeasured.shape
    size = _column_size(unmeasured)
    scaled = unmeasured / size
    if order is None or not len(order[1]):
        quick = full_rank_qr(scaled, square=True)
        if quick is not None:
            back = quick[1] @ quick[0][:, :columns].T / size[:, None]
            return _Projection(quick[0][:, columns:].T, back, np.ones(columns, dtype=bool))
    q, inverse, beyond, (kept, _rest) = _split(scaled, order)
    rank = len(kept)
    free = np.abs(inverse @ beyond).max(axis=1, initial=0.0)
    back, told = np.zeros((columns, rows)), np.zeros(columns, dtype=bool)
    back[kept] = inverse @ q[:, :rank].T
    told[kept] = free < RANK_TOLERANCE * 10.0
    return _Projection(q[:, rank:].T, back / size[:, None], told)


def _split(scaled: Array, order: Order | None) -> tuple[Array, Array, Array, Order]:
    """Return (square q, inverse of r, q1' times the rest, order); `order` is only used if it holds."""
    if order is not None:
        kept, rest = order
        quick = full_rank_qr(scaled[:, kept], square=True)
        if quick is not None:
            turned = quick[0].T @ scaled[:, rest]
            if np.abs(turned[len(kept) :]).max(initial=0.0) < RANK_TOLERANCE:
                return quick[0], quick[1], turned[: len(kept)], order
    q, r, pivot, rank = pivoted_qr(scaled)
    inverse = np.asarray(np.linalg.inv(r[:rank, :rank]), dtype=np.float64)
    return q, inverse, r[:rank, rank:], (pivot[:rank], pivot[rank:])


GOOD_CONDITION = 1e6
"""Up to this (squared) condition normal equations are as good as an orthogonal decomposition."""


def _span(checks: Array) -> tuple[Array, Array] | None:
    """Return (q, back) with orthonormal q = checks.T @ back, or None where rows may depend.

    Rows of `checks` have length 1. By a Cholesky decomposition where that costs no digits.
    """
    try:
        lower = np.linalg.cholesky(checks @ checks.T)
        back = np.linalg.inv(lower).T
    except np.linalg.LinAlgError:
        return None
    if np.vdot(lower, lower) * np.vdot(back, back) < GOOD_CONDITION:
        return checks.T @ back, back
    return full_rank_qr(checks.T, square=False)


def _checks(given: _Given, part: _Projection) -> tuple[Array, Array, Array]:
    """Return (checks, seen, shown): the balances that only readings are in, `checks @ x = ...`.

    `seen` has orthonormal columns spanning what errors over their sigma show in the checks; the
    least such errors are `seen @ shown`.

    Raises:
        ContradictionError: see `solve`.
    """
    if part.checks is None:
        checks, gap = given.own, given.left
    else:
        checks, gap = part.checks @ given.own, part.checks @ given.left
    scaled = checks * given.sigma
    length = np.sqrt(np.einsum("ij,ij->i", scaled, scaled))
    # Where rounding is all that is left of a check, no reading is in it.
    full = length > (0.0 if part.checks is None else RANK_TOLERANCE * given.most(part))
    if full.all():
        found = _span(scaled / length[:, None])
        if found is not None:
            return checks, found[0], (gap / length) @ found[1]
    size = np.where(full, length, 1.0)
    scaled, gap = np.where(full[:, None], scaled / size[:, None], 0.0), gap / size
    q, r, pivot, rank = pivoted_qr(scaled.T)
    shown = gap[pivot[:rank]] @ np.linalg.inv(r[:rank, :rank])
    rest = pivot[rank:]
    left = np.abs(gap[rest] - shown @ r[:rank, rank:]) * size[rest]
    if given.strict and (left > 1e-9 * given.room(part)[rest]).any():
        msg = (
            "values given as exact (sigma 0) contradict one another in the balances: "
            "give at least one of them an uncertainty"
        )
        raise ContradictionError(msg)
    return checks, q[:, :rank], shown


@dataclass(frozen=True, slots=True)
class _Given:
    """The readings and their part of the balances: own @ y = wanted, but for `left`."""

    own: Array
    reading: Array
    sigma: Array
    left: Array
    wanted: Array | None
    strict: bool

    def most(self, part: _Projection) -> Array:
        """How large each check could be."""
        size = np.abs(self.own) @ self.sigma
        return size if part.checks is None else np.abs(part.checks) @ size

    def room(self, part: _Projection) -> Array:
        """What the gap of each check is small beside."""
        size = np.abs(self.own) @ np.abs(self.reading)
        if self.wanted is not None:
            size = size + np.abs(self.wanted)
        return size if part.checks is None else np.abs(part.checks) @ size


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
    if measured.all():
        part, own, s, y = _nothing_unmeasured(len(balances)), balances, sigma, readings
    else:
        part = _project(balances[:, ~measured], order)
        own, s, y = balances[:, measured], sigma[measured], readings[measured]
    left = own @ y
    if wanted is not None:
        left = left - wanted
    checks, seen, shown = _checks(_Given(own, y, s, left, wanted, strict), part)
    return _Assembly(measured, part, own, checks, y, s, left, seen, shown)


@dataclass(frozen=True, slots=True)
class _Assembly:
    """Puts measured and unmeasured variables together again in their order."""

    measured: Flags
    part: _Projection
    own: Array
    checks: Array
    reading: Array
    sigma: Array
    left: Array
    seen: Array
    shown: Array

    def values(self) -> Array:
        """Return the reconciled values."""
        return self._joined(self.sigma * (self.seen @ self.shown))

    def _joined(self, error: Array) -> Array:
        """Values of all variables where the readings are too high by `error`."""
        if not len(self.part.told):
            return self.reading - error
        value = np.empty(len(self.measured))
        value[self.measured] = self.reading - error
        unmeasured = -self.part.back @ (self.left - self.own @ error)
        value[~self.measured] = np.where(self.part.told, unmeasured, np.nan)
        return value

    def solution(self) -> Solution:
        """Return the whole."""
        measured, told, error = self.measured, self.part.told, self.seen @ self.shown
        weight = np.einsum("ij,ij->i", self.seen, self.seen)
        redundant = self._redundant()
        # `weight` is 0 where sigma is, and where no check sees the reading.
        tested = redundant & (weight > 0.0)
        z = np.where(tested, -error / np.sqrt(np.where(tested, weight, 1.0)), np.nan)
        sigma = self.sigma * np.sqrt(np.maximum(1.0 - weight, 0.0))
        error = self.sigma * error
        value, adjustment, observable = self._joined(error), -error, measured
        link = self.own[:0] if not len(told) else -self.part.back @ self.own
        if len(told):
            seen, unread = np.flatnonzero(measured), np.flatnonzero(~measured)
            moved = link * self.sigma
            moved -= (moved @ self.seen) @ self.seen.T
            rest = np.sqrt(np.einsum("ij,ij->i", moved, moved))
            rest[~told] = np.nan
            whole = np.full((3, len(measured)), np.nan)
            whole[0, seen], whole[1, seen], whole[2, seen] = adjustment, z, sigma
            whole[2, unread] = rest
            adjustment, z, sigma = whole
            observable, checked = measured.copy(), measured.copy()
            observable[unread], checked[seen] = told, redundant
            redundant = checked
        return Solution(
            value,
            adjustment,
            sigma,
            observable,
            redundant,
            z,
            self.shown,
            measured,
            self.seen,
            self.sigma,
            link,
        )

    def _redundant(self) -> Flags:
        """Which readings some check sees."""
        size = np.einsum("ij,ij->j", self.checks, self.checks)
        if self.part.checks is None:
            return np.asarray(size > 0.0)
        whole = np.einsum("ij,ij->j", self.own, self.own)
        return np.asarray(size > RANK_TOLERANCE**2 * whole)
