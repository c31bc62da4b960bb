"""Corrections for many tests, and the chi-square of digits, beside published figures.

Sources: Benjamini and Hochberg, Controlling the false discovery rate, Journal of the Royal
Statistical Society B 57 (1995) 289, section 3.2, the fifteen p-values of a trial (from memory);
scipy.stats.false_discovery_control and scipy.stats.chisquare; the tables of chi-square that any
textbook holds (upper 1 % and 0.1 % points for 4 and 9 degrees of freedom).
"""

import numpy as np
import pytest
from scipy import stats

from logbook.assess.doubtful.digits import chi_square, uniform_digits
from logbook.assess.doubtful.question import benjamini_hochberg, holm

TRIAL = np.array(
    [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240,
     0.4262, 0.5719, 0.6528, 0.7590, 1.0]
)  # fmt: skip
"""Benjamini and Hochberg 1995, section 3.2; from memory."""


def test_the_example_of_1995_rejects_four_where_bonferroni_rejects_three():
    """At 0.05 the four smallest are rejected; 0.05/15 lets only three through."""
    assert (benjamini_hochberg(TRIAL) <= 0.05).sum() == 4
    assert (TRIAL <= 0.05 / 15).sum() == 3
    assert (holm(TRIAL) <= 0.05).sum() == 3


@pytest.mark.parametrize("seed", range(8))
def test_adjusted_values_are_those_of_scipy(seed):
    """Benjamini-Hochberg, value by value."""
    p = np.random.default_rng(seed).random(40) ** 2
    assert benjamini_hochberg(p) == pytest.approx(stats.false_discovery_control(p, method="bh"))


@pytest.mark.parametrize(
    ("digits", "point", "tail"),
    [(10, 21.67, 0.01), (10, 27.88, 0.001), (5, 13.28, 0.01), (5, 18.47, 0.001)],
)
def test_critical_values_are_those_of_the_tables(digits, point, tail):
    """Counts made to give the tabulated statistic have the tabulated tail."""
    counts = np.full(digits, 100.0)
    off = np.sqrt(point * 100.0 / 2.0)
    counts[0] += off
    counts[1] -= off
    found = uniform_digits(counts)
    assert found.freedom == digits - 1
    assert found.statistic == pytest.approx(point)
    assert found.p_value == pytest.approx(tail, rel=0.01)


@pytest.mark.parametrize("seed", range(5))
def test_chi_square_is_that_of_scipy(seed):
    """Where every class is expected five times or more nothing is thrown together."""
    rng = np.random.default_rng(seed)
    expected = rng.uniform(5.0, 40.0, 10)
    observed = rng.multinomial(200, expected / expected.sum()).astype(float)
    expected *= 200.0 / expected.sum()
    if expected.min() < 5.0:
        expected = np.full(10, 20.0)
    theirs = stats.chisquare(observed, expected)
    ours = chi_square(observed, expected)
    assert ours.statistic == pytest.approx(theirs.statistic)
    assert ours.p_value == pytest.approx(theirs.pvalue)


def digits_of_pi(count: int) -> list[int]:
    """The first decimals of pi, by Machin's formula in whole numbers."""
    one = 10 ** (count + 10)

    def arctan_of_inverse(x: int) -> int:
        term = total = one // x
        k = 1
        while term:
            term //= x * x
            k += 2
            total += -(term // k) if k % 4 == 3 else term // k
        return total

    pi = 4 * (4 * arctan_of_inverse(5) - arctan_of_inverse(239))
    return [int(char) for char in str(pi)[1 : count + 1]]


def test_the_thousand_first_decimals_of_pi_are_no_surprise():
    """Counts 93 116 103 102 93 97 94 95 101 106 (well known): chi-square 4.74 with 9 degrees."""
    counts = np.bincount(digits_of_pi(1000), minlength=10)
    assert counts.tolist() == [93, 116, 103, 102, 93, 97, 94, 95, 101, 106]
    found = uniform_digits(counts.astype(float))
    assert found.statistic == pytest.approx(4.74)
    assert found.p_value > 0.8
