"""When the plant runs, and how fast: feed rate, stops, restarts and how warm it is again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.series import Array, ar1, between, held, lag, stream
from sample_db.story import NOMINAL_RATE, Story

RESTART_HOURS = 2.0
WARM_HOURS = 2.2


@dataclass(frozen=True, slots=True)
class Running:
    """Arrays over time. `fraction` 0 to 1 of the wanted rate; `warmth` lags it; `rate` in t/h."""

    fraction: Array
    warmth: Array
    wanted: Array
    rate: Array

    @property
    def down(self) -> Array:
        """1.0 where no beans are fed, else 0.0."""
        return np.where(self.fraction <= 0.0, 1.0, 0.0)


def stop_fraction(time: Array, start: float, end: float, restart_hours: float) -> Array:
    """1 before `start`, 0 until `end`, then straight up to 1 within `restart_hours`."""
    rising = np.clip((time - end) / (3600.0 * restart_hours), 0.0, 1.0)
    return np.where(time < start, 1.0, np.where(time < end, 0.0, rising))


def _wanted_rate(seed: int, time: Array, story: Story) -> Array:
    rng, steps = stream(seed, "rate"), len(time)
    starts = np.concatenate([[0], np.cumsum(rng.integers(3 * 48, 16 * 48, size=steps // 96 + 2))])
    plans = NOMINAL_RATE * (1.0 + 0.021 * rng.standard_normal(len(starts)))
    wanted = lag(held(np.clip(plans, 58.6, 65.2), starts, steps), 1.0)
    for slow in story.slow_periods:
        inside = between(time, slow.start.timestamp(), slow.end.timestamp())
        wanted = wanted * (1.0 - (1.0 - slow.factor) * inside)
    return wanted


def make_running(seed: int, time: Array, story: Story) -> Running:
    """The plant's running from its story of stops; `time` in epoch seconds."""
    fraction = np.ones_like(time)
    for stop in story.plant_stops:
        part = stop_fraction(time, stop.start.timestamp(), stop.end.timestamp(), stop.restart_hours)
        fraction = np.minimum(fraction, part)
    wanted = _wanted_rate(seed, time, story)
    trim = 1.0 + ar1(stream(seed, "trim"), len(time), hours=3.0, sigma=0.014)
    warmth = np.minimum(lag(fraction, WARM_HOURS), 1.0)
    # Once fully back the last thousandths of a lag would only blur the seasons.
    warmth = np.where(warmth > 0.995, 1.0, warmth)
    return Running(fraction, warmth, wanted, wanted * trim * fraction)
