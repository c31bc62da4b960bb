"""Robust slopes beside an independent implementation.

Source: scipy.stats.theilslopes and scipy.stats.kendalltau (Sen, Journal of the American Statistical
Association 63, 1968; Kendall, Rank Correlation Methods), as other programs give them.
"""

import numpy as np
import pytest
from scipy import stats

from logbook.assess.slopes import kendall_z, theil_sen, two_sided

WIDTH_90, WIDTH_95 = 1.6448536269514722, 1.959963984540054


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("confidence", "width"), [(0.90, WIDTH_90), (0.95, WIDTH_95)])
@pytest.mark.parametrize("decimals", [9, 1, 0])
def test_slope_and_interval_are_those_of_scipy(seed, confidence, width, decimals):
    """Slope and both ends of its interval agree, with equal values too."""
    rng = np.random.default_rng(seed)
    times = np.sort(rng.uniform(0.0, 30.0, 25))
    rows = np.round(rng.normal(size=(4, 25)) * 3.0 + 0.2 * times, decimals)
    ours = theil_sen(times, rows, width=width)
    for k in range(4):
        theirs = stats.theilslopes(rows[k], times, alpha=confidence)
        assert ours.slope[k] == pytest.approx(theirs.slope, rel=1e-12, abs=1e-12)
        assert ours.low[k] == pytest.approx(theirs.low_slope, rel=1e-12, abs=1e-12)
        assert ours.high[k] == pytest.approx(theirs.high_slope, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_the_significance_is_that_of_kendall(seed):
    """The p-value is that of Kendall's tau (normal distribution) but for the step of one."""
    rng = np.random.default_rng(seed)
    values = rng.normal(size=28) + 0.03 * np.arange(28)
    tau = stats.kendalltau(np.arange(28), values, method="asymptotic")
    s = tau.statistic * 28 * 27 / 2
    z = kendall_z(values[None, :])[0]
    deviation = np.sqrt(28 * 27 * 61 / 18)
    assert z == pytest.approx(np.sign(s) * max(abs(s) - 1, 0) / deviation, abs=1e-9)
    assert two_sided(s / deviation) == pytest.approx(tau.pvalue, rel=1e-9)
