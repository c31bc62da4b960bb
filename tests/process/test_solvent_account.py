"""Tests of the solvent account of a period."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.quantity import Quantity, absent
from logbook.process.solvent_account import SolventInputs, account, loss_of
from logbook.process.solvent_units import GALLON_L, SHORT_TON_T

MASS = st.floats(0.0, 500.0)


def t(name: str, value: float, sigma: float | None = 0.0) -> Quantity:
    """A mass."""
    return Quantity(name, value, "t", sigma)


def inputs(**other) -> SolventInputs:
    """A month of 45,000 t of beans that lost 24 t, everything measured."""
    usual = {
        "stock_start": (t("work tank", 12.0, 0.1), t("tank 1", 40.0, 0.2)),
        "stock_end": (t("work tank", 11.0, 0.1), t("tank 1", 37.0, 0.2)),
        "received": t("received", 20.0, 0.05),
        "seed": t("beans", 45_000.0, 90.0),
        "density": Quantity("density", 0.66, "kg/L", 0.001),
        "days": 30.0,
        "meal": t("meal", 34_000.0, 70.0),
        "meal_ppm": Quantity("solvent in meal", 300.0, "ppm", 30.0),
        "oil": t("oil", 8_500.0, 20.0),
        "oil_ppm": Quantity("solvent in oil", 100.0, "ppm", 10.0),
        "vent_gas": Quantity("vent gas", 110_000.0, "m³", 2_000.0),
        "vent_g_m3": Quantity("solvent in vent gas", 20.0, "g/m³", 2.0),
        "waste_water": Quantity("waste water", 4_000.0, "m³", 100.0),
        "waste_mg_l": Quantity("solvent in waste water", 5.0, "mg/L", 1.0),
    }
    return SolventInputs(**(usual | other))


def test_a_month_with_everything_measured():
    """Loss by stocks and deliveries; ways out by amount and share; the rest is unaccounted."""
    told = account(inputs())
    assert told.loss.value == pytest.approx(24.0)
    assert told.loss.sigma == pytest.approx(math.sqrt(2 * 0.1**2 + 2 * 0.2**2 + 0.05**2))
    assert told.meal.value == pytest.approx(10.2)
    assert told.oil.value == pytest.approx(0.85)
    assert told.vent.value == pytest.approx(2.2)
    assert told.waste.value == pytest.approx(0.02)
    assert told.unaccounted.value == pytest.approx(24.0 - 13.27)
    assert told.unaccounted.note == ""
    assert told.unmeasured == ()
    assert told.dominated is False


def test_the_loss_per_seed_in_the_units_of_the_trade():
    """kg/t, L/t and US gallons per short ton of the same loss."""
    told = account(inputs())
    assert told.kg_t.value == pytest.approx(24_000 / 45_000)
    assert told.l_t.value == pytest.approx(24_000 / 45_000 / 0.66)
    gallons = 24_000 / 0.66 / GALLON_L
    assert told.gal_ton.value == pytest.approx(gallons / (45_000 / SHORT_TON_T))


@given(start=MASS, end=MASS, received=MASS, ppm=st.floats(0.0, 2000.0))
def test_the_account_closes(start, end, received, ppm):
    """Stock change and deliveries equal the ways out and the unaccounted part."""
    told = account(
        inputs(
            stock_start=[t("tank", start)],
            stock_end=[t("tank", end)],
            received=t("received", received),
            meal_ppm=Quantity("solvent in meal", ppm, "ppm", 1.0),
        )
    )
    out = told.accounted.value + told.unaccounted.value
    assert out == pytest.approx(start + received - end, abs=1e-9)
    assert told.accounted.value == pytest.approx(
        math.fsum(q.value for q in (told.meal, told.oil, told.vent, told.waste)), abs=1e-9
    )


def test_the_uncertainty_of_the_unaccounted_part_is_that_of_loss_and_ways_out():
    """They are measured apart from one another: the squares add."""
    told = account(inputs())
    assert told.unaccounted.sigma == pytest.approx(
        math.hypot(told.loss.sigma, told.accounted.sigma), rel=1e-6
    )


def test_a_way_out_that_was_not_measured_stays_in_the_unaccounted_part():
    """It is named, and the others still count."""
    told = account(inputs(vent_g_m3=absent("vent analyser", "g/m³")))
    assert told.vent.value is None
    assert told.vent.missing == ("vent analyser",)
    assert told.unmeasured == ("in vent gas",)
    assert told.unaccounted.value == pytest.approx(24.0 - 11.07)
    assert told.unaccounted.note == "holds what was not measured: in vent gas"


def test_without_any_way_out_measured_all_is_unaccounted():
    """A figure is given for the loss alone."""
    bare = inputs()
    told = account(
        SolventInputs(
            stock_start=bare.stock_start,
            stock_end=bare.stock_end,
            received=bare.received,
            seed=bare.seed,
            density=bare.density,
            days=30.0,
        )
    )
    assert told.unaccounted.value == pytest.approx(24.0)
    assert told.accounted.value is None
    assert len(told.unmeasured) == 4
    assert told.meal.missing == ("meal", "solvent in meal")


def test_a_stock_that_is_missing_leaves_no_loss():
    """Its name is in what is missing, down to the specific loss."""
    told = account(inputs(stock_end=(t("work tank", 11.0, 0.1), absent("tank 1", "t"))))
    assert told.loss.value is None
    assert told.kg_t.missing == ("tank 1",)
    assert told.unaccounted.missing == ("tank 1",)
    assert told.dominated is None


def test_a_shift_is_dominated_by_its_dips_and_says_so():
    """0.27 t of loss told by tanks that err by 0.32 t together."""
    shift = inputs(
        stock_end=(t("work tank", 11.8, 0.1), t("tank 1", 39.93, 0.2)),
        received=t("received", 0.0),
        seed=t("beans", 500.0, 1.0),
        days=0.5,
    )
    told = account(shift)
    assert told.dominated is True
    assert "dominated by the stock readings" in told.loss.note
    assert "dominated" in told.kg_t.note
    assert "dominated" in told.unaccounted.note
    # 0.316 t over a quarter of 0.54 t a day.
    assert told.clear_days == pytest.approx(math.sqrt(0.1) / (0.25 * 0.54), rel=1e-6)
    assert "about 3 days" in told.loss.note


def test_the_share_that_dominates_can_be_set():
    """Asked for one per cent, a month is dominated as well."""
    assert account(inputs(), dominated_share=0.01).dominated is True


def test_a_gain_is_no_loss_that_dips_could_tell():
    """A stock that grew by itself has an error somewhere; no days are promised."""
    told = account(inputs(received=t("received", 0.0), stock_start=inputs().stock_end))
    assert told.loss.value == pytest.approx(0.0)
    assert told.dominated is True
    assert told.clear_days is None


@pytest.mark.parametrize("left", [0.0, 5e-324, 1e-9])
def test_a_loss_next_to_nothing_promises_no_days(left):
    """Nor does it break on the smallest of numbers."""
    told = account(
        inputs(
            stock_start=[t("tank", left)],
            stock_end=[t("tank", 0.0)],
            received=t("received", 0.0, 0.05),
        )
    )
    assert told.dominated is True
    assert told.clear_days is None


def test_the_smallest_exact_loss_is_told_at_once():
    """Stocks without error tell even that."""
    told = account(
        inputs(
            stock_start=[t("tank", 5e-324)],
            stock_end=[t("tank", 0.0)],
            received=t("received", 0.0),
        )
    )
    assert told.dominated is False
    assert told.clear_days == 0.0


def test_without_uncertainty_nothing_is_said_to_dominate():
    """None is not False."""
    told = account(inputs(received=t("received", 20.0, None)))
    assert told.loss.sigma is None
    assert told.dominated is None
    assert told.clear_days is None


def test_stocks_of_other_tanks_are_refused():
    """Begin and end must name the same tanks; a period must have a length."""
    with pytest.raises(ValueError, match="not those of the same tanks"):
        inputs(stock_end=(t("tank 1", 1.0),))
    with pytest.raises(ValueError, match="0 days long"):
        inputs(days=0.0)


def test_the_loss_names_what_it_was_made_of():
    """Tanks and deliveries, and the balance it comes from."""
    told = loss_of(replace(inputs(), days=1.0))
    assert told.inputs == ("work tank", "tank 1", "work tank", "tank 1", "received")
    assert told.source
