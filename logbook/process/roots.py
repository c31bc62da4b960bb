"""Where a curve crosses zero: one bracketed search, for the few relations with no closed form."""

from __future__ import annotations

from collections.abc import Callable

ROUNDS = 200


def root_between(
    formula: Callable[[float], float], low: float, high: float, *, within: float = 1e-10
) -> float:
    """Return where `formula` is zero between `low` and `high`, to `within` of the argument.

    False position that halves the weight of an end kept twice (the "Illinois" form): as safe as
    halving the interval, and far fewer steps on a smooth curve.

    Raises:
        ValueError: where `formula` has the same sign at both ends.

    >>> round(root_between(lambda x: x * x - 2.0, 0.0, 2.0), 9)
    1.414213562
    """
    at_low, at_high = formula(low), formula(high)
    if at_low * at_high > 0.0:
        msg = f"there is no crossing between {low:g} and {high:g}"
        raise ValueError(msg)
    here = low if abs(at_low) < abs(at_high) else high
    for _ in range(ROUNDS):
        if at_low == at_high:
            break
        last, here = here, (low * at_high - high * at_low) / (at_high - at_low)
        value = formula(here)
        if value == 0.0 or abs(here - last) <= within:
            break
        if value * at_high < 0.0:
            low, at_low = high, at_high
        else:
            at_low /= 2.0
        high, at_high = here, value
    return here
