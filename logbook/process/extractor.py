"""The extractor: solvent ratio, miscella strength, predicted residual oil and what-if.

Flakes are solids that do not dissolve (with their water), and oil; the wash runs against them
through a number of stages, each of which holds back the same solution per solid (its drainage) and is
efficient in part: `logbook.process.leaching`. The stage efficiency is fitted to a measured residual
oil, so that a what-if starts from the plant's own state.

What the model leaves out: diffusion, fines, channelling, bed depth, temperature and time act through
the fitted efficiency only. A what-if is a direction and a size, no promise.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace

from logbook.process.leaching import (
    Leaching,
    LeachingError,
    constant_retention,
    predict,
)
from logbook.process.quantity import Quantity, propagate

USUAL_MISCELLA_PCT = 25.0
"""Oil in full miscella, % by mass: about 25, common practice, no source."""
USUAL_SPENT_SOLVENT_PCT = 30.0
"""Solvent in drained spent flakes, % of the wet flakes: about 30, common practice, no source."""

ASSUMED = (
    "water stays with the solids and does not mix with the solvent",
    "each stage holds back the same solution per solid, also with strong miscella",
    "the same stage efficiency in all stages, and in the what-if as in the state it starts from",
    "no fines, no channelling, no loss of solvent in the extractor",
)


class ExtractorError(ValueError):
    """A state of the extractor that cannot be; the message says what to change."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtractorState:
    """What the extractor runs on."""

    flakes_t_h: float
    """Flakes entering, t/h as they are."""
    oil_pct: float
    """Oil in the flakes, % by mass as they are."""
    moisture_pct: float
    """Water in the flakes, % by mass as they are."""
    solvent_t_h: float
    """Fresh solvent, t/h without its oil."""
    drainage_pct: float = USUAL_SPENT_SOLVENT_PCT
    """Solution (solvent and its oil) in the drained flakes, % of the wet flakes."""
    stages: int = 6
    """Washing stages."""
    efficiency: float = 1.0
    """Share of the solution that comes with the flakes which a stage mixes with its wash."""
    solvent_oil_pct: float = 0.0
    """Oil in the fresh solvent, % by mass."""

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        for name in ("flakes_t_h", "solvent_t_h"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise ExtractorError(f"{name} is {value:g}; it must be a number above 0.")
        for name in ("oil_pct", "moisture_pct", "drainage_pct", "solvent_oil_pct"):
            value = getattr(self, name)
            if not 0.0 <= value < 100.0:
                raise ExtractorError(f"{name} is {value:g}; it must lie between 0 and 100 %.")
        if self.oil_pct <= 0.0 or self.drainage_pct <= 0.0:
            raise ExtractorError("The oil in the flakes and the drainage must be above 0 %.")
        if self.oil_pct + self.moisture_pct >= 100.0:
            raise ExtractorError("Oil and water make up the flakes alone: no solids are left.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Extraction:
    """What comes out of the extractor, as predicted."""

    ratio: Quantity
    """Fresh solvent per flakes, kg/kg."""
    miscella: Quantity
    """Full miscella, t/h."""
    miscella_oil: Quantity
    """Oil in the full miscella, % by mass."""
    residual_oil_dry: Quantity
    """Oil in the spent flakes without solvent and water, % by mass."""
    residual_oil: Quantity
    """Oil in the spent flakes without solvent, with their water, % by mass."""
    spent_flakes: Quantity
    """Spent flakes with solvent, t/h."""
    spent_solvent: Quantity
    """Solvent in the spent flakes, % of them."""
    recovery: Quantity
    """Share of the flakes' oil in the full miscella, %."""
    oil_lost: Quantity
    """Oil that leaves with the spent flakes, t/h."""
    assumed: tuple[str, ...] = ASSUMED


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """Two states of the extractor side by side."""

    before: Extraction
    after: Extraction
    changed: tuple[tuple[str, float, float], ...]
    """Name, value before and value after of what was changed."""
    oil_gained_t_h: float
    """Oil that leaves with the miscella after, less before, t/h: also by more oil in the flakes."""
    residual_change: float
    """Residual oil in dry solids after less before, % points."""
    assumed: tuple[str, ...] = ASSUMED


def solvent_ratio(solvent_t_h: float, flakes_t_h: float) -> float:
    """Return the solvent-to-flake ratio, kg/kg; ExtractorError without flakes.

    >>> round(solvent_ratio(51.8, 57.8), 3)
    0.896
    """
    if not flakes_t_h > 0.0:
        raise ExtractorError(f"{flakes_t_h:g} t/h of flakes: there is no ratio without flakes.")
    return solvent_t_h / flakes_t_h


@dataclass(frozen=True, slots=True)
class _Flows:
    """Masses that leave, t/h."""

    miscella: float
    strength: float
    residual_oil: float
    retained: float
    dry_solids: float
    water: float
    oil_in: float


def _flows(state: ExtractorState) -> _Flows:
    """Work the extractor out by counter-current leaching; ExtractorError where it cannot run."""
    oil = state.flakes_t_h * state.oil_pct / 100.0
    water = state.flakes_t_h * state.moisture_pct / 100.0
    inert = state.flakes_t_h - oil
    held = state.drainage_pct / (100.0 - state.drainage_pct)
    share = state.solvent_oil_pct / 100.0
    try:
        told = predict(
            Leaching(
                inert=inert,
                oil=oil,
                solvent=state.solvent_t_h,
                oil_in_solvent=state.solvent_t_h * share / (1.0 - share),
                retention=constant_retention(held),
            ),
            state.stages,
            efficiency=state.efficiency,
        )
    except LeachingError as problem:
        raise ExtractorError(f"The extractor cannot run like this: {problem}") from problem
    return _Flows(
        miscella=told.extract,
        strength=told.extract_strength,
        residual_oil=told.residual_oil,
        retained=told.retained,
        dry_solids=inert - water,
        water=water,
        oil_in=oil,
    )


def residual_oil_dry_pct(state: ExtractorState) -> float:
    """Return the oil in the spent flakes without solvent and water, % by mass.

    >>> state = ExtractorState(
    ...     flakes_t_h=57.8, oil_pct=20.0, moisture_pct=10.0, solvent_t_h=51.8, efficiency=0.9
    ... )
    >>> round(residual_oil_dry_pct(state), 3)
    0.162
    """
    flows = _flows(state)
    return 100.0 * flows.residual_oil / (flows.dry_solids + flows.residual_oil)


def predict_extraction(
    state: ExtractorState, sigmas: Mapping[str, float] | None = None
) -> Extraction:
    """Return what the extractor delivers in this state.

    `sigmas`: standard uncertainties by the name of the field of the state, in its unit; fields that
    are not named are taken as exact. Without it the results have none. That the model itself errs is
    in neither. ExtractorError where the state cannot run.
    """
    known = {field.name for field in fields(state)} - {"stages"}
    for name in sigmas or {}:
        if name not in known:
            raise ExtractorError(f"No uncertainty can be given for {name!r}.")
    return Extraction(
        ratio=_figure("solvent ratio", "kg/kg", _ratio, state, sigmas),
        miscella=_figure("full miscella", "t/h", _miscella, state, sigmas),
        miscella_oil=_figure("oil in miscella", "%", _strength, state, sigmas),
        residual_oil_dry=_figure("residual oil, dry", "%", residual_oil_dry_pct, state, sigmas),
        residual_oil=_figure("residual oil", "%", _residual, state, sigmas),
        spent_flakes=_figure("spent flakes", "t/h", _spent, state, sigmas),
        spent_solvent=_figure("solvent in spent flakes", "%", _spent_solvent, state, sigmas),
        recovery=_figure("oil recovered", "%", _recovery, state, sigmas),
        oil_lost=_figure("oil in spent flakes", "t/h", _oil_lost, state, sigmas),
    )


def _ratio(state: ExtractorState) -> float:
    return solvent_ratio(state.solvent_t_h, state.flakes_t_h)


def _miscella(state: ExtractorState) -> float:
    return _flows(state).miscella


def _strength(state: ExtractorState) -> float:
    return 100.0 * _flows(state).strength


def _residual(state: ExtractorState) -> float:
    flows = _flows(state)
    return 100.0 * flows.residual_oil / (flows.dry_solids + flows.water + flows.residual_oil)


def _spent(state: ExtractorState) -> float:
    flows = _flows(state)
    return flows.dry_solids + flows.water + flows.retained


def _spent_solvent(state: ExtractorState) -> float:
    flows = _flows(state)
    wet = flows.dry_solids + flows.water + flows.retained
    return 100.0 * (flows.retained - flows.residual_oil) / wet


def _recovery(state: ExtractorState) -> float:
    flows = _flows(state)
    return 100.0 * (1.0 - flows.residual_oil / flows.oil_in)


def _oil_lost(state: ExtractorState) -> float:
    return _flows(state).residual_oil


def _figure(
    name: str,
    unit: str,
    formula: Callable[[ExtractorState], float],
    state: ExtractorState,
    sigmas: Mapping[str, float] | None,
) -> Quantity:
    """Return one figure of the state with its uncertainty from those of the fields given."""
    source = "counter-current leaching, stages with constant retention"
    inputs = tuple(field.name for field in fields(state))
    if sigmas is None:
        return Quantity(name, formula(state), unit, inputs=inputs, source=source)

    def of(**values: float) -> float:
        # Above 1 there is no efficiency: the slope is then taken to one side only.
        if "efficiency" in values:
            values["efficiency"] = min(values["efficiency"], 1.0)
        return formula(replace(state, **values))  # type: ignore[arg-type]

    at = {field: float(getattr(state, field)) for field in sigmas}
    value, sigma = propagate(of, at, sigmas)
    return Quantity(name, value, unit, sigma, inputs=inputs, source=source)


def drainage_pct(state: ExtractorState, spent_solvent_pct: float, residual_dry_pct: float) -> float:
    """Return the solution in the drained flakes, % of them wet, from the solvent measured in them.

    Solution is the solvent and the oil in it: `residual_dry_pct`, % of the solids without solvent
    and water. ExtractorError for per cents that cannot be.

    >>> state = ExtractorState(flakes_t_h=57.8, oil_pct=20.0, moisture_pct=10.0, solvent_t_h=51.8)
    >>> round(drainage_pct(state, 30.0, 0.70), 2)
    30.43
    """
    for value in (spent_solvent_pct, residual_dry_pct):
        if not 0.0 <= value < 100.0:
            raise ExtractorError(f"{value:g} % in the spent flakes; it must lie in 0 to 100 %.")
    dry = 100.0 - state.oil_pct - state.moisture_pct
    oil = dry * residual_dry_pct / (100.0 - residual_dry_pct)
    wet = (100.0 - state.oil_pct + oil) / (1.0 - spent_solvent_pct / 100.0)
    return spent_solvent_pct + 100.0 * oil / wet


def calibrate(
    state: ExtractorState, measured_dry_pct: float, *, spent_solvent_pct: float | None = None
) -> ExtractorState:
    """Return the state with the stage efficiency at which it leaves the measured residual oil.

    `measured_dry_pct`: oil in the spent flakes without solvent and water, % by mass;
    `spent_solvent_pct`, where it was measured: solvent in the wet spent flakes, %, which sets the
    drainage. Residual oil
    falls as the efficiency rises. ExtractorError where ideal stages would leave more than was
    measured (the state is wrong: solvent, drainage or flake oil), or the measured one is more than stages of next to no efficiency leave.

    >>> state = ExtractorState(flakes_t_h=57.8, oil_pct=20.0, moisture_pct=10.0, solvent_t_h=51.8)
    >>> round(residual_oil_dry_pct(calibrate(state, 0.70)), 6)
    0.7
    """
    if spent_solvent_pct is not None:
        held = drainage_pct(state, spent_solvent_pct, measured_dry_pct)
        state = replace(state, drainage_pct=held)
    low, high = 0.01, 1.0
    ideal = residual_oil_dry_pct(replace(state, efficiency=high))
    worst = residual_oil_dry_pct(replace(state, efficiency=low))
    if not ideal <= measured_dry_pct <= worst:
        side = "less than ideal stages leave" if measured_dry_pct < ideal else "more than fits"
        raise ExtractorError(
            f"The measured residual oil of {measured_dry_pct:.3g} % is {side}: {state.stages} "
            f"stages leave {ideal:.3g} to {worst:.3g} %. Look at solvent, drainage, stages and "
            "flake oil."
        )

    def excess(efficiency: float) -> float:
        # In logarithms the oil is nearly a straight line of the efficiency.
        told = residual_oil_dry_pct(replace(state, efficiency=efficiency))
        return math.log(told / measured_dry_pct)

    return replace(state, efficiency=_find_root(excess, low, high))


def what_if(state: ExtractorState, **changes: float) -> WhatIf:
    """Return the extractor before and after changes of fields of its state.

    `changes`: new values by field, such as `solvent_t_h=54, stages=7`; `ratio=0.95` sets
    the solvent by the flakes (after their change). Calibrate the state first. ExtractorError names a
    field that is not there, or says why the changed state cannot run.

    >>> state = ExtractorState(flakes_t_h=57.8, oil_pct=20.0, moisture_pct=10.0, solvent_t_h=51.8)
    >>> told = what_if(calibrate(state, 0.70), ratio=0.95)
    >>> round(told.residual_change, 2), round(told.after.miscella_oil.value, 1)
    (-0.09, 24.2)
    """
    after = _changed(state, changes)
    old_flows, new_flows = _flows(state), _flows(after)
    gained = (new_flows.oil_in - new_flows.residual_oil) - (
        old_flows.oil_in - old_flows.residual_oil
    )
    return WhatIf(
        before=predict_extraction(state),
        after=predict_extraction(after),
        changed=tuple(
            (field.name, float(getattr(state, field.name)), float(getattr(after, field.name)))
            for field in fields(state)
            if getattr(state, field.name) != getattr(after, field.name)
        ),
        oil_gained_t_h=gained,
        residual_change=residual_oil_dry_pct(after) - residual_oil_dry_pct(state),
    )


def _changed(state: ExtractorState, changes: Mapping[str, float]) -> ExtractorState:
    """Return the state with the changes of a what-if; ExtractorError where one cannot be."""
    wanted = dict(changes)
    ratio = wanted.pop("ratio", None)
    known = {field.name for field in fields(state)}
    for name in wanted:
        if name not in known:
            raise ExtractorError(
                f"The extractor has no {name!r}; known: ratio, {', '.join(sorted(known))}."
            )
    if ratio is not None and "solvent_t_h" in wanted:
        raise ExtractorError("Give either the solvent or its ratio to the flakes, not both.")
    if ratio is not None:
        wanted["solvent_t_h"] = ratio * wanted.get("flakes_t_h", state.flakes_t_h)
    count = wanted.pop("stages", state.stages)
    if count != int(count):
        raise ExtractorError(f"{count:g} stages: give a whole number.")
    return replace(state, stages=int(count), **wanted)


def _find_root(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function that changes its sign between `low` and `high` is zero.

    Regula falsi in the Illinois form: one step for a straight line, few for a bent one. The better
    end where the signs do not differ.
    """
    at_low, at_high = function(low), function(high)
    if at_low * at_high >= 0.0:
        return low if abs(at_low) <= abs(at_high) else high
    best, at_best = (low, at_low) if abs(at_low) < abs(at_high) else (high, at_high)
    for _ in range(100):
        middle = high - at_high * (high - low) / (at_high - at_low)
        if not min(low, high) < middle < max(low, high):
            middle = 0.5 * (low + high)
        at_middle = function(middle)
        if abs(at_middle) < abs(at_best):
            best, at_best = middle, at_middle
        if at_middle == 0.0 or abs(high - low) <= 1e-15 * abs(middle):
            break
        if at_middle * at_high < 0.0:
            low, at_low = high, at_high
        else:
            # The end that stays counts half, so that it does not stay for ever.
            at_low *= 0.5
        high, at_high = middle, at_middle
    return best
