"""The bench of the reconciliation does what it says; how fast is read off it, not asserted here."""

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
        "reconcile_bench", Path(__file__).with_name("reconcile_bench.py")
    )
    module = importlib.util.module_from_spec(spec)
    sys.modules["reconcile_bench"] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules["reconcile_bench"]


@pytest.mark.parametrize("method", ["SLSQP", "trust-constr"])
def test_both_solve_the_same_problem(bench, method):
    """Values agree to 1e-8 of the largest flow, with a fifth of the streams not measured."""
    found = bench.compare(runs=2, method=method, missing=0.2)
    assert found.runs == 2
    assert found.difference < 1e-8
    assert min(found.ours, found.scipy) > 0
    assert "wanted: at least 20" in str(found)


def test_the_problem_has_the_size_that_is_asked_for(bench):
    """Twelve nodes, thirty streams, every one of them in a balance, six not measured."""
    problem = bench.make_problem(1, missing=0.2)
    assert problem.incidence.shape == (12, 30)
    assert (np.abs(problem.incidence).sum(axis=0) > 0).all()
    assert np.isnan(problem.measured).sum() == 6
