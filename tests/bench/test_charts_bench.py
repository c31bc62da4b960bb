"""The bench of the charts does what it says; how fast is read off it, not asserted here."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest


@pytest.fixture(scope="module")
def bench():
    """The bench beside this file."""
    spec = importlib.util.spec_from_file_location(
        "charts_bench", Path(__file__).with_name("charts_bench.py")
    )
    module = importlib.util.module_from_spec(spec)
    sys.modules["charts_bench"] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules["charts_bench"]


def test_all_three_are_timed_on_the_same_readings(bench):
    """A small table goes through reading, averaging and charting."""
    found = bench.compare(runs=2, points=8, rounds=800)
    assert found.runs == 2
    assert min(found.charts, found.read_and_average, found.average) > 0
    assert "wanted: at most 3" in str(found)


def test_the_year_has_gaps_correlation_and_downtime(bench):
    """Two in a hundred missing and shared downtime, neighbours correlated by about a half."""
    matrix = bench.make_year(points=20, rounds=2000)
    missing = np.isnan(matrix)
    assert missing.all(axis=0).sum() >= 84
    kept = missing[:, ~missing.all(axis=0)]
    assert 0.01 < kept.mean() < 0.03
    many, *mills = bench.chart_all(matrix)
    assert np.median(many.lag1) == pytest.approx(0.5, abs=0.1)
    assert many.flags.any()
    assert many.sum_out.any()
    assert all(chart.means.shape == (2000,) for chart in mills)
