"""Figures gathered from the sample book against what the simulated plant truly did."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from logbook.process.roles import ROLES, Gather
from logbook.record import open_book
from logbook.shift.account_gather import gather
from logbook.shift.account_inputs import deliveries_of, figure_of, inputs_at, inputs_of
from logbook.shift.account_points import filled_roles, scale_of
from logbook.shift.period import (
    day_period,
    days_of,
    days_period,
    edges_of,
    month_period,
    months_of,
    shift_period,
)
from sample_db.build import sample_plant
from sample_db.gauges import counted_flows, true_gauges
from sample_db.placing import place_story
from sample_db.series import STEP_HOURS
from sample_db.story import DEFAULT_DAYS, DEFAULT_END, DEFAULT_SEED
from sample_db.streams import simulate

COUNTED = ("beans", "oil", "meal", "pellets", "steam")


@pytest.fixture(scope="module")
def book(sample_book_path):
    """The sample book, open for reading at its end."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as made:
        yield made


@pytest.fixture(scope="module")
def plant(book):
    """The plant at the end of the book."""
    return book.plant_at(DEFAULT_END)


@pytest.fixture(scope="module")
def streams():
    """What the plant truly did."""
    story = place_story(DEFAULT_END, DEFAULT_DAYS, sample_plant().calendar)
    first = story.start - timedelta(days=2)
    return simulate(DEFAULT_SEED, first, (story.end - first) / timedelta(days=1) + 0.1, story=story)


@pytest.fixture(scope="module")
def amount(streams):
    """A function from a rate on the simulator's grid to amounts in the periods between edges."""

    def of(rate, edges):
        passed = np.concatenate([[0.0], np.cumsum(rate * STEP_HOURS)])
        time = np.append(streams.time, streams.time[-1] + 3600.0 * STEP_HOURS)
        return np.diff(np.interp(edges, time, passed))

    return of


@pytest.fixture(scope="module")
def year(plant):
    """Twelve whole months of the book."""
    return days_period(plant.calendar, date(2025, 6, 1), date(2026, 5, 31))


@pytest.fixture(scope="module")
def daily(book, plant, year):
    """Every role, day by day."""
    return gather(book, plant, edges_of(days_of(plant.calendar, year)), now=DEFAULT_END)


@pytest.fixture(scope="module")
def monthly(book, plant, year):
    """Every role, month by month."""
    return gather(book, plant, edges_of(months_of(plant.calendar, year)), now=DEFAULT_END)


def scores(found, truth):
    """How many standard uncertainties each figure is off."""
    told = (found.value - truth) / found.sigma
    return told[np.isfinite(told)]


@pytest.mark.parametrize("role", COUNTED)
def test_counters_tell_what_they_counted(role, daily, monthly, streams, amount):
    """By day within the minutes of reading, by month to a thousandth."""
    truth = counted_flows(streams)[role]
    by_month = amount(truth, monthly.edges)
    np.testing.assert_allclose(
        monthly[role].value, by_month, rtol=1.5e-3 if role != "pellets" else 5e-3
    )
    assert np.mean(np.abs(scores(daily[role], amount(truth, daily.edges))) < 2.0) > 0.92


def test_the_uncertainty_of_every_mean_covers_the_truth(daily, streams, plant, amount):
    """Of the roles read by hand and analysed, 95 % of the days lie within two of it at least."""
    truth = true_gauges(streams, plant, DEFAULT_SEED)
    rate = streams.running.rate
    beans = amount(rate, daily.edges)
    for role in ROLES.values():
        keys = role.points
        if role.gather not in {Gather.MEAN, Gather.ANALYSIS} or not all(k in truth for k in keys):
            continue
        mean = np.mean([truth[key] for key in keys], axis=0)
        wanted = amount(mean * rate, daily.edges) / np.maximum(beans, 1e-9)
        told = scores(daily[role.name], wanted)[beans[np.isfinite(daily[role.name].value)] > 900.0]
        assert np.mean(np.abs(told) < 2.0) > 0.92, role.name


def test_flows_are_the_mean_rate_times_the_hours_run(monthly, streams, plant, amount):
    """Flakes, sparge steam and hulls of every month within what is stated."""
    truth = true_gauges(streams, plant, DEFAULT_SEED)
    for role in ("hulls", "flakes", "fresh_solvent", "miscella", "sparge_steam"):
        wanted = amount(truth[ROLES[role].points[0]], monthly.edges)
        assert np.all(np.abs(scores(monthly[role], wanted)) < 2.0), role


def test_hours_are_those_without_a_stop_of_the_line(daily, streams, amount):
    """The planned shutdown leaves days without any."""
    truth = amount((streams.running.rate > 0).astype(float), daily.edges)
    np.testing.assert_allclose(daily["hours"].value, truth, atol=1.01)
    assert np.sum(daily["hours"].value == 0.0) >= 4


def test_stocks_of_solvent_follow_the_tanks(monthly, streams):
    """Contents at the bounds of months within a hundredth of what truly stood there."""
    stock = streams.solvent.work_stock + streams.solvent.store_stock
    truth = np.interp(monthly.edges, streams.time, stock)
    found = monthly["solvent_stock"]
    assert np.isfinite(found.begin).all()
    sigma = found.end_sigmas[0]
    is_read = sigma < 1.01 * ROLES["solvent_stock"].reading
    assert is_read.sum() >= 8
    off = found.begin - truth[:-1]
    np.testing.assert_allclose(off[is_read] / truth[:-1][is_read], 0.0, atol=0.005)
    assert np.all(np.abs(off[~is_read]) < 3.0 * sigma[~is_read])


def test_deliveries_bear_their_certificates(book, plant, year, streams):
    """Each load is found once, with the hexane analysed on arrival."""
    found = deliveries_of(book, plant, year.start, year.end)
    inside = (streams.time >= year.start.timestamp()) & (streams.time < year.end.timestamp())
    assert len(found) == np.sum(streams.solvent.received[inside] > 0)
    assert all(one.hexane.is_known for one in found)
    truth = streams.solvent.received[inside]
    assert sum(one.mass.value for one in found) == pytest.approx(truth.sum(), rel=0.012)


def test_one_period_alone_is_told_as_among_many(book, plant, monthly):
    """May by itself and May as one of twelve months are the same figures."""
    may = month_period(plant.calendar, 2026, 5)
    alone = inputs_of(book, plant, may.start, may.end, now=DEFAULT_END)
    among = inputs_at(monthly, 11)
    assert (among.start, among.end) == (may.start, may.end)
    for name, figure in alone.roles.items():
        assert among.roles[name].value == pytest.approx(figure.value, rel=1e-9), name
    assert alone.hours == 744.0
    assert alone.downtimes


def test_a_figure_says_what_it_was_read_from(book, plant):
    """Point keys, the way it was gathered, and prices as the plant states them."""
    may = month_period(plant.calendar, 2026, 5)
    found = inputs_of(book, plant, may.start, may.end, now=DEFAULT_END)
    assert found["beans"].inputs == ("bean_total",)
    assert "counter" in found["beans"].source
    assert found.figure("oil_price").value == 1000.0
    gone = found.figure("bean_moisture_basis")
    assert gone.value is None
    assert "bean_moisture_basis" in gone.missing[0]


def test_a_period_with_too_little_data_says_so(book, plant):
    """Before the book began nothing is told, and half a day of counters is not a day."""
    early = day_period(plant.calendar, date(2025, 5, 1))
    found = inputs_of(book, plant, early.start, early.end, now=DEFAULT_END)
    assert found["beans"].value is None
    assert "told for 0% of the period; at least 90% are needed" in found["beans"].note
    assert "Cleaned beans weighed to the mills" in found.missing
    last = day_period(plant.calendar, date(2026, 6, 18))
    running = inputs_of(book, plant, last.start, last.end, now=DEFAULT_END)
    assert running["beans"].value is None


def test_a_shift_without_a_sample_takes_the_last_result_and_says_so(book, plant):
    """What is analysed by day only stands in for the night, less surely."""
    from logbook.plant.calendar import shift_on

    night = shift_period(shift_on(plant.calendar, date(2026, 5, 14), "N"))
    day = shift_period(shift_on(plant.calendar, date(2026, 5, 14), "D"))
    found = [
        inputs_of(book, plant, one.start, one.end, now=DEFAULT_END)["hull_fibre"]
        for one in (day, night)
    ]
    assert found[1].value == pytest.approx(found[0].value)
    assert found[1].sigma > found[0].sigma
    assert "the last result before" in found[1].note


def test_readings_of_a_us_plant_are_converted(repo_root):
    """Short tons, °F and inches of mercury come out in the role's unit."""
    from logbook.plant.file import read_plant

    plant = read_plant(repo_root / "resources" / "plants" / "soybean-us.toml")
    filled = filled_roles(plant)

    def scaled(role, value):
        scale = scale_of(ROLES[role], filled[role].points[0], 101.325)
        return value * scale.slope + scale.offset

    assert scaled("beans", 1000.0) == pytest.approx(907.185, rel=1e-5)
    assert scaled("hulls", 4.0) == pytest.approx(3.62874, rel=1e-5)
    assert scaled("vapour_temp", 160.0) == pytest.approx(71.1111, rel=1e-5)
    assert scaled("first_stage_pressure", 18.0) == pytest.approx(101.325 - 60.955, abs=0.01)
    assert scaled("fresh_solvent", 20000.0) == pytest.approx(75.708, rel=1e-4)
    assert scaled("meal_solvent", 150.0) == pytest.approx(150.0)


def test_a_role_without_a_point_is_named(book, plant):
    """A plant that measures nothing of the kind gets no figure, with the role in words."""
    from dataclasses import replace
    from types import MappingProxyType

    accounts = replace(plant.accounts, points=MappingProxyType({"beans": ()}))
    bare = replace(plant, accounts=accounts)
    start = datetime(2026, 5, 1, 11, tzinfo=UTC).timestamp()
    found = gather(book, bare, [start, start + 86400.0], roles=("beans", "oil"), now=DEFAULT_END)
    told = figure_of(found["beans"], 0)
    assert told.value is None
    assert told.missing == ("Cleaned beans weighed to the mills",)
    assert told.note == "no point of the plant plays this role"
    assert figure_of(found["oil"], 0).is_known


def test_a_plant_that_states_nothing_is_read_by_the_points_of_the_template(book, plant):
    """A book from before plants could state their accounts has them all the same."""
    from dataclasses import replace

    from logbook.plant.accounts import NO_ACCOUNTS

    may = month_period(plant.calendar, 2026, 5)
    bare = replace(plant, accounts=NO_ACCOUNTS)
    found = inputs_of(book, bare, may.start, may.end, now=DEFAULT_END)
    assert found["beans"].value == pytest.approx(45_117.0)
    assert found["meal_stock"].missing == ("meal_bin_capacity",)
    assert sum(one.is_known for one in found.roles.values()) >= len(ROLES) - 3


def test_a_reading_whose_decimal_point_is_off_is_left_out_and_said_so(book, plant):
    """39 kg/h of stripping steam was typed for 390 on 1 December 2025 and never corrected."""
    day = day_period(plant.calendar, date(2025, 11, 30))
    found = inputs_of(book, plant, day.start, day.end, now=DEFAULT_END)["stripping_steam"]
    assert found.value / 24.0 * 1000.0 == pytest.approx(385.0, abs=60.0)
    assert found.note.endswith("1 left out: the decimal point is off")


def test_no_two_roles_are_called_the_same(book, plant):
    """Temperature and pressure of an evaporator are told apart by their unit."""
    may = month_period(plant.calendar, 2026, 5)
    found = inputs_of(book, plant, may.start, may.end, now=DEFAULT_END)
    names = [one.name for one in found.roles.values()]
    assert len(set(names)) == len(names) == len(ROLES)
