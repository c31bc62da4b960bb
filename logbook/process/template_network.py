"""The shipped template's plant as a network, and its readings reconciled by role.

Whole, oil, water, protein and solvent are balanced at every node; dry matter and fibre follow.
Totals alone could not tell a wrong bean scale from wrong product scales: the oil balance ties the
beans to the oil meter, the protein balance to the meal scale, the flakes to the flake scale, and
only the scale that all of them contradict is the one that is wrong.

Screenings are taken off ahead of the bean scale, so they are no stream here. Water that leaves in
air is not measured, and so is free. Dust and drips are taken as nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType

from logbook.process.network import Network, Node, Stream

NODES = (
    Node("preparation", "Cracking, dehulling, conditioning and flaking"),
    Node("hulls", "Hull grinding and pelleting"),
    Node("extraction", "Extractor"),
    Node("desolventizing", "Desolventizer-toaster"),
    Node("drying", "Meal dryer"),
    Node("cooling", "Meal cooler"),
    Node("finishing", "Meal finishing and grinding"),
    Node("evaporation", "Miscella evaporation and oil stripping"),
    Node("recovery", "Condensers, separator and work tank"),
)
SEED = ("oil", "water", "protein")
WET = ("oil", "water", "protein", "solvent")
VAPOUR = ("water", "solvent")
WATER, SOLVENT = ("water",), ("solvent",)


def _closed(
    key: str, name: str, source: str | None, target: str | None, contents: tuple[str, ...]
) -> Stream:
    """A stream that has nothing else in it."""
    return Stream(key, name, source, target, contents, closed=True)


STREAMS = (
    Stream("beans", "Cleaned beans", None, "preparation", SEED),
    Stream("hulls", "Hulls", "preparation", "hulls", SEED),
    _closed("conditioner_vapour", "Vapour from conditioning", "preparation", None, WATER),
    Stream("flakes", "Flakes", "preparation", "extraction", SEED),
    _closed("fresh_solvent", "Solvent to the extractor", "recovery", "extraction", SOLVENT),
    _closed("miscella", "Full miscella", "extraction", "evaporation", ("oil", "solvent")),
    Stream("spent_flakes", "Spent flakes", "extraction", "desolventizing", WET),
    _closed("sparge_steam", "Sparge steam", None, "desolventizing", WATER),
    _closed("toaster_vapour", "Desolventizer vapour", "desolventizing", "recovery", VAPOUR),
    Stream("toasted_meal", "Toasted meal", "desolventizing", "drying", SEED),
    _closed("dryer_vapour", "Vapour from the dryer", "drying", None, WATER),
    Stream("dried_meal", "Dried meal", "drying", "cooling", SEED),
    _closed("cooler_vapour", "Vapour from the cooler", "cooling", None, WATER),
    Stream("cooled_meal", "Cooled meal", "cooling", "finishing", SEED),
    Stream("hulls_added", "Hulls added back", "hulls", "finishing", SEED),
    Stream("meal", "Finished meal", "finishing", None, SEED),
    _closed("pellet_steam", "Water taken up by pellets", None, "hulls", WATER),
    Stream("pellets", "Hull pellets", "hulls", None, SEED),
    _closed("stripping_steam", "Stripping steam", None, "evaporation", WATER),
    _closed("solvent_vapour", "Evaporator vapour", "evaporation", "recovery", VAPOUR),
    _closed("oil", "Crude oil", "evaporation", None, ("oil", "water", "solvent")),
    _closed("made_up", "Solvent made up, net of vent losses", None, "recovery", SOLVENT),
    _closed("waste_water", "Water from the separator", "recovery", None, WATER),
)  # fmt: skip

FLOW_ROLES: Mapping[str, str] = MappingProxyType(
    {
        key: key
        for key in (
            "beans", "hulls", "flakes", "fresh_solvent", "miscella", "sparge_steam",
            "hulls_added", "meal", "pellets", "stripping_steam", "oil",
        )
    }
)  # fmt: skip
"""Stream by the role that measures its flow."""

CONTENT_ROLES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "bean_oil": ("beans", "oil"),
        "bean_moisture": ("beans", "water"),
        "bean_protein": ("beans", "protein"),
        "hull_oil": ("hulls", "oil"),
        "hull_protein": ("hulls", "protein"),
        "flake_oil": ("flakes", "oil"),
        "flake_moisture": ("flakes", "water"),
        "miscella_oil": ("miscella", "oil"),
        "spent_moisture": ("spent_flakes", "water"),
        "spent_solvent": ("spent_flakes", "solvent"),
        "spent_oil": ("spent_flakes", "oil"),
        "toasted_moisture": ("toasted_meal", "water"),
        "dryer_moisture": ("dried_meal", "water"),
        "meal_oil": ("meal", "oil"),
        "meal_moisture": ("meal", "water"),
        "meal_protein": ("meal", "protein"),
        "pellet_moisture": ("pellets", "water"),
        "oil_moisture": ("oil", "water"),
        "oil_solvent": ("oil", "solvent"),
    }
)
"""Stream and component by the role that measures the content."""


_WITH_HULLS = Network(NODES, STREAMS)
_WITHOUT = Network(NODES, tuple(one for one in STREAMS if one.key != "hulls_added"))


def plant_network(available: Collection[str]) -> Network:
    """Return the plant's network for the roles there are figures for.

    Hulls are added back only where "hulls_added" is available. Everything else stays: what no
    figure and no balance tells comes out as not observable.

    >>> len(plant_network({"beans", "oil", "meal"}).streams)
    22
    """
    return _WITH_HULLS if "hulls_added" in available else _WITHOUT
