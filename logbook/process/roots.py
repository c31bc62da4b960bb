"""Where a curve crosses zero: one bracketed search, for the few relations with no closed form."""

from __future__ import annotations

from collections.abc import Callable

ROUNDS = 200


def root_between(
    formula: Callable[[float], float], low: float, high: float, *, within: float = 1e-10
) -> float:
    """Return where `formula` is zero between `low` and `high`, to `within` of the argument.

    Halving the interval, or inverse quadratic interpolation where the last three points say that it
    is safe: T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145-149, from memory.

    Raises:
        ValueError: where `formula` has the same sign at both ends.

    >>> round(root_between(lambda x: x * x - 2.0, 0.0, 2.0), 9)
    1.414213562
    """
    new, other = high, low
    at_new, at_other = formula(high), formula(low)
    if 0.0 in (at_new, at_other):
        return high if at_new == 0.0 else low
    if (at_new > 0.0) == (at_other > 0.0):
        msg = f"there is no crossing between {low:g} and {high:g}"
        raise ValueError(msg)
    step = 0.5
    for _ in range(ROUNDS):
        here = new + step * (other - new)
        value = formula(here)
        if (value > 0.0) == (at_new > 0.0):
            old, at_old = new, at_new
        else:
            old, at_old = other, at_other
            other, at_other = new, at_new
        new, at_new = here, value
        width = abs(other - new)
        if at_new == 0.0 or width <= within:
            break
        step = _next_step((new, at_new), (other, at_other), (old, at_old))
        edge = min(0.5, 0.5 * within / width)
        step = min(1.0 - edge, max(edge, step))
    return new if abs(at_new) < abs(at_other) else other


Point = tuple[float, float]


def _next_step(new: Point, other: Point, old: Point) -> float:
    """How far from `new` towards `other` to look next, 0 to 1."""
    (a, fa), (b, fb), (c, fc) = new, other, old
    place = (a - b) / (c - b)
    level = (fa - fb) / (fc - fb)
    if not (level * level < place and (1.0 - level) ** 2 < 1.0 - place):
        return 0.5
    return fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
