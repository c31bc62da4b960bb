"""The bench of the accounts does what it says; how fast is read off it, not asserted here."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def bench():
    """The bench module, loaded from beside this file."""
    spec = importlib.util.spec_from_file_location(
        "accounts_bench", Path(__file__).with_name("accounts_bench.py")
    )
    module = importlib.util.module_from_spec(spec)
    sys.modules["accounts_bench"] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules["accounts_bench"]


@pytest.mark.parametrize("every_role", [False, True])
def test_both_sides_read_the_same_year(bench, sample_book_path, every_role):
    """Tens of thousands of readings, and a ratio of the two."""
    found = bench.compare_year(sample_book_path, 1, every_role=every_role)
    assert found.readings > (150_000 if every_role else 30_000)
    assert found.ours > 0
    assert found.pandas > 0
    assert "median ratio" in str(found)
