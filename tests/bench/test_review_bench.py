"""The bench of the Review and Shift screens opens them; how fast is read off it, not asserted."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def bench():
    """The benches beside this file, with a book of ten days of hourly rounds."""
    names = ("record_bench", "screen_bench", "review_bench")
    for name in names:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    yield sys.modules["review_bench"]
    for name in names:
        del sys.modules[name]


@pytest.fixture(scope="module")
def long_book(bench, tmp_path_factory):
    """A book of ten days of hourly rounds."""
    path = tmp_path_factory.mktemp("bench") / "long.book"
    sys.modules["record_bench"].build_long_book(path, years=10 / 365.25)
    return path


@pytest.mark.parametrize("what", ["open_review", "open_shift"])
def test_opening_a_shift_is_timed_until_it_is_painted(bench, long_book, qapp, what):
    """The first time and then, by the clock and in processor time."""
    found = getattr(bench, what)(long_book, runs=2)
    assert found.runs == 2
    assert min(found.first_wall, found.first_cpu, found.wall, found.cpu) > 0
    assert found.worst_wall >= found.wall
    assert "by the clock" in str(found)
