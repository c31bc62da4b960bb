from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from logbook.assess.limits import Bounds, classify_array, deviations

EDGES = ("warning_low", "warning_high", "action_low", "action_high")


@pytest.fixture(scope="module")
def reference():
    """The same rules in pandas, loaded by path."""
    path = Path(__file__).with_name("pandas_reference.py")
    spec = importlib.util.spec_from_file_location("pandas_reference", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def random_series(seed):
    """Readings of one point: gaps, missing values, times not due, limits that come and go."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(1, 300))
    steps = rng.choice([3600, 7200, 7200, 7200, 9000, 14_400, 40_000], n)
    value = np.round(50 + np.cumsum(rng.normal(0, 4, n)) % 30 - 15, int(rng.integers(0, 3)))
    value[rng.random(n) < 0.1] = np.nan
    value[rng.random(n) < 0.01] = np.inf
    stage = np.sort(rng.integers(0, 3, n))
    levels = {"warning_low": 45.0, "warning_high": 55.0, "action_low": 40.0, "action_high": 60.0}
    frame = {"time": 1_700_000_000 + np.cumsum(steps), "value": value}
    for name in EDGES:
        by_stage = levels[name] + np.round(rng.normal(0, 2, 3))
        by_stage[rng.random(3) < 0.3] = np.nan
        frame[name] = by_stage[stage]
    idle = (rng.random(n) < 0.05) if seed % 2 else np.zeros(n, dtype=bool)
    return pd.DataFrame({**frame, "not_due": idle})


def bounds_of(frame):
    """The frame's limits as we take them."""
    none = np.full(len(frame), np.nan)
    limits = {name: frame[name].to_numpy(dtype=float) for name in EDGES}
    return Bounds(**limits, plausible_low=none, plausible_high=none, target=none)


@pytest.mark.parametrize("seed", range(100))
def test_codes_and_runs_agree_with_the_reference_on_random_series(reference, seed):
    """Every code, and of every run its times, direction, severity, worst value and count."""
    frame = random_series(seed)
    bounds = bounds_of(frame)
    values = frame.value.to_numpy()
    codes = classify_array(values, bounds)
    assert codes.tolist() == reference.codes(frame).tolist()
    found = deviations(
        frame.time.to_numpy(),
        values,
        codes,
        max_gap_s=10_000,
        bounds=bounds,
        not_due=frame.not_due.to_numpy(),
    )
    ours = [
        (
            run.start.timestamp(),
            run.last_out.timestamp(),
            run.end.timestamp() if run.end else None,
            int(run.direction),
            int(run.severity),
            run.worst_value,
            run.count,
        )
        for run in found
    ]
    wanted = reference.runs(frame, 10_000).itertuples(index=False, name=None)
    assert ours == [tuple(None if pd.isna(cell) else cell for cell in row) for row in wanted]


def test_the_random_series_hold_runs_of_every_sort(reference):
    """The comparison is worth something: both sides, both severities, ended and not."""
    frames = [reference.runs(random_series(seed), 10_000) for seed in range(100)]
    runs = pd.concat([frame for frame in frames if len(frame)])
    assert set(runs.direction) == {-1, 1}
    assert set(runs.severity) == {1, 2}
    assert runs.end.isna().sum() > 50
    assert runs.end.notna().sum() > 50
    assert runs["count"].max() > 5
