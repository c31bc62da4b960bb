"""A period's balance as text and as plain data."""

import json
from datetime import date

import pytest

from logbook.plant.calendar import shift_at
from logbook.record import open_book
from logbook.shift.balance import (
    as_far_as_told,
    balance_json,
    month_forecast,
    see_balance,
    year_ratio,
)
from logbook.shift.balance_json import plain
from logbook.shift.balance_text import WIDTH, text_lines
from logbook.shift.period import (
    day_period,
    days_period,
    month_period,
    period_at,
    until,
    year_period,
)
from logbook.shift.period_text import PeriodError, parse_begun
from sample_db.story import DEFAULT_END


@pytest.fixture(scope="module")
def book(sample_book_path):
    """The sample book, open for reading at its end."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as made:
        yield made


@pytest.fixture(scope="module")
def calendar(book):
    """The calendar at the end of the book."""
    return book.plant_at(DEFAULT_END).calendar


@pytest.fixture(scope="module")
def may(book, calendar):
    """The lines of May 2026."""
    return text_lines(see_balance(book, month_period(calendar, 2026, 5), DEFAULT_END))


@pytest.fixture(scope="module")
def data(book, calendar):
    """May 2026 as plain data."""
    return balance_json(book, month_period(calendar, 2026, 5), DEFAULT_END)


def test_no_line_is_wider_than_a_page(may):
    """110 characters, however long the names are."""
    assert max(map(len, may)) <= WIDTH


def test_what_it_comes_to_stands_first(may):
    """Plant and period, then tonnes, yield and solvent, each with its interval."""
    assert may[0].startswith("Oddlemarsh Soybean Works: balance of May 2026, 1 May 2026 06:00 to")
    assert may[1].startswith("  Crushed 45")
    assert any("Oil yield 18.9" in line and "±" in line for line in may[:6])


@pytest.mark.parametrize(
    "head",
    ["THROUGHPUT", "YIELDS", "OIL ACCOUNT", "WATER ACCOUNT", "SOLVENT ACCOUNT", "EXTRACTOR",
     "DESOLVENTIZING", "DRYING", "COOLING", "EVAPORATION", "MEAL QUALITY",
     "METERS, MEASURED AND RECONCILED"],
)  # fmt: skip
def test_every_account_has_its_heading(may, head):
    """In capitals, on a line of its own."""
    assert head in may


def test_what_is_missing_is_named_where_it_is_missing(may):
    """The vent is not measured, and the text says so instead of a number."""
    place = next(k for k, line in enumerate(may) if line.strip().startswith("In vent gas"))
    assert "not known" in may[place]
    assert "Missing: vent gas" in may[place + 1]


def test_the_cautions_close_it(may):
    """The accounts are no compliance record and no statement of safety."""
    whole = " ".join(line.strip() for line in may)
    assert "do not replace, the site's compliance records" in whole
    assert "no statement of safety" in whole


def test_a_suspect_meter_is_named_in_words_and_marked(book, calendar):
    """The bean scale of November 2025."""
    days = days_period(calendar, date(2025, 11, 8), date(2025, 11, 17))
    lines = text_lines(see_balance(book, days, DEFAULT_END))
    assert any(
        line.strip().startswith("Cleaned beans weighed to the mills: reads") for line in lines[:8]
    )
    marked = [line for line in lines if line.endswith("SUSPECT")]
    assert [line.split("  ")[1].strip() for line in marked] == ["Cleaned beans"]


def test_plain_data_is_json_with_every_figure_and_its_making(data):
    """It survives a round trip, and tells value, uncertainty, inputs and source."""
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    oil = data["oil"]["unaccounted"]
    assert set(oil) == {"name", "value", "unit", "sigma", "inputs", "source", "missing", "note"}
    assert abs(oil["value"]) < 2.5 * oil["sigma"]
    assert data["figures"]["beans"]["inputs"] == ["bean_total"]
    assert data["period"]["start"] == "2026-05-01T06:00:00-05:00"
    assert data["period"]["hours"] == 744.0
    assert data["reconciliation"]["suspects"] == []
    assert data["compliance"]["ratio"]["value"] < 1.0
    assert data["meal"]["checks"][0]["verdict"] == "met"
    assert data["deliveries"][0]["volume"]["value"] == pytest.approx(29.2, abs=0.1)
    assert data["solvent"]["account"]["vent"]["missing"]


def test_what_is_no_number_is_null(book):
    """Neither NaN nor infinity, which JSON does not have."""
    plant = book.plant_at(DEFAULT_END)
    assert plain({"a": float("nan"), "b": (float("inf"), 1.0)}, plant) == {
        "a": None,
        "b": [None, 1.0],
    }


def test_a_day_that_cannot_be_told_says_why(book, calendar):
    """The book ends two rounds into the day."""
    day = day_period(calendar, date(2025, 5, 13))
    lines = text_lines(see_balance(book, day, DEFAULT_END))
    assert "Too little is known of this period" in lines[1]
    assert "NOT KNOWN" in lines


def test_a_running_period_goes_as_far_as_its_last_whole_shift(book, calendar):
    """Not as far as now: what nobody has read yet is not guessed at. A shift goes to its readings."""
    from logbook.shift.period import PeriodKind

    plant = book.plant_at(DEFAULT_END)
    week = period_at(calendar, PeriodKind.WEEK, DEFAULT_END)
    cut = as_far_as_told(book, plant, week, DEFAULT_END)
    assert cut.end == shift_at(calendar, DEFAULT_END).start
    shift = period_at(calendar, PeriodKind.SHIFT, DEFAULT_END)
    inside = as_far_as_told(book, plant, shift, DEFAULT_END)
    assert shift.start < inside.end < DEFAULT_END
    assert cut.name == "week 25 of 2026, so far"
    may = month_period(calendar, 2026, 5)
    assert as_far_as_told(book, plant, may, DEFAULT_END) is may
    told = see_balance(book, week, DEFAULT_END)
    assert told.view.verdict[0].startswith("Crushed")
    assert told.figures["beans"].sigma / told.figures["beans"].value < 0.004


def test_a_period_that_has_not_begun_is_refused(calendar):
    """With its name."""
    with pytest.raises(PeriodError, match="July 2026 has not begun yet"):
        parse_begun("2026-07", calendar, DEFAULT_END)
    assert parse_begun("2026-06", calendar, DEFAULT_END).name == "June 2026"


def test_a_running_month_tells_where_the_ratio_is_heading(book, calendar):
    """The forecast to its end with its interval; a month that is over has the ratio itself."""
    june = month_period(calendar, 2026, 6)
    told = balance_json(book, june, DEFAULT_END)
    low, high = told["forecast"]["interval"]
    assert low < told["forecast"]["ratio"]["value"] < high
    assert told["compliance"] is None
    lines = text_lines(see_balance(book, june, DEFAULT_END))
    assert any("Expected at the end of the month: 0.9" in line for line in lines)
    assert month_forecast(book, book.plant_at(DEFAULT_END), june, DEFAULT_END) is not None
    may = month_period(calendar, 2026, 5)
    assert month_forecast(book, book.plant_at(DEFAULT_END), may, DEFAULT_END) is None


def test_the_ratio_is_that_of_the_last_whole_month(book, calendar):
    """Of a year that still runs, May; of a day that ends no month, none."""
    plant = book.plant_at(DEFAULT_END)
    year = until(year_period(calendar, 2026), DEFAULT_END)
    found = year_ratio(book, plant, year, DEFAULT_END)
    assert found.months[-1] == date(2026, 5, 1)
    day = day_period(calendar, date(2026, 5, 14))
    assert year_ratio(book, plant, day, DEFAULT_END) is None
    last = day_period(calendar, date(2026, 5, 31))
    assert year_ratio(book, plant, last, DEFAULT_END).months[-1] == date(2026, 5, 1)
