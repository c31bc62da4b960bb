"""The plant's readings of one period made to balance, and the meter that cannot be right.

>>> from logbook.process.quantity import Quantity
>>> figures = {
...     "beans": Quantity("beans", 1477.0, "t", 3.2),
...     "flakes": Quantity("flakes", 1388.0, "t", 13.9),
... }
>>> reconcile_plant(figures).missing[:3]
('hulls', 'fresh_solvent', 'miscella')
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from logbook.process.gross_errors import Suspicion
from logbook.process.network import Network
from logbook.process.oil_density import oil_density
from logbook.process.quantity import Quantity
from logbook.process.reconcile_bilinear import (
    ComponentReadings,
    ComponentReconciliation,
    NotSettledError,
    Variable,
    reconcile_components,
)
from logbook.process.roles import ROLES
from logbook.process.template_network import CONTENT_ROLES, FLOW_ROLES, plant_network

LEVEL = 0.05
"""Rate at which a period's good readings may be accused."""
FAR_LESS_LIKELY = 5.0
"""Times as many of its own uncertainties off: then the other reading is the likely one."""
PARTS_OF = {"%": 100.0, "mg/kg": 1e6}
SOURCE = "weighted least squares of flows and contents; logbook.process.reconcile_bilinear"


@dataclass(frozen=True, slots=True)
class ReconciledFigure:
    """A measured or unmeasured figure beside what the balances make of it."""

    role: str
    """Role that measures it; of a stream without one, the stream's key."""
    name: str
    measured: Quantity | None
    reconciled: Quantity
    """With every reading used, the accused ones too."""
    z: float | None
    """Adjustment over its standard deviation; None where nothing checks the reading."""
    is_redundant: bool
    is_suspect: bool


@dataclass(frozen=True, slots=True)
class Accusation:
    """A reading that the others contradict."""

    roles: tuple[str, ...]
    """More than one: their errors would look the same, and one of them is wrong."""
    z: float
    error: Quantity
    """Reading less truth, if it is the first of `roles`, in the role's unit."""
    relative: float | None
    """The same over the estimated truth: -0.015 reads 1.5 % low."""
    alternatives: tuple[str, ...]
    """Roles that explain the readings nearly as well, or as well by an unlikely large error."""
    text: str


@dataclass(frozen=True, slots=True)
class PlantReconciliation:
    """One period of the plant, reconciled."""

    network: Network
    flows: tuple[ReconciledFigure, ...]
    """One for each stream of `network`, t."""
    contents: tuple[ReconciledFigure, ...]
    """One for each content that is measured, in the role's unit."""
    masses: Mapping[str, Mapping[str, Quantity]]
    """t of each component by stream and component."""
    chi2: float
    dof: int
    p_value: float
    accusations: tuple[Accusation, ...]
    level: float
    limit: float
    """Size of z that is beyond chance."""
    missing: tuple[str, ...]
    """Roles the balances could use and that have no figure."""
    note: str
    detail: ComponentReconciliation | None

    @property
    def suspects(self) -> tuple[str, ...]:
        """Roles accused, worst first."""
        return tuple(role for one in self.accusations for role in one.roles)

    @property
    def balances(self) -> bool | None:
        """Whether the readings agree within their uncertainties; None where nothing checks them."""
        return None if math.isnan(self.p_value) else self.p_value >= self.level


def reconcile_plant(
    measurements: Mapping[str, Quantity],
    *,
    level: float = LEVEL,
    in_process_sigma: float = 0.0,
) -> PlantReconciliation:
    """Reconcile the figures of a period, given by role (see `logbook.process.roles`).

    Args:
        measurements: figures in the units of their roles; one without value counts as missing,
            one without sigma gets that of its role. Roles the network does not know are not used.
        level: rate at which good readings may be accused in a period.
        in_process_sigma: standard uncertainty (t) of the change in what vessels hold, for a
            period that begins or ends in a stop or a start; widens the uncertainty of the beans.

    A period whose readings come to no balance at all has no reconciled figures, and `note` says so.

    Raises:
        ValueError: a figure in another unit than its role's.
    """
    figures = _usable(measurements)
    network = plant_network(figures)
    wanted = (*FLOW_ROLES, *CONTENT_ROLES)
    missing = tuple(role for role in wanted if role not in figures and role != "hulls_added")
    readings = _readings(network, figures, in_process_sigma)
    try:
        found = reconcile_components(readings, level=level, global_test=False)
    except NotSettledError as problem:
        return _unsettled(network, figures, missing, level, str(problem))
    return _told(network, figures, found, missing)


def _usable(measurements: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """Figures that the network knows and that have a value, each with an uncertainty, in t and %."""
    found: dict[str, Quantity] = {}
    for role in (*FLOW_ROLES, *CONTENT_ROLES):
        one = measurements.get(role)
        if one is None or not one.is_known or one.value is None:
            continue
        if one.unit not in {ROLES[role].unit, "t"}:
            msg = f"{role} is in {one.unit!r}: the role {role!r} is in {ROLES[role].unit!r}"
            raise ValueError(msg)
        sigma = ROLES[role].sigma(one.value) if one.sigma is None else one.sigma
        found[role] = Quantity(one.name, one.value, one.unit, sigma, one.inputs, one.source)
    _weigh_liquids(found, measurements)
    _spent_oil_as_is(found)
    hulls, added = _value(found, "hulls", 0.0), _value(found, "hulls_added", 0.0)
    if added < 0.01 * hulls:
        found.pop("hulls_added", None)
    return found


def _value(figures: Mapping[str, Quantity], role: str, otherwise: float) -> float:
    one = figures.get(role)
    return otherwise if one is None or one.value is None else one.value


def solvent_density(t_c: float) -> float:
    """Density of commercial hexane, t/m³, at `t_c` °C, 0 to 65; from memory, within 0.5 %."""
    return 0.672 - 0.00092 * (t_c - 15.0)


def _weigh_liquids(found: dict[str, Quantity], all_figures: Mapping[str, Quantity]) -> None:
    """Turn volumes of solvent and miscella into t; without a strength miscella is not used."""
    warm = _value(all_figures, "solvent_temp", 57.0)
    light = solvent_density(warm)
    densities = {"fresh_solvent": light}
    if "miscella_oil" in found:
        share = _value(found, "miscella_oil", 25.0) / 100.0
        heavy = float(oil_density(warm)) / 1000.0
        densities["miscella"] = 1.0 / (share / heavy + (1.0 - share) / light)
    for role in ("fresh_solvent", "miscella"):
        one = found.get(role)
        if one is None or one.unit == "t" or one.value is None or one.sigma is None:
            continue
        if role not in densities:
            del found[role]
            continue
        mass = one.value * densities[role]
        sigma = math.hypot(one.sigma * densities[role], 0.005 * mass)
        found[role] = Quantity(one.name, mass, "t", sigma, one.inputs, one.source)


def _spent_oil_as_is(found: dict[str, Quantity]) -> None:
    """Bring the oil of spent flakes from dry and solvent-free to what is in the wet flakes."""
    oil = found.pop("spent_oil", None)
    if oil is None or oil.value is None or oil.sigma is None:
        return
    if "spent_moisture" in found and "spent_solvent" in found:
        share = 1.0 - (found["spent_moisture"].value or 0.0) / 100.0
        share -= (found["spent_solvent"].value or 0.0) / 100.0
        # The other two are uncertain by about 1 % of the share: nothing beside the oil's own.
        found["spent_oil"] = Quantity(oil.name, oil.value * share, "%", oil.sigma * share)


def _readings(
    network: Network, figures: Mapping[str, Quantity], in_process: float
) -> ComponentReadings:
    parts = network.components
    place = {stream.key: k for k, stream in enumerate(network.streams)}
    shape = len(network.streams), len(parts)
    flow, flow_sigma = np.full(shape[0], np.nan), np.zeros(shape[0])
    content, content_sigma = np.full(shape, np.nan), np.zeros(shape)
    present = np.array([[p in s.contents for p in parts] for s in network.streams])
    closed = np.array([s.closed for s in network.streams])
    for k, stream in enumerate(network.streams):
        if stream.closed and len(stream.contents) == 1:
            content[k, parts.index(stream.contents[0])] = 1.0
    for role, one in figures.items():
        value, sigma = one.value or 0.0, one.sigma or 0.0
        if role in FLOW_ROLES:
            flow[place[FLOW_ROLES[role]]] = value
            flow_sigma[place[FLOW_ROLES[role]]] = sigma
            continue
        scale = PARTS_OF[ROLES[role].unit]
        for where, part in _places(role, place):
            content[place[where], parts.index(part)] = value / scale
            content_sigma[place[where], parts.index(part)] = sigma / scale
    beans = place["beans"]
    flow_sigma[beans] = math.hypot(flow_sigma[beans], in_process)
    return ComponentReadings(
        network.incidence, flow, flow_sigma, content, content_sigma, present, closed
    )


def _places(role: str, place: Mapping[str, int]) -> tuple[tuple[str, str], ...]:
    """Where a content is used: hulls added back are the same hulls."""
    stream, part = CONTENT_ROLES[role]
    if stream == "hulls" and "hulls_added" in place:
        return (stream, part), ("hulls_added", part)
    return ((stream, part),)


_ROLE_OF_STREAM = {stream: role for role, stream in FLOW_ROLES.items()}
_ROLE_OF_CONTENT = {place: role for role, place in CONTENT_ROLES.items()}


def _role(network: Network, variable: Variable) -> str:
    stream = network.streams[variable.stream].key
    if variable.component is None:
        return _ROLE_OF_STREAM[stream]
    part = network.components[variable.component]
    return _ROLE_OF_CONTENT["hulls" if stream == "hulls_added" else stream, part]


def _told(
    network: Network,
    figures: Mapping[str, Quantity],
    found: ComponentReconciliation,
    missing: tuple[str, ...],
) -> PlantReconciliation:
    accusations = _accusations(network, figures, found)
    accused = {role for one in accusations for role in one.roles}
    note = "" if found.dof else "no balance checks these readings"
    return PlantReconciliation(
        network,
        tuple(_flow(network, figures, found, k, accused) for k in range(len(network.streams))),
        tuple(_content(network, figures, found, role, accused) for role in _contents_of(figures)),
        _masses(network, found),
        found.chi2,
        found.dof,
        found.p_value,
        accusations,
        found.level,
        found.measurement_limit,
        missing,
        note,
        found,
    )


def _contents_of(figures: Mapping[str, Quantity]) -> tuple[str, ...]:
    return tuple(role for role in figures if role in CONTENT_ROLES)


def _figure(name: str, value: float, unit: str, sigma: float) -> Quantity:
    if math.isnan(value):
        return Quantity(name, None, unit, source=SOURCE, note="not told by any reading or balance")
    return Quantity(name, float(value), unit, float(sigma), source=SOURCE)


def _z(value: float) -> float | None:
    return None if math.isnan(value) else float(value)


def _flow(
    network: Network,
    figures: Mapping[str, Quantity],
    found: ComponentReconciliation,
    k: int,
    accused: set[str],
) -> ReconciledFigure:
    stream = network.streams[k]
    role = _ROLE_OF_STREAM.get(stream.key, stream.key)
    return ReconciledFigure(
        role,
        stream.name,
        figures.get(role),
        _figure(stream.name, found.flow[k], "t", found.flow_sigma[k]),
        _z(found.flow_z[k]),
        bool(found.flow_redundant[k]),
        role in accused,
    )


def _content(
    network: Network,
    figures: Mapping[str, Quantity],
    found: ComponentReconciliation,
    role: str,
    accused: set[str],
) -> ReconciledFigure:
    stream, part = CONTENT_ROLES[role]
    k, c = network.place(stream), network.components.index(part)
    unit = ROLES[role].unit
    scale, name = PARTS_OF[unit], ROLES[role].meaning
    value, sigma = found.content[k, c] * scale, found.content_sigma[k, c] * scale
    return ReconciledFigure(
        role,
        name,
        figures.get(role),
        _figure(name, value, unit, sigma),
        _z(found.content_z[k, c]),
        bool(found.content_redundant[k, c]),
        role in accused,
    )


def _masses(network: Network, found: ComponentReconciliation) -> dict[str, dict[str, Quantity]]:
    parts = network.components
    return {
        stream.key: {
            part: _figure(
                f"{part} in {stream.name.lower()}",
                found.mass[k, parts.index(part)],
                "t",
                found.mass_sigma[k, parts.index(part)],
            )
            for part in stream.contents
        }
        for k, stream in enumerate(network.streams)
    }


def _accusations(
    network: Network, figures: Mapping[str, Quantity], found: ComponentReconciliation
) -> tuple[Accusation, ...]:
    told = []
    for one in found.suspicions:
        errors = _errors(network, figures, found, one)
        roles = _likely(figures, errors)
        close = (*errors, *_unique(network, found, one.alternatives))
        others = tuple(dict.fromkeys(role for role in close if role not in roles))
        error = errors[roles[0]]
        wrong = error.value or 0.0
        truth = (figures[roles[0]].value or 0.0) - wrong
        relative = wrong / truth if truth else None
        text = _words(roles, error, relative, others)
        told.append(Accusation(roles, one.z, error, relative, others, text))
    return tuple(told)


def _errors(
    network: Network,
    figures: Mapping[str, Quantity],
    found: ComponentReconciliation,
    one: Suspicion,
) -> dict[str, Quantity]:
    """Errors by role of readings that look the same, each if it is that one; truth not below 0."""
    told: dict[str, Quantity] = {}
    share = abs(one.error_sigma / one.error) if one.error else 0.0
    for place, error in zip(one.variables, one.errors, strict=True):
        role = _role(network, found.variables[place])
        unit = figures[role].unit
        size = error * PARTS_OF.get(unit, 1.0)
        told[role] = Quantity(role, size, unit, abs(size) * share, source=SOURCE)
    able = {r: q for r, q in told.items() if (figures[r].value or 0.0) >= (q.value or 0.0)}
    return able or told


def _likely(figures: Mapping[str, Quantity], errors: Mapping[str, Quantity]) -> tuple[str, ...]:
    """Roles that need not be off by far more of their own uncertainties than the best of them.

    No balance tells moisture of the oil from its weight; that 0.1 % should be 3 % is not likely.
    """
    size = {r: abs(q.value or 0.0) / (figures[r].sigma or math.inf) for r, q in errors.items()}
    least = min(size.values())
    return tuple(role for role in errors if size[role] <= FAR_LESS_LIKELY * least)


def _unique(
    network: Network, found: ComponentReconciliation, places: tuple[int, ...]
) -> tuple[str, ...]:
    return tuple(dict.fromkeys(_role(network, found.variables[k]) for k in places))


def _words(
    roles: tuple[str, ...], error: Quantity, relative: float | None, others: tuple[str, ...]
) -> str:
    names = " or ".join(ROLES[role].meaning for role in roles)
    size = abs(error.value or 0.0)
    way = "high" if (error.value or 0.0) > 0 else "low"
    share = f" ({100 * relative:+.1f} %)" if relative is not None else ""
    text = f"{names}: reads {size:.4g} {error.unit} too {way}{share}, if it alone is wrong"
    if others:
        text += "; could also be " + ", ".join(ROLES[r].meaning for r in others)
    return text


def _unsettled(
    network: Network,
    figures: Mapping[str, Quantity],
    missing: tuple[str, ...],
    level: float,
    note: str,
) -> PlantReconciliation:
    nothing = math.nan
    flows = tuple(
        ReconciledFigure(
            _ROLE_OF_STREAM.get(one.key, one.key),
            one.name,
            figures.get(_ROLE_OF_STREAM.get(one.key, one.key)),
            _figure(one.name, nothing, "t", nothing),
            None,
            is_redundant=False,
            is_suspect=False,
        )
        for one in network.streams
    )
    return PlantReconciliation(
        network, flows, (), {}, nothing, 0, nothing, (), level, nothing, missing, note, None
    )


def without_suspects(
    measurements: Mapping[str, Quantity], found: PlantReconciliation
) -> PlantReconciliation:
    """Reconcile again without the first reading of each accusation: what a report should use."""
    gone = {one.roles[0] for one in found.accusations}
    if not gone:
        return found
    kept = {role: one for role, one in measurements.items() if role not in gone}
    return reconcile_plant(kept, level=found.level)
