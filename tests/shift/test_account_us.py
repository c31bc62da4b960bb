"""The same plant read in US units: the same figures, role by role."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from logbook.plant.file import read_plant
from logbook.plant.units import convert
from logbook.process.roles import ROLES
from logbook.record import NewReading, Page, create_book, open_book
from logbook.shift.account_gather import gather
from sample_db.story import DEFAULT_END

START = datetime(2026, 5, 10, 11, tzinfo=UTC)
END = START + timedelta(days=2)
BEFORE, AFTER = timedelta(days=4), timedelta(hours=13)


@pytest.fixture(scope="module")
def metric(sample_book_path):
    """The sample book, open for reading at its end."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as made:
        yield made


@pytest.fixture(scope="module")
def plants(metric, repo_root):
    """The sample plant, and the US template with its barometer and its solvent."""
    plant = metric.plant_at(DEFAULT_END)
    american = read_plant(repo_root / "resources" / "plants" / "soybean-us.toml")
    figures = {**american.accounts.figures, "solvent_density": 666.0}
    return plant, replace(
        american,
        settings=replace(american.settings, barometer_kpa=plant.settings.barometer_kpa),
        accounts=replace(american.accounts, figures=figures),
    )


def pages_of(metric, plants):
    """The readings of a few days, each in the US unit of its point."""
    plant, american = plants
    ours = {point.key: point for point in plant.points}
    theirs = {point.key: point for point in american.points}
    keys = {key for role in ROLES.values() for key in role.points if ours[key].kind.is_typed}
    keys |= {key for key in ours if key.startswith("flake_thickness.")}
    found = {}
    for one in metric.readings(keys, START - BEFORE, END + AFTER):
        if one.value is None:
            continue
        value = convert(
            one.value,
            ours[one.point].unit,
            theirs[one.point].unit,
            barometer_kpa=plant.settings.barometer_kpa,
        )
        rollover = theirs[one.point].rollover
        value = value % rollover if rollover else value
        row = NewReading(one.point, one.taken_at, value=value, typed=f"{value:.6g}")
        found.setdefault(one.taken_at, []).append(row)
    return [(at, Page("x", tuple(found[at]))) for at in sorted(found)]


@pytest.fixture(scope="module")
def american(metric, plants, tmp_path_factory):
    """A book of the US plant with the same readings."""
    now = [START - BEFORE - timedelta(days=1)]
    path = tmp_path_factory.mktemp("us") / "us.logbook"

    def written():
        for at, page in pages_of(metric, plants):
            now[0] = at + timedelta(minutes=5)
            yield page

    with create_book(path, plants[1], clock=lambda: now[0], person="x", reason="begun") as book:
        book.write_many(written())
        yield book


def test_every_role_comes_out_the_same_in_either_unit_system(metric, american, plants):
    """Short tons, gallons, °F, inches of mercury and feet of dip become the role's own unit."""
    edges = [START.timestamp(), END.timestamp()]
    ours = gather(metric, plants[0], edges, now=END + AFTER)
    theirs = gather(american, plants[1], edges, now=END + AFTER)
    for name in ROLES:
        one, other = ours[name], theirs[name]
        np.testing.assert_allclose(other.value, one.value, rtol=1e-3, atol=2e-3, err_msg=name)
        assert np.isfinite(one.value).all() == np.isfinite(other.value).all(), name
    for name in ("beans", "bean_oil", "vapour_temp", "first_stage_pressure", "solvent_stock"):
        assert np.isfinite(theirs[name].value).all(), name
    for name in ("beans", "oil", "meal", "solvent_stock"):
        assert theirs[name].sigma == pytest.approx(ours[name].sigma, rel=0.05), name
