"""How long a chart runs until it signals, on average: to choose k and h, weight and width.

For independent normal readings with known centre and sigma. The integral equation of the average
run length is solved at the nodes of a Gauss-Legendre rule, as by L. C. Vance, "Average run lengths
of cumulative sum control charts for controlling normal means", Journal of Quality Technology 18
(1986) 189-193, and S. V. Crowder, "A simple method for studying run-length distributions of
exponentially weighted moving average charts", Technometrics 29 (1987) 401-407.
"""

from __future__ import annotations

import math

import numpy as np

from logbook.assess.chart_rows import FloatArray

_ENDLESS = 1e10
"""Longer run lengths cannot be told from endless ones."""


def cusum_run_length(k: float, h: float, shift: float = 0.0, *, two_sided: bool = True) -> float:
    """Average readings until a CUSUM signals, started at zero, all in sigma.

    `shift` is how far the level is from the target. Of the two sides, 1/ARL = 1/ARL+ + 1/ARL-.

    >>> round(cusum_run_length(0.5, 5.0)), round(cusum_run_length(0.5, 5.0, 1.0), 2)
    (465, 10.38)
    """
    if k < 0.0 or h <= 0.0:
        raise ValueError(f"k must be 0 or more and h above 0: {k}, {h}.")
    high = _one_sided(k - shift, h)
    return 1.0 / (1.0 / high + 1.0 / _one_sided(k + shift, h)) if two_sided else high


def _one_sided(drift: float, h: float) -> float:
    """L(u) = 1 + L(0) Phi(drift - u) + int_0^h L(x) phi(x + drift - u) dx, at u = 0."""
    nodes, weights = np.polynomial.legendre.leggauss(max(40, math.ceil(10 * h)))
    x = np.concatenate([[0.0], 0.5 * h * (nodes + 1.0)])
    kernel = np.empty((x.size, x.size))
    kernel[:, 0] = [0.5 * math.erfc((u - drift) / math.sqrt(2.0)) for u in x]
    kernel[:, 1:] = 0.5 * h * weights * _density(x[None, 1:] + drift - x[:, None])
    length = float(np.linalg.solve(np.eye(x.size) - kernel, np.ones(x.size))[0])
    # Far away from signalling the system is singular as far as numbers go.
    return length if 1.0 <= length < _ENDLESS else math.inf


def ewma_run_length(weight: float, width: float, shift: float = 0.0) -> float:
    """Average readings until an EWMA with asymptotic limits signals, started at the centre.

    `width` in sigma of the average, `shift` in sigma of a reading. With exact limits it is a little
    shorter: the chart is then quicker at its start.

    >>> round(ewma_run_length(0.1, 2.814)), round(ewma_run_length(0.1, 2.814, 1.0), 1)
    (500, 10.3)
    """
    if not 0.0 < weight <= 1.0 or width <= 0.0:
        raise ValueError(f"The weight must be in (0, 1] and the width above 0: {weight}, {width}.")
    edge = width * math.sqrt(weight / (2.0 - weight))
    nodes, weights = np.polynomial.legendre.leggauss(max(40, math.ceil(16 * edge / weight)) | 1)
    # An odd number of nodes: the one in the middle is the start.
    x = edge * nodes
    ahead = (x[None, :] - (1.0 - weight) * x[:, None]) / weight - shift
    kernel = edge * weights / weight * _density(ahead)
    lengths = np.linalg.solve(np.eye(x.size) - kernel, np.ones(x.size))
    return float(lengths[x.size // 2])


def _density(x: FloatArray) -> FloatArray:
    return np.asarray(np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi))
