"""What-if of the extractor, the dryer and the hulls added back, from a period's own figures.

Each section starts where the plant stood in the period; what is changed is worked out anew beside
it. A what-if is a direction and a size, no promise, and no advice to leave the site's limits.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.process.quantity import Quantity
from logbook.shift.figure_words import words_alike

if TYPE_CHECKING:
    from logbook.process.extractor import ExtractorState

Figures = Mapping[str, Quantity]
"""Figures of a period by role (`logbook.process.roles`)."""

STAGES = 6.0
"""Washing stages where the plant says none: common practice, no source."""


@dataclass(frozen=True, slots=True)
class TryField:
    """Something that can be changed, with where it stands now."""

    key: str
    name: str
    unit: str
    value: float
    decimals: int
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class TryLine:
    """A result as it is and as it would be."""

    name: str
    unit: str
    now: str
    then: str
    change: str


@dataclass(frozen=True, slots=True)
class Section:
    """One thing to try out; without fields where the period lacks what it starts from."""

    key: str
    title: str
    fields: tuple[TryField, ...]
    told: str
    """What is assumed; or what is missing."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of it; `fault` says why nothing did."""

    lines: tuple[TryLine, ...] = ()
    told: str = ""
    fault: str = ""


def sections_of(figures: Figures) -> tuple[Section, ...]:
    """Everything that can be tried out on the figures of a period."""
    return tuple(
        _section(key, title, needs, fields, told, figures)
        for key, title, needs, fields, told in (
            ("extractor", "Extractor", _EXTRACTOR_NEEDS, _extractor_fields, _EXTRACTOR_TOLD),
            ("dryer", "Dryer", _DRYER_NEEDS, _dryer_fields, _DRYER_TOLD),
            ("hulls", "Hulls added back", _HULL_NEEDS, _hull_fields, _HULL_TOLD),
        )
    )


def try_out(key: str, figures: Figures, values: Mapping[str, float]) -> Outcome:
    """Work a section out with changed values, beside the period's own.

    `values`: by field; a field that is not given stands where it stands. Never raises for what
    a person typed: `fault` then says what cannot be.
    """
    section = next(one for one in sections_of(figures) if one.key == key)
    if not section.fields:
        return Outcome(fault=section.told)
    now = {field.key: field.value for field in section.fields}
    work: Callable[[Figures, Mapping[str, float], Mapping[str, float]], Outcome]
    work = {"extractor": _try_extractor, "dryer": _try_dryer, "hulls": _try_hulls}[key]
    try:
        return work(figures, now, {**now, **values})
    except (ValueError, ZeroDivisionError, OverflowError) as problem:
        return Outcome(fault=str(problem))


def _section(
    key: str,
    title: str,
    needs: tuple[str, ...],
    fields: Callable[[Figures], tuple[TryField, ...]],
    told: str,
    figures: Figures,
) -> Section:
    lacking = [role for role in needs if role not in figures or not figures[role].is_known]
    if lacking:
        names = ", ".join(figures[role].name if role in figures else role for role in lacking)
        return Section(key, title, (), f"This period does not tell: {names}.")
    try:
        return Section(key, title, fields(figures), told)
    except (ValueError, ZeroDivisionError) as problem:
        return Section(key, title, (), f"The figures of this period do not fit: {problem}")


def _value(figures: Figures, role: str) -> float:
    value = figures[role].value
    assert value is not None
    return value


def _rate(figures: Figures, role: str) -> float:
    """An amount of the period in its unit per hour of running."""
    return _value(figures, role) / _value(figures, "hours")


def _line(name: str, unit: str, now: float, then: float) -> TryLine:
    change = then - now
    # Rounding noise of the same state is no change.
    if abs(change) <= 1e-9 * max(abs(now), 1.0):
        told = words_alike(now)[0]
        return TryLine(name, unit, told, told, "0")
    told, after, differs = words_alike(now, then, change)
    return TryLine(name, unit, told, after, f"+{differs}" if change > 0 else differs)


# -- extractor ------------------------------------------------------------------------------

_EXTRACTOR_NEEDS = (
    "hours", "flakes", "flake_oil", "flake_moisture", "fresh_solvent", "spent_solvent", "spent_oil",
)  # fmt: skip
_EXTRACTOR_TOLD = (
    "Counter-current washing with a stage efficiency fitted to the residual oil of the period; "
    "temperature, fines, bed depth and time act through that efficiency only."
)


def _extractor_fields(figures: Figures) -> tuple[TryField, ...]:
    state = _extractor_state(figures)
    ratio = state.solvent_t_h / state.flakes_t_h
    return (
        TryField("flakes_t_h", "Flakes", "t/h", state.flakes_t_h, 1, 0.1, 2000.0),
        TryField("ratio", "Solvent to flakes", "kg/kg", ratio, 3, 0.1, 5.0),
        TryField("drainage_pct", "Solution in spent flakes", "%", state.drainage_pct, 1, 1.0, 70.0),
        TryField("oil_pct", "Oil in flakes", "%", state.oil_pct, 2, 1.0, 60.0),
        TryField("stages", "Washing stages", "", float(state.stages), 0, 1.0, 20.0),
    )


def _extractor_state(figures: Figures) -> ExtractorState:
    from logbook.process.extractor import ExtractorState, calibrate
    from logbook.process.reconcile_plant import solvent_density

    stages = figures.get("extractor_stages")
    count = stages.value if stages is not None and stages.value else STAGES
    warm = figures.get("solvent_temp")
    t_c = warm.value if warm is not None and warm.value is not None else 55.0
    state = ExtractorState(
        flakes_t_h=_rate(figures, "flakes"),
        oil_pct=_value(figures, "flake_oil"),
        moisture_pct=_value(figures, "flake_moisture"),
        solvent_t_h=_rate(figures, "fresh_solvent") * solvent_density(t_c),
        stages=int(count),
    )
    spent_solvent = _value(figures, "spent_solvent")
    return calibrate(state, _value(figures, "spent_oil"), spent_solvent_pct=spent_solvent)


def _try_extractor(
    figures: Figures, now: Mapping[str, float], then: Mapping[str, float]
) -> Outcome:
    from logbook.process.extractor import what_if

    changed = {key: value for key, value in then.items() if value != now[key]}
    told = what_if(_extractor_state(figures), **changed)
    before, after = told.before, told.after
    pairs = (
        ("Residual oil, dry", "%", before.residual_oil_dry, after.residual_oil_dry),
        ("Oil in full miscella", "%", before.miscella_oil, after.miscella_oil),
        ("Full miscella", "t/h", before.miscella, after.miscella),
        ("Spent flakes with solvent", "t/h", before.spent_flakes, after.spent_flakes),
        ("Solvent in spent flakes", "%", before.spent_solvent, after.spent_solvent),
        ("Oil recovered", "%", before.recovery, after.recovery),
    )
    lines = [_line(n, u, a.value or 0.0, b.value or 0.0) for n, u, a, b in pairs]
    solvent = [(x.miscella.value or 0.0) * (1 - (x.miscella_oil.value or 0.0) / 100.0)
               for x in (before, after)]  # fmt: skip
    lines.append(_line("Solvent to evaporate from miscella", "t/h", *solvent))
    gain = 24.0 * told.oil_gained_t_h
    lines.append(_line("Oil to miscella, more a day", "t", 0.0, gain))
    return Outcome(tuple(lines), f"Assumed: {'; '.join(told.assumed)}.")


# -- dryer ----------------------------------------------------------------------------------

_DRYER_NEEDS = (
    "hours", "meal", "meal_moisture", "toasted_moisture", "dryer_moisture", "toasted_temp",
    "dryer_meal_temp", "dryer_air_temp", "dryer_exhaust_temp", "ambient_temp", "ambient_humidity",
)  # fmt: skip
_DRYER_TOLD = (
    "Balance of water and heat with humid air; the meal's own resistance to drying is not in it. "
    "Mind the site's limits for air temperature and dust."
)


def _dryer_fields(figures: Figures) -> tuple[TryField, ...]:
    def at(role: str) -> float:
        return _value(figures, role)

    return (
        TryField("moisture_in", "Meal in", "% water", at("toasted_moisture"), 1, 8.0, 30.0),
        TryField("moisture_out", "Meal out", "% water", at("dryer_moisture"), 1, 6.0, 20.0),
        TryField("air_c", "Hot air", "°C", at("dryer_air_temp"), 0, 40.0, 180.0),
        TryField("exhaust_c", "Exhaust", "°C", at("dryer_exhaust_temp"), 0, 25.0, 120.0),
        TryField("outside_c", "Outside air", "°C", at("ambient_temp"), 0, -35.0, 50.0),
        TryField("humidity", "Outside humidity", "% RH", at("ambient_humidity"), 0, 1.0, 100.0),
    )


@dataclass(frozen=True, slots=True)
class _Drying:
    """What drying takes in an hour."""

    water_t: float
    heat_mj: float
    air_t: float
    heater_mj: float
    exhaust_rh: float


def _dried(figures: Figures, at: Mapping[str, float]) -> _Drying:
    from logbook.process import dryer
    from logbook.process.air import make_air
    from logbook.process.moisture import mass_at, water_removed

    dry = mass_at(_rate(figures, "meal"), _value(figures, "meal_moisture"))
    wet = dry / (1.0 - at["moisture_in"] / 100.0)
    if at["moisture_out"] >= at["moisture_in"]:
        msg = "Meal leaves the dryer no drier than it enters: nothing to dry."
        raise ValueError(msg)
    gone = water_removed(wet, at["moisture_in"], at["moisture_out"])
    net = dryer.drying_heat(
        wet,
        at["moisture_in"],
        at["moisture_out"],
        meal_in_c=_value(figures, "toasted_temp"),
        meal_out_c=_value(figures, "dryer_meal_temp"),
        exhaust_c=at["exhaust_c"],
    )
    heat = net / (1.0 - (dryer.LOSS_SHARE.value or 0.0))
    inlet = make_air(at["outside_c"], relative_humidity=at["humidity"] / 100.0)
    air = dryer.air_needed(heat, inlet, at["air_c"], at["exhaust_c"])
    out = dryer.exhaust_air(air, gone, inlet, at["exhaust_c"])
    heater = dryer.heater_heat(air, inlet, at["air_c"])
    return _Drying(gone, heat, air, heater, 100.0 * out.relative_humidity)


def _try_dryer(figures: Figures, now: Mapping[str, float], then: Mapping[str, float]) -> Outcome:
    before, after = _dried(figures, now), _dried(figures, then)
    lines = (
        _line("Water removed", "t/h", before.water_t, after.water_t),
        _line("Heat for drying", "MJ/h", before.heat_mj, after.heat_mj),
        _line("Dry air needed", "t/h", before.air_t, after.air_t),
        _line("Heat of the air heater", "MJ/h", before.heater_mj, after.heater_mj),
        _line("Humidity of the exhaust", "% RH", before.exhaust_rh, after.exhaust_rh),
    )
    told = ""
    if after.exhaust_rh > 85.0:
        told = "The exhaust is nearly full of water: small errors or a cold duct make it condense."
    return Outcome(lines, told)


# -- hulls ----------------------------------------------------------------------------------

_HULL_NEEDS = (
    "hours", "meal", "hulls", "hulls_added", "meal_protein", "meal_fibre", "hull_protein",
    "hull_fibre",
)  # fmt: skip
_HULL_TOLD = (
    "Hulls are blended into the meal of the period with those it already holds taken out first; "
    "protein and fibre are % as is. The contract in force says what is allowed."
)


@dataclass(frozen=True, slots=True)
class _Blend:
    """Meal without hulls, t/h, and its contents."""

    meal_t_h: float
    protein: float
    fibre: float
    added: float


def _bare_meal(figures: Figures) -> _Blend:
    """The meal as it would be without the hulls that were added."""
    meal, added = _rate(figures, "meal"), _rate(figures, "hulls_added")
    bare = meal - added
    if bare <= 0.0:
        msg = "more hulls than meal were noted"
        raise ValueError(msg)
    protein, fibre = (
        (meal * _value(figures, f"meal_{what}") - added * _value(figures, f"hull_{what}")) / bare
        for what in ("protein", "fibre")
    )
    return _Blend(bare, protein, fibre, added)


def _hull_fields(figures: Figures) -> tuple[TryField, ...]:
    bare = _bare_meal(figures)
    share = 1000.0 * bare.added / bare.meal_t_h
    target = _value(figures, "meal_protein")
    return (
        TryField("hulls_kg_t", "Hulls to a tonne of bare meal", "kg", share, 1, 0.0, 400.0),
        TryField("target", "Protein to reach", "%", round(target, 2), 2, 20.0, 65.0),
        TryField("protein", "Protein of the bare meal", "%", bare.protein, 2, 20.0, 65.0),
        TryField("fibre", "Fibre of the bare meal", "%", bare.fibre, 2, 0.5, 20.0),
        TryField(
            "hull_protein", "Protein of hulls", "%", _value(figures, "hull_protein"), 1, 2.0, 30.0
        ),
        TryField("hull_fibre", "Fibre of hulls", "%", _value(figures, "hull_fibre"), 1, 10.0, 60.0),
    )


def _try_hulls(figures: Figures, now: Mapping[str, float], then: Mapping[str, float]) -> Outcome:
    from logbook.process.meal import blend_content, hulls_for

    bare = _bare_meal(figures)

    def blended(at: Mapping[str, float], what: str) -> float:
        return blend_content(at[what], at[f"hull_{what}"], at["hulls_kg_t"])

    def added(at: Mapping[str, float]) -> float:
        return bare.meal_t_h * at["hulls_kg_t"] / 1000.0

    made = _rate(figures, "hulls")
    wanted = [max(hulls_for(at["protein"], at["hull_protein"], at["target"]), 0.0)
              for at in (now, then)]  # fmt: skip
    lines = (
        _line("Hulls for the protein to reach", "kg/t", *wanted),
        _line("Fibre with those", "%", _fibre(now, wanted[0]), _fibre(then, wanted[1])),
        _line("Protein of the meal", "%", blended(now, "protein"), blended(then, "protein")),
        _line("Fibre of the meal", "%", blended(now, "fibre"), blended(then, "fibre")),
        _line("Hulls added", "t/h", added(now), added(then)),
        _line("Hulls left to sell as such", "t/h", made - added(now), made - added(then)),
        _line(
            "Meal", "t/day", 24 * (bare.meal_t_h + added(now)), 24 * (bare.meal_t_h + added(then))
        ),
    )
    told = ""
    if added(then) > made:
        told = f"That takes more hulls than were taken out of the beans ({made:.2f} t/h)."
    return Outcome(lines, told)


def _fibre(at: Mapping[str, float], hulls_kg_t: float) -> float:
    from logbook.process.meal import blend_content

    return blend_content(at["fibre"], at["hull_fibre"], hulls_kg_t)
