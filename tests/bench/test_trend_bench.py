"""The bench of the trend does what it says; how fast is read off it, not asserted here."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent


@pytest.fixture(scope="module")
def benches():
    """The bench of the trend, with those it stands on."""
    made = {}
    for name in ("record_bench", "screen_bench", "trend_bench"):
        spec = importlib.util.spec_from_file_location(name, HERE / f"{name}.py")
        module = made[name] = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    yield made
    for name in made:
        del sys.modules[name]


@pytest.fixture(scope="module")
def book(benches, tmp_path_factory) -> Path:
    """A book of nine days, as the long one is made."""
    path = tmp_path_factory.mktemp("bench") / "short.logbook"
    benches["record_bench"].build_long_book(path, 0.025)
    return path


def test_the_first_picture_and_the_frames_are_measured(benches, book, qapp):
    """Ours and the bare work, for as many runs as asked for."""
    bench = benches["trend_bench"]
    ours, bare = bench.first_pictures(book, runs=2)
    assert len(ours) == len(bare) == 2
    frames, line = bench.pan_frames(book, points=2, frames=4)
    assert len(frames) == 4
    assert all(seconds >= 0.0 for seconds in (*ours, *bare, *frames, *line))
