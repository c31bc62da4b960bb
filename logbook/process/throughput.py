"""What went through in a period, against plan and nominal rate, and what the stops have cost.

There are two notions of tonnes lost to a stop, and they are kept apart by name:
- *nominal rate × time down*: what would have gone through at the nominal rate; always there where
  a nominal rate is, and an estimate, since a plant does not stop and start at once;
- *tonnes the counter missed*: the shortfall of the counter against the nominal rate between two
  readings, put down to the stops in that time, at most the nominal rate × their length. A stop of
  an area that does not stop the beans costs nothing by it. What the counter missed besides is put
  down to running slower.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from logbook.process.counter import CounterTotal, CounterTotals, total_of
from logbook.process.counter_track import SECONDS_PER_HOUR, FloatArray, Track
from logbook.process.quantity import Quantity, absent, derive

Measure = Literal["nominal", "missed", "hours"]
"""What a Pareto is sorted by: nominal rate × time down, tonnes the counter missed, hours down."""

NOMINAL = "nominal rate"


@dataclass(frozen=True, slots=True)
class Stop:
    """Time in which the beans stood, epoch seconds."""

    start_s: float
    end_s: float
    reason: str


@dataclass(frozen=True, slots=True)
class LostByReason:
    """What the stops of one reason cost in the period; each instant counts once."""

    reason: str
    stops: int
    hours: float
    told_hours: float
    """Hours of these in which the counter tells."""
    nominal_tonnes: float | None
    """Nominal rate × time down, t; None without a nominal rate."""
    missed_tonnes: float | None
    """Tonnes the counter missed, t; None without a nominal rate or where it never tells."""


@dataclass(frozen=True, slots=True)
class ParetoRow:
    """One reason in a list from the dearest on."""

    reason: str
    amount: float
    share_percent: float
    cumulative_percent: float


@dataclass(frozen=True, slots=True)
class Throughput:
    """What went through in a period."""

    counted: CounterTotal
    tonnes: Quantity
    """t; without a value where too little of the period is counted."""
    rate: Quantity
    """t/h over the counted time, standing time included."""
    running_rate: Quantity
    """t/h over the counted time less the stops in it."""
    against_plan: Quantity
    """t above the plan; negative: below."""
    against_plan_percent: Quantity
    availability: Quantity
    """% of the period in which the beans did not stand."""
    performance: Quantity
    """% of the nominal rate while running."""
    utilisation: Quantity
    """% of the nominal rate over the counted time, standing time included."""
    down_hours: float
    nominal_tonnes_down: Quantity
    """Nominal rate × time down, t."""
    missed_in_stops: Quantity
    """Tonnes the counter missed, put down to stops."""
    missed_running: Quantity
    """Tonnes the counter missed otherwise; negative where it ran faster than nominal."""
    losses: tuple[LostByReason, ...] = ()
    """By reason, the most hours first."""


def throughput(
    found: Track,
    start_s: float,
    end_s: float,
    *,
    name: str = "beans",
    nominal_tph: float | None = None,
    plan_t: float | None = None,
    stops: Iterable[Stop] = (),
    resolution: float = 0.0,
    meter_percent: float | None = None,
    time_sigma_s: float = 0.0,
) -> Throughput:
    """Return what a counter in tonnes says of the period from `start_s` to `end_s`.

    `nominal_tph` is the nominal rate (t/h), `plan_t` the plan for this period (t), `stops` those
    that stop the beans; where they overlap, the time is that of the one that began first. The
    last three are those of `counter.total`.
    """
    counted = total_of(
        found,
        start_s,
        end_s,
        resolution=resolution,
        meter_percent=meter_percent,
        time_sigma_s=time_sigma_s,
    )
    pieces = _pieces(stops, start_s, end_s)
    lost = _Lost.of(found, pieces, start_s, end_s, nominal_tph)
    losses = _by_reason(pieces, lost, nominal_tph)
    tonnes, known = counted.quantity(name, "t"), counted.quantity(name, "t", fewest_covered=0.0)
    plan = {"tonnes": tonnes, "plan": _given("plan", plan_t, "t")}
    nominal = _given(NOMINAL, nominal_tph, "t/h")
    hours = counted.covered_s / SECONDS_PER_HOUR
    rate = _rate("rate", known, hours)
    running = _rate("rate while running", known, hours - float(lost.told_h.sum()))
    down = sum(one.hours for one in losses)
    at_nominal = {"rate": nominal, "hours": Quantity("time down", down, "h", 0.0)}
    return Throughput(
        counted=counted,
        tonnes=tonnes,
        rate=rate,
        running_rate=running,
        against_plan=derive("against plan", "t", _less, plan),
        against_plan_percent=derive("against plan", "%", _less_percent, plan),
        availability=_availability(start_s, end_s, down),
        performance=derive("performance", "%", _percent, {"part": running, "whole": nominal}),
        utilisation=derive("utilisation", "%", _percent, {"part": rate, "whole": nominal}),
        down_hours=down,
        nominal_tonnes_down=derive(f"{NOMINAL} × time down", "t", _times, at_nominal),
        missed_in_stops=_missed("tonnes the counter missed in stops", lost, lost.in_stops),
        missed_running=_missed("tonnes the counter missed running", lost, lost.running),
        losses=losses,
    )


def pareto(losses: Iterable[LostByReason], by: Measure = "missed") -> tuple[ParetoRow, ...]:
    """Return reasons from the dearest on, with their share and the shares summed up, in %.

    Reasons whose amount is not known are left out; of equal amounts the name decides.

    >>> rows = pareto(
    ...     [
    ...         LostByReason("belt", 1, 1.0, 1.0, 60.0, 20.0),
    ...         LostByReason("mill", 2, 3.0, 3.0, 180.0, 60.0),
    ...     ]
    ... )
    >>> [(row.reason, row.amount, row.cumulative_percent) for row in rows]
    [('mill', 60.0, 75.0), ('belt', 20.0, 100.0)]
    """
    measure: dict[Measure, Callable[[LostByReason], float | None]] = {
        "nominal": _nominal_of,
        "missed": _missed_of,
        "hours": _hours_of,
    }
    amounts = [(measure[by](one), one.reason) for one in losses]
    known = sorted((-amount, reason) for amount, reason in amounts if amount is not None)
    whole = -sum(amount for amount, _ in known)
    rows, summed = [], 0.0
    for less, reason in known:
        summed -= less
        share = 100.0 * -less / whole if whole else 0.0
        rows.append(ParetoRow(reason, -less, share, 100.0 * summed / whole if whole else 0.0))
    return tuple(rows)


def against_plan(found: CounterTotals, plan_t: float | FloatArray) -> FloatArray:
    """Return t above the plan of each period, shape (n,); NaN where it is not counted whole.

    `plan_t` is the plan for a period, one for all or one for each.
    """
    return np.where(found.is_complete, found.total - plan_t, np.nan)


@dataclass(frozen=True, slots=True)
class _Lost:
    """What the counter missed: by piece of a stop, and besides."""

    told_h: FloatArray
    """Hours of each piece in which the counter tells."""
    tonnes: FloatArray
    """Tonnes of each piece; NaN without a nominal rate."""
    running: float
    has_nominal: bool
    is_told: bool

    @property
    def in_stops(self) -> float:
        return float(self.tonnes.sum())

    @classmethod
    def of(
        cls,
        found: Track,
        pieces: Sequence[Stop],
        start_s: float,
        end_s: float,
        nominal_tph: float | None,
    ) -> _Lost:
        """Put down what the counter missed, stretch by stretch."""
        begin = np.clip(found.edges_s[:-1], start_s, end_s)
        stop = np.clip(found.edges_s[1:], start_s, end_s)
        length = np.diff(found.edges_s)
        told = np.isfinite(found.increase) & (stop > begin) & (length > 0)
        begin, stop, length = begin[told], stop[told], length[told]
        hours = (stop - begin) / SECONDS_PER_HOUR
        tonnes = found.increase[told] * (stop - begin) / length
        first = np.array([one.start_s for one in pieces], dtype=np.float64)[:, None]
        last = np.array([one.end_s for one in pieces], dtype=np.float64)[:, None]
        overlap = np.minimum(last, stop) - np.maximum(first, begin)
        stood = np.maximum(overlap, 0.0) / SECONDS_PER_HOUR
        rate = np.nan if nominal_tph is None else nominal_tph
        missing = rate * hours - tonnes
        stood_all = stood.sum(axis=0)
        to_stops = np.clip(missing, 0.0, rate * stood_all)
        share = np.divide(stood, stood_all, out=np.zeros_like(stood), where=stood_all > 0)
        return cls(
            told_h=stood.sum(axis=1),
            tonnes=(share * to_stops).sum(axis=1),
            running=float((missing - to_stops).sum()),
            has_nominal=nominal_tph is not None,
            is_told=bool(told.any()),
        )


def _pieces(stops: Iterable[Stop], start_s: float, end_s: float) -> list[Stop]:
    """Stops cut to the period so that no two overlap; the one that began first keeps the time."""
    pieces: list[Stop] = []
    free_from = start_s
    for one in sorted(stops, key=_order):
        since, until = max(one.start_s, free_from), min(one.end_s, end_s)
        if since < until:
            pieces.append(Stop(since, until, one.reason))
            free_from = until
    return pieces


def _by_reason(
    pieces: Sequence[Stop], lost: _Lost, nominal_tph: float | None
) -> tuple[LostByReason, ...]:
    found = []
    for reason in dict.fromkeys(one.reason for one in pieces):
        mine = [k for k, one in enumerate(pieces) if one.reason == reason]
        seconds = sum(pieces[k].end_s - pieces[k].start_s for k in mine)
        hours, told = seconds / SECONDS_PER_HOUR, float(lost.told_h[mine].sum())
        is_told = lost.has_nominal and told > 0
        found.append(
            LostByReason(
                reason=reason,
                stops=len(mine),
                hours=hours,
                told_hours=told,
                nominal_tonnes=None if nominal_tph is None else nominal_tph * hours,
                missed_tonnes=float(lost.tonnes[mine].sum()) if is_told else None,
            )
        )
    return tuple(sorted(found, key=_longest_first))


def _missed(name: str, lost: _Lost, tonnes: float) -> Quantity:
    if not lost.has_nominal:
        return absent(name, "t", NOMINAL)
    if not lost.is_told:
        return absent(name, "t", "counter")
    return Quantity(name, tonnes, "t", source=f"{NOMINAL} × counted time − tonnes counted")


def _given(name: str, value: float | None, unit: str) -> Quantity:
    return Quantity(name, value, unit, None if value is None else 0.0)


def _rate(name: str, tonnes: Quantity, hours: float) -> Quantity:
    inputs = {"tonnes": tonnes, "hours": Quantity("counted time", hours, "h", 0.0)}
    return derive(name, "t/h", _per, inputs, note=tonnes.note)


def _availability(start_s: float, end_s: float, down_h: float) -> Quantity:
    hours = (end_s - start_s) / SECONDS_PER_HOUR
    value = 100.0 * (1.0 - down_h / hours) if hours > 0 else None
    return Quantity("availability", value, "%", None if value is None else 0.0)


def _per(tonnes: float, hours: float) -> float:
    return tonnes / hours


def _times(rate: float, hours: float) -> float:
    return rate * hours


def _less(tonnes: float, plan: float) -> float:
    return tonnes - plan


def _less_percent(tonnes: float, plan: float) -> float:
    return 100.0 * (tonnes - plan) / plan


def _percent(part: float, whole: float) -> float:
    return 100.0 * part / whole


def _order(stop: Stop) -> tuple[float, float]:
    return stop.start_s, -stop.end_s


def _longest_first(one: LostByReason) -> tuple[float, str]:
    return -one.hours, one.reason


def _nominal_of(one: LostByReason) -> float | None:
    return one.nominal_tonnes


def _missed_of(one: LostByReason) -> float | None:
    return one.missed_tonnes


def _hours_of(one: LostByReason) -> float | None:
    return one.hours
