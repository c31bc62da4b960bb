"""The simulated plant keeps its mass: every balance closes at every step before anybody reads."""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, datetime

import numpy as np
import pytest

from logbook.plant.model import Plant
from sample_db import Streams, simulate
from sample_db.flow import COMPONENTS, Flow, total_of
from sample_db.placing import place_story
from sample_db.series import STEP_HOURS
from sample_db.story import DEFAULT_DAYS, DEFAULT_END, SHUTDOWN_SOLVENT_T

TOLERANCE = 1e-9


@pytest.fixture(scope="module")
def streams(plant: Plant) -> Streams:
    """400 days with the whole story in them."""
    story = place_story(DEFAULT_END, DEFAULT_DAYS, plant.calendar)
    return simulate(11, story.start, DEFAULT_DAYS, story=story)


def assert_closes(entering: Flow, leaving: Flow) -> None:
    """Fail where a component does not balance to 1e-9 of the largest flow through the node."""
    scale = max(float(entering.total.max()), 1e-12)
    for component in COMPONENTS:
        gap = np.abs(getattr(entering, component) - getattr(leaving, component))
        assert float(gap.max()) <= TOLERANCE * scale, component


def nodes(s: Streams) -> dict[str, tuple[Flow, Flow]]:
    """Each part of the plant: what enters and what leaves."""
    prep, ext, toaster, dry, eva, sol = (
        s.prep, s.extraction, s.desolventizing, s.drying, s.evaporation, s.solvent,
    )  # fmt: skip
    return {
        "preparation": (s.beans.flow, total_of(prep.hulls, prep.conditioner_vapour, prep.flakes)),
        "extractor": (
            prep.flakes + ext.fresh_solvent,
            ext.full_miscella + ext.spent_flakes,
        ),
        "desolventizer": (
            ext.spent_flakes + toaster.sparge_steam,
            toaster.meal + toaster.vapour,
        ),
        "dryer": (toaster.meal, dry.dried + dry.dryer_vapour),
        "cooler": (dry.dried, dry.cooled + dry.cooler_vapour),
        "meal": (dry.cooled + dry.added_hulls, dry.meal),
        "first stage": (ext.full_miscella, eva.first_out + eva.first_vapour),
        "second stage": (eva.first_out, eva.second_out + eva.second_vapour),
        "stripper": (eva.second_out + eva.stripping_steam, eva.oil + eva.stripper_vapour),
        "waste water": (
            Flow.of(
                water=toaster.vapour.water + eva.stripper_vapour.water + sol.ejector_steam.water
            ),
            Flow.of(water=sol.waste_water.water),
        ),
    }


@pytest.mark.parametrize(
    "node",
    [
        "preparation", "extractor", "desolventizer", "dryer", "cooler", "meal", "first stage",
        "second stage", "stripper", "waste water",
    ],
)  # fmt: skip
def test_each_part_of_the_plant_closes_in_every_component(streams: Streams, node: str) -> None:
    """Dry matter, oil, water and solvent in equal what goes out, at every step."""
    assert_closes(*nodes(streams)[node])


def test_oil_of_the_beans_is_in_oil_meal_and_hulls(streams: Streams) -> None:
    """Over the whole line no oil is made or lost."""
    out = streams.evaporation.oil.oil + streams.drying.meal.oil + streams.prep.hulls.oil
    out = out - streams.drying.added_hulls.oil
    assert np.allclose(streams.beans.flow.oil, out, rtol=TOLERANCE, atol=1e-9)


def test_dry_matter_of_the_beans_is_in_meal_and_hulls(streams: Streams) -> None:
    """Over the whole line no dry matter is made or lost."""
    out = streams.drying.meal.solids + streams.prep.hulls.solids - streams.drying.added_hulls.solids
    assert np.allclose(streams.beans.flow.solids, out, rtol=TOLERANCE, atol=1e-9)


def test_water_of_beans_and_steam_is_found_again(streams: Streams) -> None:
    """Water in with beans, sparge, stripping and ejectors leaves by the known ways."""
    s = streams
    entering = (
        s.beans.flow.water
        + s.desolventizing.sparge_steam.water
        + s.evaporation.stripping_steam.water
        + s.solvent.ejector_steam.water
    )
    leaving = (
        s.prep.hulls.water - s.drying.added_hulls.water + s.prep.conditioner_vapour.water
        + s.drying.dryer_vapour.water + s.drying.cooler_vapour.water + s.drying.meal.water
        + s.evaporation.oil.water + s.solvent.waste_water.water
    )  # fmt: skip
    assert np.allclose(entering, leaving, rtol=TOLERANCE, atol=1e-9)


def test_solvent_fed_is_returned_or_lost(streams: Streams) -> None:
    """Fresh solvent = returned to the work tank + all losses, at every step."""
    fresh, solvent = streams.extraction.fresh_solvent.solvent, streams.solvent
    assert np.allclose(fresh, solvent.returned + solvent.loss, rtol=TOLERANCE, atol=1e-9)


def test_solvent_stocks_fall_by_what_is_lost_and_rise_by_what_is_delivered(
    streams: Streams,
) -> None:
    """Tanks and vessels together change from step to step by deliveries less losses."""
    part = streams.solvent
    stock = part.process_stock + part.work_stock + part.store_stock
    change = np.diff(stock)
    expected = (part.received - part.loss * STEP_HOURS)[1:]
    assert np.allclose(change, expected, rtol=0, atol=TOLERANCE * float(stock.max()))


def test_flows_are_never_negative(streams: Streams) -> None:
    """No stream has a component below zero, stops and restarts included."""
    for part in (streams.prep, streams.extraction, streams.desolventizing, streams.drying,
                 streams.evaporation):  # fmt: skip
        for field in fields(part):
            flow = getattr(part, field.name)
            if isinstance(flow, Flow):
                for component in COMPONENTS:
                    assert float(getattr(flow, component).min()) >= -1e-12, (field.name, component)


def test_nothing_flows_while_the_line_stands(streams: Streams) -> None:
    """During the planned shutdown beans, oil, meal and steam to the meal are zero."""
    stop = streams.story.shutdown
    assert stop is not None
    inside = (streams.time >= stop.start.timestamp()) & (streams.time < stop.end.timestamp())
    assert int(inside.sum()) > 200
    for flow in (streams.beans.flow, streams.evaporation.oil, streams.drying.meal):
        assert float(np.abs(flow.total[inside]).max()) == 0.0


def test_shutdown_costs_the_extra_solvent_of_the_story(streams: Streams) -> None:
    """Around the planned shutdown the fugitive loss adds up to the stated extra tonnes."""
    stop = streams.story.shutdown
    assert stop is not None
    near = (streams.time >= stop.start.timestamp()) & (
        streams.time < stop.end.timestamp() + 10 * 3600
    )
    running = 0.25e-3 * streams.running.rate * 1.5
    extra = np.clip(streams.solvent.fugitive_loss - running, 0.0, None)[near].sum() * STEP_HOURS
    assert extra == pytest.approx(SHUTDOWN_SOLVENT_T, rel=0.06)


def test_quiet_plant_runs_near_its_targets() -> None:
    """Without a story the yearly means lie at the targets that the plant file is made from."""
    s = simulate(5, datetime(2025, 1, 1, tzinfo=UTC), 365)
    assert s.running.rate.mean() == pytest.approx(62.5, rel=0.01)
    assert s.prep.hulls.total.mean() == pytest.approx(4.0, rel=0.02)
    assert s.prep.flakes.total.mean() == pytest.approx(57.8, rel=0.01)
    assert s.extraction.full_miscella.share("oil").mean() == pytest.approx(27.0, rel=0.02)
    assert s.evaporation.oil.total.mean() == pytest.approx(11.87, rel=0.02)
    assert s.desolventizing.sparge_steam.total.mean() == pytest.approx(5.4, rel=0.04)
    assert s.drying.meal.total.mean() == pytest.approx(45.5, rel=0.01)
    assert s.drying.meal.share("water").mean() == pytest.approx(11.7, abs=0.15)
    assert s.drying.protein.mean() == pytest.approx(47.8, abs=0.4)
    per_tonne = 1000.0 * s.solvent.loss.sum() / s.running.rate.sum()
    assert 0.4 < per_tonne < 1.0
    assert (s.utilities.steam / s.running.rate).mean() == pytest.approx(0.282, rel=0.05)


def test_same_seed_gives_the_same_plant_and_another_seed_another() -> None:
    """The simulator depends on its seed and on nothing else."""
    start = datetime(2025, 3, 1, tzinfo=UTC)
    one, two, other = (simulate(seed, start, 10) for seed in (1, 1, 2))
    assert np.array_equal(one.drying.meal.total, two.drying.meal.total)
    assert not np.array_equal(one.drying.meal.total, other.drying.meal.total)
