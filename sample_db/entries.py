"""The log of the story: entries about events, deliveries, weather, and everyday ones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from logbook.plant.calendar import shift_at, shifts_between
from logbook.plant.model import Plant
from sample_db.phrases import EVERYDAY, SLOTS
from sample_db.properties import hexane_density
from sample_db.rota import Rota
from sample_db.series import STEP_SECONDS, stream
from sample_db.story import MILLS, POSITIONS
from sample_db.streams import Streams

EVERYDAY_PER_SHIFT = 0.52
HOT_DAY, COLD_NIGHT = 33.0, -8.0


@dataclass(frozen=True, slots=True)
class LogEntry:
    """An entry as somebody writes it, a few minutes after `at`."""

    at: datetime
    person: str
    kind: str
    area: str | None
    equipment: str | None
    text: str


def log_entries(plant: Plant, streams: Streams, rota: Rota, seed: int) -> list[LogEntry]:
    """All entries in order of time."""
    found = [
        *_everyday(plant, rota, seed),
        *_stops(rota),
        *_mills(rota),
        *_faults(rota),
        *_deliveries(streams, rota),
        *_extremes(streams, rota),
        *_last_shift(rota),
    ]
    story = rota.story
    inside = [e for e in found if story.start <= e.at < story.end - timedelta(minutes=12)]
    return sorted(inside, key=lambda e: (e.at, e.text))


def _writer(rota: Rota, at: datetime) -> str:
    shift = shift_at(rota.plant.calendar, at)
    people = [*rota.operators(shift.crew, at), rota.lead(shift.crew)]
    return people[int(at.timestamp()) // 60 % len(people)]


def _entry(
    rota: Rota, at: datetime, kind: str, area: str | None, machine: str | None, text: str
) -> LogEntry:
    known = {equipment.key for equipment in rota.plant.equipment}
    return LogEntry(at, _writer(rota, at), kind, area, machine if machine in known else None, text)


def _everyday(plant: Plant, rota: Rota, seed: int) -> list[LogEntry]:
    rng, story = stream(seed, "log"), rota.story
    down = [(s.start, s.end) for s in story.plant_stops]
    found, recent = [], [-1] * 12
    for shift in shifts_between(plant.calendar, story.start, story.end):
        for _ in range(int(rng.poisson(EVERYDAY_PER_SHIFT))):
            at = shift.start + timedelta(minutes=int(rng.integers(10, 700)))
            pick = int(rng.integers(len(EVERYDAY)))
            if pick in recent or any(start <= at < end for start, end in down):
                continue
            recent = [*recent[1:], pick]
            kind, area, machine, text = EVERYDAY[pick]
            found.append(_entry(rota, at, kind, area, machine, _filled(text, rng)))
    return found


def _filled(text: str, rng: np.random.Generator) -> str:
    numbers = {f"n{most}": str(1 + int(rng.integers(most))) for most in (3, 5, 7)}
    words = {name: options[int(rng.integers(len(options)))] for name, options in SLOTS.items()}
    said = text.format(**numbers, **words)
    return said[0].upper() + said[1:]


def _stops(rota: Rota) -> list[LogEntry]:
    found = []
    for stop in rota.story.plant_stops:
        kind = (
            "safety" if "gas alarm" in stop.reason else "maintenance" if stop.planned else "process"
        )
        found.append(_entry(rota, stop.start, kind, stop.area, stop.equipment, stop.told))
        back = "Feed on again, " + ("start-up as by the list." if stop.planned else "all normal.")
        found.append(_entry(rota, stop.end, "process", stop.area, None, back))
        if stop.planned:
            found += _shutdown_diary(rota, stop.start, stop.end)
    for machine in rota.story.machine_stops:
        text = machine.told
        found.append(
            _entry(rota, machine.start, "maintenance", machine.area, machine.equipment, text)
        )
    for slow in rota.story.slow_periods:
        text = f"Rate held at {slow.factor * 100:.0f} %: {slow.reason}."
        found.append(_entry(rota, slow.start, "process", "receiving", None, text))
    return found


def _shutdown_diary(rota: Rota, start: datetime, end: datetime) -> list[LogEntry]:
    days: tuple[tuple[float, str, str, str], ...] = (
        (7.0, "process", "extraction", "Extractor empty, solvent drained to the work tank and storage."),
        (16.0, "safety", "extraction", "Purge finished, no gas found at six points. Blinds in, list at the desk."),
        (26.0, "safety", "safety", "Confined-space entry into the extractor under permit, watch at the manway."),
        (41.0, "maintenance", "desolventizing", "Sweep arms of trays 3 and 5 repaired, sparge holes drilled free."),
        (52.0, "environment", "recovery", "Waste water pit emptied and cleaned, sludge taken away."),
        (66.0, "maintenance", "flaking", "Chute liner at the flake conveyor renewed."),
        (75.0, "maintenance", "evaporation", "First stage tubes washed, second stage left as it was."),
        (98.0, "safety", "extraction", "All permits back, blinds out and counted, vessels closed."),
        (118.0, "safety", "extraction", "Purged with inert gas, solvent in, no leaks at the walk."),
    )  # fmt: skip
    hours = (end - start).total_seconds() / 3600.0
    return [
        _entry(rota, start + timedelta(hours=at), kind, area, None, text)
        for at, kind, area, text in days
        if at < hours
    ]


def _mills(rota: Rota) -> list[LogEntry]:
    found = []
    for stop in rota.story.mill_stops:
        name = f"Flaking mill {stop.mill + 1}"
        text = f"{name} down for regrind of the rolls, other mills take the feed."
        found.append(_entry(rota, stop.start, "maintenance", "flaking", MILLS[stop.mill], text))
    for drift in rota.story.mill_drifts:
        side = POSITIONS[drift.position]
        name = f"Flaking mill {drift.mill + 1}"
        half = drift.start + timedelta(days=min(drift.length.days * 0.6, 13.0))
        text = f"{name} flakes thicker on the {side}, roll pressure evened out, no change."
        found.append(_entry(rota, half, "process", "flaking", MILLS[drift.mill], text))
        if drift.length > timedelta(days=15):
            late = drift.end - timedelta(days=2)
            text = f"{name}: {side} side thick in every round. Regrind asked for."
            found.append(_entry(rota, late, "maintenance", "flaking", MILLS[drift.mill], text))
    return found


def _faults(rota: Rota) -> list[LogEntry]:
    story, found = rota.story, []
    day = timedelta(days=1)
    for foul in story.fouling:
        half = foul.start + 0.6 * (foul.end - foul.start)
        told = (
            (
                half,
                "process",
                "Outlet of the vent condenser creeping up, water flow checked, full.",
            ),
            (
                foul.end - 3 * day,
                "environment",
                "Vent condenser warm again, solvent use is up this week.",
            ),
            (foul.end, "maintenance", "Vent condenser off line, tubes brushed: slime and scale."),
        )
        found += [_entry(rota, at, k, "recovery", foul.condenser, t) for at, k, t in told]
    if story.steam_valve:
        start, end = story.steam_valve.start, story.steam_valve.end
        text = "Tray 4 cooling down, steam valve opens on the panel but no heat. Trap tried."
        found.append(
            _entry(rota, start + timedelta(hours=2.2), "process", "desolventizing", "dt", text)
        )
        text = "Steam valve of tray 4 stuck, freed with a wrench; stem packing to be renewed."
        found.append(_entry(rota, end, "maintenance", "desolventizing", "dt", text))
        text = (
            "Meal of the night kept in bin 3 and downgraded to feed for reprocessing: solvent and "
            "urease above the limits, see samples."
        )
        found.append(_entry(rota, end + timedelta(hours=3), "quality", "grinding", None, text))
    if story.scale_low:
        text = "Bean scale test weight 1.5 % light. Load cell cleaned of spill, scale calibrated."
        found.append(_entry(rota, story.scale_low.end, "maintenance", "receiving", None, text))
        text = "Yields of the last ten days look too good, bean scale suspected."
        at = story.scale_low.end - timedelta(hours=20)
        found.append(_entry(rota, at, "quality", "receiving", None, text))
    if story.campaign:
        at = story.campaign.start
        text = "44 % meal from now on, hulls back to the meal, bin 2 for it."
        found.append(_entry(rota, at, "quality", "grinding", None, text))
    return found


def _deliveries(streams: Streams, rota: Rota) -> list[LogEntry]:
    part, found = streams.solvent, []
    for place in np.flatnonzero(part.received > 0):
        at = datetime.fromtimestamp(streams.time[place], tz=rota.story.start.tzinfo)
        volume = part.received[place] / float(hexane_density(part.store_temperature[place]))
        text = (
            f"Solvent truck unloaded, {volume:.2f} m3. Bonded and attended, dips before and after "
            "taken, certificate filed."
        )
        found.append(_entry(rota, at + timedelta(minutes=70), "delivery", "recovery", "st1", text))
    return found


def _extremes(streams: Streams, rota: Rota) -> list[LogEntry]:
    """Hot afternoons and cold nights, at most one entry in ten days."""
    air, found, last = streams.weather.temperature, [], -(10**9)
    for place in np.flatnonzero((air > HOT_DAY) | (air < COLD_NIGHT)).tolist():
        if (place - last) * STEP_SECONDS < 10 * 86400:
            continue
        last = place
        at = datetime.fromtimestamp(streams.time[place], tz=rota.story.start.tzinfo)
        hot = air[place] > 0
        text = (
            f"Hot, {air[place]:.0f} C outside; both tower fans on, outlets watched."
            if hot
            else f"Frost, {air[place]:.0f} C; tracing walked, tower fans reversed for ice."
        )
        found.append(_entry(rota, at, "environment", "utilities", None, text))
    return found


def _last_shift(rota: Rota) -> list[LogEntry]:
    story, found = rota.story, []
    for trip in story.fan_trips:
        zone = ZoneInfo(story.time_zone)
        text = f"Tower fan 2 found stopped at {trip.start.astimezone(zone):%H:%M}, overload out. Told the electrician."
        found.append(
            _entry(rota, trip.start + timedelta(minutes=55), "process", "utilities", None, text)
        )
        text = "Tower fan 2 runs again, overload reset, current right."
        found.append(_entry(rota, trip.end, "maintenance", "utilities", None, text))
    if story.last_shift:
        at = story.last_shift.start + timedelta(hours=6.3)
        text = "Separator interface glass blind, float suspected. Instrument man asked for the morning."
        found.append(_entry(rota, at, "maintenance", "recovery", "separator", text))
        at = story.last_shift.start + timedelta(hours=3.4)
        text = "Late with the 8 o'clock round: both of us at the choked pellet mill."
        found.append(_entry(rota, at, "process", "hulls", "pellet_mill", text))
    return found
