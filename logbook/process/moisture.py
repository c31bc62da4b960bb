"""Moisture and the basis of an analysis: as is, at a stated moisture, dry matter.

Every moisture here is in percent of the wet mass (wet basis), as a laboratory reports it, but for
the two functions that turn it into the dry basis and back. What stays the same while water comes
or goes is the dry matter, and so the mass of oil, protein and fibre:
content × mass = constant, mass × (100 − moisture) = constant.

Each function takes single numbers or numpy arrays (broadcast together). A moisture outside
0 to under 100 % cannot be: for single numbers that is a ValueError, in arrays NaN at that place.
"""

from __future__ import annotations

import math
from typing import overload

import numpy as np
import numpy.typing as npt

from logbook.process.quantity import Quantity, derive

FloatArray = npt.NDArray[np.float64]
Value = float | FloatArray

DRY = 0.0
"""Moisture of dry matter, the basis called dry or moisture-free, %."""
SOURCE = "balance of dry matter"


@overload
def to_basis(value: float, moisture_from: float, moisture_to: float = DRY) -> float: ...
@overload
def to_basis(value: FloatArray, moisture_from: Value, moisture_to: Value = DRY) -> FloatArray: ...
@overload
def to_basis(value: Value, moisture_from: Value, moisture_to: Value = DRY) -> Value: ...
def to_basis(value: Value, moisture_from: Value, moisture_to: Value = DRY) -> Value:
    """Return a content of oil, protein or fibre (%) on another moisture basis, %.

    `moisture_from` is the moisture at which `value` holds (as is: the sample's own; dry matter:
    0), `moisture_to` the one that it is wanted at; both in % of wet mass. A mass is `mass_at`.

    >>> round(to_basis(44.0, 12.0), 2)
    50.0
    >>> round(to_basis(18.0, 10.5, 13.0), 4)
    17.4972
    """
    return value * (_dry_share(moisture_to) / _dry_share(moisture_from))


@overload
def mass_at(mass: float, moisture_from: float, moisture_to: float = DRY) -> float: ...
@overload
def mass_at(mass: FloatArray, moisture_from: Value, moisture_to: Value = DRY) -> FloatArray: ...
@overload
def mass_at(mass: Value, moisture_from: Value, moisture_to: Value = DRY) -> Value: ...
def mass_at(mass: Value, moisture_from: Value, moisture_to: Value = DRY) -> Value:
    """Return what a mass weighs once it is at another moisture, in its own unit.

    >>> round(mass_at(1000.0, 18.0, 12.5), 4)
    937.1429
    """
    return mass * (_dry_share(moisture_from) / _dry_share(moisture_to))


@overload
def water_removed(mass: float, moisture_from: float, moisture_to: float) -> float: ...
@overload
def water_removed(mass: FloatArray, moisture_from: Value, moisture_to: Value) -> FloatArray: ...
@overload
def water_removed(mass: Value, moisture_from: Value, moisture_to: Value) -> Value: ...
def water_removed(mass: Value, moisture_from: Value, moisture_to: Value) -> Value:
    """Return the water that leaves a wet mass dried from one moisture to another, in its unit.

    Negative where water is taken up.

    >>> round(water_removed(1000.0, 18.0, 12.5), 4)
    62.8571
    """
    return mass - mass_at(mass, moisture_from, moisture_to)


@overload
def wet_to_dry_basis(moisture: float) -> float: ...
@overload
def wet_to_dry_basis(moisture: FloatArray) -> FloatArray: ...
def wet_to_dry_basis(moisture: Value) -> Value:
    """Return moisture in % of dry matter from moisture in % of wet mass.

    >>> round(wet_to_dry_basis(12.5), 4)
    14.2857
    """
    return moisture / _dry_share(moisture)


@overload
def dry_to_wet_basis(moisture_dry: float) -> float: ...
@overload
def dry_to_wet_basis(moisture_dry: FloatArray) -> FloatArray: ...
def dry_to_wet_basis(moisture_dry: Value) -> Value:
    """Return moisture in % of wet mass from moisture in % of dry matter.

    It may be over 100 %; one below 0 is a ValueError, in arrays NaN.

    >>> round(dry_to_wet_basis(90.0), 4)
    47.3684
    """
    if isinstance(moisture_dry, np.ndarray):
        moisture_dry = np.where(moisture_dry >= 0.0, moisture_dry, np.nan)
    elif not 0.0 <= moisture_dry < math.inf:
        msg = f"a moisture of {moisture_dry:g} % of dry matter cannot be: give 0 or more"
        raise ValueError(msg)
    return moisture_dry / (1.0 + moisture_dry / 100.0)


@overload
def shrink(moisture_from: float, moisture_to: float, *, handling: float = 0.0) -> float: ...
@overload
def shrink(
    moisture_from: FloatArray, moisture_to: Value, *, handling: Value = 0.0
) -> FloatArray: ...
@overload
def shrink(moisture_from: Value, moisture_to: Value, *, handling: Value = 0.0) -> Value: ...
def shrink(moisture_from: Value, moisture_to: Value, *, handling: Value = 0.0) -> Value:
    """Return the mass lost in drying, in % of the wet mass, with a handling loss added.

    `handling` is in % of the wet mass too, by agreement and not by physics.

    >>> round(shrink(25.5, 15.5), 2), round(shrink(25.5, 15.5, handling=0.5), 2)
    (11.83, 12.33)
    """
    return water_removed(100.0, moisture_from, moisture_to) + handling


@overload
def shrink_per_point(moisture_to: float) -> float: ...
@overload
def shrink_per_point(moisture_to: FloatArray) -> FloatArray: ...
def shrink_per_point(moisture_to: Value) -> Value:
    """Return the shrink, % of wet mass, for each point of moisture taken off down to a moisture.

    >>> round(shrink_per_point(13.0), 6)
    1.149425
    """
    return 1.0 / _dry_share(moisture_to)


def content_at_basis(
    content: Quantity, moisture: Quantity, moisture_to: float = DRY, *, name: str | None = None
) -> Quantity:
    """Return an analysis (%) at another moisture, with its uncertainty.

    `moisture` is that of the same sample, in %.
    """
    return derive(
        name or f"{content.name} {basis_words(moisture_to)}",
        content.unit,
        lambda value, at: to_basis(value, at, moisture_to),
        {"value": content, "at": moisture},
        source=SOURCE,
    )


def mass_at_basis(
    mass: Quantity, moisture: Quantity, moisture_to: float = DRY, *, name: str | None = None
) -> Quantity:
    """Return a mass as it would be at another moisture, with its uncertainty."""
    return derive(
        name or f"{mass.name} {basis_words(moisture_to)}",
        mass.unit,
        lambda value, at: mass_at(value, at, moisture_to),
        {"value": mass, "at": moisture},
        source=SOURCE,
    )


def basis_words(moisture: float | None) -> str:
    """Say a basis in words; None is as is.

    >>> basis_words(12.0)
    'at 12 % moisture'
    """
    if moisture is None:
        return "as is"
    return "in dry matter" if moisture == DRY else f"at {moisture:g} % moisture"


@overload
def _dry_share(moisture: float) -> float: ...
@overload
def _dry_share(moisture: FloatArray) -> FloatArray: ...
def _dry_share(moisture: Value) -> Value:
    """Dry matter as a share of one."""
    if isinstance(moisture, np.ndarray):
        return np.where((moisture >= 0.0) & (moisture < 100.0), 1.0 - moisture / 100.0, np.nan)
    if not 0.0 <= moisture < 100.0:
        msg = f"a moisture of {moisture:g} % cannot be: give one from 0 to under 100 % of wet mass"
        raise ValueError(msg)
    return 1.0 - moisture / 100.0
