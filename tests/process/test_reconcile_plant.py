"""Tests of the template plant's balances: by role, on a plant of known truth."""

from dataclasses import replace

import numpy as np
import pytest

from logbook.process.quantity import Quantity, absent
from logbook.process.reconcile_plant import reconcile_plant, solvent_density, without_suspects
from logbook.process.roles import ROLES
from logbook.process.standing import chance_of, standing_accusations
from logbook.process.template_network import CONTENT_ROLES, FLOW_ROLES, STREAMS, plant_network

HULLS = 96.0
TRUTH = {
    # 1500 t of beans: 292.5 t oil, 165 t water, 532.5 t protein, 510 t rest.
    "beans": 1500.0, "bean_oil": 19.5, "bean_moisture": 11.0, "bean_protein": 35.5,
    # 96 t of hulls: 0.96 t oil, 9.6 t water, 10.08 t protein.
    "hulls": HULLS, "hull_oil": 1.0, "hull_protein": 10.5,
    # Pellets take up 1.2 t of water.
    "pellets": 97.2, "pellet_moisture": 100.0 * 10.8 / 97.2,
    # Flakes at 9.9 %: 291.54 oil, 522.42 protein, 434.64 rest of dry matter.
    "flakes": 1248.6 / 0.901, "flake_moisture": 9.9, "flake_oil": 29154.0 * 0.901 / 1248.6,
    # 283.54 t of oil extracted, 8 t left.
    "oil": 283.54 / 0.99894, "oil_moisture": 0.1, "oil_solvent": 60.0,
    "meal_oil": None, "meal_moisture": 12.0, "meal_protein": None, "meal": None,
    "meal_solvent": 0.0,
    "sparge_steam": 130.0, "stripping_steam": 9.0,
}  # fmt: skip
MEAL_DRY = 1248.6 - 283.54
TRUTH["meal"] = MEAL_DRY / 0.88
TRUTH["meal_oil"] = 100.0 * 8.0 / TRUTH["meal"]
TRUTH["meal_protein"] = 100.0 * 522.42 / TRUTH["meal"]
SAMPLES = {"bean": 2, "hull": 2, "flak": 2, "meal": 6, "oil_": 2, "pell": 2}


def sigma_of(role, value):
    """Standard uncertainty of a day's figure."""
    count = 12 if role in FLOW_ROLES else SAMPLES.get(role[:4], 2)
    return ROLES[role].sigma(value, count=count, per_hour=value / 24.0)


def figures(seed=None, **off):
    """A day's figures by role: true, or with errors drawn; `off` multiplies some of them."""
    rng = None if seed is None else np.random.default_rng(seed)
    found = {}
    for role, value in TRUTH.items():
        sigma = sigma_of(role, value)
        read = value if rng is None else value + sigma * rng.standard_normal()
        found[role] = Quantity(role, read * off.get(role, 1.0), ROLES[role].unit, sigma)
    return found


def test_every_role_of_the_network_is_one_and_every_stream_of_a_role_is_there():
    """Nothing measured falls beside the network."""
    keys = {stream.key for stream in STREAMS}
    assert set(FLOW_ROLES) <= set(ROLES)
    assert set(FLOW_ROLES.values()) <= keys
    assert set(CONTENT_ROLES) <= set(ROLES)
    for stream, part in CONTENT_ROLES.values():
        assert part in next(one for one in STREAMS if one.key == stream).contents


def test_hulls_are_added_back_only_where_that_is_measured():
    """One stream more; everything else stays."""
    without = {stream.key for stream in plant_network(()).streams}
    assert {s.key for s in plant_network({"hulls_added"}).streams} - without == {"hulls_added"}


def test_true_figures_balance_and_stay():
    """The plant of this test closes: nothing is adjusted, and what is not measured comes out."""
    found = reconcile_plant(figures())
    assert found.chi2 == pytest.approx(0.0, abs=1e-6)
    assert found.balances
    assert found.suspects == ()
    flows = {one.role: one for one in found.flows}
    for role in ("beans", "meal", "oil", "flakes", "hulls"):
        assert flows[role].reconciled.value == pytest.approx(TRUTH[role], rel=1e-6)
        assert flows[role].is_redundant
    # 1500 - 96 - flakes leaves as vapour.
    vapour = flows["conditioner_vapour"]
    assert vapour.measured is None
    assert vapour.reconciled.value == pytest.approx(1404.0 - TRUTH["flakes"], abs=1e-3)
    assert vapour.reconciled.sigma > 0.0
    assert found.masses["beans"]["oil"].value == pytest.approx(292.5, rel=1e-6)
    assert found.masses["meal"]["protein"].value == pytest.approx(522.42, rel=1e-6)


def test_what_no_reading_tells_is_without_a_value():
    """Dried meal without the dryer's moisture: no number, and the words say why."""
    found = reconcile_plant(figures())
    dried = next(one for one in found.flows if one.role == "dried_meal")
    assert dried.reconciled.value is None
    assert "not told" in dried.reconciled.note
    assert "dryer_moisture" in found.missing
    assert "hulls_added" not in found.missing


def test_reconciled_figures_are_surer_than_measured_ones():
    """No standard uncertainty grows, and that of the meal falls to less than two thirds."""
    found = reconcile_plant(figures(3))
    for one in found.flows + found.contents:
        if one.measured is not None and one.role != "spent_oil":
            assert one.reconciled.sigma <= one.measured.sigma * (1.0 + 1e-9)
    meal = next(one for one in found.flows if one.role == "meal")
    assert meal.reconciled.sigma < 0.67 * meal.measured.sigma


def test_good_readings_are_accused_no_more_often_than_stated():
    """Two hundred days with errors as stated: at most 5 %, three standard deviations allowed."""
    accused = sum(bool(reconcile_plant(figures(k)).accusations) for k in range(200))
    assert 1 <= accused < 10 + 3.0 * np.sqrt(10 * 0.95)


@pytest.mark.parametrize(
    ("role", "factor"), [("beans", 0.97), ("meal", 1.04), ("oil", 1.05), ("flakes", 0.92)]
)
def test_a_scale_that_is_far_off_is_named_with_its_size(role, factor):
    """Twenty days: named first in at least sixteen, another one at most twice."""
    found = [reconcile_plant(figures(k, **{role: factor})) for k in range(20)]
    first = [one.accusations[0] for one in found if one.accusations]
    named = [one for one in first if role in one.roles]
    assert len(named) >= 16
    assert len(first) - len(named) <= 2
    assert all(one.roles == (role,) for one in named)
    mean = np.mean([one.relative for one in named if one.roles[0] == role])
    assert mean == pytest.approx(factor - 1.0, abs=0.006)


def test_a_bean_scale_a_little_low_stands_out_over_ten_days():
    """1.5 % low: a single day may miss it, ten days do not, and no other role stands accused."""
    found = [reconcile_plant(figures(100 + k, beans=0.985)) for k in range(10)]
    standing = standing_accusations(found)
    assert [one.role for one in standing] == ["beans"]
    assert standing[0].count >= 4
    assert standing[0].relative == pytest.approx(-0.015, abs=0.004)
    assert "Cleaned beans weighed to the mills: contradicted in" in standing[0].text
    assert standing[0].chance < 1e-3


def test_ten_quiet_days_have_no_standing_accusation():
    """One accusation in ten days is chance."""
    assert standing_accusations([reconcile_plant(figures(200 + k)) for k in range(10)]) == ()
    assert standing_accusations([]) == ()
    assert chance_of(0, 5, 0.05) == pytest.approx(1.0)
    assert chance_of(1, 10, 0.05) == pytest.approx(1.0 - 0.95**10)


def test_an_accusation_says_what_how_far_and_what_else_it_could_be():
    """In the plant's words, with error, unit and share; the report can leave the reading out."""
    found = reconcile_plant(figures(beans=0.95))
    step = found.accusations[0]
    assert step.roles == ("beans",)
    assert step.error.value == pytest.approx(-75.0, rel=0.02)
    assert step.error.unit == "t"
    assert "Cleaned beans weighed to the mills: reads 7" in step.text
    assert "too low (-5.0 %)" in step.text
    beans = next(one for one in found.flows if one.role == "beans")
    assert beans.is_suspect
    assert not found.balances
    again = without_suspects(figures(beans=0.95), found)
    assert again.accusations == ()
    right = next(one for one in again.flows if one.role == "beans")
    assert right.reconciled.value == pytest.approx(1500.0, rel=1e-3)
    assert without_suspects(figures(), again) is again


def test_a_wrong_analysis_is_named_in_its_own_unit():
    """Meal protein one point and a half high, in %."""
    day = figures()
    protein = day["meal_protein"]
    day["meal_protein"] = replace(protein, value=protein.value + 1.5)
    step = reconcile_plant(day).accusations[0]
    assert "meal_protein" in step.roles
    assert step.error.unit == "%"


def test_hulls_added_back_carry_the_hulls_composition():
    """A day of the lower grade: 90 t of hulls go into the meal, and all balances close."""
    day = figures()
    meal, added = TRUTH["meal"], 90.0
    whole = meal + added
    change = {
        "hulls_added": added,
        "pellets": (HULLS - added) * 1.0125,
        "meal": whole,
        "meal_oil": 100.0 * (8.0 + 0.9) / whole,
        "meal_protein": 100.0 * (522.42 + 9.45) / whole,
        "meal_moisture": 100.0 * (0.12 * meal + 9.0) / whole,
    }
    for role, value in change.items():
        day[role] = Quantity(role, value, ROLES[role].unit, sigma_of(role, value))
    found = reconcile_plant(day)
    assert found.p_value > 0.5
    assert found.suspects == ()
    assert found.masses["hulls_added"]["protein"].value == pytest.approx(9.45, rel=1e-2)


def test_volumes_of_solvent_and_miscella_are_weighed():
    """m³ become t by the density at their temperature; miscella needs its strength."""
    day = figures()
    day["solvent_temp"] = Quantity("solvent_temp", 57.0, "°C", 0.5)
    day["fresh_solvent"] = Quantity("fresh_solvent", 1968.0, "m³", 80.0)
    day["miscella"] = Quantity("miscella", 1536.0, "m³", 60.0)
    found = {one.role: one for one in reconcile_plant(day).flows}
    assert found["miscella"].measured is None
    assert found["fresh_solvent"].measured.unit == "t"
    assert found["fresh_solvent"].measured.value == pytest.approx(1968.0 * solvent_density(57.0))
    day["miscella_oil"] = Quantity("miscella_oil", 27.0, "%", 0.5)
    found = {one.role: one for one in reconcile_plant(day).flows}
    density = 1.0 / (0.27 / 0.896 + 0.73 / solvent_density(57.0))
    assert found["miscella"].measured.value == pytest.approx(1536.0 * density, rel=2e-3)
    assert found["miscella"].measured.sigma > 60.0 * density


def test_oil_of_spent_flakes_is_brought_to_the_wet_flakes():
    """0.8 % of the dry, solvent-free solids at 30 % solvent and 9 % water is 0.488 %."""
    day = figures()
    for role, value in (("spent_oil", 0.8), ("spent_moisture", 9.0), ("spent_solvent", 30.0)):
        day[role] = Quantity(role, value, "%", sigma_of(role, value))
    found = {one.role: one for one in reconcile_plant(day).contents}
    assert found["spent_oil"].measured.value == pytest.approx(0.488)
    del day["spent_solvent"]
    assert "spent_oil" not in {one.role for one in reconcile_plant(day).contents}


def test_a_figure_without_value_is_missing_and_one_without_sigma_gets_its_roles():
    """Absent is not zero, and no uncertainty is not certainty."""
    day = figures()
    day["meal"] = absent("meal", "t", "meal counter")
    day["oil"] = replace(day["oil"], sigma=None)
    found = reconcile_plant(day)
    assert "meal" in found.missing
    flows = {one.role: one for one in found.flows}
    assert flows["meal"].measured is None
    assert flows["meal"].reconciled.value == pytest.approx(TRUTH["meal"], rel=0.02)
    assert flows["oil"].measured.sigma == pytest.approx(ROLES["oil"].sigma(TRUTH["oil"]))


def test_a_period_without_readings_is_told_as_one():
    """Nothing is made up: no values, no accusation, and the note says it."""
    found = reconcile_plant({})
    assert found.balances is None
    assert found.note == "no balance checks these readings"
    assert found.accusations == ()
    assert all(one.reconciled.value is None for one in found.flows)
    assert len(found.missing) == len(FLOW_ROLES) + len(CONTENT_ROLES) - 1


def test_readings_that_come_to_no_balance_are_told_as_such():
    """Every figure off by a factor of e^3 or so: no reconciled values, no accusation, a note."""
    rng = np.random.default_rng(4)
    day = {
        role: replace(one, value=one.value * float(np.exp(rng.normal(0.0, 3.0))))
        for role, one in figures().items()
    }
    found = reconcile_plant(day)
    assert "come to no rest" in found.note
    assert found.detail is None
    assert found.balances is None
    assert found.accusations == ()
    assert all(one.reconciled.value is None for one in found.flows)
    assert found.flows[0].measured is not None
    assert standing_accusations([found]) == ()


def test_a_figure_in_another_unit_is_refused():
    """With the role and both units."""
    day = figures()
    day["beans"] = replace(day["beans"], unit="kg")
    with pytest.raises(ValueError, match="beans is in 'kg': the role 'beans' is in 't'"):
        reconcile_plant(day)


def test_what_vessels_may_have_gained_makes_the_beans_less_sure():
    """A day that ends in a stop: 40 t may hang in the vessels, and nobody is accused for it."""
    day = figures(beans=0.97)
    assert reconcile_plant(day).suspects == ("beans",)
    assert reconcile_plant(day, in_process_sigma=40.0).suspects == ()
