"""The shipped template and the sample plant: whole, safe to read, and figures that belong together."""

from __future__ import annotations

import math
from collections import Counter
from datetime import date, timedelta
from pathlib import Path

import pytest

from logbook.plant.calendar import shift_on
from logbook.plant.calendar_check import check_calendar
from logbook.plant.convert import convert_plant_text
from logbook.plant.file import plant_from_text, read_plant
from logbook.plant.model import NORMAL_MODE, Often, PointKind, Weight
from logbook.plant.rounds import is_due, rounds_of

ROOT = Path(__file__).resolve().parents[2]
TEMPLATE = ROOT / "resources" / "plants" / "soybean-metric.toml"
SAMPLE = ROOT / "sample_db" / "plant.toml"

AREAS = (
    "receiving",
    "cracking",
    "dehulling",
    "conditioning",
    "flaking",
    "extraction",
    "evaporation",
    "recovery",
    "desolventizing",
    "drying",
    "grinding",
    "hulls",
    "storage",
    "utilities",
    "laboratory",
    "safety",
)
ALWAYS_JUDGED = (
    "feed_seal_level",
    "extractor_pressure",
    "dt_feed_seal_level",
    "vent_lel",
    "waste_water_temp",
    "waste_water_lel",
    "separator_interface",
    "dt_pressure",
    "cooling_water_pressure",
    "gas_panel",
    "gas_lel.extraction",
    "gas_lel.flake_conveyor",
    "gas_lel.waste_water",
    "gas_lel.air_intakes",
    "portable_survey",
)
"""Readings about people's safety: their limits hold in every mode of the plant."""


@pytest.fixture(scope="module", params=[TEMPLATE, SAMPLE], ids=["template", "sample"])
def plant(request):
    """The template, then the sample plant, each read from its file."""
    return read_plant(request.param)


def every_limit_set(point):
    """The limits of a point in the normal mode and in each mode that has its own."""
    return {NORMAL_MODE: point.limits, **point.limits_by_mode}


def is_judged(point):
    """True where the point can come out other than within its limits or normal."""
    if any(limits.judges for limits in every_limit_set(point).values()):
        return True
    return any(choice.weight is not Weight.NORMAL for choice in point.choices)


def target(plant, key):
    """The target of a point in the normal mode, which it must have."""
    value = plant.point(key).limits.target
    assert value is not None, key
    return value


def test_the_plant_has_every_area_in_process_order_and_each_area_has_points(plant):
    """Sixteen areas from the beans to the weather, none empty, each with a caution."""
    assert tuple(area.key for area in plant.areas) == AREAS
    assert {point.area for point in plant.points} == set(AREAS)
    assert [area.key for area in plant.areas if not area.caution] == []


def test_the_plant_has_many_points_and_every_kind_of_point(plant):
    """At least 130 points, and each kind is shown at least once."""
    assert len(plant.points) >= 130
    assert {point.kind for point in plant.points} == set(PointKind)


def test_a_round_asks_for_a_number_of_readings_that_a_person_can_take(plant):
    """A round that is neither the first of a shift nor a four-hour one has 95 to 120 readings."""
    shift = shift_on(plant.calendar, plant.calendar.anchor, "N")
    second = rounds_of(shift, plant.settings.round_hours)[1]
    due = [
        point.key
        for point in plant.points
        if is_due(point, second, plant.settings.round_hours, first_shift_key="D")
    ]
    each_round = [p.key for p in plant.points if p.frequency.often is Often.ROUND]
    assert 95 <= len(due) <= 120
    assert set(due) <= set(each_round)


def test_every_judged_number_says_what_each_side_means(plant):
    """Where there is a low limit there is a meaning of low, and the same for high."""
    silent = []
    for point in plant.points:
        for mode, limits in every_limit_set(point).items():
            if (limits.warning_low, limits.action_low) != (None, None) and not point.low_means:
                silent.append((point.key, mode, "low"))
            if (limits.warning_high, limits.action_high) != (None, None) and not point.high_means:
                silent.append((point.key, mode, "high"))
    assert silent == []


def test_every_judged_point_has_a_first_response(plant):
    """Numbers, states and checks that can come out wrong say what to do first."""
    assert [p.key for p in plant.points if is_judged(p) and not p.response] == []


def test_every_state_and_check_has_choices_and_a_normal_one(plant):
    """A state that cannot be answered, or has no good answer, is of no use."""
    listed = [p for p in plant.points if p.kind in {PointKind.STATE, PointKind.CHECK}]
    assert listed
    for point in listed:
        assert len(point.choices) >= 2, point.key
        assert any(choice.weight is Weight.NORMAL for choice in point.choices), point.key


def test_a_machine_that_is_not_running_says_so_in_its_state(plant):
    """Each mill, grinder and pellet mill has answers that mean it is down."""
    machines = [p for p in plant.points if p.choice("running") is not None]
    assert Counter(p.area for p in machines) == {
        "cracking": 3,
        "flaking": 6,
        "grinding": 2,
        "hulls": 1,
    }
    for point in machines:
        down = {choice.key for choice in point.choices if choice.means_down}
        assert down == {"standby", "down"}, point.key
        assert point.equipment is not None, point.key


def test_every_target_lies_inside_its_limits_in_every_mode(plant):
    """Action limits lie outside warning limits, and the target inside both, in order."""
    for point in plant.points:
        for mode, limits in every_limit_set(point).items():
            ladder = [
                limits.plausible_low,
                limits.action_low,
                limits.warning_low,
                limits.target,
                limits.warning_high,
                limits.action_high,
                limits.plausible_high,
            ]
            stated = [rung for rung in ladder if rung is not None]
            assert stated == sorted(stated), (point.key, mode)


def test_every_typed_number_has_a_plausible_range(plant):
    """A slip of the decimal point can be questioned everywhere a number is typed."""
    open_ended = [
        point.key
        for point in plant.points
        if point.kind in {PointKind.NUMBER, PointKind.LEVEL, PointKind.LAB}
        and None in (point.limits.plausible_low, point.limits.plausible_high)
    ]
    assert open_ended == []


@pytest.mark.parametrize("key", ALWAYS_JUDGED)
def test_a_safety_reading_is_judged_in_every_mode_and_defers_to_the_site(plant, key):
    """Never silent, never widened, and its caution or response names the site's own rules."""
    point = plant.point(key)
    assert point.silent_modes == ()
    assert dict(point.limits_by_mode) == {}
    assert is_judged(point)
    assert point.caution
    assert "site" in f"{point.caution} {point.response}".lower()


def test_start_up_never_loosens_a_high_temperature_limit_on_the_solvent_side(plant):
    """Warm-up may run cold without a warning; hot stays hot in start-up and shut-down."""
    for point in plant.points:
        if point.area not in {"extraction", "recovery", "desolventizing"} or point.unit != "°C":
            continue
        for mode in ("startup", "shutdown"):
            limits = point.limits_in(mode)
            assert limits.warning_high == point.limits.warning_high, (point.key, mode)
            assert limits.action_high == point.limits.action_high, (point.key, mode)


def test_the_low_protein_grade_has_its_own_limits_for_protein_and_fibre(plant):
    """What is wrong for one grade is right for the other, and the hulls go into the meal."""
    for key in ("lab_meal_protein", "lab_meal_fibre", "hull_addback_rate"):
        normal, grade = plant.point(key).limits, plant.point(key).limits_in("meal44").target
        assert grade is not None, key
        low = -math.inf if normal.action_low is None else normal.action_low
        assert grade < low or grade > normal.action_high, key
    assert "meal44" in plant.point("pellet_mill_current").silent_modes


def test_the_targets_close_the_oil_account(plant):
    """Oil in beans = crude oil + oil in hulls + oil in meal, within a hundredth of the oil."""
    beans = target(plant, "bean_feed_rate")
    oil_in = beans * target(plant, "lab_bean_oil") / 100
    in_hulls = target(plant, "hull_rate") * target(plant, "lab_hull_oil") / 100
    in_meal = target(plant, "meal_rate") * target(plant, "lab_meal_oil") / 100
    out = target(plant, "oil_rate") + in_hulls + in_meal
    assert out == pytest.approx(oil_in, rel=0.01)
    assert target(plant, "oil_per_bean") == pytest.approx(
        target(plant, "oil_rate") / beans, rel=0.01
    )


def test_the_targets_close_the_dry_matter_of_the_plant(plant):
    """Dry beans = dry hulls (10 % moisture) + oil + dry meal, within a hundredth."""
    beans = target(plant, "bean_feed_rate") * (1 - target(plant, "lab_bean_moisture") / 100)
    hulls = target(plant, "hull_rate") * 0.90
    meal = target(plant, "meal_rate") * (1 - target(plant, "lab_meal_moisture") / 100)
    assert hulls + target(plant, "oil_rate") + meal == pytest.approx(beans, rel=0.01)


def test_the_targets_close_the_protein_of_both_grades(plant):
    """Protein of the beans is found again in hulls and meal, hulls taken out or put back."""
    beans = target(plant, "bean_feed_rate") * target(plant, "lab_bean_protein") / 100
    per_hull = target(plant, "lab_hull_protein") / 100
    hulls = target(plant, "hull_rate")
    meal = target(plant, "meal_rate") * target(plant, "lab_meal_protein") / 100
    assert meal + hulls * per_hull == pytest.approx(beans, rel=0.01)
    rate = plant.point("meal_rate").limits_in("meal44").target
    back = plant.point("hull_addback_rate").limits_in("meal44").target
    protein = plant.point("lab_meal_protein").limits_in("meal44").target
    assert None not in (rate, back, protein)
    assert rate == pytest.approx(target(plant, "meal_rate") + back, rel=0.01)
    assert rate * protein / 100 + (hulls - back) * per_hull == pytest.approx(beans, rel=0.01)


def test_the_targets_close_the_solvent_of_the_extractor(plant):
    """Fresh solvent = solvent in full miscella + solvent in spent flakes, within a fiftieth.

    0.632 t/m3 for commercial hexane at 57 degC: from memory.
    """
    fresh = target(plant, "fresh_solvent_flow") * 0.632
    oil = target(plant, "oil_rate")
    share = target(plant, "full_miscella_oil") / 100
    flakes = target(plant, "flake_feed_rate")
    drained = flakes - oil
    spent = target(plant, "lab_spent_solvent") / 100
    assert oil * (1 - share) / share + drained * spent / (1 - spent) == pytest.approx(
        fresh, rel=0.02
    )
    assert target(plant, "solvent_flake_ratio") == pytest.approx(
        target(plant, "fresh_solvent_flow") / flakes, rel=0.01
    )


def test_every_tank_table_reaches_over_the_plausible_dips(plant):
    """Any dip that is taken can be turned into a volume."""
    tanks = [point for point in plant.points if point.kind is PointKind.LEVEL]
    assert len(tanks) == 6
    for point in tanks:
        assert point.tank is not None, point.key
        assert point.tank.dip[0] <= point.limits.plausible_low, point.key
        assert point.tank.dip[-1] >= point.limits.plausible_high, point.key


def test_the_table_of_a_lying_tank_is_that_of_a_cylinder(plant):
    """3.0 m across and 9.0 m long: each dip against the area of a circle's segment."""
    table = plant.point("solvent_dip.st1").tank
    radius, length = 1.5, 9.0
    for dip, volume in zip(table.dip, table.volume, strict=True):
        up = radius - dip
        segment = radius**2 * math.acos(up / radius) - up * math.sqrt(radius**2 - up**2)
        assert volume == pytest.approx(length * segment, abs=0.006)


def test_the_roster_is_sound_and_shares_the_work_evenly(plant):
    """No gap, no double shift; over a cycle each crew works seven days and seven nights."""
    calendar = plant.calendar
    assert check_calendar(calendar) == []
    worked = Counter(
        (shift_on(calendar, calendar.anchor + timedelta(days=day), pattern).crew, pattern)
        for day in range(len(calendar.roster))
        for pattern in ("D", "N")
    )
    assert worked == {(crew.key, p): 7 for crew in calendar.crews for p in ("D", "N")}


def test_every_crew_has_a_shift_lead_and_an_operator(plant):
    """A handover needs two people who may sign it."""
    for crew in plant.calendar.crews:
        roles = Counter(person.role for person in plant.people if person.crew == crew.key)
        assert roles["supervisor"] == 1, crew.key
        assert roles["operator"] >= 1, crew.key


def test_the_sample_plant_has_the_structure_of_the_template():
    """Same points, units, choices, limits and formulas; only names, people and tags differ."""
    ours, sample = read_plant(TEMPLATE), read_plant(SAMPLE)
    assert [p.key for p in sample.points] == [p.key for p in ours.points]
    for point, other in zip(ours.points, sample.points, strict=True):
        assert (point.kind, point.unit, point.decimals) == (other.kind, other.unit, other.decimals)
        assert every_limit_set(point) == every_limit_set(other), point.key
        assert (point.choices, point.formula) == (other.choices, other.formula), point.key
        assert point.frequency == other.frequency, point.key
    assert sample.areas == ours.areas
    assert sample.tables == ours.tables
    assert sample.modes == ours.modes
    assert (sample.key, sample.name) != (ours.key, ours.name)
    assert sample.calendar.anchor == date(2024, 12, 30)


def test_no_two_instruments_of_the_sample_plant_share_a_tag():
    """A tag names one instrument; the rate and the totaliser of a scale have their own."""
    tags = Counter(point.tag for point in read_plant(SAMPLE).points if point.tag)
    assert len(tags) > 150
    assert [tag for tag, count in tags.items() if count > 1] == []


@pytest.mark.parametrize("path", [TEMPLATE, SAMPLE], ids=["template", "sample"])
def test_the_plant_reads_back_whole_in_us_units(path):
    """The converted file has every point, and the units that a US crew expects."""
    metric = read_plant(path)
    us = plant_from_text(convert_plant_text(path.read_text(encoding="utf-8"), path))
    assert [p.key for p in us.points] == [p.key for p in metric.points]
    units = {
        "flake_thickness.fm3.centre": "mil",
        "oil_vacuum.stripper": "mmHg abs",
        "oil_vacuum.dryer": "mmHg abs",
        "evaporator_pressure.ev1": "inHg vacuum",
        "dt_vapour_temp": "°F",
        "steam_header_pressure": "psig",
        "extractor_pressure": "in H2O(g)",
        "bean_feed_rate": "short ton/h",
        "stripping_steam_flow": "lb/h",
        "miscella_feed_flow": "US gal/min",
    }
    assert {key: us.point(key).unit for key in units} == units
    assert us.point("dt_vapour_temp").limits.warning_low == pytest.approx(156.2)
    assert us.point("bean_feed_rate").limits.target == pytest.approx(68.9)


def test_the_template_warns_that_its_figures_are_a_starting_point():
    """The head of the file says that they are neither design values nor safety limits."""
    head = " ".join(
        TEMPLATE.read_text(encoding="utf-8").split("[plant]")[0].replace("#", "").split()
    )
    assert "starting point" in head
    assert "none is a safety limit" in head
