"""The correlation of neighbouring readings, beside that of reference libraries.

Reference: `pandas.Series.autocorr` (pandas documentation, Series.autocorr: Pearson correlation between
the series and itself shifted by one) and `scipy.stats.pearsonr` (SciPy reference, scipy.stats).
"""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import pearsonr

from logbook.assess.charts import lag_one


def course(correlation: float, seed: int, count: int = 4000) -> np.ndarray:
    """Readings that follow one another as AR(1)."""
    chance = np.random.default_rng(seed)
    found = np.empty(count)
    found[0] = chance.normal()
    for k in range(1, count):
        found[k] = correlation * found[k - 1] + np.sqrt(1 - correlation**2) * chance.normal()
    return found


@pytest.mark.parametrize("correlation", [-0.4, 0.0, 0.3, 0.6, 0.9])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_on_normal_readings_it_agrees_with_pandas_and_scipy(correlation, seed):
    """The robust estimate differs from the ordinary one by far less than both from the truth."""
    values = course(correlation, seed)
    ours = lag_one(values).value
    assert ours == pytest.approx(pd.Series(values).autocorr(1), abs=0.02)
    assert ours == pytest.approx(pearsonr(values[:-1], values[1:]).statistic, abs=0.02)


@pytest.mark.parametrize("correlation", [0.3, 0.6, 0.9])
def test_a_few_wild_readings_do_not_hide_it_as_they_do_from_the_ordinary_one(correlation):
    """One reading in a hundred is typed with its decimal mark slipped."""
    values = course(correlation, 5) + 10.0
    values[::100] *= 10.0
    assert abs(lag_one(values).value - correlation) < 0.08
    assert abs(pd.Series(values).autocorr(1) - correlation) > 0.2
