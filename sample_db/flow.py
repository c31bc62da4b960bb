"""A stream's mass flow by component, so that balances can be closed component by component."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from operator import add

import numpy as np

from sample_db.series import Array

COMPONENTS = ("solids", "oil", "water", "solvent")


@dataclass(frozen=True, slots=True)
class Flow:
    """Mass flows in t/h: `solids` (dry, oil-free), `oil`, `water` and `solvent`, arrays over time."""

    solids: Array
    oil: Array
    water: Array
    solvent: Array

    @classmethod
    def of(
        cls,
        *,
        solids: Array | None = None,
        oil: Array | None = None,
        water: Array | None = None,
        solvent: Array | None = None,
    ) -> Flow:
        """A flow from the components it has; the others are zero."""
        given = (solids, oil, water, solvent)
        like = next(part for part in given if part is not None)
        return cls(*(np.zeros_like(like) if part is None else part for part in given))

    @property
    def total(self) -> Array:
        """Whole mass flow, t/h."""
        return self.solids + self.oil + self.water + self.solvent

    def share(self, component: str) -> Array:
        """Mass per cent of a component; 0 where nothing flows."""
        total = self.total
        part: Array = getattr(self, component)
        return 100.0 * np.divide(part, total, out=np.zeros_like(total), where=total > 0)

    def __add__(self, other: Flow) -> Flow:
        return Flow(*(getattr(self, c) + getattr(other, c) for c in COMPONENTS))

    def __sub__(self, other: Flow) -> Flow:
        return Flow(*(getattr(self, c) - getattr(other, c) for c in COMPONENTS))


def total_of(*flows: Flow) -> Flow:
    """Sum of flows."""
    return reduce(add, flows)
