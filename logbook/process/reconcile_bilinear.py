"""Flows and compositions that balance together: every component as well as the whole.

A component's flow is flow times content, so the balances are bilinear. They are linearised at the
last values, solved as in `logbook.process.least_squares`, and linearised again until nothing moves
(successive linearisation: Pai and Fisher, AIChE Journal 34 (1988) 873, cited from memory). What
stands still keeps every balance and is the least-squares optimum. A content that is not measured
enters as the component's flow, in which the balances are linear (Crowe, "Reconciliation of process
flow rates by matrix projection, part II: the nonlinear case", AIChE Journal 32 (1986) 616, cited
from memory); so no start has to be guessed for it.

Contents are mass fractions (0.195, not 19.5 %). No value is held above zero: a reconciled flow or
content below zero, by more than its uncertainty, says that readings or network are wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from logbook.process.gross_errors import Suspicion, serial_elimination, z_limit
from logbook.process.least_squares import (
    Array,
    Flags,
    Order,
    Solution,
    independent_columns,
    nearest,
    solve,
)

SETTLED = 1e-8
"""Change, beside the largest flow or a whole, below which the linearisation has come to rest.

One more step follows, and each takes off about two digits."""
MOST_STEPS = 60


class NotSettledError(ValueError):
    """Readings so far from every balance that the linearisation comes to no rest."""


class Variable(NamedTuple):
    """What a reading is of: the flow of a stream (`component` None) or a content of it."""

    stream: int
    component: int | None


@dataclass(frozen=True, slots=True)
class ComponentReadings:
    """Readings of a network with compositions; arrays in the order of streams and components.

    Shapes: incidence (nodes, streams), flow and flow_sigma (streams,), content and content_sigma
    (streams, components), present (streams, components), closed (streams,).
    """

    incidence: Array
    flow: Array
    """NaN where not measured; any one unit."""
    flow_sigma: Array
    content: Array
    """Mass fraction; NaN where not measured. With a sigma of 0 it is exact (a pure stream: 1)."""
    content_sigma: Array
    present: Flags
    """False where the component is surely not in the stream."""
    closed: Flags
    """True where the components present add up to the whole stream."""

    def __post_init__(self) -> None:
        """Refuse shapes and values that cannot be meant."""
        nodes_streams = self.incidence.shape
        if len(nodes_streams) != 2 or self.content.ndim != 2:
            msg = "incidence must be (nodes, streams) and content (streams, components)"
            raise ValueError(msg)
        streams, components = nodes_streams[1], self.content.shape[1]
        for name, wanted in (
            ("flow", (streams,)),
            ("flow_sigma", (streams,)),
            ("content", (streams, components)),
            ("content_sigma", (streams, components)),
            ("present", (streams, components)),
            ("closed", (streams,)),
        ):
            if getattr(self, name).shape != wanted:
                msg = f"{name} has shape {getattr(self, name).shape}: it must be {wanted}"
                raise ValueError(msg)
        _check(self.flow, self.flow_sigma, "flow")
        _check(self.content, self.content_sigma, "content")
        if (~np.isnan(self.content) & ~self.present).any():
            stream, part = (int(k) for k in np.argwhere(~np.isnan(self.content) & ~self.present)[0])
            msg = f"content of stream {stream}, component {part} is given, but it is not present"
            raise ValueError(msg)


def _check(value: Array, sigma: Array, name: str) -> None:
    wrong = ~np.isnan(value) & ~((sigma >= 0.0) & np.isfinite(sigma))
    if wrong.any() or np.isinf(value).any():
        where = np.argwhere(wrong | np.isinf(value))[0].tolist()
        msg = (
            f"{name} at {where}: a reading is a number with a standard uncertainty above 0, "
            "or 0 if it is exact"
        )
        raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class ComponentReconciliation:
    """Flows and contents that keep all balances. NaN where something cannot be told."""

    flow: Array
    flow_sigma: Array
    content: Array
    """(streams, components), mass fraction."""
    content_sigma: Array
    mass: Array
    """(streams, components): flow of each component, in the unit of the flows."""
    mass_sigma: Array
    flow_adjustment: Array
    content_adjustment: Array
    flow_z: Array
    content_z: Array
    flow_observable: Flags
    content_observable: Flags
    flow_redundant: Flags
    content_redundant: Flags
    chi2: float
    dof: int
    p_value: float
    suspects: tuple[Variable, ...]
    suspect_sets: tuple[tuple[Variable, ...], ...]
    suspicions: tuple[Suspicion, ...]
    """Steps of the elimination; their numbers are places in `variables`."""
    variables: tuple[Variable, ...]
    covariance: Array
    """Of the values of `variables`; that of a content not measured is its component's flow."""
    measurement_limit: float
    steps: int
    """Linearisations until at rest."""
    level: float


class _Model:
    """The balances as functions of one vector of variables: flows first, then contents."""

    def __init__(self, readings: ComponentReadings) -> None:
        self.readings = readings
        content = readings.content
        self.exact = ~np.isnan(content) & (readings.content_sigma == 0.0) & readings.present
        self.streams = content.shape[0]
        self.stream, self.part = np.nonzero(readings.present & ~self.exact)
        self.known = ~np.isnan(content[self.stream, self.part])
        self.y = np.concatenate([readings.flow, content[self.stream, self.part]])
        self.s = np.concatenate(
            [readings.flow_sigma, readings.content_sigma[self.stream, self.part]]
        )
        self._rows()

    def _rows(self) -> None:
        """Linear parts: `whole` (totals), `parts` (equation, stream x component flow)."""
        one, incidence = self.readings, self.readings.incidence
        shut = one.closed | ((one.content == 1.0) & self.exact).any(axis=1)
        open_nodes = ((incidence != 0.0) & ~shut).any(axis=1)
        streams, components = one.present.shape
        whole = [np.where(open_nodes[:, None], incidence, 0.0)[open_nodes]]
        by_part = [np.zeros((int(open_nodes.sum()), streams, components))]
        for part in range(components):
            rows = incidence * one.present[:, part]
            rows = rows[(rows != 0.0).any(axis=1)]
            spread = np.zeros((len(rows), streams, components))
            spread[:, :, part] = rows
            whole.append(np.zeros((len(rows), streams)))
            by_part.append(spread)
        loose = one.closed & (one.present & ~self.exact).any(axis=1)
        sums = np.flatnonzero(loose)
        closing = np.zeros((len(sums), streams, components))
        closing[np.arange(len(sums)), sums] = one.present[sums]
        whole.append(-np.eye(streams)[sums])
        by_part.append(closing)
        self.whole, self.by_part = np.concatenate(whole), np.concatenate(by_part)
        self.own = self.by_part[:, self.stream, self.part]

    def masses(self, v: Array) -> Array:
        """Component flows (streams, components) of the variables `v`."""
        flow, rest = v[: self.streams], v[self.streams :]
        found = np.where(self.exact, self.readings.content, 0.0) * flow[:, None]
        found[self.stream, self.part] = np.where(self.known, rest * flow[self.stream], rest)
        return found

    def balance(self, v: Array) -> Array:
        """What is missing from each balance at `v`."""
        return np.asarray(
            self.whole @ v[: self.streams] + np.einsum("esc,sc->e", self.by_part, self.masses(v))
        )

    def slopes(self, v: Array) -> Array:
        """(equations, variables): derivatives of the balances at `v`."""
        share = np.where(self.exact, self.readings.content, 0.0)
        rest = v[self.streams :]
        share[self.stream, self.part] = np.where(self.known, rest, 0.0)
        by_flow = self.whole + np.einsum("esc,sc->es", self.by_part, share)
        by_rest = self.own * np.where(self.known, v[self.stream], 1.0)
        return np.concatenate([by_flow, by_rest], axis=1)

    def start(self) -> tuple[Array, Order]:
        """Variables as read, and what is not measured as it fits these balances best."""
        flows = self.readings.flow
        typical = float(np.nanmean(np.abs(flows))) if (~np.isnan(flows)).any() else 1.0
        unread = np.isnan(self.y)
        v = np.where(unread, 0.0, self.y)
        slopes = self.slopes(v)[:, unread]
        order = independent_columns(slopes)
        free = np.flatnonzero(unread)[order[0]]
        q, r = np.linalg.qr(slopes[:, order[0]])
        v[free] = np.linalg.solve(r, -q.T @ self.balance(v))
        # A flow that nothing tells yet would make the contents of its stream count for nothing.
        still = unread[: self.streams] & (np.abs(v[: self.streams]) < 1e-6 * typical)
        v[: self.streams][still] = typical
        return v, order

    def _size(self, v: Array) -> Array:
        """What a change of each variable is small beside: the largest flow, or a whole."""
        flow = max(float(np.abs(v[: self.streams]).max(initial=0.0)), 1e-300)
        rest = np.where(self.known, 1.0, flow)
        return np.concatenate([np.full(self.streams, flow), rest])

    def settle(self) -> tuple[Solution, Array, int]:
        """Linearise until at rest: (last solution, variables, steps)."""
        v, order = self.start()
        for step in range(1, MOST_STEPS + 1):
            slopes = self.slopes(v)
            wanted = slopes @ v - self.balance(v)
            found = nearest(slopes, self.y, self.s, wanted, order)
            new = np.where(np.isnan(found), v, found)
            if not np.isfinite(new).all():
                break
            moved = float((np.abs(new - v) / self._size(v)).max(initial=0.0))
            v = new
            if moved < SETTLED:
                slopes = self.slopes(v)
                wanted = slopes @ v - self.balance(v)
                last = solve(slopes, self.y, self.s, wanted, strict=False, order=order)
                return last, v, step
        msg = (
            "the component balances come to no rest: some reading is far from all others, or the "
            "network does not fit the readings; look for a wrong unit or a stream left out"
        )
        raise NotSettledError(msg)


def reconcile_components(
    readings: ComponentReadings,
    *,
    level: float = 0.05,
    correction: str = "sidak",
    may_be_wrong: Flags | None = None,
    global_test: bool = True,
) -> ComponentReconciliation:
    """Reconcile flows and contents with the balances of the whole and of every component.

    `may_be_wrong` (streams, 1 + components): which readings the elimination may accuse, flow
    first; all if not given. `level`, `correction` and `global_test` as in
    `logbook.process.gross_errors.serial_elimination`.

    Raises:
        NotSettledError: (a ValueError) where the linearisation comes to no rest.
    """
    model = _Model(readings)
    solution, v, steps = model.settle()
    variables = _variables(model)
    allowed = None
    if may_be_wrong is not None:
        allowed = [
            k
            for k, (stream, part) in enumerate(variables)
            if may_be_wrong[stream, 0 if part is None else 1 + part]
        ]
    accused = serial_elimination(
        solution,
        model.s,
        level=level,
        correction=correction,
        may_be_wrong=allowed,
        global_test=global_test,
    )
    tested = np.isfinite(solution.z)
    limit = z_limit(tested, level, correction)
    return _result(model, (solution, v, steps), variables, accused, (limit, level))


def without(readings: ComponentReadings, gone: tuple[Variable, ...]) -> ComponentReadings:
    """Return the readings with those of `gone` taken as not measured."""
    flow, content = readings.flow.copy(), readings.content.copy()
    for stream, part in gone:
        if part is None:
            flow[stream] = np.nan
        else:
            content[stream, part] = np.nan
    return ComponentReadings(
        readings.incidence,
        flow,
        readings.flow_sigma,
        content,
        readings.content_sigma,
        readings.present,
        readings.closed,
    )


def _variables(model: _Model) -> tuple[Variable, ...]:
    flows = [Variable(k, None) for k in range(model.streams)]
    rest = zip(model.stream.tolist(), model.part.tolist(), strict=True)
    return (*flows, *(Variable(s, c) for s, c in rest))


def _spread(model: _Model, solution: Solution, v: Array) -> tuple[Array, Array, Array]:
    """(content, its sigma, mass sigma) of every stream and component, by first-order propagation."""
    n, stream = model.streams, model.stream
    covariance = solution.covariance
    variance = np.diagonal(covariance)
    flow_var, flow = variance[:n], np.where(np.isnan(solution.value[:n]), np.nan, v[:n])
    rest, rest_var = solution.value[n:], variance[n:]
    cross = covariance[stream, n + np.arange(len(stream))]
    f, fv = flow[stream], flow_var[stream]
    with np.errstate(invalid="ignore", divide="ignore"):
        mass_var = np.where(
            model.known, rest**2 * fv + f**2 * rest_var + 2.0 * rest * f * cross, rest_var
        )
        ratio = rest / f
        ratio_var = (rest_var + ratio**2 * fv - 2.0 * ratio * cross) / f**2
    content = np.where(model.exact, model.readings.content, 0.0)
    content_var = np.zeros_like(content)
    masses_var = content**2 * flow_var[:, None]
    content[stream, model.part] = np.where(model.known, rest, ratio)
    content_var[stream, model.part] = np.where(model.known, rest_var, ratio_var)
    masses_var[stream, model.part] = mass_var
    return content, _root(content_var), _root(masses_var)


def _root(variance: Array) -> Array:
    return np.sqrt(np.maximum(variance, 0.0))


def _result(
    model: _Model,
    settled: tuple[Solution, Array, int],
    variables: tuple[Variable, ...],
    accused: tuple[Suspicion, ...],
    tests: tuple[float, float],
) -> ComponentReconciliation:
    """Put everything into streams and components again."""
    (solution, v, steps), n = settled, model.streams
    content, content_sigma, mass_sigma = _spread(model, solution, v)
    masses = model.masses(np.where(np.isnan(solution.value), np.nan, v))
    masses[~model.readings.present] = 0.0
    seen = ~np.isnan(content)
    sets = tuple(tuple(variables[k] for k in one.variables) for one in accused)

    def spread(values: Array) -> Array:
        found = np.full(content.shape, np.nan)
        found[model.stream, model.part] = values[n:]
        return found

    return ComponentReconciliation(
        flow=solution.value[:n],
        flow_sigma=solution.sigma[:n],
        content=content,
        content_sigma=content_sigma,
        mass=masses,
        mass_sigma=mass_sigma,
        flow_adjustment=solution.adjustment[:n],
        content_adjustment=spread(solution.adjustment),
        flow_z=solution.z[:n],
        content_z=spread(solution.z),
        flow_observable=solution.observable[:n],
        content_observable=seen,
        flow_redundant=solution.redundant[:n],
        content_redundant=spread(solution.redundant.astype(np.float64)) == 1.0,
        chi2=solution.chi2,
        dof=solution.dof,
        p_value=solution.p_value,
        suspects=tuple(one for group in sets for one in group),
        suspect_sets=sets,
        suspicions=accused,
        variables=variables,
        covariance=solution.covariance,
        measurement_limit=tests[0],
        steps=steps,
        level=tests[1],
    )
