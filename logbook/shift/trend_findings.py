"""What a closer look at trends finds, with plain words: shape, pairs, periods, machines, crews."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from logbook.assess.groups import GroupMean, chance_of_equal, difference, group_mean
from logbook.assess.lags import LagFound, changes, lag_of, on_grid
from logbook.assess.limits import NOT_JUDGED_CODE
from logbook.assess.shape import Shape, shape_of
from logbook.plant.calendar import shifts_between
from logbook.plant.model import Plant
from logbook.shift.trend_study import Study, Track
from logbook.shift.trend_words import length_text

Values = NDArray[np.float64]
Times = NDArray[np.int64]

LONGEST_LAG_S = 48 * 3600.0
MOST_LAGS, LEAST_LAGS = 60, 6
MOST_PLACES = 6000
"""A grid of more places would say no more."""
STRENGTHS = (
    (0.2, "hardly any"),
    (0.4, "weak"),
    (0.6, "moderate"),
    (0.8, "strong"),
    (1.01, "very strong"),
)
"""Words for the size of a correlation; common usage, no source."""
FEW = "Too few readings in this stretch to say anything."


@dataclass(frozen=True, slots=True)
class Cut:
    """Readings of a track in a stretch that count: those while it was on duty."""

    track: Track
    times: Times
    values: Values
    codes: NDArray[np.int8]


def cut(track: Track, start: float, end: float) -> Cut:
    """The readings of a track in [start, end] (epoch s)."""
    first, after = track.inside(start, end)
    return Cut(track, track.times[first:after], track.values[first:after], track.codes[first:after])


# -- shape --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ShapeFound:
    """The distribution of a point in a stretch."""

    track: Track
    shape: Shape
    outside: int
    """Readings outside the limits then in force."""
    judged: int
    told: tuple[str, ...]


def shape_found(track: Track, start: float, end: float) -> ShapeFound | None:
    """How the readings of a stretch lie; None without any."""
    part = cut(track, start, end)
    shape = shape_of(part.values, track.point.decimals)
    if shape is None:
        return None
    judged = part.codes != NOT_JUDGED_CODE
    outside = int((judged & (part.codes != 0)).sum())
    count = int(judged.sum())
    return ShapeFound(track, shape, outside, count, _shape_words(track, shape, outside, count))


def _shape_words(track: Track, shape: Shape, outside: int, judged: int) -> tuple[str, ...]:
    show = _shower(track)
    low, lower, middle, upper, high = (shape.quantiles[k] for k in (1, 2, 3, 4, 5))
    words = [
        (
            f"{shape.count} readings: mean {show(shape.mean)}, standard deviation "
            f"{show(shape.spread, 1)} {track.point.unit}. Half lie from {show(lower)} to {show(upper)}, "
            f"nine of ten from {show(low)} to {show(high)}, half below {show(middle)}."
        )
    ]
    if judged:
        share = 100.0 * outside / judged
        words.append(f"Outside the limits then in force: {outside} of {judged} ({share:.1f} %).")
    if sum(shape.outside):
        words.append(f"{sum(shape.outside)} far out are not in the histogram.")
    words.append(_digit_words(shape))
    return tuple(words)


def _digit_words(shape: Shape) -> str:
    """Which last digit stands out most; no verdict: gauges and computing may favour some, too."""
    if not shape.digits_tell:
        return "The readings spread over too few steps for their last digits to tell anything."
    expected = shape.digit_count / 10.0
    if expected < 5.0:
        return "Too few readings to look at the last digits."
    most = max(range(10), key=lambda d: shape.digits[d])
    share = 100.0 * shape.digits[most] / shape.digit_count
    return (
        f"Last digits: {most} is written most often, {share:.0f} % where 10 % would be even; "
        "the scale of a gauge favours some digits as well."
    )


# -- pairs --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PairFound:
    """Two points against each other on a common grid (epoch s)."""

    first: Track
    second: Track
    grid: Times
    step_s: float
    a: Values
    b: Values
    found: LagFound
    of_changes: LagFound | None
    told: tuple[str, ...]

    def shifted(self) -> tuple[Values, Values]:
        """Pairs at the best lag: the first at t, the second at t + lag; without missing ones."""
        lag, a, b = self.found.lag, self.a, self.b
        a, b = (a[: a.size - lag], b[lag:]) if lag >= 0 else (a[-lag:], b[: b.size + lag])
        both = np.isfinite(a) & np.isfinite(b)
        return a[both], b[both]


def pair_found(first: Track, second: Track, start: float, end: float) -> PairFound | None:
    """The lag at which two points go together best, and how far that can be trusted."""
    parts = [cut(one, start, end) for one in (first, second)]
    if any(part.times.size < 3 for part in parts):
        return None
    step = max(float(np.median(np.diff(part.times))) for part in parts)
    begin = max(float(part.times[0]) for part in parts)
    stop = min(float(part.times[-1]) for part in parts)
    step = max(step, (stop - begin) / MOST_PLACES, 60.0)
    if stop - begin < 3 * step:
        return None
    grid = np.arange(begin, stop, step).astype(np.int64)
    a, b = (on_grid(part.times, part.values, grid, max(part.track.gap_s, step)) for part in parts)
    most = min(max(round(LONGEST_LAG_S / step), LEAST_LAGS), MOST_LAGS)
    found = lag_of(a, b, most)
    if found is None:
        return None
    moved = lag_of(changes(a), changes(b), most)
    words = _pair_words(first, second, step, found, moved)
    return PairFound(first, second, grid, step, a, b, found, moved, words)


def strength_word(correlation: float) -> str:
    """How strong a correlation is called.

    >>> strength_word(-0.7)
    'strong'
    """
    return next(word for edge, word in STRENGTHS if abs(correlation) < edge)


def _pair_words(
    first: Track, second: Track, step: float, found: LagFound, moved: LagFound | None
) -> tuple[str, ...]:
    most = length_text(abs(found.lag) * step)
    ahead, behind = (first, second) if found.lag > 0 else (second, first)
    when = f"when {behind.name} follows {ahead.name} by {most}" if found.lag else "without a lag"
    way = "they rise together" if found.correlation > 0 else "one rises as the other falls"
    unlagged = f" Without a lag: {found.at_zero:.2f}." if found.lag else ""
    chance = chance_text(found.chance)
    words = [
        (
            f"They go together best {when}: correlation {found.correlation:.2f} "
            f"({found.low:.2f} to {found.high:.2f}), {strength_word(found.correlation)}; {way}."
            f"{unlagged}"
        ),
        (
            f"{found.pairs} places compared, worth about {found.effective:.0f} independent ones. "
            f"Two unrelated points as slow as these would show as much at one of the "
            f"{len(found.lags)} lags looked at by chance {chance}."
        ),
    ]
    if not found.is_found:
        words.append("So this may well be chance.")
    if moved is not None:
        same = "too, " if moved.is_found else "but "
        clear = "clearly" if moved.is_found else "not clearly"
        words.append(
            f"Their changes from reading to reading go together {same}{clear} "
            f"({moved.correlation:.2f} {_lag_text(moved.lag, step)})."
        )
    words.append(
        "This does not show that one drives the other: both may follow a third thing (rate, beans, "
        "season, crew), and another stretch may differ."
    )
    return tuple(words)


def _lag_text(lag: int, step: float) -> str:
    return f"with a lag of {length_text(abs(lag) * step)}" if lag else "without a lag"


def chance_text(chance: float) -> str:
    """A probability as people say it.

    >>> chance_text(0.0002), chance_text(0.034), chance_text(0.4)
    ('less than once in 1000', '3 times in 100', '40 times in 100')
    """
    if chance < 0.001:
        return "less than once in 1000"
    if chance < 0.0095:
        return f"{max(1, round(chance * 1000))} times in 1000"
    return f"{round(chance * 100)} times in 100"


# -- periods ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PeriodsFound:
    """A point in two stretches (epoch s)."""

    track: Track
    spans: tuple[tuple[float, float], tuple[float, float]]
    cuts: tuple[Cut, Cut]
    groups: tuple[GroupMean | None, GroupMean | None]
    told: tuple[str, ...]


def periods_found(
    track: Track, this: tuple[float, float], other: tuple[float, float], names: tuple[str, str]
) -> PeriodsFound:
    """A point in a stretch and in another one."""
    cuts = cut(track, *this), cut(track, *other)
    groups = group_mean(names[0], cuts[0].values), group_mean(names[1], cuts[1].values)
    words = _period_words(track, groups)
    return PeriodsFound(track, (this, other), cuts, groups, words)


def _period_words(
    track: Track, groups: tuple[GroupMean | None, GroupMean | None]
) -> tuple[str, ...]:
    this, other = groups
    if this is None or other is None:
        return ("One of the two stretches has no readings.",)
    show, unit = _shower(track), track.point.unit
    words = [
        f"Mean {show(this.mean, 1)} {unit} against {show(other.mean, 1)} {unit} in the other stretch."
    ]
    apart = difference(other, this)
    if apart is None:
        words.append("Too few independent readings to say how sure the difference is.")
    else:
        by, low, high = apart
        words.append(
            f"Difference {by:+.{track.point.decimals + 1}f} {unit}, about 95 % sure to lie from "
            f"{show(low, 2)} to {show(high, 2)}: "
            + ("it may well be none." if low <= 0.0 <= high else "more than chance explains.")
        )
    words.append(
        f"{this.count} and {other.count} readings, worth about {this.effective:.0f} and "
        f"{other.effective:.0f} independent ones. What else differed between the two is not asked."
    )
    return tuple(words)


# -- machines and crews ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class GroupsFound:
    """Groups side by side, in their own order."""

    unit: str
    decimals: int
    groups: tuple[GroupMean, ...]
    told: tuple[str, ...]


def side_by_side(tracks: Sequence[Track], start: float, end: float) -> GroupsFound:
    """Points of one unit beside one another: those of six mills, say."""
    found = [group_mean(one.name, cut(one, start, end).values) for one in tracks]
    groups = tuple(one for one in found if one is not None)
    track = tracks[0]
    return GroupsFound(
        track.point.unit, track.point.decimals, groups, _order_words(track, groups, "point")
    )


def by_crew(study: Study, track: Track, start: float, end: float) -> GroupsFound:
    """A point by the crew on shift when it was read; sure only as far as means of shifts are."""
    part = cut(track, start, end)
    crews, means = _by_crew(study.plant, part)
    names = {crew.key: crew.name for crew in study.plant.calendar.crews}
    groups = []
    for key, values in crews.items():
        made = group_mean(names.get(key, key), values, effective=float(means[key].size))
        if made is not None:
            error = _error(means[key])
            groups.append(
                GroupMean(made.name, made.count, made.effective, made.mean, error, made.quantiles)
            )
    words = list(_order_words(track, tuple(groups), "crew"))
    chance = chance_of_equal(list(means.values()))
    if chance is not None:
        words.append(
            f"Crews that all run alike would differ as much {chance_text(chance)} "
            "(Welch's test on the means of shifts)."
        )
    words.append(
        "Crews meet other beans, rates, weather and days of the week; a difference is a question, "
        "not a verdict."
    )
    return GroupsFound(track.point.unit, track.point.decimals, tuple(groups), tuple(words))


def _error(means: Values) -> float | None:
    """Standard error of a mean of shift means; None for hardly any shifts."""
    if means.size < 5:
        return None
    return float(means.std(ddof=1)) / math.sqrt(means.size)


def _by_crew(plant: Plant, part: Cut) -> tuple[dict[str, Values], dict[str, Values]]:
    """Values, and means of shifts, by crew key in the order of the calendar."""
    order = [crew.key for crew in plant.calendar.crews]
    if not part.times.size:
        return {}, {}
    begin = datetime.fromtimestamp(int(part.times[0]), UTC)
    stop = datetime.fromtimestamp(int(part.times[-1]) + 1, UTC)
    shifts = shifts_between(plant.calendar, begin, stop)
    edges = np.array([shift.start.timestamp() for shift in shifts])
    place = np.searchsorted(edges, part.times, side="right") - 1
    values: dict[str, list[Values]] = {key: [] for key in order}
    for number in np.unique(place).tolist():
        crew = shifts[number].crew
        if crew is not None:
            values.setdefault(crew, []).append(part.values[place == number])
    held = {key: rows for key, rows in values.items() if rows}
    means = {key: np.array([float(row.mean()) for row in rows]) for key, rows in held.items()}
    return {key: np.concatenate(rows) for key, rows in held.items()}, means


def _order_words(track: Track, groups: Sequence[GroupMean], what: str) -> tuple[str, ...]:
    if len(groups) < 2:
        return (f"Fewer than two with readings: a {what} alone is compared with nothing.",)
    show, unit = _shower(track), track.point.unit
    low, high = min(groups, key=lambda g: g.mean), max(groups, key=lambda g: g.mean)
    words = [
        (
            f"Lowest mean: {low.name}, {show(low.mean, 1)} {unit}; highest: {high.name}, "
            f"{show(high.mean, 1)} {unit}."
        )
    ]
    apart = difference(low, high)
    if apart is not None:
        by, least, most = apart
        sure = "it may well be none" if least <= 0.0 else "more than chance explains between two"
        words.append(
            f"These two are {show(by, 1)} {unit} apart (about 95 %: {show(least, 1)} to "
            f"{show(most, 1)}): {sure}; of many compared, the two farthest apart are always far."
        )
    return tuple(words)


def _shower(track: Track) -> Callable[..., str]:
    """How values of a point are written; a second argument gives more decimals."""

    def show(value: float, more: int = 0) -> str:
        return f"{value:.{track.point.decimals + more}f}"

    return show
