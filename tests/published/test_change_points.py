"""Steps in a series beside an independent implementation.

Source: the package ruptures (Truong, Oudre and Vayatis, Signal Processing 167, 2020), which finds
the same optimum by PELT with least squares.
"""

import numpy as np
import pytest
import ruptures

from logbook.assess.changepoints import partition


def stepped(seed: int) -> np.ndarray:
    """Noise with up to three steps in it."""
    rng = np.random.default_rng(seed)
    values = rng.normal(size=int(rng.integers(12, 120)))
    for _ in range(int(rng.integers(0, 4))):
        values[int(rng.integers(values.size)) :] += rng.normal() * 4.0
    return values


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize(("penalty", "shortest"), [(4.0, 1), (10.0, 3)])
def test_the_cuts_are_those_of_ruptures(seed, penalty, shortest):
    """Every cut lies where the other program puts it."""
    values = stepped(seed)
    theirs = ruptures.Pelt(model="l2", min_size=shortest, jump=1).fit(values).predict(pen=penalty)
    assert partition(values, penalty, shortest) == (0, *theirs[:-1])
