"""Which points can play which role in the accounts: what is measured, and how.

The meaning and the use of each role stand in `logbook.process.roles`, which a test compares with
this; here stands only what a plant file can be checked by.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from logbook.plant.model import PointKind

Fit = tuple[frozenset[PointKind], tuple[str, ...]]
"""Kinds of point and quantities of its unit that a role takes."""

_COUNTER = frozenset({PointKind.COUNTER})
_RATE = frozenset({PointKind.NUMBER, PointKind.COMPUTED})
_AMOUNT = frozenset({PointKind.NUMBER})
_STOCK = frozenset({PointKind.LEVEL, PointKind.NUMBER})
_VALUE = frozenset({PointKind.NUMBER, PointKind.LAB, PointKind.COMPUTED})
_SHARE = ("share",)

_BY_FIT: tuple[tuple[frozenset[PointKind], tuple[str, ...], str], ...] = (
    (_COUNTER, ("mass",), "beans oil meal pellets steam"),
    (_COUNTER, ("energy",), "electricity"),
    (_COUNTER, ("volume",), "makeup_water"),
    (
        _RATE,
        ("mass flow",),
        (
            "hulls hulls_added flakes sparge_steam stripping_steam conditioner_steam dryer_steam "
            "screenings"
        ),
    ),
    (_RATE, ("volume flow",), "fresh_solvent miscella effluent"),
    (_AMOUNT, ("mass",), "beans_received oil_loaded meal_loaded pellets_loaded"),
    (_AMOUNT, ("volume", "mass"), "solvent_received"),
    (_STOCK, ("length", "volume", "mass", "share"), "oil_stock solvent_stock"),
    (_STOCK, ("share", "mass"), "meal_stock pellet_stock bean_stock"),
    (
        _VALUE,
        _SHARE,
        (
            "bean_moisture bean_oil bean_protein bean_foreign hull_oil hull_protein hull_fibre "
            "flake_oil spent_oil spent_moisture spent_solvent toasted_solvent meal_moisture "
            "meal_protein meal_fibre meal_oil meal_solvent meal_solubility oil_moisture oil_solvent "
            "oil_acid oil_phosphorus hulls_in_meats flake_moisture cracks_moisture miscella_oil "
            "toasted_moisture dryer_moisture pellet_moisture first_stage_oil second_stage_oil"
        ),
    ),
    (_VALUE, ("acidity difference",), "meal_urease"),
    (_VALUE, ("share by volume",), "solvent_hexane"),
    (_VALUE, ("density",), "waste_water_solvent"),
    (_VALUE, ("length",), "flake_thickness"),
    (_VALUE, ("time",), "residence_time"),
    (_VALUE, ("share of explosive limit",), "vent_lel"),
    (_VALUE, ("relative humidity",), "ambient_humidity"),
    (
        _VALUE,
        ("temperature",),
        (
            "oil_flash flake_temp solvent_temp toasted_temp vapour_temp dryer_air_temp "
            "dryer_exhaust_temp dryer_meal_temp cooled_meal_temp pellet_temp first_stage_temp "
            "second_stage_temp stripper_temp oil_temp vent_temp cooling_supply ambient_temp tank_temp "
            "store_temp"
        ),
    ),
    (
        _VALUE,
        ("pressure",),
        "first_stage_pressure second_stage_pressure stripper_pressure oil_dryer_pressure",
    ),
)

ROLE_FITS: Mapping[str, Fit] = MappingProxyType(
    {name: (kinds, of) for kinds, of, names in _BY_FIT for name in names.split()}
)
"""Role to what its points must be."""
