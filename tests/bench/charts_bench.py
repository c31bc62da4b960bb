"""How long all charts and run rules of a year take, beside numpy reading and averaging the arrays.

python tests/bench/charts_bench.py [RUNS]

A year of 130 points at two hours, 569,400 readings, one in fifty missing and four weeks of downtime
shared by all. Measured in turn, in one process: numpy reading one file for each point and averaging
it without its missing readings (the baseline that counts); the same arrays averaged where they are
in memory (a harder one, printed for honesty); and the charts: individuals with moving ranges, EWMA,
CUSUM, all eight run rules on AR(1) residuals, capability, with the correlation estimated, and means
with ranges and with deviations of six mills.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from logbook.assess.charts import NELSON, ChartSettings, chart_many, xbar_r, xbar_s

POINTS, ROUNDS, MILLS = 130, 4380, 6
BASELINE = slice(0, 360)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Median seconds of each, and the median of the ratios of runs made in turn."""

    charts: float
    read_and_average: float
    average: float
    ratio: float
    ratio_in_memory: float
    runs: int

    def __str__(self) -> str:
        return (
            f"ours {self.charts * 1e3:.1f} ms, numpy reading and averaging "
            f"{self.read_and_average * 1e3:.1f} ms, ratio {self.ratio:.2f} (wanted: at most 3); "
            f"averaging alone, in memory, {self.average * 1e3:.1f} ms, "
            f"ratio {self.ratio_in_memory:.1f}; {self.runs} runs"
        )


def make_year(seed: int = 1, points: int = POINTS, rounds: int = ROUNDS) -> np.ndarray:
    """Readings with correlation, some missing, shape (points, rounds); the same for a seed."""
    rng = np.random.default_rng(seed)
    matrix = rng.standard_normal((points, rounds))
    for column in range(1, rounds):
        matrix[:, column] = 0.5 * matrix[:, column - 1] + 0.866 * matrix[:, column]
    matrix += rng.uniform(10.0, 100.0, (points, 1))
    matrix[rng.random((points, rounds)) < 0.02] = np.nan
    for start in rng.integers(BASELINE.stop, max(BASELINE.stop + 1, rounds - 84), 4):
        matrix[:, start : start + 84] = np.nan
    return matrix


def chart_all(matrix: np.ndarray) -> object:
    """Every chart and every rule for every point, and the charts of a line of mills."""
    middle = np.nanmean(matrix[:, BASELINE], axis=1)
    mills = matrix[:MILLS].T
    settings = ChartSettings(rules=NELSON)
    return (
        chart_many(
            matrix, baseline=BASELINE, low=middle - 4.0, high=middle + 4.0, settings=settings
        ),
        xbar_r(mills, baseline=BASELINE, own_level=True),
        xbar_s(mills, baseline=BASELINE, own_level=True),
    )


def write_files(matrix: np.ndarray, folder: Path) -> list[Path]:
    """One file of readings for each point."""
    files = []
    for index, row in enumerate(matrix):
        files.append(folder / f"{index}.npy")
        np.save(files[-1], row)
    return files


def compare(runs: int = 15, points: int = POINTS, rounds: int = ROUNDS) -> Comparison:
    """All three on the same readings, in turn, after one round to warm up."""
    matrix = make_year(points=points, rounds=rounds)
    with tempfile.TemporaryDirectory() as folder:
        files = write_files(matrix, Path(folder))
        times = [
            (
                _timed(lambda: chart_all(matrix)),
                _timed(lambda: [np.nanmean(np.load(file)) for file in files]),
                _timed(lambda: np.nanmean(matrix, axis=1)),
            )
            for _ in range(runs + 1)
        ][1:]
    charts, reading, averaging = zip(*times, strict=True)
    return Comparison(
        median(charts),
        median(reading),
        median(averaging),
        median(a / b for a, b, _ in times),
        median(a / c for a, _, c in times),
        runs,
    )


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


if __name__ == "__main__":
    print(compare(int(sys.argv[1]) if len(sys.argv) > 1 else 15), flush=True)
