"""From typed text to a judged answer: the state of one field of a round."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from logbook.assess.choices import Matched, Several, choices_of, read_check, read_state
from logbook.assess.computed import round_for_judging
from logbook.assess.limits import NOT_JUDGED, Judgement, classify, classify_choice, is_plausible
from logbook.assess.slips import slips
from logbook.assess.typed import (
    Ambiguous,
    Typed,
    format_number,
    read_number,
)
from logbook.plant.model import Limits, Point, PointKind


class Asks(StrEnum):
    """Why a typed text is not taken yet."""

    UNREADABLE = "unreadable"
    AMBIGUOUS = "ambiguous"
    UNFINISHED = "unfinished"
    IMPLAUSIBLE = "implausible"
    COUNTER_BACK = "counter back"


@dataclass(frozen=True, slots=True)
class Question:
    """What must be settled before a text is taken, in a sentence for the person typing."""

    asks: Asks
    sentence: str

    @property
    def can_confirm(self) -> bool:
        """True where a second Enter takes the value as it stands."""
        return self.asks in {Asks.IMPLAUSIBLE, Asks.COUNTER_BACK}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What stands in a field. `value` and `text` are set as soon as the text can be read."""

    typed: str = ""
    value: float | None = None
    text: str | None = None
    reason: str | None = None
    judgement: Judgement = NOT_JUDGED
    question: Question | None = None
    confirmed: bool = False
    response: str = ""

    @property
    def is_taken(self) -> bool:
        """True where a save would write this field."""
        has_answer = self.value is not None or self.text is not None or self.reason is not None
        return has_answer and self.question is None


EMPTY = Entry()


def read_entry(
    point: Point,
    limits: Limits,
    typed: str,
    base: Entry,
    *,
    last: float | None,
    decimal_comma: bool,
) -> Entry:
    """Read and judge `typed` for `point`; `base` carries the response and a confirmation.

    Never raises for any text: what cannot be taken comes back as a `Question`.
    """
    blank = Entry(typed=typed, response=base.response)
    if not typed.strip():
        return blank
    if point.kind in {PointKind.STATE, PointKind.CHECK}:
        return _read_choice(point, blank)
    if point.kind is PointKind.TEXT:
        return replace(blank, text=typed.strip())
    found = read_number(typed, decimal_comma=decimal_comma, unit=point.unit)
    if isinstance(found, Typed):
        number = replace(blank, value=found.value, confirmed=base.confirmed)
        return _judge_number(point, limits, number, last, decimal_comma=decimal_comma)
    asks = Asks.AMBIGUOUS if isinstance(found, Ambiguous) else Asks.UNREADABLE
    return replace(blank, question=Question(asks, found.sentence))


def judge_answer(point: Point, limits: Limits, value: float | None) -> Entry:
    """The entry of a computed point, rounded as it is judged."""
    if value is None:
        return EMPTY
    rounded = round_for_judging(value, point.decimals)
    return Entry(value=rounded, judgement=classify(rounded, limits))


def _judge_number(
    point: Point, limits: Limits, entry: Entry, last: float | None, *, decimal_comma: bool
) -> Entry:
    value = entry.value
    assert value is not None
    judged = replace(entry, judgement=classify(value, limits))
    if entry.confirmed:
        return judged
    if not is_plausible(value, limits):
        return replace(
            judged, question=_implausible(point, limits, value, last, decimal_comma=decimal_comma)
        )
    if point.kind is PointKind.COUNTER and last is not None and value < last:
        sentence = (
            f"The counter stood at {format_number(last, point.decimals, decimal_comma=decimal_comma)} "
            "last time. Enter again if it rolled over or was reset; else type it anew."
        )
        return replace(judged, question=Question(Asks.COUNTER_BACK, sentence))
    return judged


def _implausible(
    point: Point, limits: Limits, value: float, last: float | None, *, decimal_comma: bool
) -> Question:
    def shown(number: float) -> str:
        return format_number(number, point.decimals, decimal_comma=decimal_comma)

    low, high = limits.plausible_low, limits.plausible_high
    if low is not None and value < low:
        fault = f"below the plausible {shown(low)} {point.unit}"
    else:
        fault = f"above the plausible {shown(high if high is not None else value)} {point.unit}"
    hints = slips(value, last, limits, point.unit)
    hint = f" {hints[0].sentence}" if hints else ""
    return Question(
        Asks.IMPLAUSIBLE,
        f"{_sentence(fault)}.{hint} Enter again keeps it as typed; else type it anew.",
    )


def _sentence(text: str) -> str:
    """Begin with a capital; the rest stays, since units are written as they are."""
    return text[:1].upper() + text[1:].strip()


def _read_choice(point: Point, blank: Entry) -> Entry:
    if point.kind is PointKind.CHECK:
        found = read_check(blank.typed, choices_of(point))
    else:
        found = read_state(blank.typed, point.choices)
    if isinstance(found, Matched):
        key = found.choice.key
        return replace(blank, text=key, judgement=classify_choice(point, key))
    asks = Asks.UNFINISHED if isinstance(found, Several) else Asks.UNREADABLE
    return replace(blank, question=Question(asks, found.sentence))
