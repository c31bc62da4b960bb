"""Answers of state and check points: reading what is typed for them."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

from logbook.plant.model import Choice, Point, PointKind, Weight

CHECK_CHOICES = (Choice("done", "Done"), Choice("not_done", "Not done", Weight.WARNING))
"""Answers of a check point that names none of its own."""

_YES = frozenset({"y", "yes", "x", "ok", "+", "done", "true", "✓"})
_NO = frozenset({"n", "no", "-", "0", "not done", "false", "−"})


@dataclass(frozen=True, slots=True)
class Matched:
    """The text means exactly this answer."""

    choice: Choice


@dataclass(frozen=True, slots=True)
class Several:
    """The text fits several answers so far; the sentence says how to go on."""

    choices: tuple[Choice, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class Unmatched:
    """The text fits no answer; the sentence lists those there are."""

    sentence: str


def choices_of(point: Point) -> tuple[Choice, ...]:
    """The answers of a point; done and not done for a check that names none."""
    if point.kind is PointKind.CHECK and not point.choices:
        return CHECK_CHOICES
    return point.choices


def read_state(text: str, choices: tuple[Choice, ...]) -> Matched | Several | Unmatched:
    """Find the answer meant by `text`; never raises.

    In this order: the whole key or name; the place in the list counted from 1 (where no
    answer itself starts with a digit); the beginning of a name or key; the beginning of any
    word of a name. Upper and lower case count as the same.
    """
    typed = _plain(text)
    if not choices:
        return Unmatched("This point has no answers to choose from: give it some in the plant.")
    if not typed:
        return Unmatched(f"Nothing is typed: {_listed(choices, choices)}.")
    whole = [c for c in choices if typed in {_plain(c.key), _plain(c.name)}]
    if whole:
        return _found(text, whole, choices)
    if typed.isdecimal() and not any(_starts_with_digit(c) for c in choices):
        return _picked(typed, choices)
    begun = [
        c for c in choices if _plain(c.name).startswith(typed) or _plain(c.key).startswith(typed)
    ]
    inside = [c for c in choices if any(w.startswith(typed) for w in _plain(c.name).split())]
    return _found(text, begun or inside, choices)


def read_check(
    text: str, choices: tuple[Choice, ...] = CHECK_CHOICES
) -> Matched | Several | Unmatched:
    """Find done or not done; never raises.

    As `read_state`; where that finds no single one of two answers, "y", "x", "ok" and "+"
    mean the first, "n", "-" and "0" the second.
    """
    choices = choices or CHECK_CHOICES
    found = read_state(text, choices)
    typed = _plain(text)
    if isinstance(found, Matched) or len(choices) != 2 or typed not in _YES | _NO:
        return found
    return Matched(choices[0] if typed in _YES else choices[1])


def _found(
    text: str, found: list[Choice], choices: tuple[Choice, ...]
) -> Matched | Several | Unmatched:
    if len(found) == 1:
        return Matched(found[0])
    shown = text.strip()
    if not found:
        return Unmatched(f'"{shown}" is none of the answers: {_listed(choices, choices)}.')
    several = _listed(tuple(found), choices)
    return Several(
        tuple(found), f'"{shown}" fits several: type more letters or a number: {several}.'
    )


def _picked(typed: str, choices: tuple[Choice, ...]) -> Matched | Unmatched:
    digits = typed.lstrip("0")
    place = int(digits) if digits and len(digits) < 4 else 0
    if 1 <= place <= len(choices):
        return Matched(choices[place - 1])
    return Unmatched(f"There is no answer {typed}: {_listed(choices, choices)}.")


def _listed(shown: tuple[Choice, ...], choices: tuple[Choice, ...]) -> str:
    return ", ".join(f"{choices.index(c) + 1} {c.name}" for c in shown)


def _starts_with_digit(choice: Choice) -> bool:
    return _plain(choice.key)[:1].isdecimal() or _plain(choice.name)[:1].isdecimal()


def _plain(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())
