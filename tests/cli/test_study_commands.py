"""The commands that study a book: `drift` and `doubtful`."""

import json
from datetime import datetime

import pytest

from logbook.cli import main

pytestmark = pytest.mark.slow


def said(capsys, *words) -> tuple[int, str, str]:
    """Exit code, output and errors of a command."""
    code = main([str(word) for word in words])
    out = capsys.readouterr()
    return code, out.out, out.err


def test_drift_tells_what_rises_and_that_nobody_knows(capsys, sample_book_path):
    """Points by name with level, slope and interval, and the caution."""
    code, out, err = said(capsys, "drift", sample_book_path)
    assert (code, err) == (0, "")
    assert "of 318 points looked at" in " ".join(out.split())
    assert "a day; since about 2026-0" in out
    assert "nobody knows that it goes on" in out
    assert all(len(line) <= 110 for line in out.splitlines())


def test_drift_as_data_holds_numbers_unrounded(capsys, sample_book_path):
    """Each drift with its interval; a forecast has hours; few are to be shown."""
    code, out, _ = said(capsys, "drift", sample_book_path, "--json")
    told = json.loads(out)
    assert code == 0
    assert datetime.fromisoformat(told["at"]).utcoffset() is not None
    assert len(told["shown"]) <= 3
    for one in told["drifts"]:
        low, high = one["per_day_90_percent"]
        assert low <= one["per_day"] <= high
        if one["forecast"] is not None:
            early, late = one["forecast"]["hours_90_percent"]
            assert early <= one["forecast"]["hours"] <= late


def test_doubtful_asks_about_a_week_without_names(capsys, sample_book_path):
    """The copied rounds of 20 and 24 May, by shift, and no person."""
    code, out, err = said(
        capsys, "doubtful", sample_book_path, "--period", "2026-05-18..2026-05-24"
    )
    assert (code, err) == (0, "")
    assert "2026-05-20 02:00" in out
    assert "2026-05-24 04:00" in out
    assert "Questions about single rounds by shift: Night" in out
    assert "Pebblemarsh" not in out


def test_doubtful_as_data_has_no_person(capsys, sample_book_path):
    """Nobody has signed on at the command line."""
    code, out, _ = said(capsys, "doubtful", sample_book_path, "--period", "2026-05-20", "--json")
    told = json.loads(out)
    assert code == 0
    assert told["rounds"] == 12
    assert not any("person" in one for one in told["questions"])
    assert "pebblemarsh" not in out


def test_a_period_that_is_none_is_one_line_of_error(capsys, sample_book_path):
    """It says what may be written."""
    code, out, err = said(capsys, "doubtful", sample_book_path, "--period", "soon")
    assert (code, out) == (2, "")
    assert err.startswith('logbook: "soon" names no period')
    assert err.count("\n") == 1
