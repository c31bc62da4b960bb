"""Small tools for series on the simulator's grid: noise, lags, ramps and random streams.

All series are sampled every `STEP_HOURS`; axis 0 is time.
"""

from __future__ import annotations

import zlib
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]

STEP_HOURS = 0.5
STEP_SECONDS = 1800


def stream(seed: int, name: str) -> np.random.Generator:
    """A random stream of its own for each name, so that one part does not disturb another."""
    return np.random.default_rng([seed, zlib.crc32(name.encode())])


def _recursion(drive: Array, phi: Array) -> Array:
    """Return y with y[t] = phi*y[t-1] + drive[t], along axis 0.

    Uses 1/(1 - phi z) = (1 + phi z)(1 + phi^2 z^2)(1 + phi^4 z^4)..., so that the whole
    series takes about fifteen vector operations instead of a loop over time.
    """
    result = drive.copy()
    shift, factor = 1, np.asarray(phi, dtype=float).copy()
    while shift < len(result) and np.max(np.abs(factor)) > 1e-17:
        result[shift:] += factor * result[:-shift]
        shift, factor = shift * 2, factor * factor
    return result


def ar1(
    rng: np.random.Generator, steps: int, *, hours: Array | float, sigma: Array | float = 1.0
) -> Array:
    """Stationary first-order autoregressive noise.

    `hours` is the correlation time (the lag at which correlation is 1/e) and `sigma` the
    standard deviation; where they are arrays of n, the result has shape (steps, n).
    """
    phi = np.exp(-STEP_HOURS / np.asarray(hours, dtype=float))
    scale = np.broadcast_to(np.asarray(sigma, dtype=float), np.broadcast(phi, sigma).shape)
    drive = rng.standard_normal((steps, *scale.shape)) * scale
    drive[1:] *= np.sqrt(1.0 - phi * phi)
    return _recursion(drive, phi)


def lag(series: Array, hours: float) -> Array:
    """First-order lag of `hours`, starting settled at the first value."""
    phi = float(np.exp(-STEP_HOURS / hours))
    drive = series * (1.0 - phi)
    drive[0] = series[0]
    return _recursion(drive, np.asarray(phi))


def delayed(series: Array, hours: float) -> Array:
    """The series `hours` later (whole steps); the first value is held before that."""
    steps = round(hours / STEP_HOURS)
    if steps <= 0:
        return series.copy()
    return np.concatenate([np.repeat(series[:1], steps, axis=0), series[:-steps]])


def held(values: Array, starts: NDArray[np.int64], steps: int) -> Array:
    """A step function: `values[i]` from step `starts[i]` (rising, first 0) until the next start."""
    index = np.searchsorted(starts, np.arange(steps), side="right") - 1
    return np.asarray(values[np.clip(index, 0, None)], dtype=float)


def ramp(time: Array, start: float, end: float, size: float) -> Array:
    """Rises linearly from 0 at `start` to `size` at `end` and is 0 outside (dropped at the end)."""
    inside = (time >= start) & (time < end)
    return np.where(inside, size * (time - start) / (end - start), 0.0)


def between(time: Array, start: float, end: float) -> Array:
    """1.0 in the half-open interval, 0.0 outside."""
    return np.where((time >= start) & (time < end), 1.0, 0.0)
