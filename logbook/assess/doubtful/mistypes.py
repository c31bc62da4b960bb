"""Single numbers that were probably typed wrong: decimal mark, digits, sign, unit, neighbour.

Each number is set against the median of the three before and the three after it. How far readings
of the point stand from that is taken as Student's t (its tails are heavy, since plants do jump),
with the point's own robust spread and, of `FREEDOMS`, the degrees of freedom that fit it best.
Points that run up or down and jump back (hours since a repair, a tank that is drawn down), and those
that mostly stand still, are left alone: their jumps mean something. For a number far off, every
slip that would explain it is weighed: how likely is the number that may have been meant, against
the one that stands there, times how rare such slips are (`RATE` over the kinds tried; 0.37 wrong
per thousand fields when keyed once, PLoS ONE 7, 2012, e35087). Asked is where the slip is at least
nineteen times likelier than none: of what is asked, one in twenty at most is then expected to
be right as it stands. That share is a posterior probability; the number of readings looked at is
in it already, through the rate, and needs no further correction.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

import numpy as np

from logbook.assess.doubtful.question import Doubt, Question
from logbook.assess.doubtful.table import BoolArray, FloatArray, RoundTable
from logbook.assess.slips import OTHER_UNITS
from logbook.assess.unit_text import plain_unit

RATE = 0.37e-3
KINDS = 5.0
LEAST_ODDS = 19.0
FAR = 5.0
"""Numbers nearer than so many spreads to their neighbours in time are not looked at further."""
FREEDOMS = (3.0, 4.0, 6.0, 8.0)
"""The largest is well short of a normal distribution: tails are never known that well."""
TRUSTED = 0.998
"""Share of the readings that tell how heavy the tails are; the farthest are in question."""
ONE_WAY = 0.9
NEIGHBOURS = 3
FEWEST = 30


@dataclass(frozen=True, slots=True)
class _Expected:
    """What each number might have been from the ones around it, and the spread of its point."""

    middle: FloatArray
    spread: FloatArray
    freedom: FloatArray

    def density(self, value: FloatArray | float, middle: FloatArray | float, j: int) -> FloatArray:
        """How likely readings of point `j` are that should be at `middle`, but for a constant."""
        scaled = (np.asarray(value) - middle) / self.spread[j]
        nu = float(self.freedom[j])
        found: FloatArray = (1.0 + scaled**2 / nu) ** (-(nu + 1.0) / 2.0)
        return found


@dataclass(frozen=True, slots=True)
class _Meant:
    doubt: Doubt
    value: float
    stretch: float
    """By how much a small change of what is typed changes what is meant."""
    words: str


def mistypes(table: RoundTable, neighbours: Sequence[tuple[int, int]] = ()) -> tuple[Question, ...]:
    """Questions about single numbers, the surest first.

    `neighbours` are pairs of columns that stand side by side on the sheet and may be swapped.
    """
    expected = _expect(table)
    scaled = np.abs(table.values - expected.middle) / expected.spread
    looked_at = int((np.isfinite(scaled) & table.asked[:, None]).sum())
    swapped = list(_swaps(table, expected, neighbours, looked_at))
    taken = {(one.at, key) for one in swapped for key in one.points}
    found = list(swapped)
    far = np.isfinite(scaled) & (scaled >= FAR) & table.asked[:, None]
    for row, j in np.argwhere(far):
        if (int(table.at[row]), table.keys[j]) not in taken:
            one = _single(table, expected, int(row), int(j), looked_at)
            if one is not None:
                found.append(one)
    return tuple(sorted(found, key=_surest))


def _surest(one: Question) -> tuple[float, int]:
    return one.adjusted, one.at


def _expect(table: RoundTable) -> _Expected:
    n, m = table.values.shape
    middle = np.full((n, m), np.nan)
    spread, freedom = np.full(m, np.nan), np.full(m, FREEDOMS[0])
    for j in range(m):
        rows = np.flatnonzero(np.isfinite(table.values[:, j]))
        if rows.size < FEWEST or not _wanders(table.values[rows, j]):
            continue
        held = np.pad(table.values[rows, j], NEIGHBOURS, constant_values=np.nan)
        around = [held[k : k + rows.size] for k in range(2 * NEIGHBOURS + 1) if k != NEIGHBOURS]
        middle[rows, j] = np.nanmedian(np.array(around), axis=0)
        off = np.abs(table.values[rows, j] - middle[rows, j])
        # A number typed in whole steps may stand still for long: half a step is the least.
        spread[j] = max(1.4826 * float(np.median(off)), 0.5 * float(table.step[j]))
        freedom[j] = _tails(off / spread[j])
    return _Expected(middle, spread, freedom)


def _wanders(values: FloatArray) -> bool:
    """True of a point that goes up and down, and does not mostly stand still."""
    changes = np.diff(values)
    moved = changes[changes != 0.0]
    if moved.size < 0.2 * changes.size:
        return False
    up = float((moved > 0.0).mean())
    return 1.0 - ONE_WAY <= up <= ONE_WAY


def _tails(scaled: FloatArray) -> float:
    """The degrees of freedom under which the readings are likeliest, the farthest left out."""
    from scipy.special import gammaln

    kept = np.sort(scaled)[: max(int(TRUSTED * scaled.size), 1)]
    likely = [
        kept.size * float(gammaln((nu + 1.0) / 2.0) - gammaln(nu / 2.0) - 0.5 * np.log(nu))
        - (nu + 1.0) / 2.0 * float(np.log1p(kept**2 / nu).sum())
        for nu in FREEDOMS
    ]
    return FREEDOMS[int(np.argmax(likely))]


def _single(
    table: RoundTable, expected: _Expected, row: int, j: int, looked_at: int
) -> Question | None:
    value = float(table.values[row, j])
    middle = float(expected.middle[row, j])
    stands = float(expected.density(value, middle, j))
    kinds = list(_meanings(value, table.units[j]))
    # Some kinds come in several forms: the rate is shared out over all that were tried.
    prior = RATE / max(len(kinds), KINDS)
    best: tuple[float, _Meant] | None = None
    total = 0.0
    for one in kinds:
        fits = float(expected.density(one.value, middle, j)) * one.stretch
        odds = prior * fits / stands
        total += odds
        if best is None or odds > best[0]:
            best = odds, one
    if best is None or total < LEAST_ODDS:
        return None
    meant = best[1]
    return Question(
        doubt=meant.doubt,
        points=(table.keys[j],),
        at=int(table.at[row]),
        until=int(table.at[row]),
        person=table.person(row),
        evidence=f"{value:g} stands between readings of about {middle:g}",
        question=f"Was {meant.value:g} meant ({meant.words})?",
        odds=total,
        adjusted=1.0 / (1.0 + total),
        looked_at=looked_at,
        meant=(meant.value,),
    )


def _meanings(value: float, unit: str) -> Iterator[_Meant]:
    exact = Decimal(repr(value))
    for shift in (-2, -1, 1, 2):
        places = "one place" if abs(shift) == 1 else "two places"
        moved = float(exact.scaleb(shift))
        words = f"decimal mark {places} off"
        yield _Meant(Doubt.DECIMAL, moved, 10.0**shift, words)
    text = f"{exact:f}"
    places_of_digits = [k for k, char in enumerate(text) if char.isdecimal()]
    for a, b in pairwise(places_of_digits):
        if text[a] != text[b]:
            turned = list(text)
            turned[a], turned[b] = turned[b], turned[a]
            yield _Meant(Doubt.TURNED, float("".join(turned)), 1.0, "two digits turned")
    if value:
        yield _Meant(Doubt.SIGN, -value, 1.0, "the sign")
    for other, convert in OTHER_UNITS.get(plain_unit(unit), ()):
        stretch = abs(convert(value + 1.0) - convert(value))
        meant = float(f"{convert(value):.4g}")
        yield _Meant(Doubt.UNIT, meant, stretch, f"read in {other}")


def _swaps(
    table: RoundTable,
    expected: _Expected,
    neighbours: Sequence[tuple[int, int]],
    looked_at: int,
) -> Iterator[Question]:
    for a, b in neighbours:
        first, second = table.values[:, a], table.values[:, b]
        one, other = expected.middle[:, a], expected.middle[:, b]
        stands = expected.density(first, one, a) * expected.density(second, other, b)
        turned = expected.density(second, one, a) * expected.density(first, other, b)
        odds = np.nan_to_num(RATE / KINDS * turned / stands, nan=0.0)
        likely: BoolArray = (odds >= LEAST_ODDS) & table.asked
        for row in np.flatnonzero(likely):
            yield _swapped(table, int(row), (a, b), float(odds[row]), looked_at)


def _swapped(
    table: RoundTable, row: int, pair: tuple[int, int], odds: float, looked_at: int
) -> Question:
    a, b = pair
    first, second = float(table.values[row, a]), float(table.values[row, b])
    return Question(
        doubt=Doubt.SWAPPED,
        points=(table.keys[a], table.keys[b]),
        at=int(table.at[row]),
        until=int(table.at[row]),
        person=table.person(row),
        evidence=f"{first:g} and {second:g} each fit the other's readings before and after",
        question=f"Was {second:g} meant for the first and {first:g} for the second?",
        odds=odds,
        adjusted=1.0 / (1.0 + odds),
        looked_at=looked_at,
        meant=(second, first),
    )
