"""The benches of the book do what they say; how fast is read off them, not asserted here."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

from logbook.record import verify


@pytest.fixture(scope="module")
def bench():
    """The bench module, loaded from beside this file."""
    spec = importlib.util.spec_from_file_location(
        "record_bench", Path(__file__).with_name("record_bench.py")
    )
    module = importlib.util.module_from_spec(spec)
    sys.modules["record_bench"] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules["record_bench"]


@pytest.mark.parametrize("loose", [False, True])
def test_saves_are_compared_run_by_run(bench, tmp_path, loose):
    """Both sides write, and the ratio is theirs."""
    found = bench.compare_saves(5, readings=10, folder=tmp_path, loose=loose)
    assert found.runs == 5
    assert found.ours > 0
    assert found.bare > 0
    assert "median ratio" in str(found)


def test_a_long_book_is_a_sealed_book_and_its_series_can_be_compared(bench, tmp_path):
    """A month of it verifies, has all its readings, and answers both ways."""
    path = tmp_path / "long.book"
    written = bench.build_long_book(path, years=1 / 12)
    assert written.rows == written.pages * 120 == 730 * 120
    assert verify(path).is_sound
    assert bench.compare_series(path, runs=3).ratio > 0
