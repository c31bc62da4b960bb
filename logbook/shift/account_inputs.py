"""The figures that one period's accounts are made of, each with what it was read from or lacks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from types import MappingProxyType

import numpy as np

from logbook.plant.accounts import FIGURES
from logbook.plant.model import Plant
from logbook.process.counter_track import Track, track
from logbook.process.quantity import Quantity, absent
from logbook.process.roles import ROLES, Gather
from logbook.record import Reader
from logbook.shift.account_cut import FloatLine, nearest
from logbook.shift.account_gather import (
    FEWEST_COUNTED,
    FEWEST_READ,
    LOOK_BACK,
    LOOK_ON,
    TOLD_AFTER_S,
    Gathered,
    Gathering,
    gather,
)
from logbook.shift.account_points import filled_roles, role_words, scale_of
from logbook.shift.account_stock import density_at
from logbook.shift.downtime import Downtime, downtime_of
from logbook.shift.trend_load import load_lines

CERTIFICATE_WITHIN_S = 24 * 3600.0
"""So near to a delivery must the analysis be that belongs to it."""

HOW: Mapping[Gather, str] = MappingProxyType(
    {
        Gather.COUNTED: "difference of the counter over the period",
        Gather.SUMMED: "amounts noted once a shift, added",
        Gather.FLOW: "mean rate, each reading weighed by its time, times the hours run",
        Gather.MEAN: "mean while it ran, each reading weighed by its time",
        Gather.ANALYSIS: "mean of the samples taken in the period",
        Gather.STOCK: "content at the end less content at the begin",
        Gather.HOURS: "length of the period less the stops of the line",
    }
)
NOT_READ_NEAR = "not read at the bound: taken between the readings before and after it"


@dataclass(frozen=True, slots=True)
class Stock:
    """What stood in tanks or bins at both ends of a period."""

    begin: Quantity
    end: Quantity
    change: Quantity


@dataclass(frozen=True, slots=True)
class DeliveryFound:
    """Solvent received, as noted at the end of the shift in which it came."""

    at: datetime
    """When it was noted."""
    volume: Quantity
    """m³."""
    mass: Quantity
    """t, by the density at the temperature of the store."""
    hexane: Quantity
    """n-Hexane in it, % by volume; absent where no certificate was entered."""


@dataclass(frozen=True, slots=True)
class AccountInputs:
    """All that the accounts of one period are made of."""

    plant: Plant
    start: datetime
    end: datetime
    roles: Mapping[str, Quantity]
    """Figure of the period by role, in the role's unit."""
    stocks: Mapping[str, Stock] = field(default_factory=lambda: MappingProxyType({}))
    """By role, t."""
    deliveries: tuple[DeliveryFound, ...] = ()
    downtimes: tuple[Downtime, ...] = ()
    track: Track | None = None
    """The bean counter's readings around the period, in t."""

    def __getitem__(self, role: str) -> Quantity:
        """The figure of a role, absent where it was not gathered. Raises KeyError for no role."""
        return self.roles.get(role) or absent(role_words(ROLES[role]), ROLES[role].unit)

    @property
    def hours(self) -> float:
        """Length of the period, h."""
        return (self.end - self.start).total_seconds() / 3600.0

    @property
    def days(self) -> float:
        """Length of the period, days."""
        return self.hours / 24.0

    def figure(self, name: str) -> Quantity:
        """A price, a guarantee or the like that the plant states; exact, or absent."""
        figure = FIGURES[name]
        value = self.plant.accounts.figures.get(name)
        if value is None:
            return absent(
                figure.meaning, figure.unit, f"{figure.meaning} ([accounts.figures] {name})"
            )
        return Quantity(figure.meaning, value, figure.unit, 0.0, source="stated by the plant")

    @property
    def missing(self) -> tuple[str, ...]:
        """Names of all figures that could not be told."""
        return tuple(dict.fromkeys(name for one in self.roles.values() for name in one.missing))


def inputs_of(
    book: Reader, plant: Plant, start: datetime, end: datetime, *, now: datetime | None = None
) -> AccountInputs:
    """Gather the figures of [start, end), aware instants. Raises BookError.

    A figure has no value where counters and amounts tell of less than 90 % of the period, or where
    readings stand for less than half of the time in which the plant ran; its note says so.
    Readings after `now` are not looked at.
    """
    found = gather(book, plant, [start.timestamp(), end.timestamp()], now=now)
    return AccountInputs(
        plant,
        start,
        end,
        MappingProxyType({name: figure_of(one, 0) for name, one in found.roles.items()}),
        stocks_of(found, 0),
        deliveries_of(book, plant, start, end),
        downtime_of(book, plant, start, end),
        bean_track(book, plant, start, end, now),
    )


def told_until(book: Reader, plant: Plant, now: datetime) -> datetime:
    """Up to when the counters tell: the earliest of the last readings of beans, oil and meal.

    `now` where none of them was ever read. Raises BookError.
    """
    filled = filled_roles(plant, ("beans", "oil", "meal"))
    keys = [point.key for one in filled.values() for point in one.points]
    last = book.last_before(keys, now)
    return min((reading.taken_at for reading in last.values()), default=now)


def bean_track(
    book: Reader, plant: Plant, start: datetime, end: datetime, now: datetime | None
) -> Track | None:
    """What the bean counter counted around a period; None where there is not exactly one."""
    filled = filled_roles(plant, ("beans",))["beans"]
    if len(filled.points) != 1:
        return None
    point = filled.points[0]
    scale = scale_of(filled.role, point, plant.settings.barometer_kpa)
    if scale is None:
        return None
    last = end + LOOK_ON if now is None else min(end + LOOK_ON, max(now, end))
    times, values = load_lines(book, plant, [point], start - LOOK_BACK, last)[point.key]
    rollover = None if point.rollover is None else point.rollover * scale.slope
    return track(times, values * scale.slope, rollover=rollover)


def inputs_at(found: Gathering, place: int) -> AccountInputs:
    """The figures of one of many periods that were gathered together; without events."""
    start, end = (datetime.fromtimestamp(float(at), UTC) for at in found.edges[place : place + 2])
    roles = {name: figure_of(one, place) for name, one in found.roles.items()}
    return AccountInputs(found.plant, start, end, MappingProxyType(roles), stocks_of(found, place))


def figure_of(one: Gathered, place: int) -> Quantity:
    """A role's figure of one period."""
    role = one.filled.role
    value = float(one.value[place])
    if not math.isfinite(value):
        return Quantity(
            one.filled.words,
            None,
            role.unit,
            inputs=one.filled.keys,
            source=HOW[role.gather],
            missing=one.gone or (one.filled.words,),
            note=_why_not(one, place),
        )
    sigma = float(one.sigma[place])
    return Quantity(
        one.filled.words,
        value,
        role.unit,
        sigma if math.isfinite(sigma) else None,
        inputs=one.filled.keys,
        source=HOW[role.gather],
        note=_note(one, place),
    )


def _why_not(one: Gathered, place: int) -> str:
    role, share = one.filled.role, float(one.share[place])
    if not one.filled.points:
        return "no point of the plant plays this role"
    if one.gone:
        return f"not known: {', '.join(one.gone)}"
    if role.gather in {Gather.COUNTED, Gather.SUMMED}:
        return f"told for {share:.0%} of the period; at least {FEWEST_COUNTED:.0%} are needed"
    if role.gather in {Gather.MEAN, Gather.FLOW}:
        return f"read for {share:.0%} of the running time; at least {FEWEST_READ:.0%} are needed"
    if role.gather is Gather.STOCK:
        return "a tank or bin was not read near the begin or the end of the period"
    return "no sample was taken in the period"


def _note(one: Gathered, place: int) -> str:
    told = [_share_note(one, place)]
    slips = 0 if one.slips is None else int(one.slips[place])
    if slips:
        told.append(f"{slips} left out: the decimal point is off")
    return "; ".join(part for part in told if part)


def _share_note(one: Gathered, place: int) -> str:
    role, share = one.filled.role, float(one.share[place])
    if one.carried is not None and one.carried[place]:
        if role.gather is Gather.STOCK:
            return NOT_READ_NEAR
        return "no sample in the period: the last result before it"
    if role.gather is Gather.COUNTED and share < 0.999:
        return f"counted in {share:.1%} of the time, the rest taken at the same rate"
    if role.gather in {Gather.SUMMED, Gather.MEAN, Gather.FLOW} and share < 0.985:
        return f"told for {share:.0%} of the time"
    return ""


def stocks_of(found: Gathering, place: int) -> Mapping[str, Stock]:
    """Contents at both ends of one period, by role."""
    stocks = {}
    for name, one in found.roles.items():
        role = one.filled.role
        if role.gather is not Gather.STOCK:
            continue
        words = [f"{role.meaning}, {word}" for word in ("begin", "end")]
        if one.begin is None or one.end is None:
            ends = [absent(word, "t", *one.gone, note=_why_not(one, place)) for word in words]
        else:
            sigmas = one.end_sigmas or (one.sigma, one.sigma)
            ends = [
                _content(one, word, float(at[place]), float(sigma[place]), place)
                for word, at, sigma in zip(words, (one.begin, one.end), sigmas, strict=True)
            ]
        stocks[name] = Stock(ends[0], ends[1], figure_of(one, place))
    return MappingProxyType(stocks)


def _content(one: Gathered, name: str, tonnes: float, sigma: float, place: int) -> Quantity:
    if not math.isfinite(tonnes):
        return absent(name, "t", note=_why_not(one, place))
    is_read = sigma <= 1.001 * one.filled.role.reading
    return Quantity(
        name, tonnes, "t", sigma, inputs=one.filled.keys, note="" if is_read else NOT_READ_NEAR
    )


def deliveries_of(
    book: Reader, plant: Plant, start: datetime, end: datetime
) -> tuple[DeliveryFound, ...]:
    """Solvent received in a period, each with its certificate's hexane where there is one."""
    filled = filled_roles(plant, ("solvent_received", "solvent_hexane", "store_temp"))
    points = [point for one in filled.values() for point in one.points]
    first = datetime.fromtimestamp(start.timestamp() - CERTIFICATE_WITHIN_S, UTC)
    last = datetime.fromtimestamp(end.timestamp() + CERTIFICATE_WITHIN_S, UTC)
    read = load_lines(book, plant, points, first, last)
    lines = {key: (times.astype(np.float64), values) for key, (times, values) in read.items()}
    received, hexane = filled["solvent_received"], filled["solvent_hexane"]
    found: list[DeliveryFound] = []
    for point in received.points:
        scale = scale_of(received.role, point, plant.settings.barometer_kpa)
        if scale is None:
            continue
        times, values = lines[point.key]
        told = times - TOLD_AFTER_S
        inside = (told >= start.timestamp()) & (told < end.timestamp()) & (values > 0.0)
        for at, amount in zip(times[inside], values[inside] * scale.slope, strict=True):
            certificate = _certificate(
                lines.get(hexane.keys[0]) if hexane.keys else None, float(at)
            )
            found.append(
                _delivery(float(at), float(amount), received.accuracy, certificate, plant, lines)
            )
    return tuple(sorted(found, key=_noted))


def _noted(one: DeliveryFound) -> datetime:
    return one.at


def _certificate(line: FloatLine | None, at: float) -> Quantity:
    role = ROLES["solvent_hexane"]
    if line is not None:
        value = nearest(*line, np.array([at]), within_s=CERTIFICATE_WITHIN_S)[0]
        if math.isfinite(value):
            return Quantity(role.meaning, float(value), role.unit, role.reading)
    return absent(role.meaning, role.unit, note="no certificate was entered")


def _delivery(
    at: float,
    amount: float,
    accuracy: float,
    hexane: Quantity,
    plant: Plant,
    lines: Mapping[str, FloatLine],
) -> DeliveryFound:
    density = float(density_at("solvent_stock", plant, lines, np.array([at]))[0])
    volume = Quantity("Solvent delivered", amount, "m³", accuracy * amount)
    mass = Quantity("Solvent delivered", amount * density, "t", accuracy * amount * density)
    return DeliveryFound(datetime.fromtimestamp(at, UTC), volume, mass, hexane)


def known(figures: Iterable[Quantity]) -> tuple[Quantity, ...]:
    """Those that have a value."""
    return tuple(one for one in figures if one.is_known)
