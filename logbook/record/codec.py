"""Frozen dataclasses to plain JSON and back, exactly, by their type hints.

Every field is written, also one that holds its default, so that a SQLite client sees all of it
and a later change of a default does not change old books. A field that a stored body lacks (it
was written before the field existed) takes its default.
"""

# ruff: noqa: ANN401 -- the values of any dataclass pass through here

from __future__ import annotations

import json
import types
import typing
from collections.abc import Callable, Hashable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, time
from enum import Enum
from functools import cache
from types import MappingProxyType
from typing import Any, TypeVar, cast

from logbook.record.errors import WriteRefused

T = TypeVar("T")


def encode(record: object, leave_out: frozenset[str] = frozenset()) -> str:
    """`record` as a JSON object, less the fields in `leave_out`.

    Raises WriteRefused where a number is not finite, since JSON has no such number.
    """
    plain = {k: v for k, v in _plain(record).items() if k not in leave_out}
    try:
        return json.dumps(plain, ensure_ascii=False, allow_nan=False)
    except ValueError:
        name = getattr(record, "key", type(record).__name__)
        msg = f"A number of {name} is not finite; give a number, or leave it empty."
        raise WriteRefused(msg) from None


def decode(kind: type[T], body: str) -> T:
    """The record of class `kind` that `encode` wrote."""
    made: T = _maker(cast("Hashable", kind))(json.loads(body))
    return made


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, Mapping):
        pairs = [[_plain(k), _plain(v)] for k, v in value.items()]
        return sorted(pairs, key=json.dumps)
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    if isinstance(value, float):
        return value + 0.0  # negative zero is zero
    return value


Maker = Callable[[Any], Any]


@cache
def _maker(kind: Any) -> Maker:
    """A function from plain JSON to a value of the type `kind`, worked out once per type.

    A plant has hundreds of points; walking their type hints anew for each would double the time
    that it takes to open a book.
    """
    origin = typing.get_origin(kind)
    if origin in {typing.Union, types.UnionType}:
        (inner,) = (arg for arg in typing.get_args(kind) if arg is not type(None))
        make = _maker(inner)
        return lambda value: None if value is None else make(value)
    if origin is tuple:
        return _tuple_maker(typing.get_args(kind))
    if origin is not None and issubclass(origin, Mapping):
        of_key, of_value = (_maker(arg) for arg in typing.get_args(kind))
        return lambda value: MappingProxyType({of_key(k): of_value(v) for k, v in value})
    if is_dataclass(kind):
        return _record_maker(kind)
    if kind in {date, time}:
        fromiso: Maker = kind.fromisoformat
        return fromiso
    plain: Maker = kind
    return plain


def _record_maker(kind: Any) -> Maker:
    hints = typing.get_type_hints(kind)
    makers = {field.name: _maker(hints[field.name]) for field in fields(kind)}

    def make(value: dict[str, Any]) -> Any:
        return kind(**{name: makers[name](v) for name, v in value.items() if name in makers})

    return make


def _tuple_maker(args: tuple[Any, ...]) -> Maker:
    if len(args) == 2 and args[1] is Ellipsis:
        make = _maker(args[0])
        return lambda value: tuple([make(item) for item in value])
    makers = [_maker(arg) for arg in args]
    return lambda value: tuple(m(item) for m, item in zip(makers, value, strict=True))
