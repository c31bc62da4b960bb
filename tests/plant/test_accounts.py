"""The section [accounts] of a plant file: roles, accuracies, figures, and faults in them."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from logbook.plant.account_checks import figure_value
from logbook.plant.account_roles import ROLE_FITS
from logbook.plant.accounts import FIGURES, NO_ACCOUNTS
from logbook.plant.file import PlantFileError, plant_from_text, read_plant
from logbook.plant.model import PointKind
from logbook.plant.templates import template_names, template_path
from logbook.plant.unit_table import find_unit
from logbook.process.roles import ROLES, Gather
from logbook.record import create_book, open_book

SMALL = Path(__file__).parents[1] / "data" / "plants" / "small.toml"
TEXT = SMALL.read_text(encoding="utf-8")
METRIC = template_path("soybean-metric").read_text(encoding="utf-8")


def fault_of(section: str, base: str = METRIC):
    """The one fault of the metric template with `section` in place of its own accounts."""
    text = base[: base.index("[accounts.points]")] + section
    with pytest.raises(PlantFileError) as told:
        plant_from_text(text)
    (fault,) = told.value.faults
    assert fault.line is not None
    return fault


def test_a_plant_that_says_nothing_has_no_accounts() -> None:
    """The template's points then fill the roles."""
    assert plant_from_text(TEXT).accounts == NO_ACCOUNTS
    assert NO_ACCOUNTS.points_of("beans", ("bean_total",)) == ("bean_total",)


def test_the_templates_say_which_points_play_which_role() -> None:
    """A stem stands for all points of it, and a list is taken in its order."""
    accounts = read_plant(template_path("soybean-metric")).accounts
    assert accounts.points["beans"] == ("bean_total",)
    assert accounts.points["oil_stock"] == ("oil_dip.ot1", "oil_dip.ot2")
    assert accounts.points["solvent_stock"] == (
        "work_tank_dip",
        "solvent_dip.st1",
        "solvent_dip.st2",
    )
    assert accounts.uncertainty["bean_total"] == 0.2
    assert accounts.figures["plan"] == 1500.0
    assert accounts.words["source_type"] == "conventional"


def test_the_us_template_states_the_same_figures_in_its_own_units() -> None:
    """Read back, tonnes and prices are those of the metric one."""
    metric = read_plant(template_path("soybean-metric")).accounts
    american = read_plant(template_path("soybean-us")).accounts
    assert american.points == metric.points
    assert "short ton" in template_path("soybean-us").read_text(encoding="utf-8")
    for name, value in metric.figures.items():
        assert american.figures[name] == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize("name", template_names())
def test_every_usual_point_of_a_template_fits_its_role(name: str) -> None:
    """What fills a role by default would also pass as stated."""
    points = {point.key: point for point in read_plant(template_path(name)).points}
    for role, (kinds, quantities) in ROLE_FITS.items():
        for key in ROLES[role].points:
            unit = find_unit(points[key].unit)
            assert points[key].kind in kinds, role
            assert unit is not None
            assert unit.quantity in quantities, role


def test_the_roles_that_can_be_stated_are_those_of_the_arithmetic() -> None:
    """But for the hours, which follow from the record of stops; a counter is a counter in both."""
    of_points = {name for name, role in ROLES.items() if role.gather is not Gather.HOURS}
    assert set(ROLE_FITS) == of_points
    for name, (kinds, _) in ROLE_FITS.items():
        is_counted = ROLES[name].gather is Gather.COUNTED
        assert (PointKind.COUNTER in kinds) == is_counted, name


@pytest.mark.parametrize(
    ("section", "where", "what", "wanted"),
    [
        ('[accounts.points]\nbean = "bean_total"', "accounts, points, bean", "no role", '"beans"'),
        ('[accounts.points]\nbeans = "bean_totl"', "beans", "no point", '"bean_total"'),
        ('[accounts.points]\nbeans = "hull_rate"', "beans", "of kind number", "kind counter"),
        ('[accounts.points]\nbeans = "electricity_total"', "beans", "in kWh", "unit of mass"),
        ('[accounts.points]\nbeans = ["bean_total", "bean_total"]', "beans", "twice", "once"),
        ("[accounts.points]\nbeans = 5", "beans", "not a list of texts", "a list such as"),
        ("[accounts.uncertainty]\nbean_totl = 1", "bean_totl", "no point", '"bean_total"'),
        ("[accounts.uncertainty]\nbean_total = 80", "bean_total", "80 is not", "0 to 50"),
        ('[accounts.uncertainty]\nbean_total = "a"', "bean_total", "not a number", "a number"),
        ("[accounts.uncertainty]\nweather = 1", "weather", "not a number", "is measured"),
        ("[accounts.figures]\nplann = 1500", "plann", "no figure", '"plan"'),
        ("[accounts.figures]\nplan = -1", "plan", "-1 is not possible", "0 to 100000 t/d"),
        ('[accounts.figures]\nplan = "1500 kWh"', "plan", "not possible", "converted to t/d"),
        ('[accounts.figures]\noil_price = "5 t"', "oil_price", "not possible", "per t"),
        ('[accounts.figures]\nplan = "much"', "plan", "not possible", "a number"),
        ('[accounts.words]\nsource_age = "old"', "source_age", "not known", '"existing"'),
        ('[accounts.words]\nsource = "new"', "accounts, words, source", "no choice", "source_"),
        ("[accounts]\nroles = 5", "accounts, roles", "not a key", "points"),
    ],
)
def test_one_mistake_in_the_accounts_gives_one_fault(
    section: str, where: str, what: str, wanted: str
) -> None:
    """At its line, with what is wrong and what would be right."""
    fault = fault_of(section)
    assert where in fault.where
    assert what in fault.what
    assert wanted in fault.wanted


@pytest.mark.parametrize(
    ("name", "stated", "value"),
    [
        ("plan", "1650 short ton/d", 1496.85),
        ("plan", "1500", 1500.0),
        ("oil_price", "907.185 per short ton", 1000.0),
        ("solvent_density", "41.95 lb/ft3", 671.98),
        ("extractor_stages", "6", 6.0),
    ],
)
def test_a_figure_may_state_a_unit_of_its_own(name: str, stated: str, value: float) -> None:
    """It is kept in the figure's unit."""
    assert figure_value(FIGURES[name], stated)[0] == pytest.approx(value, rel=1e-4)


def test_nothing_measured_is_said_with_an_empty_text() -> None:
    """The usual point of the role is then not taken."""
    text = METRIC[: METRIC.index("[accounts.points]")] + '[accounts.points]\nscreenings = ""\n'
    accounts = plant_from_text(text).accounts
    assert accounts.points_of("screenings", ("screenings_rate",)) == ()


def test_the_accounts_are_kept_in_the_book_and_revised(tmp_path: Path) -> None:
    """A book gives back what the plant file said, and a plant without accounts again later."""
    plant = read_plant(template_path("soybean-us"))
    bare = plant_from_text(METRIC[: METRIC.index("[accounts.points]")])
    times = [datetime(2026, 5, day, tzinfo=UTC) for day in (1, 2, 3)]
    path = tmp_path / "a.logbook"
    with create_book(path, bare, clock=lambda: times[0], person="x", reason="begun") as book:
        assert book.plant_at(times[0]).accounts == NO_ACCOUNTS
        assert book.revise("x", plant, effective_from=times[1], reason="accounts") is not None
    with open_book(path, clock=lambda: times[2]) as book:
        assert book.plant_at(times[0]) == bare
        assert book.plant_at(times[1]) == plant
        book.revise("x", bare, effective_from=times[2], reason="again without")
        assert book.plant_at(times[2]).accounts == NO_ACCOUNTS
