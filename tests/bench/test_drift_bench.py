"""The benches of the drifts do what they say; the figures are read off them, not asserted here."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest


@pytest.fixture
def load():
    """Load a bench beside this file by its name."""
    loaded = []

    def one(name: str):
        spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        loaded.append(name)
        spec.loader.exec_module(module)
        return module

    yield one
    for name in loaded:
        del sys.modules[name]


def test_the_drifts_of_all_points_are_timed(load, sample_book_path):
    """Every point and all its readings of 30 days are worked at."""
    found = load("drift_bench").measure(sample_book_path, runs=1)
    assert found.points > 300
    assert found.readings > 40_000
    assert min(found.whole.wall, found.working.wall, found.bare.wall) > 0.0
    assert "wanted: under 300 ms" in str(found)


def test_the_backtest_asks_only_with_what_was_known(load, sample_book_path):
    """Over two days around the fouling of the condenser its warning is given and judged."""
    bench = load("drift_backtest")
    told = bench.backtest(sample_book_path, first=327, days=2, every=24)
    assert told.asked == 3
    assert "fouling of vent condenser 4" in told.found
    assert all(one.said.earliest <= one.said.hours <= one.said.latest for one in told.warned)
    lines = "\n".join(told.lines())
    assert "came true" in lines
    assert "vent condenser 4: seen after" in lines


def test_what_came_of_a_forecast_is_read_off_the_later_readings(load):
    """A course that reaches the limit comes true at that time; one that stops half way does not."""
    import numpy as np

    from logbook.assess.drifts import Drift
    from logbook.assess.forecast import Forecast, Reach
    from logbook.assess.judge import Direction

    bench = load("drift_backtest")
    drift = Drift(0, Direction.HIGH, 1.0, 0.8, 1.2, 10.0, 0.1, 0.1, 240, 5.0, 0.0, 0.0, 20)
    said = Forecast(drift, Reach.WARNING, 12.0, 48.0, 24.0, 96.0)
    times = np.arange(-20, 60) * 7200
    rising = 10.0 + np.maximum(times, 0) / 86400.0
    hours, way = bench._came((times, rising), 0, said)
    assert hours == pytest.approx(48.0, abs=8.0)
    assert way >= 1.0
    stopped = np.minimum(rising, 11.0)
    assert bench._came((times, stopped), 0, said) == (None, pytest.approx(0.5))
