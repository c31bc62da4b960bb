"""From the book's readings to the figures of the accounts, for many periods in one pass.

Every series is read once for the whole time and cut into the periods; `account_inputs` turns one
period into figures with words. How each role is gathered is told in `logbook.process.roles`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from logbook.plant.model import Plant, Point
from logbook.process.counter import totals
from logbook.process.roles import ROLES, Gather
from logbook.record import Reader
from logbook.shift.account_cut import (
    HOUR_S,
    FloatArray,
    FloatLine,
    IntArray,
    Means,
    counts_in,
    last_before,
    plain_means,
    scatter,
    slipped,
    sums_in,
    time_means,
    widened,
)
from logbook.shift.account_off import OffTimes
from logbook.shift.account_points import Filled, filled_roles, interval_s, scale_of
from logbook.shift.account_stock import contents_at
from logbook.shift.trend_load import load_lines

FEWEST_COUNTED = 0.9
"""Share of a period that counters and amounts must cover before there is a figure of it."""
FEWEST_READ = 0.5
"""Share of the running time for which readings must stand before their mean is taken."""
LOOK_BACK, LOOK_ON = timedelta(days=14), timedelta(hours=4)
"""How far outside of the periods readings are looked at: for how these began and ended, and, of a
short period, for how much readings scatter."""
TANKS_AROUND = timedelta(days=7)
"""The same for tanks and bins."""
TOLD_AFTER_S = 3600.0
"""An amount noted up to this long after a shift is that of the shift before."""
CARRIED_S = 26.0 * HOUR_S
"""So old may the last result be that stands in for a period without a sample of its own."""


OF_DELIVERIES = frozenset({"solvent_hexane"})
"""Analyses of what came in, not of what flowed."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """A role over n periods, shape (n,) each; NaN where the readings tell too little."""

    filled: Filled
    value: FloatArray
    """In the role's unit."""
    sigma: FloatArray
    """Standard uncertainty in the role's unit."""
    count: IntArray
    """Readings it is made of."""
    share: FloatArray
    """Part of the time that the readings tell of, 0 to 1."""
    begin: FloatArray | None = None
    """Of a stock: content at the begin of each period."""
    end: FloatArray | None = None
    """Of a stock: content at its end."""
    carried: FloatArray | None = None
    """1 where a reading stands in: of an analysis the last result before the period, of a stock
    those before and after a bound at which it was not read."""
    end_sigmas: tuple[FloatArray, FloatArray] | None = None
    """Of a stock: standard uncertainties of both contents."""
    slips: IntArray | None = None
    """Readings left out because their decimal point is off; None: none in any period."""
    gone: tuple[str, ...] = ()
    """What else is missing, in words."""


@dataclass(frozen=True, slots=True)
class Gathering:
    """All roles over n periods."""

    plant: Plant
    edges: FloatArray
    """Bounds of the periods, epoch seconds, shape (n + 1,)."""
    roles: Mapping[str, Gathered]
    hours: FloatArray
    """Length of each period, h."""

    def __getitem__(self, role: str) -> Gathered:
        return self.roles[role]


@dataclass(frozen=True, slots=True)
class Sources:
    """What is at hand while roles are gathered."""

    plant: Plant
    edges: FloatArray
    lines: Mapping[str, FloatLine]
    off: OffTimes
    aside: Mapping[str, FloatArray]
    """Instants of readings that were left out, by point."""

    def line(self, filled: Filled, point: Point) -> FloatLine | None:
        """Times and values of a point in the role's unit; None for a unit of another sort."""
        scale = scale_of(filled.role, point, self.plant.settings.barometer_kpa)
        if scale is None:
            return None
        times, values = self.lines[point.key]
        return times, values * scale.slope + scale.offset

    def slips(self, filled: Filled) -> IntArray:
        """How many readings of each period were left out because a decimal point was off."""
        found = np.zeros(self.edges.size - 1, dtype=np.int64)
        for point in filled.points:
            times = self.aside.get(point.key)
            if times is not None:
                found += counts_in(times, self.edges)
        return found


def gather(
    book: Reader,
    plant: Plant,
    edges: Sequence[float],
    *,
    roles: Iterable[str] = ROLES,
    now: datetime | None = None,
) -> Gathering:
    """Gather roles over the periods between `edges` (epoch seconds, rising). Raises BookError.

    Readings after `now` are not looked at.
    """
    bounds = np.asarray(edges, dtype=np.float64)
    filled = filled_roles(plant, roles)
    start, end = (datetime.fromtimestamp(at, UTC) for at in (bounds[0], bounds[-1]))
    last = _until(end, LOOK_ON, now)
    lines = _read(book, plant, filled, (start, end), now)
    off = OffTimes.of(book, plant, start - LOOK_BACK, last)
    lines, aside = _without_slips(filled, lines)
    sources = Sources(plant, bounds, lines, off, aside)
    found = {name: _gathered(one, sources) for name, one in filled.items()}
    for name, one in filled.items():
        if any(key in aside for key in one.keys):
            found[name] = replace(found[name], slips=sources.slips(one))
    return Gathering(plant, bounds, found, np.diff(bounds) / HOUR_S)


def _without_slips(
    filled: Mapping[str, Filled], lines: Mapping[str, FloatLine]
) -> tuple[dict[str, FloatLine], dict[str, FloatArray]]:
    """Leave out readings of rates, states and tanks whose decimal point is off; the instants too."""
    kept, aside = dict(lines), {}
    for one in filled.values():
        if one.role.gather not in {Gather.FLOW, Gather.MEAN, Gather.STOCK}:
            continue
        for key in one.keys:
            times, values = lines[key]
            wrong = slipped(values)
            if wrong.any():
                kept[key] = times[~wrong], values[~wrong]
                aside[key] = times[wrong]
    return kept, aside


def _until(end: datetime, on: timedelta, now: datetime | None) -> datetime:
    return end + on if now is None else min(end + on, max(now, end))


def _read(
    book: Reader,
    plant: Plant,
    filled: Mapping[str, Filled],
    span: tuple[datetime, datetime],
    now: datetime | None,
) -> dict[str, FloatLine]:
    """The lines of all points; those of tanks from further around, since they are read seldom."""
    start, end = span
    stocks = [one for one in filled.values() if one.role.gather is Gather.STOCK]
    tanks = {point.key: point for one in stocks for point in one.points}
    points = {point.key: point for one in filled.values() for point in one.points}
    points |= {point.key: point for point in _support(plant, filled)}
    others = [point for key, point in points.items() if key not in tanks]
    lines = _lines(book, plant, others, start - LOOK_BACK, _until(end, LOOK_ON, now))
    far = _until(end, TANKS_AROUND, now)
    return lines | _lines(book, plant, list(tanks.values()), start - TANKS_AROUND, far)


def _lines(
    book: Reader, plant: Plant, points: Sequence[Point], start: datetime, end: datetime
) -> dict[str, FloatLine]:
    """Times and values of points; computed ones are worked out from what they need."""
    typed = [point.key for point in points if point.kind.is_typed]
    computed = [point for point in points if not point.kind.is_typed]
    lines = book.numbers(typed, start, end)
    for key, (times, values) in load_lines(book, plant, computed, start, end).items():
        lines[key] = (times.astype(np.float64), values)
    return lines


def _support(plant: Plant, filled: Mapping[str, Filled]) -> tuple[Point, ...]:
    """Points that other roles need: the temperatures of the tanks."""
    needed = {
        "oil_stock": "tank_temp",
        "solvent_stock": "store_temp",
        "solvent_received": "store_temp",
    }
    names = {needed[name] for name in filled if name in needed}
    return tuple(p for one in filled_roles(plant, sorted(names)).values() for p in one.points)


def _gathered(filled: Filled, sources: Sources) -> Gathered:
    if filled.role.gather is Gather.HOURS:
        return _hours(filled, sources)
    if not filled.points:
        return _nothing(filled, sources, *(filled.absent or (filled.words,)))
    return _HOW[filled.role.gather](filled, sources)


def _nothing(filled: Filled, sources: Sources, *gone: str) -> Gathered:
    n = sources.edges.size - 1
    nan = np.full(n, np.nan)
    return Gathered(filled, nan, nan, np.zeros(n, dtype=np.int64), np.zeros(n), gone=gone)


def _hours(filled: Filled, sources: Sources) -> Gathered:
    """Hours in which the line was not down."""
    hours = sources.off.line.hours(sources.edges)
    n = hours.size
    return Gathered(filled, hours, np.zeros(n), np.ones(n, dtype=np.int64), np.ones(n))


def _counted(filled: Filled, sources: Sources) -> Gathered:
    """Differences of counters, added where a role has several.

    What was counted between two readings is shared by the time in which the machine ran.
    """
    parts = []
    for point in filled.points:
        line = sources.line(filled, point)
        if line is None:
            return _nothing(filled, sources, f"{point.name} in {filled.role.unit}")
        scale = scale_of(filled.role, point, sources.plant.settings.barometer_kpa)
        slope = scale.slope if scale is not None else 1.0
        clock = sources.off.of_point(point, silent=False).clock
        counted = totals(
            clock(line[0]),
            line[1],
            clock(sources.edges),
            rollover=None if point.rollover is None else point.rollover * slope,
            resolution=10.0**-point.decimals * slope,
            meter_percent=100.0 * filled.accuracy,
            time_sigma_s=60.0 * filled.role.clock,
        )
        count = np.diff(np.searchsorted(line[0], sources.edges))
        parts.append((counted.total, counted.sigma, count, counted.covered_share))
    total, sigma, count, share = _added(parts)
    # What is not counted is taken at the rate of the rest, give or take all of it: a rectangle
    # from nothing to twice as much has a standard deviation of 1/√3 of its middle.
    whole = np.divide(total, share, out=np.full(total.size, np.nan), where=share >= FEWEST_COUNTED)
    sigma = np.hypot(sigma, (whole - total) / math.sqrt(3.0))
    return Gathered(filled, whole, sigma, count.astype(np.int64), share)


Part = tuple[FloatArray, FloatArray, IntArray, FloatArray]


def _added(parts: Sequence[Part]) -> Part:
    """Sums, with uncertainties in squares and the smallest share."""
    total = np.sum([part[0] for part in parts], axis=0)
    sigma = np.sqrt(np.sum([part[1] ** 2 for part in parts], axis=0))
    count = np.sum([part[2] for part in parts], axis=0)
    share = np.min([part[3] for part in parts], axis=0)
    return total, sigma, count, share


def _summed(filled: Filled, sources: Sources) -> Gathered:
    """Amounts noted once a shift, of the time before; each weighs alone in the uncertainty.

    Where the point's area stood, none are looked for.
    """
    parts = []
    for point in filled.points:
        line = _amounts(filled, point, sources)
        if line is None:
            return _nothing(filled, sources, f"{point.name} in {filled.role.unit}")
        times, values = line
        total = sums_in(times, values, sources.edges)
        squares = sums_in(times, values * values, sources.edges)
        count = np.diff(np.searchsorted(times, sources.edges))
        due = sources.off.of_point(point, silent=True).hours(sources.edges) * HOUR_S
        wanted = np.floor(due / interval_s(sources.plant, point) + 0.01)
        share = np.where(wanted >= 1.0, np.clip(count / np.maximum(wanted, 1.0), 0.0, 1.0), 1.0)
        parts.append((total, filled.accuracy * np.sqrt(squares), count, share))
    total, sigma, count, share = _added(parts)
    enough = share >= FEWEST_COUNTED
    value = np.where(enough, total, np.nan)
    return Gathered(filled, value, np.where(enough, sigma, np.nan), count.astype(np.int64), share)


def _amounts(filled: Filled, point: Point, sources: Sources) -> FloatLine | None:
    line = sources.line(filled, point)
    if line is None:
        return None
    times, values = line
    held = np.isfinite(values)
    return times[held] - TOLD_AFTER_S, values[held]


def _flow(filled: Filled, sources: Sources) -> Gathered:
    """Mean rate times the hours in which the line ran."""
    found = _mean_of_points(filled, sources)
    if found is None:
        return _nothing(filled, sources, f"{filled.points[0].name} in {filled.role.unit}/h")
    means, noise = found
    hours = sources.off.line.hours(sources.edges)
    value = np.where(means.share >= FEWEST_READ, means.mean * hours, np.nan)
    # A period in which the line stood all the time had no flow.
    value = np.where(hours <= 0.0, 0.0, value)
    each = noise * hours / np.sqrt(np.maximum(means.count, 1))
    fallback = math.hypot(filled.role.reading, filled.role.spread) * np.abs(value)
    each = np.where(np.isfinite(each), each, fallback / np.sqrt(np.maximum(means.count, 1)))
    sigma = np.hypot(filled.accuracy * np.abs(value), each)
    return Gathered(filled, value, sigma, means.count, means.share)


def _mean(filled: Filled, sources: Sources) -> Gathered:
    """Mean over the time in which the point counts; of several points the mean of their means."""
    found = _mean_of_points(filled, sources)
    if found is None:
        return _nothing(filled, sources, f"{filled.points[0].name} in {filled.role.unit}")
    means, noise = found
    value = np.where(means.share >= FEWEST_READ, means.mean, np.nan)
    sigma = np.hypot(filled.accuracy * np.abs(value), _of_mean(filled, noise, means.count))
    return Gathered(
        filled, value, np.where(np.isfinite(value), sigma, np.nan), means.count, means.share
    )


def _of_mean(filled: Filled, noise: float, count: IntArray) -> FloatArray:
    """Standard uncertainty of a mean: the scatter found, else the role's usual one, over √n."""
    usual = math.hypot(filled.role.reading, filled.role.spread)
    each = noise if math.isfinite(noise) else usual
    return np.asarray(max(each, filled.role.reading) / np.sqrt(np.maximum(count, 1)))


def _mean_of_points(filled: Filled, sources: Sources) -> tuple[Means, float] | None:
    is_flow = filled.role.gather is Gather.FLOW
    found, noise = [], []
    for point in filled.points:
        line = sources.line(filled, point)
        if line is None:
            return None
        on = sources.off.of_point(point, silent=not is_flow)
        reach = 0.75 * interval_s(sources.plant, point)
        found.append(time_means(line[0], line[1], sources.edges, reach_s=reach, on=on))
        noise.append(scatter(line[1]) if is_flow else widened(line[1]))
    if len(found) == 1:
        return found[0], noise[0]
    table = np.array([one.mean for one in found])
    known = np.isfinite(table)
    total = np.where(known, table, 0.0).sum(axis=0)
    count = known.sum(axis=0)
    mean = np.divide(total, count, out=np.full(count.size, np.nan), where=count > 0)
    share = np.max([one.share for one in found], axis=0)
    return Means(mean, np.sum([one.count for one in found], axis=0), share), float(np.mean(noise))


def _analysis(filled: Filled, sources: Sources) -> Gathered:
    """Mean of the results of samples of the period; without any, the last result before.

    A sample taken while the line stood, or in start-up or shut-down, tells nothing of the period:
    it is left out. What is delivered is what it is at any time.
    """
    line = sources.line(filled, filled.points[0])
    if line is None:
        return _nothing(filled, sources, f"{filled.points[0].name} in {filled.role.unit}")
    if filled.role.name not in OF_DELIVERIES:
        steady = sources.off.steady.holds(line[0])
        line = line[0][steady], line[1][steady]
    means = plain_means(line[0], line[1], sources.edges)
    before = last_before(line[0], line[1], sources.edges[:-1], within_s=CARRIED_S)
    is_carried = (means.count == 0) & np.isfinite(before)
    value = np.where(is_carried, before, means.mean)
    noise = scatter(line[1])
    sigma = _of_mean(filled, noise, means.count)
    # The last result tells of another time: what the stream changed since comes on top.
    sigma = np.where(is_carried, math.sqrt(2.0) * sigma, sigma)
    sigma = np.where(np.isfinite(value), np.hypot(sigma, filled.accuracy * np.abs(value)), np.nan)
    share = np.where(np.isfinite(value), 1.0, 0.0)
    return Gathered(filled, value, sigma, means.count, share, carried=is_carried.astype(np.float64))


def _stock(filled: Filled, sources: Sources) -> Gathered:
    """Content at the end less content at the begin."""
    stock = contents_at(filled, sources.plant, sources.lines, sources.edges)
    value = np.diff(stock.tonnes)
    sigma = np.hypot(stock.sigma[:-1], stock.sigma[1:])
    usual = math.sqrt(2.0) * filled.role.reading
    share = np.isfinite(value).astype(np.float64)
    return Gathered(
        filled,
        value,
        sigma,
        (2 * len(filled.points) * share).astype(np.int64),
        share,
        begin=stock.tonnes[:-1],
        end=stock.tonnes[1:],
        end_sigmas=(stock.sigma[:-1], stock.sigma[1:]),
        carried=(sigma > usual * 1.001).astype(np.float64),
        gone=stock.gone,
    )


_HOW: Mapping[Gather, Callable[[Filled, Sources], Gathered]] = {
    Gather.COUNTED: _counted,
    Gather.SUMMED: _summed,
    Gather.FLOW: _flow,
    Gather.MEAN: _mean,
    Gather.ANALYSIS: _analysis,
    Gather.STOCK: _stock,
}
