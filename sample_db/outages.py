"""Downtime and operating modes of the story: what the status and mode rows of the book say."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from logbook.plant.model import NORMAL_MODE, Plant
from sample_db.story import CLEANING_HOURS, MILLS, PlantStop, Story

LINE_AREAS = (
    "receiving", "cracking", "dehulling", "conditioning", "flaking", "extraction",
    "evaporation", "recovery", "desolventizing", "drying", "grinding", "hulls",
)  # fmt: skip
"""Areas that stand when the line stands; storage, utilities, laboratory and safety go on."""
STARTUP, SHUTDOWN, CAMPAIGN = "startup", "shutdown", "meal44"


@dataclass(frozen=True, slots=True)
class Outage:
    """A span in which the plant, an area or a machine is down."""

    scope: Literal["plant", "area", "equipment"]
    target: str
    start: datetime
    end: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class ModeSpan:
    """The plant goes into `mode` at `start`."""

    start: datetime
    mode: str
    reason: str


def is_whole_plant(stop: PlantStop) -> bool:
    """True for a stop that takes everything with it, so that not even utilities are read."""
    return stop.reason == "power dip"


def outages(story: Story, plant: Plant) -> list[Outage]:
    """All downtime by start. A line stop is one outage for each area of the line."""
    found = []
    for stop in story.plant_stops:
        if is_whole_plant(stop):
            found.append(Outage("plant", plant.key, stop.start, stop.end, stop.reason))
            continue
        found += [
            Outage("area", area, stop.start, stop.end, _why(stop, area)) for area in LINE_AREAS
        ]
    for machine in story.machine_stops:
        scope: Literal["area", "equipment"] = "equipment" if machine.equipment else "area"
        target = machine.equipment or machine.area
        found.append(Outage(scope, target, machine.start, machine.end, machine.reason))
    for mill in story.mill_stops:
        found.append(Outage("equipment", MILLS[mill.mill], mill.start, mill.end, mill.reason))
    for foul in story.fouling:
        cleaned = foul.end + timedelta(hours=CLEANING_HOURS)
        found.append(Outage("equipment", foul.condenser, foul.end, cleaned, "cleaning"))
    found = _without_overlap(found)
    inside = [o for o in found if story.start <= o.start < story.end]
    return sorted(inside, key=lambda o: (o.start, o.target))


def _why(stop: PlantStop, area: str) -> str:
    began_here = area == stop.area or stop.area not in LINE_AREAS
    return stop.reason if stop.planned or began_here else f"line stopped: {stop.reason}"


def mode_at(spans: list[ModeSpan], instant: datetime) -> str:
    """The mode in force at an instant; the first one before all."""
    return spans[max(bisect_right(spans, instant, key=lambda s: s.start) - 1, 0)].mode


def _without_overlap(found: list[Outage]) -> list[Outage]:
    """Drop a machine's outage that lies in one of its own (a regrind moved into another)."""
    kept: list[Outage] = []
    for one in sorted(found, key=lambda o: (o.target, o.start)):
        last = kept[-1] if kept else None
        if last and last.target == one.target and one.start < last.end:
            continue
        kept.append(one)
    return kept


def mode_spans(story: Story) -> list[ModeSpan]:
    """Mode changes by time, beginning with normal."""
    found = [ModeSpan(story.start, NORMAL_MODE, "")]
    for stop in story.plant_stops:
        back = CAMPAIGN if story.campaign and story.campaign.holds(stop.end) else NORMAL_MODE
        found.append(ModeSpan(stop.start, SHUTDOWN, stop.reason))
        found.append(ModeSpan(stop.end, STARTUP, f"start-up after {stop.reason}"))
        hours = stop.restart_hours + (4.0 if stop.planned else 2.0)
        found.append(ModeSpan(stop.end + timedelta(hours=hours), back, "running steadily again"))
    if story.campaign:
        found.append(
            ModeSpan(story.campaign.start, CAMPAIGN, "44 % meal ordered, hulls added back")
        )
        found.append(ModeSpan(story.campaign.end, NORMAL_MODE, "44 % order filled"))
    inside = [span for span in found if story.start <= span.start < story.end]
    return sorted(inside, key=lambda span: span.start)
