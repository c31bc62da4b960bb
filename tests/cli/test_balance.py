"""`logbook balance`: text, JSON, PDF, and what it refuses."""

import json

import pytest


@pytest.fixture(scope="module")
def sample(sample_book_path):
    """The sample book."""
    return sample_book_path


def test_a_month_is_told_as_text(run, sample):
    """The previous one where none is named."""
    code, lines, _ = run("balance", sample)
    assert code == 0
    assert "balance of May 2026" in lines[0]
    assert "OIL ACCOUNT" in lines


def test_a_month_is_told_as_json(run, sample):
    """One object, ready for a program."""
    code, lines, _ = run("balance", sample, "--period", "2026-04", "--json")
    assert code == 0
    told = json.loads("\n".join(lines))
    assert told["period"]["name"] == "April 2026"
    assert told["figures"]["beans"]["unit"] == "t"


def test_the_report_is_written_as_a_pdf(run, sample, tmp_path):
    """And its place is told."""
    out = tmp_path / "may.pdf"
    code, lines, _ = run("balance", sample, "--period", "2026-05", "--out", out)
    assert code == 0
    assert lines == [str(out)]
    assert out.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("period", "said"),
    [
        ("2026-13", "there is no month 13"),
        ("soon", '"soon" names no period; write a month (2026-05)'),
        ("2026-07", "July 2026 has not begun yet; choose a period that has."),
        ("shift:2026-05-14/x", 'there is no shift "x"; write D (Day) or N (Night).'),
    ],
)
def test_a_period_that_cannot_be_is_one_line(fails, sample, period, said):
    """What is wrong, and what to write instead."""
    assert said in fails("balance", sample, "--period", period)


def test_a_book_without_the_points_says_what_is_missing(run, book):
    """A plant of two mills has no oil meter; nothing is made up."""
    code, lines, _ = run("balance", book, "--period", "2024-03-04")
    assert code == 0
    whole = " ".join(lines)
    assert "Too little is known of this period" in whole
    assert "no point of the plant plays this role" in whole
