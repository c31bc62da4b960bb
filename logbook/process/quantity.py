"""A number of the plant with its unit, its standard uncertainty and what it was made of.

Uncertainty is propagated to first order for inputs that err independently of one another:
JCGM 100:2008 (GUM), section 5.1.2, equation (10). The slope towards each input is taken over one
standard uncertainty to either side (the numerical form of section 5.1.3, note 2), so that a bend
of the formula within the uncertainty is felt.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Quantity:
    """One figure; `value` is None where it cannot be told, and `missing` says what for."""

    name: str
    value: float | None
    unit: str
    sigma: float | None = None
    """Standard uncertainty in `unit`; None: not known."""
    inputs: tuple[str, ...] = ()
    """Names of what it was made of."""
    source: str = ""
    """Where the formula comes from."""
    missing: tuple[str, ...] = ()
    """Names of the inputs that were not there."""
    note: str = ""
    """What a reader must know to use it: an assumption, an estimate, a range left."""

    @property
    def is_known(self) -> bool:
        """True where there is a finite value."""
        return self.value is not None and math.isfinite(self.value)

    def named(self, name: str) -> Quantity:
        """Return the same figure under another name."""
        return replace(self, name=name)

    def interval(self, coverage: float = 1.96) -> tuple[float, float] | None:
        """Value less and plus `coverage` standard uncertainties; None where either is not known."""
        if self.value is None or self.sigma is None:
            return None
        return self.value - coverage * self.sigma, self.value + coverage * self.sigma


def absent(name: str, unit: str, *missing: str, note: str = "") -> Quantity:
    """Return a figure that cannot be told, with the names of what is missing."""
    return Quantity(name, None, unit, missing=missing or (name,), note=note)


def propagate(
    formula: Callable[..., float], values: Mapping[str, float], sigmas: Mapping[str, float | None]
) -> tuple[float, float | None]:
    """Return `formula(**values)` and its standard uncertainty.

    Inputs are taken as independent. The uncertainty is None as soon as that of one input is not
    known (missing or None in `sigmas`); give 0.0 for what is exact. Slopes are central
    differences over one standard uncertainty.

    >>> propagate(lambda a, b: a * b, {"a": 3.0, "b": 4.0}, {"a": 0.1, "b": 0.0})
    (12.0, 0.4)
    """
    value = formula(**values)
    total = 0.0
    for name, at in values.items():
        sigma = sigmas.get(name)
        if sigma is None:
            return value, None
        if sigma == 0.0:
            continue
        high = formula(**{**values, name: at + sigma})
        low = formula(**{**values, name: at - sigma})
        total += ((high - low) / 2.0) ** 2
    # Twelve digits: the differences of floats would otherwise end in noise.
    return value, float(f"{math.sqrt(total):.12g}")


def derive(
    name: str,
    unit: str,
    formula: Callable[..., float],
    inputs: Mapping[str, Quantity],
    *,
    source: str = "",
    note: str = "",
) -> Quantity:
    """Work a figure out from others: value, standard uncertainty, inputs, and what is missing.

    `inputs` maps the parameter names of `formula` to figures in the units that it wants. An input
    without a value makes the result one without a value, with all that is missing named. A
    formula that divides by zero or leaves its range (ZeroDivisionError, ValueError,
    OverflowError) gives no value either, with the reason in `note`.
    """
    names = tuple(one.name for one in inputs.values())
    gone = tuple(
        dict.fromkeys(
            part
            for one in inputs.values()
            if not one.is_known
            for part in (one.missing or (one.name,))
        )
    )
    if gone:
        return Quantity(name, None, unit, inputs=names, source=source, missing=gone, note=note)
    values = {key: one.value for key, one in inputs.items() if one.value is not None}
    try:
        value, sigma = propagate(formula, values, {key: one.sigma for key, one in inputs.items()})
    except (ZeroDivisionError, ValueError, OverflowError) as problem:
        said = f"cannot be worked out: {problem}"
        return Quantity(
            name, None, unit, inputs=names, source=source, note=f"{note}; {said}" if note else said
        )
    return Quantity(name, value, unit, sigma, inputs=names, source=source, note=note)
