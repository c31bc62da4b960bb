"""Data reconciliation against published networks.

Data and matrices as read in the public collection "Data Reconciliation Benchmark Problems From
Literature Review" (E. Cordeiro do Valle, repository dr-ged-benchmarks, folder
data_reconciliation/linear: spreadsheets/Problem_data.xls and scilab/P1, P2, P5, P12, P15), which
quotes Mitsas (2010) for P12, Yang (1995) for P5, and Serth and Heenan, "Gross error detection and
data reconciliation in steam-metering systems", AIChE Journal 32 (1986) 733-747, for P15.
"""

import numpy as np
import pytest

from logbook.process.chance import chi_square_limit
from logbook.process.reconcile import reconcile_flows

P12 = np.array(
    [
        [1, -1, -1, -1, 0, 0, 0, 0, 0, 0, 0, 0],
        [0, 1, 0, 0, -1, -1, -1, 0, 0, 0, 0, 0],
        [0, 0, 1, 0, 1, 1, 1, -1, 0, 0, 0, 0],
        [0, 0, 0, 1, 0, 0, 0, 0, -1, -1, 0, 0],
        [0, 0, 0, 0, 0, 0, 0, 1, 1, 0, -1, 0],
        [0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, -1],
    ]
)
P12_Y = "100.49 29.46 40.41 30.05 15.17 4.98 9.92 70.68 10.03 19.82 81.06 101.57"
P12_SIGMA = "1 .3 .4 .3 .3 .1 .2 .7 .3 .4 .8 1"
P12_PUBLISHED = "100.59 29.80 40.71 30.07 15.00 4.96 9.84 70.51 10.14 19.93 80.66 100.59"

P2 = np.array([[1, 1, -1, 0, 0, 0], [0, -1, 1, -1, 0, 0], [0, 0, 0, 1, -1, -1]])
P5 = np.array(
    [
        [1, -1, 0, 0, 0, 0, -1, 0],
        [0, 1, -1, 0, 0, 0, 0, 1],
        [0, 0, 1, 1, -1, 0, 0, 0],
        [0, 0, 0, 0, 0, -1, 1, -1],
    ]
)
P5_Y = "110.1 41.1 79 30.6 108.3 19.8 55 39"
P5_VARIANCE = "3.23388289 1.80257476 1.66496011 .99920016 3.12900721 .41835024 3.22801111 1.623076"

P15_IN = (
    "1 2 4",
    "7 8",
    "5",
    "10 11",
    "3 13",
    "6",
    "14 18",
    "15 22",
    "12 16",
    "19 23 27",
    "20 26 28",
)
P15_OUT = (
    "3", "5 6 9", "1 10", "12", "11 14 15 16 17", "2 13", "7 19 20 21", "18 23 24", "22 25", "26", "8",
)  # fmt: skip
P15_Y = """0.875 0.989 108.426 107.799 50.149 110.327 2.201 165.779 0.821 51.779 14.757 67.183 107.734
89.855 58.554 23.258 31.879 15.843 7.920 10.130 91.047 5.555 2.471 44.687 81.656 82.839 70.685
72.913"""
P15_SIGMA = """0.022 0.025 2.796 2.749 1.332 2.807 0.058 4.101 0.021 1.310 0.372 1.682 2.782 2.297 1.500
0.591 0.818 0.406 0.196 0.263 2.183 0.136 0.065 1.166 2.137 2.033 1.770 1.806"""


def numbers(text):
    """The numbers of a line, as an array."""
    return np.array([float(part) for part in text.split()])


def steam_system():
    """The matrix of P15, from the streams that enter and leave each of its eleven nodes."""
    found = np.zeros((len(P15_IN), 28))
    for node, (entering, leaving) in enumerate(zip(P15_IN, P15_OUT, strict=True)):
        found[node, numbers(entering).astype(int) - 1] = 1.0
        found[node, numbers(leaving).astype(int) - 1] = -1.0
    return found


def test_p12_comes_out_as_published():
    """All twelve values within the published two decimals; no gross error at 5 %."""
    found = reconcile_flows(P12, numbers(P12_Y), numbers(P12_SIGMA))
    assert found.value == pytest.approx(numbers(P12_PUBLISHED), abs=0.01)
    assert found.dof == 6
    assert found.chi2 == pytest.approx(3.8913, abs=5e-4)
    assert chi_square_limit(0.05, 6) == pytest.approx(12.5916, abs=5e-5)
    assert found.p_value > 0.05
    assert found.suspects == ()


def test_p1_has_a_gross_error_that_no_balance_can_place():
    """One node: published 8.38, 5.06, 3.32; chi-square 12.813; all three streams look the same."""
    found = reconcile_flows([[1, -1, -1]], [9.22, 4.83, 3.22], [0.2766, 0.1449, 0.0966])
    assert found.value == pytest.approx([8.38, 5.06, 3.32], abs=0.005)
    assert found.chi2 == pytest.approx(12.813, abs=5e-4)
    assert found.suspect_sets == ((0, 1, 2),)
    assert found.indistinguishable == ((0, 1, 2),)


def test_p2_comes_out_as_in_the_spreadsheet():
    """Its variances have three decimals there, hence 1e-3."""
    variance = numbers(".03228011 .02614689 .12046684 .03286969 .05228844 .01540908")
    published = numbers("11.029312 9.957109 20.986421 11.029312 7.177973 3.851338")
    found = reconcile_flows(P2, numbers("11 9.9 21.25 11.1 7 3.8"), np.sqrt(variance))
    assert found.value == pytest.approx(published, abs=1e-3)
    assert found.suspects == ()


def test_p5_names_the_meter_that_is_known_to_be_bad():
    """Stream 1 reads 110.1 where 98.7 is true: named alone, and put right within two sigma."""
    found = reconcile_flows(P5, numbers(P5_Y), np.sqrt(numbers(P5_VARIANCE)))
    assert found.value[0] == pytest.approx(101.33905, abs=1e-3)
    assert found.chi2 == pytest.approx(35.233, abs=5e-4)
    assert chi_square_limit(0.05, 4) == pytest.approx(9.488, abs=5e-4)
    assert abs(found.measurement_z[0]) == pytest.approx(5.673, abs=5e-4)
    assert found.suspects == (0,)
    near = found.without_suspects().value[0]
    assert abs(near - 98.7) < 2.0 * found.without_suspects().sigma[0]


def test_the_steam_system_balances_and_its_setting_aside_is_plain_arithmetic():
    """P15: every node closes; what setting a reading aside takes off chi-square is its z squared."""
    y, sigma, network = numbers(P15_Y), numbers(P15_SIGMA), steam_system()
    found = reconcile_flows(network, y, sigma)
    assert network @ found.value == pytest.approx(np.zeros(11), abs=1e-10 * y.max())
    assert (found.dof, found.redundant.all()) == (11, True)
    worst = int(np.nanargmax(np.abs(found.measurement_z)))
    aside = y.copy()
    aside[worst] = np.nan
    again = reconcile_flows(network, aside, sigma)
    assert again.chi2 == pytest.approx(found.chi2 - found.measurement_z[worst] ** 2, rel=1e-9)
    assert again.observable[worst]


def test_the_steam_system_solves_as_the_textbook_formula():
    """The value is y - V A' (A V A')^-1 A y, and the covariance V - V A' (A V A')^-1 A V."""
    y, v, a = numbers(P15_Y), np.diag(numbers(P15_SIGMA) ** 2), steam_system()
    gain = v @ a.T @ np.linalg.inv(a @ v @ a.T)
    found = reconcile_flows(a, y, numbers(P15_SIGMA))
    assert found.value == pytest.approx(y - gain @ (a @ y), rel=1e-10)
    assert found.covariance == pytest.approx(v - gain @ a @ v, abs=1e-10)
