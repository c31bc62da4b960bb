"""The document of the sample plant tells the story of the default book as it is."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

import sample_db
from logbook.plant.model import Plant
from sample_db.rota import make_rota
from sample_db.story import Story


@pytest.fixture(scope="module")
def readme() -> str:
    """The document beside the package."""
    return (Path(sample_db.__file__).parent / "README.md").read_text(encoding="utf-8")


def instants(story: Story) -> list[datetime]:
    """Every instant the document must name."""
    spans = [
        *story.plant_stops, *story.machine_stops, *story.fouling, *story.slow_periods,
        *story.fan_trips, story.steam_valve, story.scale_low, story.campaign, story.last_shift,
    ]  # fmt: skip
    found = [at for span in spans if span is not None for at in (span.start, span.end)]
    single = (story.start, story.end, story.limits_revised, story.leaves, story.joins)
    found += [at for at in single if at is not None]
    found += [night.start for night in story.copied]
    return found + [drift.start for drift in story.mill_drifts]


def test_the_document_names_every_event_in_utc(readme: str, story: Story) -> None:
    """Start and end of each event of the story stand in it in UTC, to the minute."""
    missing = [
        at for at in instants(story) if f"{at.astimezone(UTC):%Y-%m-%d %H:%M}Z" not in readme
    ]
    assert not missing


def test_the_document_names_every_event_in_local_time(
    readme: str, plant: Plant, story: Story
) -> None:
    """The same in the time of the plant."""
    zone = ZoneInfo(plant.time_zone)
    nights = {night.start for night in story.copied}
    named = [at.astimezone(zone) for at in instants(story) if at not in nights]
    assert not [at for at in named if f"{at:%Y-%m-%d %H:%M}" not in readme]


def test_the_document_names_the_people_of_the_story(
    readme: str, plant: Plant, story: Story
) -> None:
    """Who copies, who leaves and who joins can be looked up."""
    rota = make_rota(plant, story)
    for person in (rota.copier, rota.leaver, rota.joiner, rota.engineer):
        assert f"`{person}`" in readme
