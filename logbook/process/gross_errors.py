"""Readings that cannot be right: which of them, by how much, and which cannot be told apart.

All of it happens in the space of the independent checks (`Solution.shown`), where good readings
show standard normal values and a reading that is wrong by k of its standard uncertainties shows k
times its direction:

* global test: chi-square of the sum of squares;
* measurement test: |z| of each reading against a limit corrected for the number of tests
  (Mah and Tamhane, AIChE Journal 28 (1982) 828, cited from memory; Sidak's correction);
* serial elimination: while the global test fails, the reading with the largest |z| above its
  limit is set aside as if it were not measured (Ripps 1965; Serth and Heenan 1986, cited from
  memory). Setting it aside takes exactly z squared off chi-square.

A reading is accused only if the global test and its own test both fail, so that good readings
are accused in at most `level` of the periods. Two readings whose directions are parallel look
the same to every check: they are named together, since no arithmetic can tell which it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logbook.process.chance import chi_square_tail, level_of_each, normal_limit
from logbook.process.least_squares import Array, Flags, Solution

PARALLEL = 1.0 - 1e-9
"""Cosine of the angle between two directions from which on they are the same."""
CLOSE = 3.841
"""A reading that would take off less than this less of chi-square is a likely alternative:
the 95 % point of chi-square with one degree of freedom."""


@dataclass(frozen=True, slots=True)
class Suspicion:
    """One step of the elimination."""

    variables: tuple[int, ...]
    """Readings that look the same to every check: one of them is wrong."""
    z: float
    """Of the first of them when it was set aside."""
    error: float
    """Reading less truth, as the checks see it, if it is the first of them; in its unit."""
    error_sigma: float
    errors: tuple[float, ...]
    """The same of each of them, if it is that one."""
    chi2_after: float
    p_after: float
    alternatives: tuple[int, ...] = ()
    """Readings that explain it nearly as well: not the same, but not told apart with confidence."""


def same_to_all_checks(direction: Array, tested: Flags) -> tuple[tuple[int, ...], ...]:
    """Sets of two or more variables that no check tells apart; `direction` (variables, checks)."""
    unit = _unit_rows(direction)
    alike = (np.abs(unit @ unit.T) > PARALLEL) & tested & tested[:, None]
    found: list[tuple[int, ...]] = []
    for row in alike:
        together = tuple(int(k) for k in np.flatnonzero(row))
        if len(together) > 1 and together not in found:
            found.append(together)
    return tuple(found)


def _unit_rows(direction: Array) -> Array:
    size = np.sqrt(np.einsum("ij,ij->i", direction, direction))
    return np.asarray(direction / np.where(size > 0.0, size, 1.0)[:, None])


def z_limit(tested: Flags, level: float, correction: str) -> float:
    """Size of z above which one of the tested readings is accused.

    >>> round(z_limit(np.array([True] * 10), 0.05, "sidak"), 3)
    2.8
    """
    return normal_limit(level_of_each(level, int(tested.sum()), correction))


def serial_elimination(
    solution: Solution,
    sigma: Array,
    *,
    level: float = 0.05,
    correction: str = "sidak",
    may_be_wrong: Sequence[int] | None = None,
    most: int | None = None,
    global_test: bool = True,
) -> tuple[Suspicion, ...]:
    """Name readings to set aside, worst first, until the global test passes at `level`.

    Without `global_test` the readings' own tests decide alone: more powerful where many good
    readings, or uncertainties stated too wide, drown one bad one in the sum, and still at most
    `level`, since the limit is corrected for the number of tests.

    `sigma` are the standard uncertainties given to `solve`. `may_be_wrong` limits who can be
    accused; `most` how many are set aside. Stops, too, where no reading stands out above its
    limit, or none is left that the checks can tell anything about.
    """
    if global_test and not solution.p_value < level:
        return ()
    tested = np.isfinite(solution.z)
    if may_be_wrong is not None:
        allowed = np.zeros(len(tested), dtype=bool)
        allowed[list(may_be_wrong)] = True
        tested &= allowed
    limit = z_limit(tested, level, correction)
    direction, shown, dof = solution.direction, solution.shown, solution.dof
    found: list[Suspicion] = []
    gone: list[int] = []
    while tested.any() and len(found) != most:
        if global_test and not chi_square_tail(float(shown @ shown), dof) < level:
            break
        step = _worst(direction, shown, tested, limit)
        if step is None:
            break
        gone.append(step[0][0])
        direction, shown = _set_aside(direction, shown, gone[-1])
        dof -= 1
        tested = tested & (np.einsum("ij,ij->i", direction, direction) > 1e-12)
        found.append(_suspicion(solution, sigma, gone, step, shown, dof))
    return tuple(found)


_Step = tuple[tuple[int, ...], float, tuple[int, ...]]


def _worst(direction: Array, shown: Array, tested: Flags, limit: float) -> _Step | None:
    """Readings with the largest |z| if it is above `limit`: (set, z of the first, alternatives)."""
    unit = _unit_rows(direction)
    z = np.where(tested, -(unit @ shown), 0.0)
    size = np.abs(z)
    first = int(size.argmax())
    if size[first] <= limit:
        return None
    together = tested & (np.abs(unit @ unit[first]) > PARALLEL)
    close = tested & ~together & (size[first] ** 2 - size**2 < CLOSE)
    order = sorted(np.flatnonzero(close).tolist(), key=size.__getitem__, reverse=True)
    members = tuple(int(k) for k in np.flatnonzero(together))
    return members, float(z[members[0]]), tuple(order)


def _set_aside(direction: Array, shown: Array, variable: int) -> tuple[Array, Array]:
    """Directions and what is shown, without what `variable` can show."""
    unit = direction[variable] / np.sqrt(direction[variable] @ direction[variable])
    rest = direction - np.outer(direction @ unit, unit)
    rest[np.abs(rest).max(axis=1, initial=0.0) < 1e-9] = 0.0
    rest[variable] = 0.0
    return rest, shown - (shown @ unit) * unit


def _suspicion(
    solution: Solution, sigma: Array, gone: list[int], step: _Step, shown: Array, dof: int
) -> Suspicion:
    """The last of `gone` with its error, told together with those gone before."""
    members, z, alternatives = step
    told = [error_sizes(solution, sigma, [*gone[:-1], one]) for one in members]
    errors = tuple(float(size[-1]) for size, _spread in told)
    chi2 = float(shown @ shown)
    return Suspicion(
        members,
        z,
        errors[0],
        float(told[0][1][-1]),
        errors,
        chi2,
        chi_square_tail(chi2, dof),
        alternatives,
    )


def error_sizes(solution: Solution, sigma: Array, variables: Sequence[int]) -> tuple[Array, Array]:
    """Errors of `variables` (reading less truth) as the checks see them, and their uncertainties.

    The generalised likelihood ratio's estimate (Narasimhan and Mah, AIChE Journal 33 (1987)
    1514, cited from memory), told together for all of them.
    """
    part = solution.direction[list(variables)].T
    back = np.linalg.pinv(part)
    spread = np.sqrt(np.einsum("ij,ij->i", back, back))
    scale = sigma[list(variables)]
    return np.asarray(scale * (back @ solution.shown)), np.asarray(scale * spread)


def node_z(balances: Array, readings: Array, sigma: Array) -> Array:
    """Imbalance of each node over its standard deviation; NaN where a stream is not measured.

    The nodal test (Reilly and Carpani 1963; Mah, Stanley and Downing 1976, cited from memory):
    a node beyond its limit has a wrong reading, or a leak, among its own streams.
    """
    used = balances != 0.0
    blind = (used & np.isnan(readings)).any(axis=1)
    known = np.where(np.isnan(readings), 0.0, readings)
    spread = np.sqrt((balances**2) @ np.where(np.isnan(readings), 0.0, sigma) ** 2)
    whole = used.any(axis=1) & ~blind & (spread > 0.0)
    found = np.full(len(balances), np.nan)
    found[whole] = (balances @ known)[whole] / spread[whole]
    return found
