"""The sample book's bean scale reads 1.5 % low for ten days: found, named, and nobody else is.

README of the sample plant, "Faults to be found" (d): 2025-11-08 06:00 to 2025-11-18 06:00 local.
"""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from logbook.process.reconcile_plant import LEVEL, reconcile_plant
from logbook.process.standing import standing_accusations
from logbook.record import open_book
from logbook.shift.account_gather import gather
from logbook.shift.account_inputs import inputs_at

ZONE = ZoneInfo("America/Chicago")
FIRST, LAST = date(2025, 5, 14), date(2026, 6, 17)
WRONG_FROM, WRONG_TO = date(2025, 11, 8), date(2025, 11, 18)


def _never():
    """Reading needs no clock."""
    raise AssertionError


@pytest.fixture(scope="module")
def days(sample_book_path):
    """Reconciliation of each production day in which the plant ran through, by its date."""
    count = (LAST - FIRST).days + 1
    dates = [FIRST + timedelta(days=k) for k in range(count + 1)]
    edges = [datetime(d.year, d.month, d.day, 6, tzinfo=ZONE).timestamp() for d in dates]
    with open_book(sample_book_path, clock=_never, writable=False) as book:
        plant = book.plant_at(datetime.fromtimestamp(edges[-1], UTC))
        found = gather(book, plant, edges)
    ran = {}
    for place, (start, end) in enumerate(pairwise(edges)):
        roles = inputs_at(found, place).roles
        if (roles["hours"].value or 0.0) > (end - start) / 3600.0 - 0.01:
            ran[dates[place]] = reconcile_plant(roles)
    return ran


def _wrong(day):
    return WRONG_FROM <= day < WRONG_TO


def test_the_bean_scale_is_named_on_most_of_its_wrong_days(days):
    """Alone, low, by one to two per cent; no other meter is accused instead."""
    told = [days[day] for day in days if _wrong(day)]
    assert len(told) == 10
    named = [one for one in told if one.suspects == ("beans",)]
    assert len(named) >= 7
    assert all(set(one.suspects) <= {"beans"} for one in told)
    for one in named:
        assert one.accusations[0].relative == pytest.approx(-0.015, abs=0.005)


def test_over_the_month_it_stands_accused_and_nothing_else_does(days):
    """November as a whole: contradicted on far more days than chance gives."""
    november = [days[day] for day in days if (day.year, day.month) == (2025, 11)]
    standing = standing_accusations(november)
    assert [one.role for one in standing] == ["beans"]
    assert standing[0].relative == pytest.approx(-0.015, abs=0.004)
    assert standing[0].chance < 1e-3


def test_good_meters_are_accused_no_more_often_than_stated(days):
    """All days in which the plant ran through and no meter was wrong."""
    quiet = [days[day] for day in days if not _wrong(day)]
    assert len(quiet) > 350
    accused = sum(bool(one.accusations) for one in quiet)
    assert accused <= LEVEL * len(quiet)


def test_no_quiet_month_has_a_standing_accusation(days):
    """Each month but November by itself."""
    for year, month in {(day.year, day.month) for day in days} - {(2025, 11)}:
        found = [days[day] for day in days if (day.year, day.month) == (year, month)]
        assert standing_accusations(found) == (), (year, month)
