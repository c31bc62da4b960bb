"""The bench of the handover does what it says; how fast is read off it, not asserted here."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

from logbook.record import open_book
from logbook.shift.exceptions import exceptions_of
from logbook.shift.repeats import BATCH, repeats_before


def loaded(name):
    """A bench module from beside this file."""
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def bench():
    """The bench of the handover."""
    yield loaded("handover_bench")
    del sys.modules["handover_bench"]


@pytest.fixture(scope="module")
def long_book(tmp_path_factory):
    """A book of ten days of hourly rounds."""
    path = tmp_path_factory.mktemp("bench") / "long.book"
    loaded("record_bench").build_long_book(path, years=10 / 365.25)
    yield path
    del sys.modules["record_bench"]


@pytest.mark.parametrize("what", ["compare_compose", "compare_review"])
def test_composing_and_reviewing_are_held_against_their_queries(bench, long_book, what):
    """All three sides do some work, and the ratios are theirs."""
    found = getattr(bench, what)(long_book, runs=2)
    assert found.runs == 2
    assert min(found.ours, found.queries, found.statements) > 0
    assert min(found.counts) > 10
    assert "median ratio" in str(found)


def test_each_question_is_asked_once_and_they_are_those_of_the_work(bench, long_book):
    """The readings of the shift are among them."""
    with open_book(long_book, clock=bench._never, writable=False) as book:
        shift, now = bench.last_shift(book)
        questions = bench.questions_of(book, bench.compose, shift, now)
    asked = [f"{name} {values!r} {named!r}" for name, values, named in questions]
    assert len(asked) == len(set(asked))
    assert ("readings", (None, shift.start, shift.end), {}) in questions


def test_repeats_of_many_points_are_those_of_each_alone(bench, long_book):
    """More points than are worked through at a time, all of them out in the week before."""
    with open_book(long_book, clock=bench._never, writable=False) as book:
        shift, now = bench.last_shift(book)
        found = exceptions_of(book, shift, now)
        together = repeats_before(book, found.plant, found.deviations, shift.start)
        alone = {}
        for key in dict.fromkeys(one.found.point.key for one in found.deviations):
            own = [one for one in found.deviations if one.found.point.key == key]
            alone |= repeats_before(book, found.plant, own, shift.start)
    assert len(together) > 2 * BATCH
    assert together == alone
