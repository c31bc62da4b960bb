"""The accounts of the sample book against what the simulated plant truly did."""

from dataclasses import replace
from datetime import date, timedelta
from types import MappingProxyType

import numpy as np
import pytest

from logbook.record import open_book
from logbook.shift.account_gather import gather
from logbook.shift.account_inputs import inputs_at, inputs_of
from logbook.shift.account_solvent import compliance_of, forecast_of, with_note
from logbook.shift.accounts import accounts_of, in_process_sigma, stops_of
from logbook.shift.period import (
    day_period,
    days_period,
    edges_of,
    month_period,
    months_of,
    rolling_year,
)
from sample_db.build import sample_plant
from sample_db.placing import place_story
from sample_db.series import STEP_HOURS
from sample_db.story import DEFAULT_DAYS, DEFAULT_END, DEFAULT_SEED
from sample_db.streams import simulate


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
def passed(streams):
    """A function from a rate on the simulator's grid to the amount in a period."""

    def of(rate, period):
        total = np.concatenate([[0.0], np.cumsum(rate * STEP_HOURS)])
        time = np.append(streams.time, streams.time[-1] + 3600.0 * STEP_HOURS)
        edges = [period.start.timestamp(), period.end.timestamp()]
        return float(np.diff(np.interp(edges, time, total))[0])

    return of


@pytest.fixture(scope="module")
def months(plant):
    """Twelve whole months."""
    return months_of(
        plant.calendar, days_period(plant.calendar, date(2025, 6, 1), date(2026, 5, 31))
    )


@pytest.fixture(scope="module")
def monthly(book, plant, months):
    """The inputs of the twelve months, gathered in one pass."""
    found = gather(book, plant, edges_of(months), now=DEFAULT_END)
    return [inputs_at(found, k) for k in range(len(months))]


@pytest.fixture(scope="module")
def may(book, plant):
    """The accounts of May 2026."""
    period = month_period(plant.calendar, 2026, 5)
    return accounts_of(inputs_of(book, plant, period.start, period.end, now=DEFAULT_END))


def within(figure, truth, coverage=2.0):
    """True where the truth lies in the figure's interval."""
    low, high = figure.interval(coverage)
    return low <= truth <= high


def test_the_unaccounted_oil_of_each_month_covers_the_truth(monthly, months, streams, passed):
    """Within its 95 % interval in eleven months of twelve at least."""
    from logbook.shift.account_parts import oil_of

    hits = 0
    for inputs, month in zip(monthly, months, strict=True):
        found = oil_of(inputs)
        hulls = streams.prep.hulls - streams.drying.added_hulls
        truth = passed(
            streams.beans.flow.oil
            - streams.evaporation.oil.oil
            - streams.drying.meal.oil
            - hulls.oil,
            month,
        )
        hits += within(found.unaccounted, truth)
        assert found.unaccounted_percent.sigma < 0.6
    assert hits >= 11


def test_the_solvent_lost_in_each_month_covers_the_truth(book, plant, months, streams, passed):
    """Stocks and deliveries tell the loss; the planned shutdown is within its wider interval."""
    hits = []
    for month in months:
        inputs = inputs_of(book, plant, month.start, month.end, now=DEFAULT_END)
        found = accounts_of(inputs).solvent.account
        if found.loss.is_known:
            hits.append(within(found.loss, passed(streams.solvent.loss, month)))
    assert len(hits) == 12
    assert sum(hits) >= 10


def test_solvent_with_meal_and_oil_is_what_the_laboratory_says(may, plant, streams, passed):
    """Each within its interval."""
    month = month_period(plant.calendar, 2026, 5)
    account = may.solvent.account
    truth = passed(streams.drying.meal.solvent, month)
    assert within(account.meal, truth, 3.0)
    assert within(account.oil, passed(streams.evaporation.oil.solvent, month), 3.0)
    assert account.unmeasured == ("in vent gas",)
    assert 0.0 < may.solvent.eu.specific.value < 0.8


def test_the_water_of_a_month_closes(may):
    """What came in left again, within the interval."""
    assert not may.water.left_out
    assert within(may.water.unaccounted, 0.0)
    assert within(may.toaster.moisture_difference, 0.0)


def test_yields_of_a_month_agree_with_what_the_beans_allow(may):
    """Oil, meal and hulls, and in dry matter nothing is lost."""
    found = may.yields
    assert found.as_is.oil.percent.value == pytest.approx(18.9, abs=0.3)
    assert within(found.gaps.oil.percent, 0.0)
    assert within(found.gaps.meal.percent, 0.0)
    assert within(found.dry.shrink.percent, 0.0)


def test_the_scale_that_was_wrong_for_ten_days_is_named(book, plant):
    """From 8 to 17 November 2025 the bean scale showed 1.5 % too little."""
    days = days_period(plant.calendar, date(2025, 11, 8), date(2025, 11, 17))
    inputs = inputs_of(book, plant, days.start, days.end, now=DEFAULT_END)
    found = accounts_of(inputs).reconciliation
    assert found.suspects == ("beans",)
    assert found.accusations[0].relative == pytest.approx(-0.015, abs=0.006)
    assert found.balances is False


def test_quiet_months_accuse_nobody(monthly):
    """No month of the year has a meter accused; the ten days of November are a third of one."""
    from logbook.process.reconcile_plant import reconcile_plant

    accused = [reconcile_plant(inputs.roles).suspects for inputs in monthly]
    assert sum(bool(one) for one in accused) <= 1


def test_throughput_knows_plan_and_stops(may):
    """5.5 h stood the line; the plan is 1500 t for each day."""
    found = may.throughput
    assert found.down_hours == pytest.approx(5.5)
    assert found.against_plan.value == pytest.approx(found.tonnes.value - 31 * 1500.0)
    assert [one.reason for one in found.losses] == ["line stopped: spent flake conveyor chain off"]
    assert found.losses[0].missed_tonnes == pytest.approx(5.5 * 62.5, rel=0.02)


def test_meal_is_held_against_its_guarantee(may):
    """Protein above 47.5 %, and the water that could have been left in."""
    assert {check.what for check in may.meal.checks} == {"protein", "fibre", "moisture"}
    assert may.meal.protein.points.value == pytest.approx(may.inputs["meal_protein"].value - 47.5)
    assert may.meal.drying.water.value > 0.0
    assert may.meal.hulls.limited_by in {"protein", "fibre"}


def test_the_extractor_is_fitted_to_what_it_left(may):
    """Stages of the fitted efficiency leave the measured residual oil."""
    found = may.extractor
    assert found.predicted.residual_oil_dry.value == pytest.approx(
        may.inputs["spent_oil"].value, abs=0.01
    )
    assert found.ratio.value == pytest.approx(0.89, abs=0.03)
    assert abs(found.predicted.miscella_oil.value - found.miscella_oil.value) < 3.0


def test_evaporators_and_cooler_are_told(may):
    """Strength implied by temperature and pressure, and how near the outside air the meal is."""
    assert may.stages["first_stage"].difference.is_known
    assert may.stages["second_stage"].oil.value == pytest.approx(96.0, abs=2.0)
    assert may.cooler.approach.value == pytest.approx(7.0, abs=1.5)
    assert may.dryer.water.value > 0.0


def test_oil_is_worth_what_the_plant_says(may):
    """At the price stated, a tonne a day is that price; without one there is no worth."""
    in_meal = may.oil.in_meal.value / 31.0 * 1000.0
    assert may.oil_worth.in_meal_per_day.value == pytest.approx(in_meal)
    accounts = replace(may.inputs.plant.accounts, figures=MappingProxyType({}))
    bare = replace(may.inputs, plant=replace(may.inputs.plant, accounts=accounts))
    told = accounts_of(bare)
    assert told.oil_worth is None
    assert told.meal.protein is None
    assert told.meal.drying is None
    assert told.throughput.against_plan.missing == ("plan",)


def test_the_compliance_ratio_of_the_rolling_year_is_near_the_truth(book, plant, streams, passed):
    """By the true loss, seed and hexane; a year with too few months says how many are wanting."""
    from logbook.process.solvent import compliance_ratio
    from logbook.process.solvent_units import gallons, short_tons

    year = rolling_year(plant.calendar, 2026, 5)
    found = compliance_of(book, plant, year, now=DEFAULT_END)
    loss = gallons(1000.0 * passed(streams.solvent.loss, year) / 0.668)
    seed = short_tons(passed(streams.running.rate, year))
    truth = compliance_ratio(loss, {"soybean": seed}, found.hap_fraction.value)
    assert found.ratio.value == pytest.approx(truth, rel=0.03)
    assert found.hap_fraction.value == pytest.approx(0.62, abs=0.015)
    short = compliance_of(book, plant, rolling_year(plant.calendar, 2026, 2), now=DEFAULT_END)
    assert short.ratio.value is None
    assert short.months_wanting > 0


def test_a_day_with_too_little_data_has_no_accounts_but_reasons(book, plant):
    """The day on which the book ends: nothing is guessed, and each figure says why."""
    today = day_period(plant.calendar, date(2026, 6, 18))
    found = accounts_of(inputs_of(book, plant, today.start, today.end, now=DEFAULT_END))
    assert not found.has_enough
    assert found.oil.unaccounted.value is None
    assert "Cleaned beans weighed to the mills" in found.oil.unaccounted.missing
    assert "at least 90% are needed" in found.lacks["Cleaned beans weighed to the mills"]
    assert found.solvent.account.loss.value is None
    assert found.yields.as_is.oil.percent.value is None
    assert found.reconciliation.accusations == ()


def test_a_period_that_ends_in_a_stop_is_reconciled_with_care(book, plant):
    """What the vessels hold then is not the same as at the begin."""
    stopped = day_period(plant.calendar, date(2025, 9, 29))
    quiet = day_period(plant.calendar, date(2026, 3, 20))
    found = [
        inputs_of(book, plant, one.start, one.end, now=DEFAULT_END) for one in (stopped, quiet)
    ]
    assert [in_process_sigma(one) > 0.0 for one in found] == [True, False]
    assert stops_of(found[0])[0].reason == "planned shutdown"


def test_a_note_is_added_to_what_is_there(may):
    """Both are kept."""
    figure = with_note(with_note(may.oil.out, "one"), "two")
    assert figure.note == "one; two"


def test_the_forecast_of_a_month_holds_what_it_came_to(book, plant):
    """Seen from the twentieth of May, the ratio at its end lay in the interval."""
    told = forecast_of(book, plant, DEFAULT_END - timedelta(days=29))
    found = compliance_of(book, plant, rolling_year(plant.calendar, 2026, 5), now=DEFAULT_END)
    low, high = told.interval
    assert low < found.ratio.value < high
    assert high - low < 0.1
    assert told.stretches == 11


def test_without_eleven_months_before_there_is_no_forecast(book, plant):
    """What is wanting is named, and early in a month that nothing was read in it yet."""
    early = forecast_of(book, plant, DEFAULT_END - timedelta(days=60))
    assert early.ratio.value is None
    assert early.ratio.missing == ("1 of 11 months before",)
    first = month_period(plant.calendar, 2026, 6).start + timedelta(minutes=30)
    assert forecast_of(book, plant, first).ratio.missing == ("readings of June 2026",)


def test_yields_are_told_at_the_moisture_that_the_plant_states(may):
    """Beans at 13 %, meal at its limit; without a stated basis there is none."""
    assert may.yields.stated is None
    plant = may.inputs.plant
    figures = MappingProxyType({**plant.accounts.figures, "bean_moisture_basis": 13.0})
    stated = replace(plant, accounts=replace(plant.accounts, figures=figures))
    found = accounts_of(replace(may.inputs, plant=stated)).yields.stated
    dry, moist = may.yields.dry, found
    assert (moist.basis.beans, moist.basis.products) == (13.0, 12.5)
    wanted = dry.meal.percent.value * 87.0 / 87.5
    assert moist.meal.percent.value == pytest.approx(wanted, rel=1e-6)


def test_the_solvent_lost_is_worth_its_price(may):
    """Tonnes of the month times the price, for each of its days."""
    loss = may.solvent.account.loss.value
    assert may.solvent.worth_per_day.value == pytest.approx(loss * 1100.0 / 31.0)
    assert may.solvent.worth_per_day.unit == "per day"
