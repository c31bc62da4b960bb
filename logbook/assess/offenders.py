"""Which points and limits ask for the most attention, and which limits never ask for any.

Counts are of judged readings (codes of `logbook.assess.limits`) and of deviations, the runs of
readings outside. The yardsticks are those of published alarm management, carried over to
rounds: a reading typed by hand is no alarm, but what is flagged all day is as little heeded. ISA-18.2
(2016, table 7; as quoted elsewhere, the standard itself was not read) holds six a hour for
very likely acceptable and twelve for the most that can be managed, ten points with at most 5 % of all
flags, fewer than five that have stood for over 24 hours on any day, no chattering, and a
spread of priorities of about 80/15/5 %; here a warning limit stands for low and an action limit
for the rest.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from logbook.assess.deviations import Deviation
from logbook.assess.judge import NOT_JUDGED_CODE, Severity
from logbook.plant.model import Limits

FloatArray = npt.NDArray[np.float64]
CodeArray = npt.NDArray[np.int8]
BoolArray = npt.NDArray[np.bool_]

ACCEPTABLE_PER_HOUR, MOST_PER_HOUR = 6.0, 12.0
STALE = timedelta(hours=24)
STALE_A_DAY = 5
TOP = 10
CHATTER_TURNS, CHATTER_ROUNDS = 3, 8
"""So often in and out within so many readings that follow one another; a choice of ours."""
FEWEST = 60
"""Fewer readings say nothing about a limit: five days of rounds."""
ALWAYS = 0.2
"""From this share of readings outside on, a limit flags all the time; a choice of ours."""
NEAR = 0.5
"""A limit that no reading came nearer to than half of its distance from the median never flags."""
WANTED_SHARE = 0.01
"""A proposed limit would have been passed by this share of the readings."""
ROOM = 1.5
"""A proposed tighter limit lies so much farther from the median than the farthest reading."""
EDGES = ("warning_low", "warning_high", "action_low", "action_high")


@dataclass(frozen=True, slots=True)
class PointCount:
    """How one point fared. `hours_out` is how long its deviations lasted together."""

    key: str
    judged: int
    outside: int
    beyond_action: int
    runs: int
    turns: int
    """Times it went in or out from one judged reading to the next."""
    chatter: int
    """Stretches of eight judged readings with three turns or more, none counted twice."""
    hours_out: float
    longest: Deviation | None

    @property
    def share(self) -> float:
        """Share of its judged readings that lay outside."""
        return self.outside / self.judged if self.judged else 0.0


class LimitFault(StrEnum):
    """What is wrong with a limit."""

    ALWAYS = "flags all the time"
    NEVER = "never flags"


@dataclass(frozen=True, slots=True)
class LimitUse:
    """A limit that flags all the time or never, and one proposed from the readings.

    `edge` names the limit (`warning_high` ...). `nearest` is the reading that came nearest to it, or
    lay farthest beyond. `proposed` is None where the readings give none. A proposal is no more
    than that: a limit that protects people or the plant stays where its reason put it. Of action
    limits it is never said that they never flag: that is what they are for.
    """

    key: str
    edge: str
    fault: LimitFault
    limit: float
    readings: int
    outside: int
    nearest: float
    proposed: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class FlagRates:
    """The yardsticks over a stretch of time."""

    hours: float
    runs: int
    per_hour: float
    """Deviations that began, per hour."""
    flagged_share: float
    """Share of all judged readings that lay outside."""
    top_share: float
    """Share of all deviations that the ten points with the most have."""
    action_share: float
    """Share of the deviations that went beyond an action limit."""
    stale_most: int
    """The most deviations that had stood for over 24 hours on any one day."""
    chattering: tuple[str, ...]
    """The points that went in and out the most often, the worst first, ten at most."""

    @property
    def is_acceptable(self) -> bool:
        """True where the rate is one that is very likely acceptable."""
        return self.per_hour <= ACCEPTABLE_PER_HOUR

    @property
    def is_manageable(self) -> bool:
        """True where the rate is no more than can be managed."""
        return self.per_hour <= MOST_PER_HOUR


def count_point(key: str, codes: CodeArray, runs: Sequence[Deviation]) -> PointCount:
    """The counts of one point from its codes (n,), in order of time, and its deviations."""
    judged = codes[codes != NOT_JUDGED_CODE]
    side = np.sign(judged)
    turned = np.diff(side) != 0
    longest = max(runs, key=_duration, default=None)
    return PointCount(
        key=key,
        judged=int(judged.size),
        outside=int((side != 0).sum()),
        beyond_action=int((np.abs(judged) == 2).sum()),
        runs=len(runs),
        turns=int(turned.sum()),
        chatter=_chatter(turned),
        hours_out=sum((run.duration / timedelta(hours=1) for run in runs), 0.0),
        longest=longest,
    )


def worst_points(counts: Sequence[PointCount], most: int = TOP) -> tuple[PointCount, ...]:
    """The points with the most readings outside, those beyond action limits counted three times."""
    out = [one for one in counts if one.outside]
    return tuple(sorted(out, key=_badness)[:most])


def longest_standing(
    runs: Sequence[tuple[str, Deviation]], most: int = TOP
) -> tuple[tuple[str, Deviation], ...]:
    """The deviations that lasted longest, with the keys of their points."""
    return tuple(sorted(runs, key=_by_duration)[:most])


def flag_rates(
    counts: Sequence[PointCount],
    runs: Sequence[tuple[str, Deviation]],
    start: datetime,
    end: datetime,
) -> FlagRates:
    """The yardsticks over [start, end). `runs` are all deviations that touch it."""
    hours = (end - start) / timedelta(hours=1)
    begun = [(key, run) for key, run in runs if start <= run.start < end]
    judged, outside = sum(one.judged for one in counts), sum(one.outside for one in counts)
    by_point: dict[str, int] = {}
    for key, _ in begun:
        by_point[key] = by_point.get(key, 0) + 1
    top = sum(sorted(by_point.values(), reverse=True)[:TOP])
    action = sum(run.severity is Severity.ACTION for _, run in begun)
    return FlagRates(
        hours=hours,
        runs=len(begun),
        per_hour=len(begun) / hours if hours > 0.0 else 0.0,
        flagged_share=outside / judged if judged else 0.0,
        top_share=top / len(begun) if begun else 0.0,
        action_share=action / len(begun) if begun else 0.0,
        stale_most=_stale_most([run for _, run in runs], start, end),
        chattering=tuple(one.key for one in sorted(counts, key=_by_chatter)[:TOP] if one.chatter),
    )


def limit_uses(key: str, values: FloatArray, limits: Limits, step: float) -> tuple[LimitUse, ...]:
    """The limits of a point that flag all the time or never; `values` (n,) without NaN.

    `values` are readings judged by `limits`; `step` is the size of the last typed decimal, to which
    proposals are rounded. Fewer than sixty readings, or ones that are all equal, say nothing.
    """
    if values.size < FEWEST or float(np.ptp(values)) == 0.0:
        return ()
    found = []
    for edge in EDGES:
        limit = getattr(limits, edge)
        if limit is not None:
            use = _use(key, edge, float(limit), values, step)
            if use is not None:
                found.append(use)
    return tuple(found)


def median_minutes(spans: Mapping[str, Sequence[timedelta]]) -> dict[str, float]:
    """Median of the spans of each key, in minutes; a key without one is left out."""
    return {
        key: float(np.median([span / timedelta(minutes=1) for span in own]))
        for key, own in spans.items()
        if own
    }


def _chatter(turned: BoolArray) -> int:
    places = np.flatnonzero(turned)
    found, after = 0, -1
    for first, third in zip(places, places[CHATTER_TURNS - 1 :], strict=False):
        if first > after and third - first < CHATTER_ROUNDS - 1:
            found, after = found + 1, int(third)
    return found


def _by_chatter(one: PointCount) -> tuple[int, str]:
    return -one.chatter, one.key


def _duration(run: Deviation) -> timedelta:
    return run.duration


def _badness(one: PointCount) -> tuple[float, str]:
    return -(one.outside + 2.0 * one.beyond_action), one.key


def _by_duration(one: tuple[str, Deviation]) -> tuple[timedelta, str]:
    return -one[1].duration, one[0]


def _stale_most(runs: Sequence[Deviation], start: datetime, end: datetime) -> int:
    """The most that were stale at once at any moment of a day, counted day by day."""
    most, day = 0, start
    while day < end:
        until = min(day + timedelta(days=1), end)
        stale = sum(
            run.start + STALE < until and _over(run) > max(day, run.start + STALE) for run in runs
        )
        most, day = max(most, stale), until
    return most


def _over(run: Deviation) -> datetime:
    return run.end or run.last_out


def _use(key: str, edge: str, limit: float, values: FloatArray, step: float) -> LimitUse | None:
    sign = 1.0 if edge.endswith("high") else -1.0
    middle = float(np.median(values))
    beyond = sign * values - sign * limit
    outside = int((beyond > 0.0).sum())
    nearest = float(values[int(np.argmax(beyond))])
    if outside >= ALWAYS * values.size:
        return _always(key, edge, limit, values, outside, nearest, step)
    distance = sign * (limit - middle)
    reached = sign * (nearest - middle)
    if edge.startswith("warning") and outside == 0 and 0.0 < reached < NEAR * distance:
        proposed = _rounded(middle + sign * ROOM * reached, step, sign)
        reason = (
            f"of {values.size} readings none came nearer than {nearest:g}, less than half of the "
            f"way from the median {middle:g}; a limit at {proposed:g} would leave half as much "
            "room again"
        )
        return LimitUse(
            key, edge, LimitFault.NEVER, limit, values.size, 0, nearest, proposed, reason
        )
    return None


def _always(
    key: str,
    edge: str,
    limit: float,
    values: FloatArray,
    outside: int,
    nearest: float,
    step: float,
) -> LimitUse:
    sign = 1.0 if edge.endswith("high") else -1.0
    share = WANTED_SHARE if sign < 0.0 else 1.0 - WANTED_SHARE
    proposed = _rounded(float(np.quantile(values, share)), step, sign)
    reason = (
        f"{outside} of {values.size} readings lie beyond it; beyond {proposed:g} would be about "
        f"{WANTED_SHARE:.0%} of them, if running like this is meant"
    )
    return LimitUse(
        key, edge, LimitFault.ALWAYS, limit, values.size, outside, nearest, proposed, reason
    )


def _rounded(value: float, step: float, sign: float) -> float:
    """Away from the middle to a whole step."""
    steps = value / step
    whole = math.ceil(steps - 1e-9) if sign > 0.0 else math.floor(steps + 1e-9)
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    return round(whole * step, places)
