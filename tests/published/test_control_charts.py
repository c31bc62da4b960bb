"""Control charts against published data, limits, constants and run lengths.

Where the published figures come from a table of rounded constants (d2 = 1.128 instead of 1.128379)
the tolerance is what that rounding explains. Figures marked "from memory" were not read again.
"""

from dataclasses import replace
from math import comb
from statistics import NormalDist

import numpy as np
import pytest

from logbook.assess.chart_constants import constants
from logbook.assess.chart_rows import together
from logbook.assess.charts import (
    LIMITS_ONLY,
    NELSON,
    WESTERN_ELECTRIC,
    Rule,
    capability,
    cusum,
    cusum_run_length,
    ewma,
    ewma_run_length,
    individuals,
    run_rules,
    xbar_r,
    xbar_s,
)
from logbook.assess.ewma_cusum import rows_cusum, rows_ewma
from logbook.assess.run_rules import rows_flags

FLOWRATE = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
"""NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2, individuals control charts."""

EWMA_DATA = """52.0 47.0 53.0 49.3 50.1 47.0 51.0 50.1 51.2 50.5 49.6 47.6 49.9 51.3 47.8 51.2 52.6
52.4 53.6 52.1"""
"""NIST/SEMATECH e-Handbook, section 6.3.2.4, EWMA control charts."""
EWMA_PRINTED = """50.60 49.52 50.56 50.18 50.16 49.21 49.75 49.85 50.26 50.33 50.11 49.36 49.52 50.05
49.38 49.92 50.73 51.23 51.94 51.99"""

CONCENTRATION = """102.0 94.8 98.3 98.4 102.0 98.5 99.0 97.7 100.0 98.1 101.3 98.7 101.1 98.4 97.0 96.7
100.3 101.4 97.2 101.0"""
"""D. C. Montgomery and G. C. Runger, Applied Statistics and Probability for Engineers, Tables 16-3
and 16-7, chemical process concentration."""

THIRTY = """9.45 7.99 9.29 11.66 12.16 10.18 8.04 11.46 9.20 10.34 9.03 11.47 10.51 9.40 10.08 9.37
10.62 10.31 8.52 10.84 10.90 9.33 12.29 11.50 10.60 11.08 10.38 11.62 11.31 10.52"""
"""D. C. Montgomery, Introduction to Statistical Quality Control, data of the chapter on CUSUM and
EWMA: mean 10, sigma 1, then a mean of 11 from reading 21 on."""

PISTON_RINGS = """
74.030 74.002 74.019 73.992 74.008 73.995 73.992 74.001 74.011 74.004 73.988 74.024 74.021 74.005
74.002 74.002 73.996 73.993 74.015 74.009 73.992 74.007 74.015 73.989 74.014 74.009 73.994 73.997
73.985 73.993 73.995 74.006 73.994 74.000 74.005 73.985 74.003 73.993 74.015 73.988 74.008 73.995
74.009 74.005 74.004 73.998 74.000 73.990 74.007 73.995 73.994 73.998 73.994 73.995 73.990 74.004
74.000 74.007 74.000 73.996 73.983 74.002 73.998 73.997 74.012 74.006 73.967 73.994 74.000 73.984
74.012 74.014 73.998 73.999 74.007 74.000 73.984 74.005 73.998 73.996 73.994 74.012 73.986 74.005
74.007 74.006 74.010 74.018 74.003 74.000 73.984 74.002 74.003 74.005 73.997 74.000 74.010 74.013
74.020 74.003 73.988 74.001 74.009 74.005 73.996 74.004 73.999 73.990 74.006 74.009 74.010 73.989
73.990 74.009 74.014 74.015 74.008 73.993 74.000 74.010 73.982 73.984 73.995 74.017 74.013 74.012
74.015 74.030 73.986 74.000 73.995 74.010 73.990 74.015 74.001 73.987 73.999 73.985 74.000 73.990
74.008 74.010 74.003 73.991 74.006 74.003 74.000 74.001 73.986 73.997 73.994 74.003 74.015 74.020
74.004 74.008 74.002 74.018 73.995 74.005 74.001 74.004 73.990 73.996 73.998 74.015 74.000 74.016
74.025 74.000 74.030 74.005 74.000 74.016 74.012 74.001 73.990 73.995 74.010 74.024 74.015 74.020
74.024 74.005 74.019 74.035 74.010 74.012 74.015 74.026 74.017 74.013 74.036 74.025 74.026 74.010
74.005 74.029 74.000 74.020"""
"""Inside diameters of piston rings, mm, 40 samples of 5, the first 25 in control: D. C. Montgomery,
Introduction to Statistical Quality Control; here as in the data set pistonrings of the R package
qcc, whose printed results are the published values below."""

ISO_EXAMPLE = """14.0764 .010 14.0726 .012 14.0754 .008 14.0770 .007 14.0708 .025 14.0698 .025
14.0770 .009 14.0744 .025 14.0704 .009 14.0744 .022 14.0766 .009 14.0568 .011 14.0768 .023
14.0692 .012 14.0716 .019 14.0748 .021 14.0754 .017 14.0734 .017 14.0748 .035 14.0754 .033
14.0732 .017 14.0740 .025 14.0708 .017 14.0760 .017 14.0722 .018"""
"""ISO 7870-2:2013, pages 25 to 28: mean and range of 25 subgroups of 5 (read in a public test
file that quotes them)."""


def numbers(text) -> np.ndarray:
    """The numbers of a text."""
    return np.array(text.split(), dtype=float)


@pytest.fixture(scope="module")
def rings():
    """40 samples of 5 piston rings."""
    return numbers(PISTON_RINGS).reshape(40, 5)


@pytest.fixture(scope="module")
def iso():
    """Subgroups of five with the published means and ranges."""
    mean, spread = numbers(ISO_EXAMPLE).reshape(25, 2).T
    half = 0.5 * spread
    return np.column_stack([mean - half, mean, mean, mean, mean + half])


# ----------------------------------------------------------------- single readings


def test_flowrate_limits_are_those_of_the_handbook():
    """e-Handbook 6.3.2.2: centre 50.81, limits 45.8159 and 55.8041 with d2 = 1.128."""
    chart = individuals(FLOWRATE)
    assert chart.centre == pytest.approx(50.81)
    assert chart.mean_range == pytest.approx(1.8778, abs=5e-5)
    rounded = 1.128 / constants(2).d2
    assert chart.centre + 3 * chart.sigma / rounded == pytest.approx(55.8041, abs=5e-5)
    assert chart.centre - 3 * chart.sigma / rounded == pytest.approx(45.8159, abs=5e-5)
    assert (chart.lower, chart.upper) == pytest.approx((45.8159, 55.8041), abs=2e-3)
    assert chart.range_upper == pytest.approx(6.1347, abs=1e-3)
    assert chart.moving_range[1:] == pytest.approx([2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5])
    assert not chart.out.any()
    assert not chart.range_out.any()


def test_concentration_limits_agree_with_the_textbooks_data():
    """Montgomery and Runger, Table 16-3: mean 99.095, mean moving range 2.589474; D4 3.267."""
    chart = individuals(numbers(CONCENTRATION))
    assert chart.centre == pytest.approx(99.095)
    assert chart.mean_range == pytest.approx(2.589474, abs=1e-6)
    assert (chart.lower, chart.upper) == pytest.approx((92.2081, 105.9819), abs=3e-3)
    assert chart.range_upper == pytest.approx(8.4598, abs=2e-3)


# ----------------------------------------------------------------- subgroups


def test_piston_rings_means_and_ranges(rings):
    """Phase I of qcc: centre 74.001176, limits 73.98805 and 74.0143, ranges up to 0.04812533."""
    chart = xbar_r(rings, baseline=slice(0, 25))
    assert chart.centre == pytest.approx(74.001176, abs=1e-9)
    assert chart.spreads[:25].mean() == pytest.approx(0.02276, abs=1e-9)
    # qcc printed with d2 = 2.326, the exact one is 2.325929.
    assert chart.sigma * constants(5).d2 / 2.326 == pytest.approx(0.009785039, abs=5e-9)
    assert chart.sigma == pytest.approx(0.009785039, rel=5e-5)
    assert (chart.lower[0], chart.upper[0]) == pytest.approx((73.98805, 74.0143), abs=6e-6)
    assert (chart.spread_lower[0], chart.spread_upper[0]) == pytest.approx((0.0, 0.04812533), 2e-5)
    assert (np.flatnonzero(chart.out) + 1).tolist() == [37, 38, 39]
    assert (chart.out[36:39] == 1).all()


def test_piston_rings_means_and_deviations(rings):
    """Phase I of qcc: mean deviation 0.009240037, its limits 0 and 0.01930242."""
    chart = xbar_s(rings, baseline=slice(0, 25))
    assert chart.spreads[:25].mean() == pytest.approx(0.009240037, abs=5e-10)
    assert (chart.spread_lower[0], chart.spread_upper[0]) == pytest.approx((0.0, 0.01930242), 1e-6)
    assert not chart.spread_out[:25].any()


def test_iso_example_with_and_without_the_subgroup_out_of_line(iso):
    """ISO 7870-2:2013, pages 25 to 28: limits of all 25, then without the twelfth, to 0.0001."""
    chart = xbar_r(iso)
    assert chart.centre == pytest.approx(14.0732, abs=5e-5)
    assert (chart.lower[0], chart.upper[0]) == pytest.approx((14.0629, 14.0834), abs=1e-4)
    assert chart.spread_centre[0] == pytest.approx(0.0177, abs=5e-5)
    assert chart.spread_upper[0] == pytest.approx(0.0375, abs=1e-4)
    assert (np.flatnonzero(chart.out) + 1).tolist() == [12]
    again = xbar_r(iso, baseline=chart.out == 0)
    assert again.centre == pytest.approx(14.07385, abs=5e-5)
    assert (again.lower[0], again.upper[0]) == pytest.approx((14.0635, 14.0842), abs=1e-4)


@pytest.mark.parametrize(
    ("size", "d2", "d3", "c4", "a2", "d_4", "a3", "b4"),
    [
        (2, 1.128, 0.853, 0.7979, 1.880, 3.267, 2.659, 3.267),
        (3, 1.693, 0.888, 0.8862, 1.023, 2.575, 1.954, 2.568),
        (4, 2.059, 0.880, 0.9213, 0.729, 2.282, 1.628, 2.266),
        (5, 2.326, 0.864, 0.9400, 0.577, 2.115, 1.427, 2.089),
        (6, 2.534, 0.848, 0.9515, 0.483, 2.004, 1.287, 1.970),
        (7, 2.704, 0.833, 0.9594, 0.419, 1.924, 1.182, 1.882),
        (8, 2.847, 0.820, 0.9650, 0.373, 1.864, 1.099, 1.815),
        (9, 2.970, 0.808, 0.9693, 0.337, 1.816, 1.032, 1.761),
        (10, 3.078, 0.797, 0.9727, 0.308, 1.777, 0.975, 1.716),
        (15, 3.472, 0.756, 0.9823, 0.223, 1.653, 0.789, 1.572),
        (20, 3.735, 0.729, 0.9869, 0.180, 1.585, 0.680, 1.490),
        (25, 3.931, 0.708, 0.9896, 0.153, 1.541, 0.606, 1.435),
    ],
)
def test_constants_are_those_of_the_printed_tables(size, d2, d3, c4, a2, d_4, a3, b4):
    """Table of control chart constants as printed in handbooks (AIAG SPC manual), to its places."""
    found = constants(size)
    assert (found.d2, found.d3) == pytest.approx((d2, d3), abs=6e-4)
    assert found.c4 == pytest.approx(c4, abs=6e-5)
    worked_out = (found.A2, found.D4, found.A3, found.B4)
    assert worked_out == pytest.approx((a2, d_4, a3, b4), abs=6e-4)


@pytest.mark.parametrize(
    ("size", "d_3", "b3"),
    [(6, 0.0, 0.030), (7, 0.076, 0.118), (8, 0.136, 0.185), (10, 0.223, 0.284), (25, 0.459, 0.565)],
)
def test_lower_factors_are_those_of_the_printed_tables(size, d_3, b3):
    """The same table: D3 is 0 up to six, B3 up to five."""
    found = constants(size)
    assert pytest.approx((d_3, b3), abs=6e-4) == (found.D3, found.B3)
    assert constants(5).B3 == constants(6).D3 == 0.0


# ----------------------------------------------------------------- EWMA


def test_ewma_of_the_handbook():
    """e-Handbook 6.3.2.4: 20 averages to 0.01; limits 52.5884 and, from a rounded factor, 47.4115."""
    chart = ewma(numbers(EWMA_DATA), 0.3, 3.0, target=50.0, sigma=2.0539)
    assert chart.average == pytest.approx(numbers(EWMA_PRINTED), abs=0.0051)
    assert chart.upper_asymptotic == pytest.approx(52.5884, abs=5e-5)
    assert chart.lower_asymptotic == pytest.approx(47.4115, abs=2e-4)
    assert not chart.out_asymptotic.any()


def test_ewma_of_thirty_readings_signals_near_the_end():
    """Montgomery's data, weight 0.10, width 2.7: limits 9.73 to 10.27 first, signal at 29."""
    chart = ewma(numbers(THIRTY), 0.1, 2.7, target=10.0, sigma=1.0)
    assert chart.average[[0, 1, 27, 28, 29]] == pytest.approx(
        [9.945, 9.7495, 10.5731, 10.6468, 10.6341], abs=6e-5
    )
    assert (chart.lower[0], chart.upper[0]) == pytest.approx((9.73, 10.27))
    assert (chart.lower[1], chart.upper[1]) == pytest.approx((9.6368, 10.3632), abs=5e-5)
    assert (chart.lower[29], chart.upper[29]) == pytest.approx((9.3811, 10.6189), abs=5e-5)
    assert np.flatnonzero(chart.out)[0] + 1 == 29


def test_ewma_limits_of_piston_rings(rings):
    """qcc, weight 0.2, three sigma, on the means: limits of samples 1, 2 and 25."""
    base = xbar_r(rings, baseline=slice(0, 25))
    chart = ewma(base.means, 0.2, 3.0, target=base.centre, sigma=base.errors[0])
    found = np.column_stack([chart.lower, chart.upper])[[0, 1, 24]]
    printed = [[73.99855, 74.00380], [73.99781, 74.00454], [73.99680, 74.00555]]
    assert found == pytest.approx(np.array(printed), abs=6e-6)


# ----------------------------------------------------------------- CUSUM


def test_cusum_of_the_chemical_concentration():
    """Montgomery and Runger, Table 16-7 data: target 99, K = 1, H = 10; no signal."""
    chart = cusum(numbers(CONCENTRATION), target=99.0, k=0.5, h=5.0, sigma=2.0)
    high = "2.0 0 0 0 2.0 0.5 0 0 0 0 1.3 0 1.1 0 0 0 0.3 1.7 0 1.0"
    low = "0 3.2 2.9 2.5 0 0 0 0.3 0 0 0 0 0 0 1.0 2.3 0 0 0.8 0"
    assert chart.upper == pytest.approx(numbers(high), abs=1e-9)
    assert chart.lower == pytest.approx(numbers(low), abs=1e-9)
    assert chart.signals == ()


def test_cusum_of_thirty_readings_tells_since_when():
    """Montgomery's data, k 0.5, h 5: C+ = 5.28 at 29 (as printed, from memory), begun at 23."""
    chart = cusum(numbers(THIRTY), target=10.0, k=0.5, h=5.0, sigma=1.0)
    high = """0 0 0 1.16 2.82 2.50 0.04 1.00 0 0 0 0.97 0.98 0 0 0 0.12 0 0 0.34 0.74 0 1.79 2.79 2.89
    3.47 3.35 4.47 5.28 5.30"""
    low = "0.05 1.56 1.77 0 0 0 1.46 0 0.30 0 0.47 0 0 0.10 0 0.13 0 0 0.98 0 0 0.17"
    assert chart.upper == pytest.approx(numbers(high), abs=1e-9)
    assert chart.lower[:22] == pytest.approx(numbers(low), abs=1e-9)
    assert chart.upper_run[28] == 7
    (signal,) = chart.signals
    assert (signal.direction, signal.at + 1, signal.began + 1) == (1, 29, 23)
    # Montgomery and Runger, eq. 16-32: target + K + C+/N+.
    assert signal.level == pytest.approx(10.0 + 0.5 + 5.28 / 7)


def test_cusum_of_piston_rings(rings):
    """Standardised means, k 0.5, h 5: the sums of samples 37 to 40."""
    base = xbar_r(rings, baseline=slice(0, 25))
    z = (base.means - base.centre) / base.errors
    chart = cusum(z, target=0.0, k=0.5, h=5.0, sigma=1.0)
    assert chart.signals[0].at + 1 == 37
    assert chart.upper[36:] == pytest.approx([7.187, 10.897, 15.476, 17.632], abs=6e-4)


# ----------------------------------------------------------------- run lengths


@pytest.mark.parametrize(
    ("shift", "printed"),
    [
        (0.0, 168.0),
        (0.25, 74.2),
        (0.5, 26.6),
        (0.75, 13.3),
        (1.0, 8.38),
        (1.5, 4.75),
        (2.0, 3.34),
        (2.5, 2.62),
        (3.0, 2.19),
        (4.0, 1.71),
        (5.0, 1.31),
    ],
)
def test_run_lengths_of_the_two_sided_cusum(shift, printed):
    """Lucas and Crosier, Technometrics 24 (1982), Table 1, k 0.5, h 4 (as the R package spc quotes).

    The printed values have three figures.
    """
    assert cusum_run_length(0.5, 4.0, shift) == pytest.approx(printed, rel=3.5e-3)


@pytest.mark.parametrize(
    ("shift", "printed"),
    [(-0.25, 2071.51), (-0.125, 400.28), (0.0, 124.66), (0.25, 36.71), (0.5, 20.37), (1.0, 10.75)],
)
def test_run_lengths_of_the_one_sided_cusum(shift, printed):
    """Vance, Journal of Quality Technology 18 (1986), Table 1, k 0, h 10 (as spc quotes).

    With more nodes than the paper could afford 2071.51 becomes 2071.57.
    """
    found = cusum_run_length(0.0, 10.0, shift, two_sided=False)
    assert found == pytest.approx(printed, abs=0.006, rel=3.5e-5)


def test_run_length_of_the_cusum_to_seven_figures():
    """SAS/QC manual 1999, k 0.25, h 8, shift 2.5: 4.1500836225 (spc), made with 24 nodes."""
    one = cusum_run_length(0.25, 8.0, 2.5, two_sided=False)
    assert one == pytest.approx(4.1500836225, abs=2e-7)
    assert cusum_run_length(0.25, 8.0, 2.5) <= one


@pytest.mark.parametrize(
    ("shift", "half", "small"),
    [
        (0.0, 500.0, 500.0),
        (0.25, 255.0, 76.7),
        (0.5, 88.8, 29.3),
        (0.75, 35.9, 17.6),
        (1.0, 17.5, 12.6),
        (1.5, 6.53, 8.07),
        (2.0, 3.63, 5.99),
        (3.0, 1.93, 4.03),
        (4.0, 1.34, 3.11),
    ],
)
def test_run_lengths_of_the_ewma(shift, half, small):
    """Lucas and Saccucci, Technometrics 32 (1990), Table 3 (as spc quotes): weights 0.5 and 0.03.

    Widths 3.071 and 2.437; the paper's Markov chain is good to about half a percent.
    """
    assert ewma_run_length(0.5, 3.071, shift) == pytest.approx(half, rel=6e-3)
    assert ewma_run_length(0.03, 2.437, shift) == pytest.approx(small, rel=6e-3)


@pytest.mark.parametrize(
    ("shift", "half", "small"),
    [(0.0, 26.45, 127.53), (0.25, 20.12, 43.94), (0.5, 11.89, 18.97), (1.0, 4.91, 8.38),
     (2.0, 1.94, 4.04), (4.0, 1.05, 2.15)],
)  # fmt: skip
def test_run_lengths_of_the_ewma_by_integral_equation(shift, half, small):
    """Crowder, Technometrics 29 (1987), Table 1 (as spc quotes): width 2, weights 0.5 and 0.05."""
    assert ewma_run_length(0.5, 2.0, shift) == pytest.approx(half, abs=0.006)
    assert ewma_run_length(0.05, 2.0, shift) == pytest.approx(small, abs=0.006)


def test_run_length_of_the_ewma_to_ten_figures():
    """SAS/QC manual 1999, weight 0.25, width 3, shift 1: 11.154267016 (spc)."""
    assert ewma_run_length(0.25, 3.0, 1.0) == pytest.approx(11.154267016, abs=2e-8)


def first_signals(fired) -> np.ndarray:
    """How many readings each row takes until something fires."""
    assert fired.any(axis=1).all(), "the rows are too short for this run length"
    return fired.argmax(axis=1) + 1


@pytest.mark.parametrize(("shift", "rows", "length"), [(0.0, 800, 6000), (1.0, 4000, 200)])
def test_simulated_charts_run_as_long_as_worked_out(shift, rows, length):
    """EWMA and CUSUM of simulated readings signal when the integral equations say, to 3 errors."""
    values = np.random.default_rng(11).standard_normal((rows, length)) + shift
    drawn = together(values)
    edge = 2.814 * np.sqrt(0.1 / 1.9)
    average = first_signals(np.abs(rows_ewma(drawn, 0.1)) > edge)
    sums = first_signals(np.maximum(*rows_cusum(drawn, np.array([0.5]))) > 5.0)
    for found, wanted in (
        (average, ewma_run_length(0.1, 2.814, shift)),
        (sums, cusum_run_length(0.5, 5.0, shift)),
    ):
        assert found.mean() == pytest.approx(wanted, abs=3 * found.std() / np.sqrt(rows))


# ----------------------------------------------------------------- run rules


def test_piston_rings_break_the_rules_where_worked_out(rings):
    """Means against centre 74.001176 and 0.009785039/sqrt 5; rules as commented in qcc, rules.R."""
    means = rings.mean(axis=1)
    found = run_rules(means, 74.001176, 0.009785039 / np.sqrt(5.0), settings=NELSON)
    eight = run_rules(means, 74.001176, 0.009785039 / np.sqrt(5.0))
    expected = {
        Rule.BEYOND_LIMITS: [37, 38, 39],
        Rule.TWO_OF_THREE: [35, 37, 38, 39, 40],
        Rule.FOUR_OF_FIVE: [35, 38, 39, 40],
        Rule.ONE_SIDE: [],
        Rule.TREND: [],
        Rule.ALTERNATING: [],
        Rule.WITHIN_ONE: [],
        Rule.NONE_WITHIN_ONE: [],
    }
    for rule, samples in expected.items():
        assert (np.flatnonzero(found.by(rule)) + 1).tolist() == samples, rule
    assert not eight.by(Rule.ONE_SIDE).any()


def binomial_tail(p, least, of) -> float:
    """Probability of at least so many of so many."""
    return sum(comb(of, k) * p**k * (1 - p) ** (of - k) for k in range(least, of + 1))


def test_each_western_electric_rule_fires_by_chance_as_often_as_it_should():
    """Two million independent readings: the share flagged is the exact probability.

    The handbook (1956) prints about .0013, .0015, .0027 and .0039 for one half of the chart (from
    memory): any two of three, four of five, whether or not the newest is among them.
    """
    beyond = [1.0 - NormalDist().cdf(k) for k in (0.0, 1.0, 2.0, 3.0)]
    halves = (
        beyond[3],
        binomial_tail(beyond[2], 2, 3),
        binomial_tail(beyond[1], 4, 5),
        beyond[0] ** 8,
    )
    assert halves == pytest.approx((0.0013, 0.0015, 0.0027, 0.0039), abs=7e-5)
    exact = {
        Rule.BEYOND_LIMITS: 2 * beyond[3],
        Rule.TWO_OF_THREE: 2 * beyond[2] * binomial_tail(beyond[2], 1, 2),
        Rule.FOUR_OF_FIVE: 2 * beyond[1] * binomial_tail(beyond[1], 3, 4),
        Rule.ONE_SIDE: 2 * beyond[0] ** 8,
    }
    values = np.random.default_rng(7).standard_normal((50, 40_000))
    flags = rows_flags(together(values), WESTERN_ELECTRIC)
    for rule, chance in exact.items():
        share = ((flags & int(rule)) != 0).mean()
        # Neighbouring flags come in bunches: three times the error of independent ones.
        assert share == pytest.approx(chance, abs=9 * np.sqrt(chance / values.size)), rule


@pytest.mark.parametrize(
    ("settings", "published"),
    [
        (replace(LIMITS_ONLY, two_of_three=True), 225.44),
        (replace(LIMITS_ONLY, four_of_five=True), 166.05),
        (replace(LIMITS_ONLY, one_side=8), 152.73),
        (WESTERN_ELECTRIC, 91.75),
    ],
)
def test_western_electric_rules_together_run_as_long_as_published(settings, published):
    """Champ and Woodall, Technometrics 29 (1987), exact run lengths: 91.75 for all four rules.

    91.75 is quoted in encyclopedias ("Western Electric rules"); the other three from memory.
    """
    values = np.random.default_rng(23).standard_normal((1500, 2600))
    found = first_signals(rows_flags(together(values), settings) != 0)
    assert found.mean() == pytest.approx(published, abs=3 * found.std() / np.sqrt(1500))


# ----------------------------------------------------------------- capability


def test_capability_of_piston_rings(rings):
    """qcc, limits 73.95 and 74.05: Cp 1.70, Cpl 1.74, Cpu 1.66, Cpk 1.66, Cpm 1.69."""
    base = xbar_r(rings, baseline=slice(0, 25))
    found = capability(rings[:25].ravel(), 73.95, 74.05, sigma_within=base.sigma, dof_within=90.0)
    indices = (found.cp.value, found.cpl, found.cpu, found.cpk.value, found.cpm)
    assert indices == pytest.approx((1.70, 1.74, 1.66, 1.66, 1.69), abs=0.0051)
    assert found.outside == 0


def test_capability_formulas_of_the_handbook():
    """e-Handbook 6.1.6 (from memory): limits 8 and 20, mean 16, s 2: Cp 1.0, Cpk 0.6667."""
    values = 16.0 + 2.0 * np.array([-1.0, 1.0] * 50) * np.sqrt(99 / 100)
    found = capability(values, 8.0, 20.0)
    assert (found.mean, found.sigma_overall) == pytest.approx((16.0, 2.0))
    assert (found.pp.value, found.ppk.value) == pytest.approx((1.0, 2.0 / 3.0))
