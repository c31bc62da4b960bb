"""Counter-current leaching: ideal stages for a residual oil, and the residual oil of given stages.

Solids move from stage 1 to stage n, solvent the other way. The inert solids are carried on
unchanged; the solution that they retain (underflow) leaves a stage with the strength of its
overflow, as far as the stage is efficient. Strength y is kg oil per kg solution; retention N(y)
is kg inert per kg solution retained, as it is written for leaching in textbooks of unit operations
(C. J. Geankoplis, Transport Processes and Unit Operations, section 12.10; from memory).

Masses are in one unit throughout (kg, t or t/h). Inner functions are plain floats.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

MOST_STAGES = 200
"""Beyond this many stages a target counts as out of reach."""
MOST_TURNS = 200
"""Turns after which retention and strength count as not settling."""
CLOSES_TO = 1e-9
"""Relative error up to which the balance over all stages counts as closed."""


class LeachingError(ValueError):
    """A problem of leaching without solution; the message says why and what to change."""


@dataclass(frozen=True, slots=True)
class Retention:
    """How much solution the inert solids hold, against its strength."""

    inert_per_solution: Callable[[float], float]
    """N(y), kg inert per kg solution, of the strength y in 0..1."""
    constant_in: str = ""
    """"solution" or "solvent" where the mass retained of it does not change; else empty."""

    def solution_kg(self, inert_kg: float, y: float) -> float:
        """Return the solution retained by so much inert solids at strength y.

        LeachingError where the retention given is no positive number.
        """
        held = self.inert_per_solution(min(max(y, 0.0), 1.0))
        if not (math.isfinite(held) and held > 0.0):
            raise LeachingError(
                f"The retention at a strength of {y:.4g} is {held:g} kg inert per kg solution; "
                "it must be above 0."
            )
        return inert_kg / held


def constant_retention(solution_per_inert: float) -> Retention:
    """Return a retention of so many kg of solution per kg of inert solids, at any strength."""
    held = _positive(solution_per_inert, "retention of solution")
    return Retention(lambda _y: 1.0 / held, "solution")


def constant_solvent_retention(solvent_per_inert: float) -> Retention:
    """Return a retention of so many kg of oil-free solvent per kg of inert solids."""
    held = _positive(solvent_per_inert, "retention of solvent")
    # At y = 1 there would be no solvent left to hold: kept a little below.
    return Retention(lambda y: (1.0 - min(y, 1.0 - 1e-9)) / held, "solvent")


def retention_table(strengths: Sequence[float], inert_per_solution: Sequence[float]) -> Retention:
    """Return N(y) from a table, straight between its rows and level beyond its ends.

    `strengths` must rise; LeachingError else.
    """
    y, n = tuple(strengths), tuple(inert_per_solution)
    if len(y) < 2 or len(y) != len(n):
        raise LeachingError("The retention table needs two rows or more, each with y and N.")
    if any(after <= before for before, after in pairwise(y)):
        raise LeachingError("The strengths of the retention table must rise from row to row.")
    for value in n:
        _positive(value, "retention in the table")

    def between(at: float) -> float:
        place = min(max(bisect_right(y, at), 1), len(y) - 1)
        share = min(max((at - y[place - 1]) / (y[place] - y[place - 1]), 0.0), 1.0)
        return n[place - 1] + share * (n[place] - n[place - 1])

    return Retention(between)


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaching:
    """What enters a counter-current extraction; all masses in one unit."""

    inert: float
    """Solids that do not dissolve, in the feed."""
    oil: float
    """Oil in the feed."""
    solvent: float
    """Solvent in the wash that enters at the end of the solids."""
    retention: Retention
    solvent_in_feed: float = 0.0
    oil_in_solvent: float = 0.0

    def __post_init__(self) -> None:
        """Refuse masses that cannot be."""
        _positive(self.inert, "inert solids")
        _positive(self.solvent, "solvent")
        _positive(self.oil, "oil in the feed")
        for value, name in (
            (self.solvent_in_feed, "solvent in the feed"),
            (self.oil_in_solvent, "oil in the solvent"),
        ):
            if not (math.isfinite(value) and value >= 0.0):
                raise LeachingError(f"{name} is {value:g}; it must be a number from 0 up.")

    @property
    def feed_solution(self) -> float:
        """Oil and solvent that enter with the solids."""
        return self.oil + self.solvent_in_feed

    @property
    def feed_strength(self) -> float:
        """Oil per solution in the feed."""
        return self.oil / self.feed_solution

    @property
    def wash(self) -> float:
        """Solvent with its oil that enters at the far end."""
        return self.solvent + self.oil_in_solvent

    @property
    def wash_strength(self) -> float:
        """Oil per solution in the wash."""
        return self.oil_in_solvent / self.wash

    def retained(self, y: float) -> float:
        """Solution in the underflow at strength y."""
        return self.retention.solution_kg(self.inert, y)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stages:
    """A counter-current extraction worked out stage by stage, stage 1 where the solids enter."""

    ideal: float
    """Number of stages; with a fraction where it was worked out for a residual oil."""
    whole: int
    """The next whole number of stages."""
    overflow_strength: tuple[float, ...]
    """y of the overflow that leaves each stage, kg oil per kg solution."""
    underflow_strength: tuple[float, ...]
    """The same of the solution retained by the solids that leave it."""
    underflow: tuple[float, ...]
    """Solution in the underflow of each stage."""
    overflow: tuple[float, ...]
    """Overflow of each stage."""
    residual_oil: float
    """Oil that leaves with the solids."""
    retained: float
    """Solution that leaves with the solids."""
    extract: float
    """Solution that leaves stage 1 as full miscella."""
    extract_strength: float
    recovery: float
    """Share of the oil of feed and solvent that leaves with the extract."""
    balance_error: float
    """The worst of the balances of the whole and of the stages: oil in less oil out, over oil in."""


def stages(problem: Leaching, *, residual_oil: float) -> Stages:
    """Return the ideal stages needed to leave so much oil with the solids.

    `residual_oil` in the unit of the masses. Balances over stage after stage, from the
    feed on. The fraction of the last stage: for constant retention by the closed form of the
    geometric series (which the strengths then follow), otherwise straight between the strengths
    of the whole stages. LeachingError where there is no solution: the solids retain all solvent, the
    wash itself is too strong, or the stages close up on a pinch above the target.

    >>> beans = Leaching(inert=80, oil=20, solvent=100, retention=constant_retention(2 / 3))
    >>> told = stages(beans, residual_oil=0.5)
    >>> told.whole, round(told.ideal, 2)
    (6, 5.32)
    """
    last = _strength_of(problem, residual_oil)
    extract = _extract(problem, last)
    oil_out = problem.oil + problem.oil_in_solvent - residual_oil
    found = _step_down(problem, extract, oil_out / extract, last)
    count = _count(problem, extract, found, last)
    strengths = tuple(found)
    return _told(problem, extract, strengths, strengths, count, last)


def predict(problem: Leaching, count: int, *, efficiency: float = 1.0) -> Stages:
    """Return what `count` stages leave with the solids: the inverse of `stages`.

    In each stage the share `efficiency` (above 0, at most 1) of the solution that comes with the
    solids mixes with the wash; the rest stays in them as it came, and what they hold besides has the
    strength of the overflow. The balances of all stages are solved together.
    LeachingError for a count below 1, where no overflow is left, or where retention and strength do
    not settle.

    >>> beans = Leaching(inert=80, oil=20, solvent=100, retention=constant_retention(2 / 3))
    >>> round(predict(beans, 5).residual_oil, 3)
    0.612
    """
    if count < 1 or count > MOST_STAGES:
        raise LeachingError(f"{count} stages: give a whole number from 1 to {MOST_STAGES}.")
    if not 0.0 < efficiency <= 1.0:
        raise LeachingError(f"A stage efficiency of {efficiency:g}: give one above 0, at most 1.")
    over, under = _settled(problem, count, efficiency)
    last = float(under[-1])
    strengths = tuple(map(float, over)), tuple(map(float, under))
    return _told(problem, _extract(problem, last), *strengths, float(count), last)


# -- inside ---------------------------------------------------------------------------------


def _positive(value: float, name: str) -> float:
    """Return the value, or raise LeachingError where it is not a number above 0."""
    if not (math.isfinite(value) and value > 0.0):
        raise LeachingError(f"{name} is {value:g}; it must be a number above 0.")
    return value


def _extract(problem: Leaching, last: float) -> float:
    """Return the full miscella that is left when the last underflow has the strength `last`."""
    kept = problem.retained(last)
    extract = problem.feed_solution + problem.wash - kept
    if extract <= 0.0:
        raise LeachingError(_all_retained(problem, kept))
    return extract


def _all_retained(problem: Leaching, kept: float) -> str:
    """Say that nothing is left to flow over."""
    return (
        f"No extract is left: {problem.wash:g} of solvent and {problem.feed_solution:g} in the "
        f"feed, but the solids retain {kept:.4g}. Give more solvent or less retention."
    )


def _strength_of(problem: Leaching, residual_oil: float) -> float:
    """Return the strength at which the retained solution holds so much oil.

    Found by bisection: the oil retained rises with the strength. LeachingError where the target
    cannot be.
    """
    most = problem.oil + problem.oil_in_solvent
    if not (math.isfinite(residual_oil) and 0.0 < residual_oil < most):
        raise LeachingError(
            f"A residual oil of {residual_oil:g}: give one above 0 and below the {most:g} of oil "
            "that enters."
        )
    if problem.retained(1.0) < residual_oil:
        raise LeachingError(
            f"The solids cannot retain {residual_oil:g} of oil: even pure oil leaves less. "
            "Look at retention and target."
        )
    low, high = 0.0, 1.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle * problem.retained(middle) < residual_oil:
            low = middle
        else:
            high = middle
    if high <= problem.wash_strength:
        raise LeachingError(
            f"The solvent itself holds {100 * problem.wash_strength:.3g} % oil, the solution "
            f"retained at the target only {100 * high:.3g} %: no number of stages gets there."
        )
    return high


def _step_down(problem: Leaching, extract: float, strong: float, last: float) -> list[float]:
    """Return the strengths of the stages from the extract on, until one is at most `last`."""
    oil_in = problem.oil - extract * strong
    found = [strong]
    while found[-1] > last:
        kept = problem.retained(found[-1])
        flow = kept + extract - problem.feed_solution
        if flow <= 0.0:
            raise LeachingError(
                f"Stage {len(found)} would be given no overflow: the solids retain too little "
                "against the solution that they bring in. Look at feed and retention."
            )
        weaker = (kept * found[-1] - oil_in) / flow
        if weaker >= found[-1] * (1.0 - 1e-12) or len(found) >= MOST_STAGES:
            raise LeachingError(
                f"The stages close up at a strength of {100 * found[-1]:.3g} % and never reach "
                f"{100 * last:.3g} %: a pinch. Give more solvent, or accept more residual oil."
            )
        found.append(weaker)
    return found


def _count(problem: Leaching, extract: float, found: list[float], last: float) -> float:
    """Return the number of stages with its fraction; see `stages`."""
    if len(found) == 1:
        return 1.0
    before, after = found[-2], found[-1]
    if problem.retention.constant_in:
        return len(found) - 1 + _geometric(problem, extract, before, after, last)
    return len(found) - 1 + (before - last) / (before - after)


def _geometric(
    problem: Leaching, extract: float, before: float, after: float, last: float
) -> float:
    """Return the fraction of a stage from `before` to `last` on the geometric series.

    In the coordinate in which underflow and overflow are constant (solution: y; solvent:
    y / (1 - y)) the next strength is a straight line of the one before, so that the distance from
    the line's fixed point shrinks by the same factor in every stage.
    """
    if problem.retention.constant_in == "solvent":
        kept = problem.retained(0.0)
        flow = kept + extract * (1.0 - _first(problem, extract, last)) - problem.solvent_in_feed
        before, after, last = (y / (1.0 - y) for y in (before, after, last))
    else:
        kept = problem.retained(0.0)
        flow = kept + extract - problem.feed_solution
    slope = kept / flow
    if abs(1.0 - slope) < 1e-9:
        return (before - last) / (before - after)
    fixed = (after - slope * before) / (1.0 - slope)
    return math.log((before - fixed) / (last - fixed)) / math.log(
        (before - fixed) / (after - fixed)
    )


def _first(problem: Leaching, extract: float, last: float) -> float:
    """Return the strength of the extract that belongs to a last underflow of strength `last`."""
    kept = problem.retained(last)
    return (problem.oil + problem.oil_in_solvent - kept * last) / extract


def _settled(problem: Leaching, count: int, efficiency: float) -> tuple[Array, Array]:
    """Return overflow and underflow strengths of all stages at which every balance closes.

    For given underflows the balances are linear, so that constant retention takes one solution.
    Retention that follows the strength is put in again until nothing changes; the step is halved as
    it goes on, for solids that hold far more of a strong solution.
    """
    kept = np.full(count, problem.retained(problem.wash_strength))
    over, under = _solve_stages(problem, kept, efficiency)
    for turn in range(MOST_TURNS):
        wanted = np.array([problem.retained(float(y)) for y in under])
        if np.all(np.abs(wanted - kept) <= 1e-13 * wanted):
            return over, under
        kept = kept + (wanted - kept) * 0.5 ** (turn // 25)
        over, under = _solve_stages(problem, kept, efficiency)
    raise LeachingError(
        "Retention and strength do not settle: the solids hold so much more of a strong solution "
        "that no steady state was found. Look at the retention."
    )


def _solve_stages(problem: Leaching, kept: Array, efficiency: float) -> tuple[Array, Array]:
    """Return overflow and underflow strengths for given underflows, by linear equations.

    Unknown k is the strength y of the overflow of stage k, unknown n + k that of its underflow, x:
    the oil balance of each stage, and x as the mixture of overflow and what came unmixed.
    """
    n = len(kept)
    came = np.array([problem.feed_solution, *kept[:-1]])
    flow = problem.wash + came - kept[-1]
    _check_flows(problem, kept, flow)
    stays = np.minimum((1.0 - efficiency) * came / kept, 1.0)
    k = np.arange(n)
    a, b = np.zeros((2 * n, 2 * n)), np.zeros(2 * n)
    a[k, k], a[k, n + k] = flow, kept
    a[k[:-1], k[1:]] = -flow[1:]
    a[k[1:], n + k[:-1]] = -kept[:-1]
    a[n + k, n + k], a[n + k, k] = 1.0, stays - 1.0
    a[n + k[1:], n + k[:-1]] = -stays[1:]
    b[0], b[n] = problem.oil, stays[0] * problem.feed_strength
    b[n - 1] += problem.oil_in_solvent
    found: Array = np.asarray(np.linalg.solve(a, b), dtype=np.float64)
    return found[:n], found[n:]


def _check_flows(problem: Leaching, kept: Array, flow: Array) -> None:
    """Raise LeachingError where a stage would have nothing to flow over."""
    if flow[0] <= 0.0:
        raise LeachingError(_all_retained(problem, float(kept[-1])))
    for stage in np.flatnonzero(flow <= 0.0):
        raise LeachingError(
            f"Stage {stage + 1} would give no overflow: the solids retain too little against "
            "what they hold at the end. Look at feed and retention."
        )


def _told(
    problem: Leaching,
    extract: float,
    overflow: tuple[float, ...],
    underflow: tuple[float, ...],
    count: float,
    last: float,
) -> Stages:
    """Put the result together; LeachingError where a balance does not close."""
    kept = tuple(problem.retained(y) for y in underflow)
    flows = (extract, *(one + extract - problem.feed_solution for one in kept[:-1]))
    oil_in = problem.oil + problem.oil_in_solvent
    left = problem.retained(last) * last
    error = _worst_balance(problem, (overflow, flows), (underflow, kept), left)
    if abs(error) > CLOSES_TO:
        raise LeachingError(f"The oil balance is out by {100 * error:.2g} %: no solution found.")
    return Stages(
        ideal=count,
        whole=math.ceil(count - 1e-9),
        overflow_strength=overflow,
        underflow_strength=underflow,
        underflow=kept,
        overflow=flows,
        residual_oil=left,
        retained=problem.retained(last),
        extract=extract,
        extract_strength=overflow[0],
        recovery=extract * overflow[0] / oil_in,
        balance_error=error,
    )


def _worst_balance(
    problem: Leaching,
    over: tuple[tuple[float, ...], tuple[float, ...]],
    under: tuple[tuple[float, ...], tuple[float, ...]],
    left: float,
) -> float:
    """Return the oil balance that closes worst, over the oil that enters.

    Checked are the whole and each stage but the last, which may be a fraction of one. Both
    arguments are strengths and masses by stage.
    """
    out = [y * mass for y, mass in zip(*over, strict=True)]
    held = [problem.oil, *(y * mass for y, mass in zip(*under, strict=True))]
    oil_in = problem.oil + problem.oil_in_solvent
    errors = [oil_in - left - out[0]]
    errors += [held[n] + out[n + 1] - held[n + 1] - out[n] for n in range(len(out) - 1)]
    return max(errors, key=abs) / oil_in
