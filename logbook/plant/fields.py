"""Field types of the plant file's models: strict, and plain-spoken when a value is wrong."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from datetime import date, datetime, time
from enum import StrEnum
from typing import Annotated, TypeVar

from pydantic import PlainValidator
from pydantic_core import PydanticCustomError

from logbook.plant.faults import one_of
from logbook.plant.model import Frequency, Often

_KEY = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*")
_EVERY = re.compile(r"every (\d{1,3}) h")
_CLOCK = re.compile(r"([01]\d|2[0-3]):([0-5]\d)")
_LARGEST = 1e15
MOST_DECIMALS = 6
MOST_COPIES = 200

Word = TypeVar("Word", bound=StrEnum)


def wrong(what: str, wanted: str) -> PydanticCustomError:
    """A fault in a field: what is wrong and what would be right."""
    return PydanticCustomError("plant_file", "{what}", {"what": what, "wanted": wanted})


def shown(value: object) -> str:
    """A value as the file's author wrote it, cut where it is long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, int) and abs(value) > _LARGEST:
        return "so large a number"
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _text(value: object) -> str:
    """Any text."""
    if not isinstance(value, str):
        raise wrong(f"{shown(value)} is not text", "text in quotation marks")
    return value.strip()


def _name(value: object) -> str:
    """Text with at least one visible character."""
    text = _text(value)
    if not text:
        raise wrong("the text is empty", "a name that people read")
    return text


def _key(value: object) -> str:
    """A key, without placeholders."""
    text = _text(value)
    if not _KEY.fullmatch(text):
        raise wrong(f"{shown(value)} cannot be a key", "letters, digits, _ and -, such as fm3")
    return text


def _key_pattern(value: object) -> str:
    """A key that may hold {n}."""
    text = _text(value)
    if not _KEY.fullmatch(text.replace("{n}", "1")):
        raise wrong(f"{shown(value)} cannot be a key", "letters, digits, _ and -, such as fm{n}")
    return text


def number(value: object) -> float:
    """A finite number that is neither true, false nor text."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        hint = "a number without quotation marks, with a decimal point, such as 0.35"
        raise wrong(f"{shown(value)} is not a number", hint)
    if not abs(value) <= _LARGEST or math.isnan(value):
        raise wrong(f"{shown(value)} cannot be measured", "an ordinary number")
    return float(value)


def _edge(value: object) -> float | None:
    """A limit, or "" for none."""
    return None if value == "" else number(value)


def _edges(value: object) -> tuple[float | None, float | None]:
    """[low, high], either side "" for none."""
    if not isinstance(value, list) or len(value) != 2:
        raise wrong(f"{shown(value)} is not a pair", '[low, high], "" for a side without limit')
    return _edge(value[0]), _edge(value[1])


def _numbers(value: object) -> tuple[float, ...]:
    """A list of numbers."""
    if not isinstance(value, list):
        raise wrong(f"{shown(value)} is not a list", "a list of numbers, such as [0, 2, 4]")
    return tuple(number(entry) for entry in value)


def whole(least: int, most: int) -> Callable[[object], int]:
    """A validator of whole numbers in a range."""

    def check(value: object) -> int:
        is_whole = isinstance(value, int) and not isinstance(value, bool)
        if not is_whole or not least <= int(str(value)[:20]) <= most:
            raise wrong(
                f"{shown(value)} is not possible here", f"a whole number, {least} to {most}"
            )
        return int(str(value))

    return check


def within(least: float, most: float, unit: str) -> Callable[[object], float]:
    """A validator of numbers in a range."""

    def check(value: object) -> float:
        checked = number(value)
        if not least <= checked <= most:
            raise wrong(f"{shown(value)} is not possible here", f"{least:g} to {most:g} {unit}")
        return checked

    return check


def _flag(value: object) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        raise wrong(f"{shown(value)} is neither true nor false", "true or false")
    return value


def _day(value: object) -> date:
    """A local date."""
    if not isinstance(value, date) or isinstance(value, datetime):
        raise wrong(f"{shown(value)} is not a date", "a date without quotation marks: 2024-01-31")
    return value


def _clock(value: object) -> time:
    """A local time of day, as TOML time or "HH:MM"."""
    if isinstance(value, time) and not value.microsecond:
        return value
    match = _CLOCK.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        raise wrong(f"{shown(value)} is not a time of day", "a time such as 06:00:00")
    return time(int(match.group(1)), int(match.group(2)))


def word_of(words: type[Word]) -> Callable[[object], Word]:
    """A validator of one of the words of an enumeration."""

    def check(value: object) -> Word:
        if isinstance(value, str) and value in [str(word) for word in words]:
            return words(value)
        wanted = one_of(str(value), [str(word) for word in words])
        raise wrong(f"{shown(value)} is not known here", wanted)

    return check


def _frequency(value: object) -> Frequency:
    """How often, in words."""
    plain = (Often.ROUND, Often.SHIFT, Often.DAY, Often.SAMPLE)
    if isinstance(value, str) and value in plain:
        return Frequency(Often(value))
    match = _EVERY.fullmatch(value) if isinstance(value, str) else None
    if match is None or match.group(1).startswith("0"):
        raise wrong(f"{shown(value)} is no frequency", 'round, "every 4 h", shift, day or sample')
    return Frequency(Often.HOURS, int(match.group(1)))


def _roster(value: object) -> tuple[str, ...]:
    """A list of shift keys, or one text with a letter per day."""
    if isinstance(value, str):
        return _filled(tuple("".join(value.split())))
    return _filled(_words(value))


def _filled(entries: tuple[str, ...]) -> tuple[str, ...]:
    """Refuse a roster without a day."""
    if not entries:
        raise wrong("the roster is empty", 'a shift key or O per day, such as "DDNNOOOO"')
    return entries


def _words(value: object) -> tuple[str, ...]:
    """A list of texts."""
    if not isinstance(value, list) or not all(isinstance(entry, str) for entry in value):
        raise wrong(f"{shown(value)} is not a list of texts", 'a list such as ["left", "right"]')
    return tuple(entry.strip() for entry in value)


def _keys(value: object) -> tuple[str, ...]:
    """One key, or a list of keys; "" for none."""
    if isinstance(value, str):
        return (value.strip(),) if value.strip() else ()
    return _words(value)


def _stated(value: object) -> float | str:
    """A number, or text that states one with its unit."""
    return value.strip() if isinstance(value, str) else number(value)


def _machines(value: object) -> str | tuple[str, ...]:
    """The name of a group, or a list of equipment keys."""
    return value.strip() if isinstance(value, str) else _words(value)


def _each(value: object) -> tuple[str, ...]:
    """The numbers or words that stand for {n}."""
    hint = 'a list such as [1, 2, 4] or ["north", "south"]'
    if not isinstance(value, list) or not value or len(value) > MOST_COPIES:
        raise wrong(f"{shown(value)} is not a list of machines", hint)
    texts = tuple(str(entry) for entry in value if isinstance(entry, int | str))
    if len(texts) != len(value) or not all(_KEY.fullmatch(text) for text in texts):
        raise wrong("an entry of the list can be no part of a key", hint)
    return texts


Text = Annotated[str, PlainValidator(_text)]
Name = Annotated[str, PlainValidator(_name)]
Key = Annotated[str, PlainValidator(_key)]
KeyPattern = Annotated[str, PlainValidator(_key_pattern)]
Number = Annotated[float, PlainValidator(number)]
Edge = Annotated[float | None, PlainValidator(_edge)]
Edges = Annotated[tuple[float | None, float | None], PlainValidator(_edges)]
Numbers = Annotated[tuple[float, ...], PlainValidator(_numbers)]
Decimals = Annotated[int, PlainValidator(whole(0, MOST_DECIMALS))]
Count = Annotated[int, PlainValidator(whole(1, MOST_COPIES))]
Flag = Annotated[bool, PlainValidator(_flag)]
Day = Annotated[date, PlainValidator(_day)]
Clock = Annotated[time, PlainValidator(_clock)]
How = Annotated[Frequency, PlainValidator(_frequency)]
Roster = Annotated[tuple[str, ...], PlainValidator(_roster)]
Words = Annotated[tuple[str, ...], PlainValidator(_words)]
Keys = Annotated[tuple[str, ...], PlainValidator(_keys)]
Stated = Annotated[float | str, PlainValidator(_stated)]
Machines = Annotated[str | tuple[str, ...], PlainValidator(_machines)]
Each = Annotated[tuple[str, ...], PlainValidator(_each)]
