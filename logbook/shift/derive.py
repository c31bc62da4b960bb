"""Which computed points follow from which readings, and their values in a round."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from graphlib import TopologicalSorter

from logbook.assess.computed import counter_increase, evaluate
from logbook.plant.model import Computation, Formula, Plant, Point

NumberOf = Callable[[str], float | None]
BeforeOf = Callable[[str, str], tuple[float, float] | None]
"""Of a computed point and one of its counters: the count before and the hours since."""


@dataclass(frozen=True, slots=True)
class Deriver:
    """Computed points of a plant in an order in which each follows from those before it."""

    formulas: Mapping[str, Formula]
    rollovers: Mapping[str, float | None]
    all_outputs: tuple[str, ...]
    dependents: Mapping[str, tuple[str, ...]]

    @classmethod
    def of(cls, plant: Plant) -> Deriver:
        """Collect the formulas of `plant`."""
        computed: dict[str, Point] = {p.key: p for p in plant.points if p.formula is not None}
        formulas = {key: p.formula for key, p in computed.items() if p.formula is not None}
        graph = {key: [i for i in f.inputs if i in formulas] for key, f in formulas.items()}
        order = tuple(TopologicalSorter(graph).static_order())
        rollovers = {p.key: p.rollover for p in plant.points}
        return cls(formulas, rollovers, order, _dependents(formulas, order))

    def outputs_of(self, keys: Iterable[str]) -> tuple[str, ...]:
        """Computed points that follow from any of `keys`, in order."""
        touched = {out for key in keys for out in self.dependents.get(key, ())}
        return tuple(out for out in self.all_outputs if out in touched)

    def value(self, key: str, number_of: NumberOf, before_of: BeforeOf) -> float | None:
        """Value of the computed point `key`; None where an input is missing."""
        formula = self.formulas[key]
        if formula.computation in {Computation.RATE, Computation.PER_TONNE}:
            return self._from_counters(key, number_of, before_of)
        numbers = [number_of(name) for name in formula.inputs]
        return evaluate(formula.computation, numbers)

    def _from_counters(self, key: str, number_of: NumberOf, before_of: BeforeOf) -> float | None:
        formula, increases, hours = self.formulas[key], [], 0.0
        for name in formula.inputs:
            now, before = number_of(name), before_of(key, name)
            if now is None or before is None:
                return None
            hours = before[1]
            increases.append(counter_increase(before[0], now, self.rollovers.get(name)))
        if formula.computation is Computation.RATE:
            increase = increases[0]
            return None if increase is None or hours <= 0 else increase / hours
        part, whole = increases[0], increases[1]
        return None if part is None or not whole else part / whole


def _dependents(
    formulas: Mapping[str, Formula], order: tuple[str, ...]
) -> dict[str, tuple[str, ...]]:
    """Input key to every computed point that follows from it, directly or through another."""
    direct: dict[str, set[str]] = {}
    for key in order:
        for name in formulas[key].inputs:
            direct.setdefault(name, set()).add(key)
    reached: dict[str, set[str]] = {}
    for name in [*reversed(order), *direct]:
        reach = set(direct.get(name, ()))
        for out in tuple(reach):
            reach |= reached.get(out, set())
        reached[name] = reach
    return {name: tuple(o for o in order if o in outs) for name, outs in reached.items()}
