"""How much faster reconciling is than scipy's general constrained solver on the same problem.

python tests/bench/reconcile_bench.py [RUNS]

Twelve nodes and thirty streams, all measured or a fifth not, without a gross error. Each problem is
solved by `logbook.process.reconcile.reconcile_flows` (values, covariance, tests) and by
`scipy.optimize.minimize` with equality constraints and exact derivatives (values only), in turn,
each the fastest of five.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from logbook.process.reconcile import reconcile_flows

NODES, STREAMS = 12, 30


@dataclass(frozen=True, slots=True)
class Problem:
    """A network, its readings (NaN: not measured) and their uncertainties."""

    incidence: np.ndarray
    measured: np.ndarray
    sigma: np.ndarray


@dataclass(frozen=True, slots=True)
class Comparison:
    """Median seconds of both, the median of their ratios, and the largest relative difference."""

    method: str
    ours: float
    scipy: float
    ratio: float
    difference: float
    runs: int

    def __str__(self) -> str:
        return (
            f"ours {self.ours * 1e6:.0f} us, scipy {self.method} {self.scipy * 1e6:.0f} us, "
            f"median ratio {self.ratio:.0f} (wanted: at least 20), "
            f"values agree to {self.difference:.1e} (wanted: 1e-8); {self.runs} runs"
        )


def make_problem(seed: int, missing: float = 0.0) -> Problem:
    """A plant of twelve nodes in a row with side streams; the same for the same seed."""
    rng = np.random.default_rng(seed)
    ends = [(-1, 0), (NODES - 1, -1), *((k, k + 1) for k in range(NODES - 1))]
    while len(ends) < STREAMS:
        source, target = (int(k) for k in rng.integers(-1, NODES, size=2))
        if source != target:
            ends.append((source, target))
    incidence = np.zeros((NODES, STREAMS))
    for column, (source, target) in enumerate(ends):
        if source >= 0:
            incidence[source, column] = -1.0
        if target >= 0:
            incidence[target, column] = 1.0
    free = rng.uniform(20.0, 200.0, STREAMS)
    truth = free - np.linalg.pinv(incidence) @ (incidence @ free)
    sigma = 0.01 * np.abs(truth) + 0.1
    measured = truth + sigma * rng.standard_normal(STREAMS)
    order = rng.permutation(STREAMS)
    for stream in order[: round(missing * STREAMS)]:
        kept = measured.copy()
        kept[stream] = np.nan
        if reconcile_flows(incidence, kept, sigma).observable.all():
            measured = kept
    return Problem(incidence, measured, sigma)


def by_scipy(problem: Problem, method: str) -> np.ndarray:
    """The same flows by the general solver, started at the readings (mean flow where none is)."""
    from scipy.optimize import LinearConstraint, minimize

    seen = ~np.isnan(problem.measured)
    start = np.where(seen, problem.measured, np.nanmean(problem.measured))
    weight = np.where(seen, 1.0 / np.where(seen, problem.sigma, 1.0) ** 2, 0.0)
    target = np.where(seen, problem.measured, 0.0)

    def cost(x: np.ndarray) -> float:
        return float(weight @ (x - target) ** 2)

    def slope(x: np.ndarray) -> np.ndarray:
        return 2.0 * weight * (x - target)

    if method == "SLSQP":
        constraints: object = {
            "type": "eq",
            "fun": lambda x: problem.incidence @ x,
            "jac": lambda _x: problem.incidence,
        }
        options = {"ftol": 1e-13, "maxiter": 200}
        extra: dict[str, object] = {}
    else:
        constraints = LinearConstraint(problem.incidence, 0.0, 0.0)
        options = {"gtol": 1e-10, "xtol": 1e-14, "maxiter": 2000}
        extra = {"hess": lambda _x: np.diag(2.0 * weight)}
    found = minimize(
        cost, start, jac=slope, method=method, constraints=constraints, options=options, **extra
    )
    return np.asarray(found.x)


def compare(runs: int = 30, method: str = "SLSQP", missing: float = 0.0) -> Comparison:
    """Both on the same problems, in turn, after one run to warm up."""
    times, differences = [], []
    for seed in range(runs + 1):
        problem = make_problem(seed, missing)
        ours, mine = _timed(lambda p=problem: reconcile_flows(p.incidence, p.measured, p.sigma))
        other, theirs = _timed(lambda p=problem: by_scipy(p, method))
        times.append((ours, other))
        scale = np.abs(mine.value).max()
        differences.append(float(np.abs(mine.value - theirs).max() / scale))
    ours, others = zip(*times[1:], strict=True)
    return Comparison(
        method,
        median(ours),
        median(others),
        median(b / a for a, b in times[1:]),
        max(differences),
        runs,
    )


def _timed(work: Callable[[], object], times: int = 5) -> tuple[float, object]:
    """Seconds of the fastest of a few runs, since others use the machine too; and what was found."""
    taken, found = [], None
    for _ in range(times):
        start = time.perf_counter()
        found = work()
        taken.append(time.perf_counter() - start)
    return min(taken), found


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    for share in (0.0, 0.2):
        for solver in ("SLSQP", "trust-constr"):
            print(f"{share:.0%} not measured:", compare(count, solver, share), flush=True)
