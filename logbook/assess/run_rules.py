"""Run rules: patterns on a control chart that chance seldom makes.

The four tests of the Western Electric Statistical Quality Control Handbook (1956) for instability,
its tests for stratification and mixture, the eight of L. S. Nelson, "The Shewhart control chart -
tests for special causes", Journal of Quality Technology 16 (1984) 237-239, and the criteria of
ISO 7870-2:2013 (from memory: a point beyond the limits, seven in a row on one side, seven in a row
steadily rising or falling). Lengths can be set and each rule be switched off for each point.

A pattern is flagged at its newest point, which must itself be part of it. Comparisons are strict:
a reading on a line is not beyond it, and equal readings break a trend. Rules hold for independent
readings only; for readings that follow one another use `autocorrelation.residuals`.

>>> import numpy as np
>>> found = run_rules([0.2, 2.4, 2.2, 0.1, 3.5], centre=0.0, sigma=1.0)
>>> [(event.rule.name, event.first, event.last) for event in found.events()]
[('TWO_OF_THREE', 2, 2), ('BEYOND_LIMITS', 4, 4), ('TWO_OF_THREE', 4, 4)]
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from enum import IntFlag

import numpy as np
import numpy.typing as npt

from logbook.assess.chart_rows import (
    BoolArray,
    FloatArray,
    IndexArray,
    Rows,
    as_series,
    together,
)
from logbook.assess.moving_range import NO_VARIATION
from logbook.plant.model import CHART_RULES

FlagArray = npt.NDArray[np.uint8]


class Rule(IntFlag):
    """The rules, one bit each, so that the flags of a reading fit in a byte."""

    BEYOND_LIMITS = 1
    TWO_OF_THREE = 2
    FOUR_OF_FIVE = 4
    ONE_SIDE = 8
    TREND = 16
    ALTERNATING = 32
    WITHIN_ONE = 64
    NONE_WITHIN_ONE = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleSettings:
    """Which rules are in force for a point; a length of 0 switches a rule off."""

    beyond_limits: bool = True
    """One reading beyond three sigma."""
    two_of_three: bool = True
    """Two of three in a row beyond two sigma on the same side."""
    four_of_five: bool = True
    """Four of five in a row beyond one sigma on the same side."""
    one_side: int = 8
    """So many in a row on the same side of the centre."""
    trend: int = 0
    """So many in a row, each above (or each below) the one before it."""
    alternating: int = 0
    """So many in a row that go up and down in turn."""
    within_one: int = 0
    """So many in a row within one sigma of the centre (stratification)."""
    none_within_one: int = 0
    """So many in a row beyond one sigma, on both sides (mixture)."""
    longest_gap: int = 1
    """How many readings in a row may be missing inside a pattern."""

    def __post_init__(self) -> None:
        for name in ("one_side", "trend", "alternating", "within_one", "none_within_one"):
            length = getattr(self, name)
            if length != 0 and not 3 <= length <= 100:
                raise ValueError(f"{name} must be 0 (off) or from 3 to 100, not {length}.")
        if self.longest_gap < 0:
            raise ValueError(f"longest_gap must be 0 or more, not {self.longest_gap}.")

    @property
    def rules(self) -> Rule:
        """The rules in force, as one value of bits."""
        found = Rule(0)
        for name in (field.name for field in fields(self)):
            if name != "longest_gap" and getattr(self, name):
                found |= Rule[name.upper()]
        return found

    def words(self, rule: Rule) -> str:
        """What a rule says, with the length in force, as a phrase for people."""
        length = getattr(self, rule.name.lower()) if rule.name else 0
        return _WORDS[rule].format(length)


_WORDS = {
    Rule.BEYOND_LIMITS: "beyond the control limits",
    Rule.TWO_OF_THREE: "two of three beyond two sigma on one side",
    Rule.FOUR_OF_FIVE: "four of five beyond one sigma on one side",
    Rule.ONE_SIDE: "{} in a row on one side of the centre",
    Rule.TREND: "{} in a row steadily rising or falling",
    Rule.ALTERNATING: "{} in a row going up and down in turn",
    Rule.WITHIN_ONE: "{} in a row within one sigma",
    Rule.NONE_WITHIN_ONE: "{} in a row beyond one sigma on both sides",
}

WESTERN_ELECTRIC = RuleSettings()
"""The handbook's tests 1 to 4 for instability (1956)."""
WESTERN_ELECTRIC_ALL = RuleSettings(within_one=15, none_within_one=8)
"""The same with its tests for stratification and mixture (lengths from memory)."""
NELSON = RuleSettings(one_side=9, trend=6, alternating=14, within_one=15, none_within_one=8)
"""Nelson's eight tests (1984)."""
ISO_7870_2 = RuleSettings(two_of_three=False, four_of_five=False, one_side=7, trend=7)
"""ISO 7870-2:2013 (from memory)."""
LIMITS_ONLY = RuleSettings(two_of_three=False, four_of_five=False, one_side=0)
"""Nothing but the three-sigma limits."""


LENGTHS = {"one side": 8, "trend": 6, "alternating": 14, "within one": 15, "none within one": 8}
"""Of the rules that a plant file names, where it gives no length: the handbook's and Nelson's."""


def settings_of(names: Sequence[str]) -> RuleSettings:
    """The rules that a point names (of `logbook.plant.model.CHART_RULES`); none: the usual ones.

    Raises ValueError for a name that is no rule.

    >>> settings_of(["limits", "trend"]).trend, settings_of(["limits", "trend"]).one_side
    (6, 0)
    """
    if not names:
        return WESTERN_ELECTRIC
    unknown = [name for name in names if name not in CHART_RULES]
    if unknown:
        raise ValueError(f"there is no rule {unknown[0]!r}; there are {', '.join(CHART_RULES)}")
    lengths = {name.replace(" ", "_"): k for name, k in LENGTHS.items() if name in names}
    wanted = {name.replace(" ", "_"): 0 for name in LENGTHS} | lengths
    return RuleSettings(
        beyond_limits="limits" in names,
        two_of_three="two of three" in names,
        four_of_five="four of five" in names,
        **wanted,
    )


@dataclass(frozen=True, slots=True)
class RunEvent:
    """Consecutive readings at which one rule fires; indices into the series, both inclusive."""

    rule: Rule
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class RunRules:
    """Where which rule fires."""

    flags: FlagArray
    """Bits of `Rule` for each reading, shape (n,); 0 where the reading is missing."""
    settings: RuleSettings
    note: str
    """Why nothing was judged; empty where it was."""

    @property
    def fired(self) -> BoolArray:
        """True where any rule fires, shape (n,)."""
        return np.asarray(self.flags != 0)

    def by(self, rule: Rule) -> BoolArray:
        """True where this rule fires, shape (n,)."""
        return np.asarray((self.flags & np.uint8(rule)) != 0)

    def events(self) -> tuple[RunEvent, ...]:
        """Each stretch of neighbouring flags of one rule, by its first reading."""
        found = [event for rule in Rule for event in _stretches(rule, self.by(rule))]
        return tuple(sorted(found, key=_event_order))


def run_rules(
    values: npt.ArrayLike,
    centre: npt.ArrayLike,
    sigma: npt.ArrayLike,
    *,
    settings: RuleSettings = WESTERN_ELECTRIC,
) -> RunRules:
    """Judge a series by the run rules.

    `values`, shape (n,), in the point's unit, NaN: missing; `centre` and `sigma` in the same unit,
    numbers or arrays of shape (n,) where they change, e.g. with the size of subgroups. Where sigma
    is not above 0 or not known nothing fires, and the note says so.
    """
    series = as_series(values)
    spread = np.asarray(sigma, dtype=np.float64)
    usable = np.isfinite(spread) & (spread > 0.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        z = np.where(usable, (series - np.asarray(centre, dtype=np.float64)) / spread, np.nan)
    seen = ~np.isnan(series)
    note = ""
    if not seen.any():
        note = "no readings"
    elif np.isnan(z[seen]).all():
        note = NO_VARIATION
    flags = rows_flags(together(z[None, :]), settings)[0]
    return RunRules(flags, settings, note)


def rows_flags(rows: Rows, settings: RuleSettings) -> FlagArray:
    """Flags for many series at once, shape (rows, length), where the readings stood.

    `rows` holds deviations from the centre in sigma.
    """
    z = rows.values.reshape(-1)
    breaks = rows.breaks(settings.longest_gap)
    flags = np.zeros(z.size, dtype=np.uint8)
    for rule, fired in _patterns(z, breaks, settings):
        flags |= fired.view(np.uint8) * np.uint8(rule)
    return rows.marks_apart(flags.reshape(rows.values.shape))


def _patterns(
    z: FloatArray, breaks: IndexArray, settings: RuleSettings
) -> list[tuple[Rule, BoolArray]]:
    """Each rule in force with the places in the flat rows where it fires."""
    found: list[tuple[Rule, BoolArray]] = []
    if settings.beyond_limits:
        found.append((Rule.BEYOND_LIMITS, (z > 3.0) | (z < -3.0)))
    if settings.two_of_three:
        found.append((Rule.TWO_OF_THREE, _either(z, 2.0, breaks, _two_of_three)))
    high, low = z > 1.0, z < -1.0
    if settings.four_of_five:
        fired = _four_of_five(high, breaks) | _four_of_five(low, breaks)
        found.append((Rule.FOUR_OF_FIVE, fired))
    if settings.one_side:
        length = settings.one_side
        fired = _run(z > 0.0, length, breaks) | _run(z < 0.0, length, breaks)
        found.append((Rule.ONE_SIDE, fired))
    if settings.trend or settings.alternating:
        found += _directions(z, breaks, settings)
    if settings.within_one:
        inside = (z <= 1.0) & (z >= -1.0)
        found.append((Rule.WITHIN_ONE, _run(inside, settings.within_one, breaks)))
    if settings.none_within_one:
        length = settings.none_within_one
        one_sided = _run(high, length, breaks) | _run(low, length, breaks)
        found.append((Rule.NONE_WITHIN_ONE, _run(high | low, length, breaks) & ~one_sided))
    return found


def _directions(
    z: FloatArray, breaks: IndexArray, settings: RuleSettings
) -> list[tuple[Rule, BoolArray]]:
    """The rules on the steps from reading to reading."""
    up, down = np.zeros(z.size, dtype=np.bool_), np.zeros(z.size, dtype=np.bool_)
    np.greater(z[1:], z[:-1], out=up[1:])
    np.less(z[1:], z[:-1], out=down[1:])
    up[breaks] = False
    down[breaks] = False
    found: list[tuple[Rule, BoolArray]] = []
    if settings.trend:
        # A step into a reading is only there after a neighbour: no further clearing is needed.
        steps = settings.trend - 1
        found.append((Rule.TREND, _run(up, steps, breaks) | _run(down, steps, breaks)))
    if settings.alternating:
        turn = (up & _before(down, breaks)) | (down & _before(up, breaks))
        found.append((Rule.ALTERNATING, _run(turn, settings.alternating - 2, breaks)))
    return found


def _before(flags: BoolArray, breaks: IndexArray) -> BoolArray:
    """The flag of the reading before; False where there is none."""
    out = np.empty_like(flags)
    out[:1] = False
    out[1:] = flags[:-1]
    out[breaks] = False
    return out


def _either(
    z: FloatArray,
    edge: float,
    breaks: IndexArray,
    rule: Callable[[BoolArray, IndexArray], BoolArray],
) -> BoolArray:
    return rule(z > edge, breaks) | rule(z < -edge, breaks)


def _two_of_three(beyond: BoolArray, breaks: IndexArray) -> BoolArray:
    """The newest is beyond, and so is one of the two before it."""
    one = _before(beyond, breaks)
    return beyond & (one | _before(one, breaks))


def _four_of_five(beyond: BoolArray, breaks: IndexArray) -> BoolArray:
    """The newest is beyond, and so are three of the four before it."""
    one = _before(beyond, breaks)
    two = _before(one, breaks)
    three = _before(two, breaks)
    four = _before(three, breaks)
    return beyond & ((one & two & (three | four)) | (three & four & (one | two)))


def _run(flags: BoolArray, length: int, breaks: IndexArray) -> BoolArray:
    """True where this and the `length - 1` readings before it are flagged, without a break.

    Runs of doubled length are made of two of half the length; a last overlapping pair gives the
    length wanted.
    """
    out = flags.copy()
    reach = 1
    while reach < length:
        step = min(reach, length - reach)
        # The right side is a new array, so that what is read is not what is being written.
        out[step:] = out[step:] & out[:-step]
        out[:step] = False
        reach += step
    if length > 1:
        heads = (breaks[:, None] + np.arange(length - 1)[None, :]).reshape(-1)
        out[heads[heads < out.size]] = False
    return out


def _stretches(rule: Rule, fired: BoolArray) -> list[RunEvent]:
    edges = np.diff(np.concatenate([[0], fired.astype(np.int8), [0]]))
    firsts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return [RunEvent(rule, int(a), int(b) - 1) for a, b in zip(firsts, ends, strict=True)]


def _event_order(event: RunEvent) -> tuple[int, int]:
    return event.first, int(event.rule)
