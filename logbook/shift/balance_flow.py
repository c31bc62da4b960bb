"""The reconciled network of a period as pictures and as a table of meters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from logbook.process.quantity import Quantity
from logbook.process.reconcile_plant import PlantReconciliation, ReconciledFigure
from logbook.process.roles import ROLES
from logbook.process.template_network import CONTENT_ROLES
from logbook.shift.balance_view import Edge, FlowSteps, FlowStream, Mark, MeterLine
from logbook.shift.balance_words import told_of
from logbook.shift.figure_words import number_words

PLACES: Mapping[str, tuple[int, int]] = MappingProxyType(
    {
        "preparation": (0, 0),
        "extraction": (1, 0),
        "evaporation": (2, 0),
        "recovery": (3, 0),
        "desolventizing": (2, 1),
        "drying": (3, 1),
        "cooling": (4, 1),
        "finishing": (5, 1),
        "hulls": (0, 1),
    }
)
"""Column and row of each step of the template's network."""
NAMES: Mapping[str, str] = MappingProxyType(
    {
        "preparation": "Preparation",
        "hulls": "Hull system",
        "desolventizing": "Desolventizer-toaster",
        "drying": "Meal dryer",
        "cooling": "Meal cooler",
        "finishing": "Meal finishing",
        "evaporation": "Evaporation",
        "recovery": "Solvent recovery",
    }
)
"""Short names, where the network's own do not fit a box."""
SHORT: Mapping[str, str] = MappingProxyType(
    {
        "beans": "Beans",
        "conditioner_vapour": "Vapour",
        "fresh_solvent": "Solvent",
        "miscella": "Miscella",
        "sparge_steam": "Direct steam",
        "toaster_vapour": "Vapour",
        "dryer_vapour": "Vapour",
        "cooler_vapour": "Vapour",
        "meal": "Meal",
        "hulls_added": "Hulls to meal",
        "pellet_steam": "Water taken up",
        "pellets": "Pellets",
        "stripping_steam": "Steam",
        "solvent_vapour": "Vapour",
        "made_up": "Made up",
        "waste_water": "Waste water",
    }
)
"""Names of streams that fit between two boxes, where the network's own do not."""
NOBODY: Mapping[str, str] = MappingProxyType({})
EDGES: Mapping[str, Edge] = MappingProxyType(
    {
        "beans": "left",
        "conditioner_vapour": "top",
        "sparge_steam": "bottom",
        "dryer_vapour": "bottom",
        "cooler_vapour": "bottom",
        "meal": "right",
        "pellet_steam": "left",
        "pellets": "bottom",
        "stripping_steam": "top",
        "oil": "top",
        "made_up": "right",
        "waste_water": "right",
    }
)
"""The side of the box where a stream from or to outside is."""
PICTURES = (
    ("mass", "Mass"),
    ("oil", "Oil"),
    ("water", "Water"),
    ("protein", "Protein"),
    ("solvent", "Solvent"),
)
"""Key and name of each picture; the first is of the whole, the others of one component."""


def flows_of(
    found: PlantReconciliation, hours: float, standing: Mapping[str, str] = NOBODY
) -> tuple[FlowSteps, ...]:
    """One picture of the whole and one of each component, t/h; none where nothing balances."""
    if found.detail is None or hours <= 0.0:
        return ()
    return tuple(_picture(found, key, name, hours, set(standing)) for key, name in PICTURES)


def meters_of(
    found: PlantReconciliation, standing: Mapping[str, str] = NOBODY
) -> tuple[MeterLine, ...]:
    """Each stream and each analysis: measured, reconciled, and what lies between them.

    `standing`: a sentence for each role that is contradicted day after day.
    """
    measured = [one for one in (*found.flows, *found.contents) if one.measured is not None]
    inferred = [one for one in found.flows if one.measured is None]
    lines = [_meter(one, found, standing) for one in measured]
    return (*lines, *(_meter(one, found, standing) for one in inferred))


def meters_told(found: PlantReconciliation) -> str:
    """The test of all readings together, in a sentence."""
    if found.note and found.detail is None:
        return f"The readings of this period come to no balance: {found.note}"
    if found.balances is None:
        return "Too few readings of this period check one another to say whether they agree."
    test = f"chi-square {found.chi2:.1f} of {found.dof}, p = {_p(found.p_value)}"
    if found.accusations:
        named = " ".join(_sentence(one.text) for one in found.accusations)
        return f"{named} All readings together: {test}."
    if found.balances:
        return f"All readings agree within their uncertainties ({test})."
    return f"The readings do not agree ({test}), but no single one can be named for it."


def _sentence(text: str) -> str:
    return f"{text.rstrip('.')}."


def _p(value: float) -> str:
    return f"{value:.3f}" if value >= 0.001 else f"{value:.1e}"


# -- pictures -------------------------------------------------------------------------------


def _picture(
    found: PlantReconciliation, key: str, name: str, hours: float, standing: set[str]
) -> FlowSteps:
    streams = tuple(_streams(found, key, hours, standing))
    touched = {end for one in streams for end in (one.source, one.target)}
    steps = tuple(
        (node.key, NAMES.get(node.key, node.name), *PLACES[node.key])
        for node in found.network.nodes
        if node.key in touched
    )
    return FlowSteps(key, name, "t/h", steps, streams)


def _streams(
    found: PlantReconciliation, key: str, hours: float, standing: set[str]
) -> Iterator[FlowStream]:
    suspects = {*found.suspects, *standing}
    for stream, figure in zip(found.network.streams, found.flows, strict=True):
        held = found.masses.get(stream.key, {})
        if key != "mass" and key not in stream.contents:
            continue
        amount = figure.reconciled if key == "mass" else held.get(key)
        is_suspect = figure.role in suspects or _content_role(stream.key, key) in suspects
        mark: Mark = "inferred" if figure.measured is None else ""
        if amount is None or amount.value is None:
            mark = "unknown"
        elif is_suspect:
            mark = "suspect"
        rate = None if amount is None or amount.value is None else amount.value / hours
        yield FlowStream(
            stream.key,
            SHORT.get(stream.key, stream.name),
            stream.source,
            stream.target,
            rate,
            EDGES.get(stream.key, "right"),
            mark,
            "" if rate is None else f"{_short(rate)} t/h",
            _stream_words(figure, amount, mark, held),
        )


def _content_role(stream: str, component: str) -> str:
    if component == "mass":
        return ""
    return next((role for role, place in CONTENT_ROLES.items() if place == (stream, component)), "")


def _short(rate: float) -> str:
    """Three digits, for a label."""
    if abs(rate) >= 100.0:
        return f"{rate:.0f}"
    if abs(rate) >= 10.0:
        return f"{rate:.1f}"
    return f"{rate:.2f}"


def _stream_words(
    figure: ReconciledFigure, amount: Quantity | None, mark: Mark, held: Mapping[str, Quantity]
) -> str:
    if amount is None or amount.value is None:
        return f"{figure.name}: no reading and no balance tells it."
    parts = [f"{figure.name}: {told_of(amount)} in the period"]
    if amount is figure.reconciled and figure.measured is not None:
        parts.append(f"measured {told_of(figure.measured)}")
    elif figure.measured is None:
        parts.append("worked out from the others")
    if amount is figure.reconciled:
        parts += [f"{name} {told_of(one)}" for name, one in held.items() if one.is_known]
    if mark == "suspect":
        parts.append("a reading of it is in doubt")
    return f"{', '.join(parts)}."


# -- meters ---------------------------------------------------------------------------------


def _meter(
    one: ReconciledFigure, found: PlantReconciliation, standing: Mapping[str, str]
) -> MeterLine:
    measured, reconciled = one.measured, one.reconciled
    was, was_spread = ("", "") if measured is None else number_words(measured.value, measured.sigma)
    now, now_spread = number_words(reconciled.value, reconciled.sigma)
    mark = ""
    if one.is_suspect or one.role in standing:
        mark = "suspect"
    elif reconciled.value is None:
        mark = "unknown"
    elif measured is None:
        mark = "inferred"
    return MeterLine(
        one.role,
        one.name,
        reconciled.unit,
        was,
        was_spread,
        now,
        now_spread,
        _adjustment(measured, reconciled),
        "" if one.z is None else f"{one.z:+.1f}",
        mark,
        standing.get(one.role) or _meter_words(one, found),
    )


def _adjustment(measured: Quantity | None, reconciled: Quantity) -> str:
    if measured is None or measured.value is None or reconciled.value is None:
        return ""
    change = reconciled.value - measured.value
    told, _ = number_words(change, measured.sigma)
    return f"+{told}" if change > 0.0 and told.strip("0.") else told


def _meter_words(one: ReconciledFigure, found: PlantReconciliation) -> str:
    for accusation in found.accusations:
        if one.role in accusation.roles:
            also = ", ".join(ROLES[role].meaning for role in accusation.alternatives)
            rest = f" Nearly as well would explain it: {also}." if also else ""
            return f"{_sentence(accusation.text)}{rest}"
    if one.reconciled.value is None:
        return "No reading and no balance tells it."
    if one.measured is None:
        return "Not measured: worked out from the other readings."
    if not one.is_redundant:
        return "Nothing checks this reading: it stands as it was read."
    return (
        f"The score is the adjustment in its own standard uncertainties; beyond {found.limit:.1f} "
        "chance does not explain it."
    )
