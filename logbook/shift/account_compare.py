"""Crews and months side by side, with intervals, and never ranked.

What is compared are means over shifts (crews) or days (months). The interval of a mean is widened
because values that follow one another are alike, and again because several groups are looked at
at once: its level is 95 % for all pairs together (Bonferroni: 5 % shared among the pairs). Two
groups whose intervals overlap are said not to differ; where they do not overlap, they differ at
that level at least, since not overlapping asks for more than a test of the difference would.

Crews work at different times: what beans, weather and rate do to everybody is taken off first, by
the mean of all shifts around each (`AROUND` to either side), and what day and night do, by the
mean of the shifts of that part of the day.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from logbook.plant.model import Plant
from logbook.shift.account_cut import FloatArray
from logbook.shift.account_daily import AccountRun

LEVEL = 0.05
"""Chance that of groups that are all alike any two are said to differ."""
AROUND = 14
"""Shifts to either side whose mean stands for what everybody had to work with."""
FEWEST = 5
"""A group of fewer values has no interval."""
MOST_ALIKE = 0.9
"""Largest correlation of neighbours that is reckoned with."""


@dataclass(frozen=True, slots=True)
class GroupMean:
    """A crew or a month."""

    key: str
    name: str
    mean: float | None
    low: float | None
    """Bounds of the simultaneous interval; None for too few values."""
    high: float | None
    count: int
    effective: float
    """How many independent values they are worth."""


@dataclass(frozen=True, slots=True)
class Compared:
    """Groups in the order of the calendar, and what can be told apart."""

    key: str
    name: str
    unit: str
    decimals: int
    groups: tuple[GroupMean, ...]
    differ: tuple[tuple[str, str], ...]
    """Names of pairs whose intervals do not overlap."""
    told: str
    method: str


def compare_crews(run: AccountRun, crews: Sequence[str | None], plant: Plant, key: str) -> Compared:
    """Compare the crews by a figure of the shifts that they worked (`shift_accounts`)."""
    names = {crew.key: crew.name for crew in plant.calendar.crews}
    values = adjusted(run[key].value, [period.shift for period in run.periods])
    groups = {k: names[k] for k in names if k in crews}
    method = (
        "means of shifts, less what all shifts around had in common and what day and night do; "
        f"{_METHOD}"
    )
    return _compared(run, key, values, list(crews), groups, method)


def compare_months(run: AccountRun, key: str) -> Compared:
    """Compare calendar months by a figure of their days (`daily_accounts`)."""
    from logbook.shift.period import MONTHS

    months = [f"{one.first:%Y-%m}" for one in run.periods]
    names = {
        f"{one.first:%Y-%m}": f"{MONTHS[one.first.month - 1]} {one.first.year}"
        for one in run.periods
    }
    return _compared(run, key, run[key].value, months, names, f"means of days; {_METHOD}")


_METHOD = (
    "intervals hold for all pairs together (95 %, Bonferroni), widened because neighbours are alike; "
    "where two overlap, no difference is told"
)


def _compared(
    run: AccountRun,
    key: str,
    values: FloatArray,
    labels: Sequence[str | None],
    names: Mapping[str, str],
    method: str,
) -> Compared:
    series = run[key]
    alike = likeness(values, labels)
    pairs = max(len(names) * (len(names) - 1) // 2, 1)
    groups = tuple(
        _group(k, name, values[[label == k for label in labels]], alike, LEVEL / pairs)
        for k, name in names.items()
    )
    differ = tuple((a.name, b.name) for a, b in combinations(groups, 2) if _apart(a, b))
    told = _told(series.name, groups, differ)
    return Compared(key, series.name, series.unit, series.decimals, groups, differ, told, method)


def adjusted(values: FloatArray, parts: Sequence[Hashable]) -> FloatArray:
    """Values less what all around them and all of their part of the day have in common.

    The mean of all stays what it was; NaN stays NaN.
    """
    known = np.isfinite(values)
    if not known.any():
        return values
    filled = np.where(known, values, 0.0)
    running = np.concatenate(([0.0], np.cumsum(filled)))
    counted = np.concatenate(([0], np.cumsum(known)))
    place = np.arange(values.size)
    first = np.clip(place - AROUND, 0, None)
    last = np.clip(place + AROUND + 1, None, values.size)
    count = counted[last] - counted[first]
    around = np.divide(
        running[last] - running[first], count, out=np.zeros(values.size), where=count > 0
    )
    rest = values - around
    of_part = np.array([hash(part) for part in parts])
    for part in np.unique(of_part):
        inside = of_part == part
        if (inside & known).any():
            rest[inside] -= np.nanmean(rest[inside & known])
    return np.asarray(rest - np.nanmean(rest[known]) + np.mean(values[known]))


def likeness(values: FloatArray, labels: Sequence[Hashable]) -> float:
    """Correlation of neighbours in time once the means of the groups are taken off, 0 to 0.9."""
    rest = values.copy()
    for label in dict.fromkeys(labels):
        inside = np.array([one == label for one in labels]) & np.isfinite(values)
        if inside.any():
            rest[inside] -= rest[inside].mean()
    a, b = rest[:-1], rest[1:]
    both = np.isfinite(a) & np.isfinite(b)
    if both.sum() < FEWEST:
        return 0.0
    spread = float(np.nanvar(rest))
    if spread <= 0.0:
        return 0.0
    return float(np.clip(np.mean(a[both] * b[both]) / spread, 0.0, MOST_ALIKE))


def _group(key: str, name: str, values: FloatArray, alike: float, level: float) -> GroupMean:
    held = values[np.isfinite(values)]
    count = int(held.size)
    effective = count * (1.0 - alike) / (1.0 + alike)
    mean = float(held.mean()) if count else None
    if mean is None or count < FEWEST or effective < 2.0:
        return GroupMean(key, name, mean, None, None, count, effective)
    from scipy.stats import t

    reach = float(t.ppf(1.0 - level / 2.0, effective - 1.0))
    half = reach * float(held.std(ddof=1)) / math.sqrt(effective)
    return GroupMean(key, name, mean, mean - half, mean + half, count, effective)


def _apart(a: GroupMean, b: GroupMean) -> bool:
    if a.low is None or a.high is None or b.low is None or b.high is None:
        return False
    return a.high < b.low or b.high < a.low


def _told(name: str, groups: Sequence[GroupMean], differ: Sequence[tuple[str, str]]) -> str:
    judged = [group for group in groups if group.low is not None]
    if len(judged) < 2:
        return f"{name}: too few values to compare."
    if not differ:
        return f"{name}: no difference can be told; all intervals overlap."
    pairs = ", ".join(f"{a} and {b}" for a, b in differ[:6])
    more = f" and {len(differ) - 6} more pairs" if len(differ) > 6 else ""
    return f"{name}: {pairs}{more} differ; between the others no difference can be told."
