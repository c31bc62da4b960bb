import numpy as np
import pytest

from logbook.assess.slopes import inflation_of, kendall_z, lag_one, row_medians, theil_sen


def ar_one(rng, rows: int, size: int, correlation: float) -> np.ndarray:
    """Stationary AR(1) series."""
    noise = rng.normal(size=(rows, size + 200))
    found = np.zeros_like(noise)
    for k in range(1, noise.shape[1]):
        found[:, k] = correlation * found[:, k - 1] + noise[:, k]
    return found[:, 200:]


def test_missing_values_count_for_nothing():
    """A row with gaps has the line of its values alone."""
    times = np.arange(12.0)
    whole = 3.0 + 0.5 * times + np.sin(times)
    gapped = whole.copy()
    gapped[[2, 7]] = np.nan
    held = np.isfinite(gapped)
    ours = theil_sen(times, gapped[None, :])
    alone = theil_sen(times[held], gapped[held][None, :])
    for name in ("slope", "low", "high", "z", "level", "count"):
        assert getattr(ours, name)[0] == pytest.approx(getattr(alone, name)[0])


def test_a_wild_value_hardly_turns_the_line():
    """One reading a hundred times off moves the slope by less than its interval is wide."""
    rng = np.random.default_rng(3)
    times = np.arange(30.0)
    clean = (0.2 * times + rng.normal(size=30))[None, :]
    wild = clean.copy()
    wild[0, 4] = 700.0
    a, b = theil_sen(times, clean), theil_sen(times, wild)
    assert abs(a.slope[0] - b.slope[0]) < a.high[0] - a.low[0]


def test_the_quick_sieve_is_the_same_figure():
    """`kendall_z` is the z of the line, with ties and gaps."""
    rng = np.random.default_rng(5)
    rows = np.round(rng.normal(size=(20, 17)), 0)
    rows[3, :4] = np.nan
    assert kendall_z(rows) == pytest.approx(theil_sen(np.arange(17.0), rows).z)


def test_inflation_widens_the_interval_and_weakens_the_evidence():
    """Four times the variance: half the z."""
    rows = np.random.default_rng(1).normal(size=(1, 40)) + 0.1 * np.arange(40.0)
    plain, wide = theil_sen(np.arange(40.0), rows), theil_sen(np.arange(40.0), rows, inflation=4.0)
    assert wide.z[0] == pytest.approx(plain.z[0] / 2.0)
    assert wide.low[0] < plain.low[0] < plain.high[0] < wide.high[0]


@pytest.mark.parametrize("correlation", [0.0, 0.3, 0.6])
def test_the_correlation_of_residuals_is_found_on_average(correlation):
    """About a fitted line the mended estimate is within 0.07 of the truth on average."""
    rng = np.random.default_rng(11)
    rows = ar_one(rng, 600, 30, correlation)
    line = theil_sen(np.arange(30.0), rows)
    found = lag_one(rows - line.at(np.arange(30.0)))
    # Estimates below nothing are taken as nothing, so that of independent values lies above.
    assert found.mean() == pytest.approx(correlation, abs=0.12 if correlation == 0.0 else 0.07)


@pytest.mark.parametrize(("correlation", "most"), [(0.0, 0.05), (0.3, 0.08), (0.6, 0.08)])
def test_chance_looks_like_a_drift_about_as_often_as_stated(correlation, most):
    """Without the widening an AR(1) series of 0.6 is taken for a drift in more than a quarter."""
    rng = np.random.default_rng(7)
    times = np.arange(28.0)
    rows = ar_one(rng, 1000, 28, correlation)
    plain = theil_sen(times, rows)
    wide = theil_sen(times, rows, inflation=inflation_of(lag_one(rows - plain.at(times))))
    assert (np.abs(wide.z) > 1.96).mean() <= most
    if correlation == 0.6:
        assert (np.abs(plain.z) > 1.96).mean() > 0.25


def test_medians_of_rows_leave_gaps_out():
    """An empty row has none."""
    rows = np.array([[3.0, np.nan, 1.0], [np.nan] * 3])
    assert row_medians(rows)[0] == 2.0
    assert np.isnan(row_medians(rows)[1])
