"""The water account: what came in with beans and steam, what left, and what is not accounted for.

Each line is a mass of water worked out from readings; the totals and the unaccounted are worked
out from the same readings in one go, so that a reading which stands in several lines counts once
with its right sign in the uncertainty (adding the lines' own uncertainties would be wrong).

What the account tests: the water left in the meal after the toaster, worked out from flakes, direct
steam and vapour, against what dryer, cooler and meal show. A line
that cannot be worked out is left out by name, and then nothing is said about the unaccounted.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from logbook.process.azeotrope import water_per_hexane
from logbook.process.moisture import mass_at
from logbook.process.quantity import Quantity, absent, derive

SOURCE = "balance of water"
IN, OUT = 1, -1


@dataclass(frozen=True, slots=True)
class _Rule:
    """How one line is worked out; `needs` are keys of the readings."""

    name: str
    sign: int
    needs: tuple[str, ...]
    formula: Callable[[Mapping[str, float]], float]


@dataclass(frozen=True, slots=True)
class WaterLine:
    """One way of the water, in t; `is_in`: into the plant."""

    water: Quantity
    is_in: bool


@dataclass(frozen=True, slots=True)
class WaterAccount:
    """The water of a period, in t."""

    lines: tuple[WaterLine, ...]
    """Those that could be worked out, ways in first."""
    left_out: tuple[Quantity, ...]
    """Those that could not, each with what is missing; the totals are without them."""
    total_in: Quantity
    total_out: Quantity
    unaccounted: Quantity
    """In less out; negative: more water left than came in. None while a line is left out."""
    unaccounted_share: Quantity
    """The same in % of what came in."""


def _water_of(mass: str, moisture: str) -> Callable[[Mapping[str, float]], float]:
    def formula(state: Mapping[str, float]) -> float:
        return state[mass] * state[moisture] / 100.0

    return formula


def _itself(name: str) -> Callable[[Mapping[str, float]], float]:
    def formula(state: Mapping[str, float]) -> float:
        return state[name]

    return formula


def _dry(state: Mapping[str, float]) -> float:
    """Dry matter of the meal, hulls added back not counted, t."""
    meal = mass_at(state["meal"], state["meal_moisture"])
    return meal - mass_at(state["hulls_added"], state["hull_moisture"])


def _held(state: Mapping[str, float], moisture: str) -> float:
    """Water that the meal's dry matter holds at that moisture, t."""
    return _dry(state) * state[moisture] / (100.0 - state[moisture])


def _preparation(state: Mapping[str, float]) -> float:
    beans = state["beans"] * state["bean_moisture"]
    flakes = state["flakes"] * state["flake_moisture"]
    return (beans - flakes - state["hulls"] * state["hull_moisture"]) / 100.0


def _vapour(state: Mapping[str, float]) -> float:
    return state["solvent_vapour"] * water_per_hexane(state["vapour_temp"], state["dome_pressure"])


def _dryer(state: Mapping[str, float]) -> float:
    return _held(state, "toasted_moisture") - _held(state, "dryer_moisture")


def _cooler(state: Mapping[str, float]) -> float:
    hulls = state["hulls_added"] * state["hull_moisture"]
    cooled = (state["meal"] * state["meal_moisture"] - hulls) / 100.0
    return _held(state, "dryer_moisture") - cooled


def _hulls(state: Mapping[str, float]) -> float:
    return (state["hulls"] - state["hulls_added"]) * state["hull_moisture"] / 100.0


_MEAL = ("meal", "meal_moisture", "hulls_added", "hull_moisture")
_RULES = (
    _Rule("water in beans", IN, ("beans", "bean_moisture"), _water_of("beans", "bean_moisture")),
    _Rule("steam injected in conditioning", IN, ("injected_steam",), _itself("injected_steam")),
    _Rule("direct steam to the desolventizer", IN, ("sparge_steam",), _itself("sparge_steam")),
    _Rule("water added to the meal", IN, ("added_water",), _itself("added_water")),
    _Rule(
        "driven off in conditioning and flaking",
        OUT,
        ("beans", "bean_moisture", "flakes", "flake_moisture", "hulls", "hull_moisture"),
        _preparation,
    ),
    _Rule(
        "with the vapour of the desolventizer",
        OUT,
        ("solvent_vapour", "vapour_temp", "dome_pressure"),
        _vapour,
    ),
    _Rule("driven off in the dryer", OUT, (*_MEAL, "toasted_moisture", "dryer_moisture"), _dryer),
    _Rule("driven off in the cooler", OUT, (*_MEAL, "dryer_moisture"), _cooler),
    _Rule("in finished meal", OUT, ("meal", "meal_moisture"), _water_of("meal", "meal_moisture")),
    _Rule("in hulls sold", OUT, ("hulls", "hulls_added", "hull_moisture"), _hulls),
)
OPTIONAL = frozenset({"injected_steam", "added_water"})
"""Readings that many plants have no need of; where they are not given the line is not missed."""
READINGS: Mapping[str, str] = {
    "beans": "t",
    "bean_moisture": "%",
    "injected_steam": "t",
    "flakes": "t",
    "flake_moisture": "%",
    "hulls": "t",
    "hulls_added": "t",
    "hull_moisture": "%",
    "sparge_steam": "t",
    "solvent_vapour": "t",
    "vapour_temp": "°C",
    "dome_pressure": "kPa abs",
    "toasted_moisture": "%",
    "dryer_moisture": "%",
    "added_water": "t",
    "meal": "t",
    "meal_moisture": "%",
}
"""Keys of the readings with the unit each is wanted in; moistures in % of wet mass. `hulls` are all that
were taken out, `hulls_added` those of them added back to the meal; `solvent_vapour` is the solvent
driven off (`logbook.process.desolventizing`); `dome_pressure` absolute."""


def water_account(readings: Mapping[str, Quantity]) -> WaterAccount:
    """Return the water account of a period from `readings` by the keys of `READINGS`.

    A key that is not given counts as missing, but for `OPTIONAL` ones.

    Raises:
        KeyError: for a key that is no reading of this account.
    """
    unknown = set(readings) - set(READINGS)
    if unknown:
        msg = f"the water account has no reading {min(unknown)!r}; it has {', '.join(READINGS)}"
        raise KeyError(msg)
    given = {key: readings.get(key) or absent(key, unit) for key, unit in READINGS.items()}
    wanted = [rule for rule in _RULES if not OPTIONAL.intersection(rule.needs) - set(readings)]
    lines = [(rule, _line(rule, given)) for rule in wanted]
    kept = [rule for rule, line in lines if line.is_known]
    left_out = tuple(line for _, line in lines if not line.is_known)
    note = f"not counted: {', '.join(line.name for line in left_out)}" if left_out else ""
    came = [rule for rule in kept if rule.sign == IN]
    went = [rule for rule in kept if rule.sign == OUT]
    return WaterAccount(
        lines=tuple(WaterLine(line, rule.sign == IN) for rule, line in lines if line.is_known),
        left_out=left_out,
        total_in=_sum("water in", came, given, note=note),
        total_out=_sum("water out", went, given, sign=OUT, note=note),
        unaccounted=_sum("water unaccounted for", wanted, given),
        unaccounted_share=_share(wanted, given),
    )


def _line(rule: _Rule, given: Mapping[str, Quantity]) -> Quantity:
    def formula(**state: float) -> float:
        return rule.formula(state)

    inputs = {key: given[key] for key in rule.needs}
    return derive(rule.name, "t", formula, inputs, source=SOURCE)


def _inputs(rules: list[_Rule], given: Mapping[str, Quantity]) -> dict[str, Quantity]:
    return {key: given[key] for rule in rules for key in rule.needs}


def _total(rules: list[_Rule], state: Mapping[str, float]) -> float:
    return sum(rule.sign * rule.formula(state) for rule in rules)


def _sum(
    name: str, rules: list[_Rule], given: Mapping[str, Quantity], *, sign: int = IN, note: str = ""
) -> Quantity:
    if not rules:
        return absent(name, "t", note=note)

    def formula(**state: float) -> float:
        return sign * _total(rules, state)

    return derive(name, "t", formula, _inputs(rules, given), source=SOURCE, note=note)


def _share(rules: list[_Rule], given: Mapping[str, Quantity]) -> Quantity:
    came = [rule for rule in rules if rule.sign == IN]

    def formula(**state: float) -> float:
        return 100.0 * _total(rules, state) / _total(came, state)

    return derive("water unaccounted for", "%", formula, _inputs(rules, given), source=SOURCE)
