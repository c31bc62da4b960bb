"""Laboratory samples: when they are taken, what is found in them, when the result is entered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from logbook.plant.calendar import Shift, shift_at, shifts_between
from logbook.plant.model import Plant, Point, PointKind
from sample_db.gauges_lab import lab_gauges
from sample_db.measure import READING_SD
from sample_db.outages import LINE_AREAS, Outage, mode_at, mode_spans
from sample_db.rota import Rota
from sample_db.series import Array, stream
from sample_db.streams import Streams

WALKS: tuple[tuple[float, tuple[tuple[str, tuple[str, ...]], ...]], ...] = (
    (
        1.1,
        (
            ("Bean feed", ("lab_bean_moisture", "lab_bean_oil", "lab_bean_protein")),
            ("Spent flake conveyor", ("lab_spent_oil",)),
            ("Finished meal", ("lab_meal_moisture", "lab_meal_protein")),
        ),
    ),
    (
        5.1,
        (
            ("Hull stream", ("lab_hull_oil",)),
            ("Flake conveyor", ("lab_flake_oil",)),
            ("Miscella after filter", ("lab_miscella_fines",)),
            ("Desolventizer outlet", ("lab_dt_solvent",)),
            (
                "Finished meal",
                (
                    "lab_meal_moisture", "lab_meal_protein", "lab_meal_fibre", "lab_meal_oil",
                    "lab_meal_urease", "lab_meal_solvent",
                ),
            ),
            ("Crude oil to storage", ("lab_oil_moisture", "lab_oil_flash", "lab_oil_ffa")),
        ),
    ),
    (
        9.2,
        (
            ("Spent flake conveyor", ("lab_spent_oil",)),
            ("Finished meal", ("lab_meal_moisture", "lab_meal_protein")),
        ),
    ),
)  # fmt: skip
"""Sampling walks of each shift: hours after its start, and at each point what is looked for."""

DAY_WALK: tuple[float, tuple[tuple[str, tuple[str, ...]], ...]] = (
    3.3,
    (
        ("Bean feed", ("lab_bean_foreign", "lab_bean_splits")),
        ("Hull stream", ("lab_hull_protein", "lab_hull_fibre")),
        ("Spent flake conveyor", ("lab_spent_solvent", "lab_spent_moisture")),
        ("Finished meal", ("lab_meal_koh",)),
        (
            "Crude oil to storage",
            ("lab_oil_solvent", "lab_oil_phosphorus", "lab_oil_insolubles", "lab_oil_colour"),
        ),
        ("Waste water outlet", ("lab_waste_water_solvent", "lab_waste_water_cod")),
    ),
)
"""The walk that is made once a day, in the day's first shift."""

LAST_WALK_MINUTES = 42
LAST_STATIONS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Desolventizer outlet", ("lab_dt_solvent",)),
    ("Finished meal", ("lab_meal_moisture", "lab_meal_urease", "lab_meal_solvent")),
)
"""Check samples taken shortly before the end, so that results are awaited whenever it is."""

DELIVERY = ("Delivery certificate", "lab_solvent_hexane")
SLOW_POINTS = ("Spent flake conveyor", "Desolventizer outlet", "Crude oil to storage")
"""Where the finding takes longer than a quick meter."""
FAST_MINUTES, SLOW_MINUTES, STATION_MINUTES = 45.0, 90.0, 3


@dataclass(frozen=True, slots=True)
class LabSample:
    """A sample and its results; `found` by point key. A result may be typed a second time."""

    taken_at: datetime
    registered_at: datetime
    result_at: datetime
    mode: str
    sampling_point: str
    label: str
    sampler: str
    analyst: str
    found: dict[str, float]


def make_samples(
    plant: Plant, streams: Streams, outages: tuple[Outage, ...], rota: Rota, seed: int
) -> list[LabSample]:
    """All samples in order of time, none while the line stands."""
    rng, story = stream(seed, "samples"), rota.story
    stops = [o for o in outages if o.scope == "plant" or o.target == LINE_AREAS[5]]
    maker = _Maker(plant, streams, rota, rng)
    for shift in shifts_between(plant.calendar, story.start, story.end):
        sampler = rota.writer(shift, float(rng.random()))
        walks = [*WALKS, DAY_WALK] if shift.pattern == plant.calendar.first_shift_key else WALKS
        for hours, stations in sorted(walks):
            start = shift.start + timedelta(minutes=round(hours * 60.0 + rng.uniform(-6.0, 6.0)))
            if start < story.end and not any(o.start <= start < o.end for o in stops):
                maker.walk(shift, start, stations, sampler)
    for place in np.flatnonzero(streams.solvent.received > 0):
        at = datetime.fromtimestamp(streams.time[place], tz=story.start.tzinfo)
        if story.start <= at < story.end:
            maker.certificate(at + timedelta(minutes=55))
    last = story.end - timedelta(minutes=LAST_WALK_MINUTES)
    shift = shift_at(plant.calendar, last)
    maker.walk(shift, last, LAST_STATIONS, rota.operators(shift.crew, last)[0])
    return sorted(maker.found, key=lambda sample: (sample.taken_at, sample.label))


class _Maker:
    """Takes samples and finds what is in them."""

    def __init__(
        self, plant: Plant, streams: Streams, rota: Rota, rng: np.random.Generator
    ) -> None:
        self._points = {p.key: p for p in plant.points if p.kind is PointKind.LAB}
        self._streams, self._rota, self._rng = streams, rota, rng
        self._truth = lab_gauges(streams)
        self._calendar = plant.calendar
        self._modes = mode_spans(rota.story)
        self._numbers: dict[str, int] = {}
        self.found: list[LabSample] = []

    def walk(
        self,
        shift: Shift,
        start: datetime,
        stations: tuple[tuple[str, tuple[str, ...]], ...],
        sampler: str,
    ) -> None:
        """One walk past several sampling points; results of a walk are entered in two lots."""
        last = STATION_MINUTES * (len(stations) - 1)
        first_end, middle = FAST_MINUTES + last, 0.5 * (FAST_MINUTES + last + SLOW_MINUTES)
        quick = start + timedelta(minutes=round(self._rng.uniform(first_end, middle)))
        slow = start + timedelta(minutes=round(self._rng.uniform(middle, SLOW_MINUTES)))
        back = start + timedelta(minutes=last + 4)
        for number, (where, keys) in enumerate(stations):
            taken = start + timedelta(minutes=STATION_MINUTES * number)
            result = slow if where in SLOW_POINTS else quick
            self._add(shift, (taken, back, result), where, keys, sampler)

    def certificate(self, at: datetime) -> None:
        """The certificate of a solvent delivery, entered after the truck has gone."""
        shift = shift_at(self._calendar, at)
        sampler = self._rota.operators(shift.crew, at)[0]
        times = (at, at + timedelta(minutes=6), at + timedelta(minutes=50))
        self._add(shift, times, DELIVERY[0], (DELIVERY[1],), sampler)

    def _add(
        self,
        shift: Shift,
        times: tuple[datetime, datetime, datetime],
        where: str,
        keys: tuple[str, ...],
        sampler: str,
    ) -> None:
        stem = f"{shift.date:%y%m%d}{shift.pattern}"
        self._numbers[stem] = self._numbers.get(stem, 0) + 1
        label = f"{stem}-{self._numbers[stem]:02d}"
        analyst = self._rota.laboratory(times[2])
        values = _results(keys, self._points, self._truth, self._streams, times[0], self._rng)
        mode = mode_at(self._modes, times[0])
        self.found.append(LabSample(*times, mode, where, label, sampler, analyst, values))


def _results(
    keys: tuple[str, ...],
    points: dict[str, Point],
    truth: dict[str, Array],
    streams: Streams,
    taken: datetime,
    rng: np.random.Generator,
) -> dict[str, float]:
    where = int(streams.index_at(np.array(taken.timestamp())))
    found = {}
    for key, error in zip(keys, rng.standard_normal(len(keys)), strict=True):
        point = points.get(key)
        if point is None or point.kind is not PointKind.LAB:
            continue
        value = truth[key][where] + READING_SD[key] * error
        low = point.limits.plausible_low
        found[key] = round(max(float(value), low if low is not None else 0.0), point.decimals) + 0.0
    return found
