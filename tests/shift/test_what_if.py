"""Tests of the what-if of extractor, dryer and hulls."""

import pytest

from logbook.process.quantity import Quantity, absent
from logbook.process.roles import ROLES
from logbook.shift.what_if import sections_of, try_out

VALUES = {
    "hours": 24.0,
    "flakes": 24.0 * 95.0,
    "flake_oil": 20.5,
    "flake_moisture": 10.2,
    "fresh_solvent": 24.0 * 142.0,
    "spent_solvent": 30.0,
    "spent_oil": 0.62,
    "meal": 24.0 * 76.0,
    "meal_moisture": 12.1,
    "meal_protein": 47.8,
    "meal_fibre": 3.4,
    "hulls": 24.0 * 5.0,
    "hulls_added": 24.0 * 0.6,
    "hull_protein": 11.0,
    "hull_fibre": 36.0,
    "toasted_moisture": 18.0,
    "dryer_moisture": 12.4,
    "toasted_temp": 104.0,
    "dryer_meal_temp": 60.0,
    "dryer_air_temp": 115.0,
    "dryer_exhaust_temp": 58.0,
    "ambient_temp": 12.0,
    "ambient_humidity": 70.0,
}


@pytest.fixture
def figures():
    """A day of a plant of about 100 t/h."""
    return {
        role: Quantity(ROLES[role].meaning, value, ROLES[role].unit, 0.0)
        for role, value in VALUES.items()
    }


def lines_of(key, figures, **values):
    """Results by name, as (now, then)."""
    outcome = try_out(key, figures, values)
    assert not outcome.fault
    return {
        line.name: (float(line.now.replace(" ", "")), float(line.then.replace(" ", "")))
        for line in outcome.lines
    }


@pytest.mark.parametrize("key", ["extractor", "dryer", "hulls"])
def test_nothing_changed_changes_nothing(figures, key):
    """Every result stands beside itself, and the change is nought."""
    outcome = try_out(key, figures, {})
    assert outcome.lines
    assert all(line.change == "0" and line.now == line.then for line in outcome.lines)


def test_more_solvent_leaves_less_oil_and_thinner_miscella(figures):
    """The state starts from the residual oil that was measured."""
    told = lines_of("extractor", figures, ratio=1.1)
    assert told["Residual oil, dry"][0] == pytest.approx(0.62)
    assert told["Residual oil, dry"][1] < 0.62
    assert told["Oil in full miscella"][1] < told["Oil in full miscella"][0]
    assert told["Oil to miscella, more a day"][1] > 0


def test_a_wetter_day_takes_more_air_for_the_same_meal_only_by_its_exhaust(figures):
    """More humidity outside: the same water goes into air that is fuller of it."""
    told = lines_of("dryer", figures, humidity=98.0)
    assert told["Water removed"][0] == told["Water removed"][1]
    assert told["Humidity of the exhaust"][1] > told["Humidity of the exhaust"][0]


def test_meal_dried_less_takes_less_heat(figures):
    """Drying to 13 % and not to 12.4 %; the water is that of the moistures."""
    told = lines_of("dryer", figures, moisture_out=13.0)
    dry = 76.0 * (1 - 0.121)
    expected = dry / 0.82 - dry / 0.87
    assert told["Water removed"][1] == pytest.approx(expected, rel=1e-3)
    assert told["Heat for drying"][1] < told["Heat for drying"][0]


def test_hulls_for_a_protein_give_that_protein(figures):
    """What is told to reach 47.0 % reaches it when it is tried."""
    wanted = lines_of("hulls", figures, target=47.0)["Hulls for the protein to reach"][1]
    told = lines_of("hulls", figures, hulls_kg_t=wanted)
    assert told["Protein of the meal"][1] == pytest.approx(47.0, abs=0.01)


def test_more_hulls_than_there_are_is_said(figures):
    """The blend is worked out and the shortage told."""
    outcome = try_out("hulls", figures, {"hulls_kg_t": 150.0})
    assert "more hulls than were taken out" in outcome.told


@pytest.mark.parametrize(
    ("key", "values", "word"),
    [
        ("extractor", {"ratio": 0.3, "drainage_pct": 60.0}, "cannot run"),
        ("dryer", {"moisture_out": 19.0}, "nothing to dry"),
        ("dryer", {"exhaust_c": 118.0}, "brings no heat"),
        ("hulls", {"hull_protein": 47.9, "target": 44.0}, "do not bring"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(figures, key, values, word):
    """No traceback, no made-up number."""
    outcome = try_out(key, figures, values)
    assert not outcome.lines
    assert word in outcome.fault


def test_a_section_without_its_figures_names_what_is_missing(figures):
    """Fields are offered only where the period tells where they stand."""
    figures["spent_oil"] = absent("Oil of spent flakes", "%", "lab_spent_oil")
    sections = {one.key: one for one in sections_of(figures)}
    assert sections["extractor"].fields == ()
    assert "Oil of spent flakes" in sections["extractor"].told
    assert sections["dryer"].fields
    assert try_out("extractor", figures, {}).fault == sections["extractor"].told


def test_a_residual_oil_that_cannot_be_is_told_where_it_is_offered(figures):
    """Less residual oil than ideal stages leave: the figures do not fit."""
    figures["spent_oil"] = Quantity("Oil of spent flakes", 0.001, "%", 0.0)
    section = sections_of(figures)[0]
    assert section.fields == ()
    assert "do not fit" in section.told
