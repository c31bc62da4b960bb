"""Forecast of the compliance ratio to the end of a running month, with its interval.

Model: past stretches of operation (months, weeks or days) lost m gallons per ton of seed at one
level, each with a deviation whose variance falls with the tons, as a sum of many small ones does. m
is all loss over all tons, the past and this month's days so far; the scatter of the stretches about
it gives the deviation. What is still to be processed will deviate in the same way, so the loss to come
has the variance g s^2 T (1 + T / T0), with s^2 the variance of a ton, T the tons to come and T0 the
tons looked back on: prediction from a normal sample, Student's t with one degree of freedom less than
there are stretches. g = (1 + r) / (1 - r) is what a sum gains where stretches resemble the one before
(r, their correlation, estimated and held between 0 and 0.8): a plant has good and bad weeks in a
row. The stock at the moment of the forecast drops out of the month's loss: its error is on top.

A change of level (a leak, a repair) is not in the model; `backtest` shows what that costs. Give as
past the stretches since the last such change.

Stretches whose losses come from dips should be long (weeks, months): the error of the dips is
taken for scatter of the process, and over days it would make the interval far too wide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from logbook.process.quantity import Quantity
from logbook.process.solvent import BASELINE_HAP, CAUTION, LIMIT

MOST_ALIKE = 0.8
"""Correlation of neighbouring stretches that is reckoned with at most."""
FEWEST = 4
"""Stretches of the past below which no forecast is made."""
MODEL = (
    "level of the past stretches and this month so far; deviations with a variance per ton, "
    "widened where stretches resemble the one before; Student's t"
)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of operation: solvent lost, US gallons, and seed processed, short tons."""

    loss_gal: float
    tons: float

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        if not (math.isfinite(self.loss_gal) and math.isfinite(self.tons) and self.tons >= 0.0):
            raise ValueError(
                f"A stretch with {self.tons:g} tons and {self.loss_gal:g} gallons lost cannot be."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The other 11 operating months of the window, and the constants of the rule."""

    loss_gal: float
    """Solvent lost in them, US gallons."""
    base_gal: float
    """Sum of oilseed x solvent loss factor in them, US gallons."""
    factor: float
    """Solvent loss factor of the seed of this month, gal per short ton."""
    hap_fraction: float
    """Weighted HAP volume fraction, 0 to 1, taken to stay."""

    def ratio(self, loss_gal: float, tons: float) -> float:
        """Return the compliance ratio with a last month of such loss and tons."""
        base = self.base_gal + self.factor * tons
        return self.hap_fraction * (self.loss_gal + loss_gal) / (BASELINE_HAP * base)


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """The ratio expected at the end of the month."""

    ratio: Quantity
    interval: tuple[float, float] | None
    coverage: float
    """Share of such intervals that hold the ratio, if the model holds."""
    chance_over: float | None
    """Chance of a ratio above 1.00, if the model holds, 0 to 1."""
    to_come: Quantity
    """Solvent expected to be lost in the rest of the month, US gallons."""
    stretches: int
    model: str = MODEL


def forecast_ratio(
    window: Window,
    past: Sequence[Stretch],
    *,
    so_far: Stretch,
    tons_to_come: float,
    tons_sigma: float = 0.0,
    stock_sigma_gal: float = 0.0,
    coverage: float = 0.95,
) -> Forecast:
    """Forecast the compliance ratio to the end of the month.

    `past`: stretches before this month, oldest first, of any length, also unequal; `so_far`: this
    month; `tons_to_come` with `tons_sigma`: short tons planned for the rest; `stock_sigma_gal`:
    standard uncertainty of one solvent inventory (it enters now and at the end). With fewer than 4
    stretches there is no forecast, and the result says so. ValueError for amounts below zero.
    """
    for amount, name in ((tons_to_come, "seed to come"), (tons_sigma, "its uncertainty")):
        if not (math.isfinite(amount) and amount >= 0.0):
            raise ValueError(f"The {name} is {amount:g} tons; it must be a number from 0 up.")
    if not 0.0 < coverage < 1.0:
        raise ValueError(f"A coverage of {coverage:g}: give a share between 0 and 1.")
    used = [one for one in past if one.tons > 0.0]
    if len(used) < FEWEST or window.base_gal + window.factor * so_far.tons <= 0.0:
        return _none(len(used), coverage)
    level, variance, reach = _level(used, so_far)
    loss = level * tons_to_come
    own = variance * tons_to_come * (1.0 + tons_to_come / reach)
    spread = math.sqrt(own + 2.0 * stock_sigma_gal**2)
    ratio = window.ratio(so_far.loss_gal + loss, so_far.tons + tons_to_come)
    sigma = _ratio_sigma(window, so_far, tons_to_come, (level, spread, tons_sigma))
    return _told(ratio, sigma, (loss, spread), len(used), coverage)


def _level(used: Sequence[Stretch], so_far: Stretch) -> tuple[float, float, float]:
    """Return the level in gal/ton, the variance of a ton and the tons looked back on."""
    tons = math.fsum(one.tons for one in used)
    level = math.fsum(one.loss_gal for one in used) / tons
    squares = math.fsum((one.loss_gal - level * one.tons) ** 2 / one.tons for one in used)
    alike = _likeness(used, level)
    variance = squares / (len(used) - 1) * (1.0 + alike) / (1.0 - alike)
    reach = tons + so_far.tons
    all_lost = math.fsum(one.loss_gal for one in used) + so_far.loss_gal
    return all_lost / reach, variance, reach


def _likeness(used: Sequence[Stretch], level: float) -> float:
    """Return the correlation of neighbouring stretches, held between 0 and 0.8.

    First autocorrelation of the deviations per root of tons, plus 1/n: an estimate from n
    stretches about their own level falls short by about that much.
    """
    off = [(one.loss_gal - level * one.tons) / math.sqrt(one.tons) for one in used]
    squares = math.fsum(one**2 for one in off)
    if squares == 0.0:
        return 0.0
    found = math.fsum(one * other for one, other in pairwise(off)) / squares
    return min(max(found + 1.0 / len(off), 0.0), MOST_ALIKE)


def _ratio_sigma(
    window: Window, so_far: Stretch, to_come: float, model: tuple[float, float, float]
) -> float:
    """Return the standard uncertainty of the ratio, to first order in loss and tons to come."""
    level, spread, tons_sigma = model

    def at(loss: float, tons: float) -> float:
        return window.ratio(so_far.loss_gal + loss, so_far.tons + tons)

    loss = level * to_come
    by_loss = (at(loss + spread, to_come) - at(loss - spread, to_come)) / 2.0
    low = max(to_come - tons_sigma, 0.0)
    high = to_come + tons_sigma
    # More seed brings its own loss at the level: both sides of the ratio move.
    by_tons = (at(level * high, high) - at(level * low, low)) / 2.0
    return math.hypot(by_loss, by_tons)


def _none(stretches: int, coverage: float) -> Forecast:
    """Return the forecast that is none, with what is missing."""
    what = f"{max(FEWEST - stretches, 0)} more stretches of operation (there are {stretches})"
    if stretches >= FEWEST:
        what = "seed processed in the window"
    gone = Quantity("ratio at the end of the month", None, "", missing=(what,), note=CAUTION)
    to_come = Quantity("loss to come", None, "US gal", missing=(what,))
    return Forecast(
        ratio=gone,
        interval=None,
        coverage=coverage,
        chance_over=None,
        to_come=to_come,
        stretches=stretches,
    )


def _told(
    ratio: float, sigma: float, loss: tuple[float, float], stretches: int, coverage: float
) -> Forecast:
    """Put the forecast together, with Student's t for the interval and the chance."""
    from scipy.stats import t as student

    free = stretches - 1
    reach = float(student.ppf(0.5 + coverage / 2.0, free)) * sigma
    over = float(student.sf((LIMIT - ratio) / sigma, free)) if sigma > 0 else float(ratio > LIMIT)
    note = f"An estimate, if things go on as in {stretches} stretches before. {CAUTION}"
    return Forecast(
        ratio=Quantity("ratio at the end of the month", ratio, "", sigma, source=MODEL, note=note),
        interval=(ratio - reach, ratio + reach),
        coverage=coverage,
        chance_over=over,
        to_come=Quantity("loss to come", loss[0], "US gal", loss[1], source=MODEL),
        stretches=stretches,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Backtest:
    """How the forecast would have done on months that are over."""

    months: int
    """Months forecast."""
    inside: int
    """Months whose ratio lay in the interval."""
    coverage: float
    """Share that should lie in it, if the model holds."""
    error: float | None
    """Mean of forecast less true ratio; None: no month to forecast."""
    spread: float | None
    """Root mean square of the same."""
    width: float | None
    """Mean width of the interval."""


def backtest(
    months: Sequence[Sequence[Stretch]],
    window: Window,
    *,
    seen: float = 0.5,
    coverage: float = 0.95,
    stock_sigma_gal: float = 0.0,
) -> Backtest:
    """Forecast each month that is over from its first part, and compare with what came.

    `months`: their stretches in order, oldest month first; of each month the share `seen` of its
    stretches is known, its tons to come as they came. All stretches of the months before are
    looked back on; months with too few of them are not forecast. `window` is held, so that the
    months are judged alike.
    """
    if not 0.0 <= seen < 1.0:
        raise ValueError(f"The share seen is {seen:g}; give one from 0 to below 1.")
    found: list[tuple[float, float, float]] = []
    for number, month in enumerate(months):
        past = [one for before in months[:number] for one in before]
        known = math.floor(seen * len(month))
        told = forecast_ratio(
            window,
            past,
            so_far=_joined(month[:known]),
            tons_to_come=_joined(month[known:]).tons,
            stock_sigma_gal=stock_sigma_gal,
            coverage=coverage,
        )
        if told.interval is not None and told.ratio.value is not None:
            whole = _joined(month)
            true = window.ratio(whole.loss_gal, whole.tons)
            half = (told.interval[1] - told.interval[0]) / 2.0
            found.append((told.ratio.value - true, half, abs(told.ratio.value - true) - half))
    return _summary(found, coverage)


def _joined(parts: Sequence[Stretch]) -> Stretch:
    """Return several stretches as one."""
    return Stretch(math.fsum(one.loss_gal for one in parts), math.fsum(one.tons for one in parts))


def _summary(found: Sequence[tuple[float, float, float]], coverage: float) -> Backtest:
    """Return the summary of (error, half width, error beyond the half width)."""
    count = len(found)
    if not count:
        return Backtest(months=0, inside=0, coverage=coverage, error=None, spread=None, width=None)
    return Backtest(
        months=count,
        inside=sum(beyond <= 1e-12 for _, _, beyond in found),
        coverage=coverage,
        error=math.fsum(error for error, _, _ in found) / count,
        spread=math.sqrt(math.fsum(error**2 for error, _, _ in found) / count),
        width=math.fsum(2.0 * half for _, half, _ in found) / count,
    )
