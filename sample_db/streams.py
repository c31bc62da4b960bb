"""The whole plant: `simulate` returns true values on a grid of half hours."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from sample_db.beans import Beans, make_beans
from sample_db.cooling import Cooling, make_cooling
from sample_db.desolventizing import Desolventizing, make_desolventizing
from sample_db.drying import Drying, make_drying
from sample_db.evaporation import Evaporation, make_evaporation
from sample_db.extraction import Extraction, make_extraction
from sample_db.prep import Prep, make_prep
from sample_db.running import Running, make_running
from sample_db.series import STEP_SECONDS, Array
from sample_db.solvent import Solvent, make_solvent
from sample_db.story import Story
from sample_db.utilities import Utilities, make_utilities
from sample_db.weather import Weather, make_weather


@dataclass(frozen=True, slots=True)
class Streams:
    """True values of the plant, before anybody reads them.

    `time` is epoch seconds (UTC) of each step. Mass flows are `Flow`s in t/h by component.
    """

    time: Array
    story: Story
    weather: Weather
    running: Running
    beans: Beans
    prep: Prep
    cooling: Cooling
    extraction: Extraction
    desolventizing: Desolventizing
    drying: Drying
    evaporation: Evaporation
    solvent: Solvent
    utilities: Utilities

    def index_at(self, seconds: Array) -> NDArray[np.int64]:
        """Index of the step at or before each instant (epoch seconds)."""
        index = ((np.asarray(seconds) - self.time[0]) // STEP_SECONDS).astype(np.int64)
        return np.asarray(np.clip(index, 0, len(self.time) - 1))


def grid(start: datetime, days: float) -> Array:
    """Epoch seconds of the steps from `start` (aware) over `days`, both ends included."""
    first = start.timestamp()
    return np.arange(first, first + days * 86400.0 + 1.0, STEP_SECONDS)


def local_clock(time: Array, zone: ZoneInfo) -> tuple[Array, Array, Array]:
    """(hour by the local clock, solar hour in standard time, day of the year) for each step."""
    hours = np.unique(time // 3600.0) * 3600.0
    offsets = np.array(
        [datetime.fromtimestamp(h, zone).utcoffset() or timedelta() for h in hours[::24]]
    )
    seconds = np.array([o.total_seconds() for o in offsets])
    found = seconds[np.clip(np.searchsorted(hours[::24], time, side="right") - 1, 0, None)]
    standard = seconds.min()
    year = datetime.fromtimestamp(time[0], zone).year
    january = datetime(year, 1, 1, tzinfo=zone).timestamp()
    local = ((time + found) % 86400.0) / 3600.0
    solar = ((time + standard) % 86400.0) / 3600.0
    return local, solar, (time - january) / 86400.0


def simulate(seed: int, start: datetime, days: float, *, story: Story | None = None) -> Streams:
    """Simulate the plant from `start` (aware) over `days`.

    The same seed, start, days and story give the same values. Without a story nothing special
    happens: no stops, no faults, in UTC.
    """
    story = story or Story(start=start, end=start + timedelta(days=days), time_zone="UTC")
    time = grid(start, days)
    clock, solar, year_day = local_clock(time, ZoneInfo(story.time_zone))
    weather = make_weather(seed, year_day, solar)
    running = make_running(seed, time, story)
    beans = make_beans(seed, running.rate, year_day, weather)
    prep = make_prep(seed, time, story, beans, running)
    cooling = make_cooling(seed, time, story, weather, running)
    extraction = make_extraction(seed, prep, running, cooling.supply)
    toaster = make_desolventizing(seed, time, story, extraction, running)
    drying = make_drying(seed, time, story, prep, toaster, weather, running)
    evaporation = make_evaporation(seed, extraction, running, cooling.supply)
    solvent = make_solvent(
        seed,
        time,
        clock,
        story,
        (extraction, toaster, drying, evaporation),
        cooling,
        weather,
        running,
    )
    utilities = make_utilities(
        seed, prep, (toaster, drying, evaporation), solvent, weather, running
    )
    return Streams(
        time,
        story,
        weather,
        running,
        beans,
        prep,
        cooling,
        extraction,
        toaster,
        drying,
        evaporation,
        solvent,
        utilities,
    )
