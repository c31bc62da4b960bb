"""A period's balance in words, tables and pictures, from the sample book."""

import pytest

from logbook.record import open_book
from logbook.shift.balance import see_balance
from logbook.shift.balance_days import days_of_balance
from logbook.shift.period import day_period, month_period
from sample_db.story import DEFAULT_END


@pytest.fixture(scope="module")
def book(sample_book_path):
    """The sample book, open for reading at its end."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as made:
        yield made


@pytest.fixture(scope="module")
def november(book):
    """The month with ten days of a wrong bean scale."""
    calendar = book.plant_at(DEFAULT_END).calendar
    return see_balance(book, month_period(calendar, 2025, 11), DEFAULT_END)


def test_a_month_names_the_scale_that_was_wrong_for_ten_days_of_it(november):
    """The total of the month agrees; day by day the others contradict the scale."""
    (sentence,) = [line for line in november.view.verdict if "contradict" in line]
    assert sentence.startswith("Cleaned beans weighed to the mills")
    assert "November 2025" in sentence
    suspects = [line.key for line in november.view.meters if line.mark == "suspect"]
    assert suspects == ["beans"]
    (mass, *_rest) = november.view.flows
    assert [one.key for one in mass.streams if one.mark == "suspect"] == ["beans"]


@pytest.mark.parametrize(("year", "month"), [(2025, 12), (2026, 2), (2026, 5)])
def test_a_month_in_which_nothing_is_wrong_names_nobody(book, year, month):
    """No meter is in doubt, on the picture and in the table alike."""
    calendar = book.plant_at(DEFAULT_END).calendar
    view = see_balance(book, month_period(calendar, year, month), DEFAULT_END).view
    assert not [line for line in view.verdict if "contradict" in line or "reads" in line]
    assert not [line for line in view.meters if line.mark == "suspect"]


def test_every_stream_of_a_picture_has_its_steps_and_its_words(november):
    """One picture for the mass and one for each component; nothing hangs in the air."""
    assert [flow.key for flow in november.view.flows] == [
        "mass", "oil", "water", "protein", "solvent",
    ]  # fmt: skip
    for flow in november.view.flows:
        steps = {step[0] for step in flow.steps}
        for stream in flow.streams:
            assert {stream.source, stream.target} - {None} <= steps
            assert stream.words.endswith(".")
            assert stream.label or stream.amount is None


def test_figures_of_an_account_have_names_of_their_own(november):
    """Nobody reads two lines of the same name and unit in one account."""
    for account in november.view.accounts:
        names = [(figure.name, figure.unit) for figure in account.figures]
        assert len(names) == len(set(names)), account.title


def test_cautions_stand_with_what_could_be_taken_for_more_than_it_is(november):
    """The solvent's account and its limits, and what is said of solvent in meal."""
    caution = {account.key: account.caution for account in november.view.accounts}
    assert "does not replace" in caution["solvent"] or "not replace" in caution["solvent"]
    assert "taken as normal operation" in caution["compliance"]
    assert "site procedures" in caution["toaster"]


def test_a_short_period_says_nothing_of_the_year(book):
    """A day holds the end of no month: no compliance ratio is told for it."""
    calendar = book.plant_at(DEFAULT_END).calendar
    view = see_balance(book, day_period(calendar, DEFAULT_END.date().replace(day=10)), DEFAULT_END)
    told = {figure.name for account in view.view.accounts for figure in account.figures}
    assert not [name for name in told if "ompliance ratio" in name]


def test_days_in_doubt_are_marked_in_every_trend(book):
    """The days of the wrong scale carry the mark; the crews are compared, never ranked."""
    calendar = book.plant_at(DEFAULT_END).calendar
    days = days_of_balance(book, month_period(calendar, 2025, 11), DEFAULT_END)
    for line in days.trends:
        marked = [int(point.name.split()[0]) for point in line.points if point.mark]
        assert len(marked) >= 7
        assert set(marked) <= set(range(8, 18))
    crews = [one for one in days.comparisons if "by crew" in one.title]
    assert crews
    names = [group.name for group in crews[0].groups]
    assert names == [crew.name for crew in calendar.crews]
    assert all(one.told for one in days.comparisons)
