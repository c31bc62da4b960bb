"""Faults of a plant file: what is wrong, where, and what would be right."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path

KeyPath = tuple[str | int, ...]
"""Where a value stands in the parsed file: `("point", 3, "warning")`."""

_NAMED_SECTIONS = frozenset(
    {"mode", "person", "area", "equipment", "table", "point", "shift", "crew", "rows", "columns"}
    | {"choices", "exception"}
)


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: `where` in words, `what` is wrong, what is `wanted`; `line` counts from 1."""

    path: Path
    line: int | None
    where: str
    what: str
    wanted: str

    def __str__(self) -> str:
        """One line a plant engineer can act on."""
        place = f"{self.path}, line {self.line}" if self.line else f"{self.path}"
        subject = f"{self.where}: " if self.where else ""
        return f"{place}: {subject}{self.what}; wanted: {self.wanted}"


class PlantFileError(Exception):
    """A plant file that cannot be used; `faults` holds every fault, in file order."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__(self._summary())

    def _summary(self) -> str:
        """Every fault on a line of its own under a count."""
        count = len(self.faults)
        head = "1 fault" if count == 1 else f"{count} faults"
        return "\n".join([f"{head} in the plant file:", *map(str, self.faults)])


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word closest to `word` in spelling, or None where none is close.

    >>> nearest("warnign", ["warning", "action"])
    'warning'
    """
    by_folded = {entry.casefold(): entry for entry in known}
    close = get_close_matches(word.casefold(), list(by_folded), n=1, cutoff=0.6)
    return by_folded[close[0]] if close else None


def one_of(word: str, known: Sequence[str], *, nothing: str = "nothing") -> str:
    """Say what would be right in place of `word`: the nearest known word, else the list.

    >>> one_of("flakng", ["flaking", "extraction"])
    '"flaking"'
    """
    close = nearest(word, known)
    if close is not None:
        return f'"{close}"'
    if not known:
        return nothing
    shown = ", ".join(f'"{entry}"' for entry in known[:8])
    return f"one of {shown}" + (" ..." if len(known) > 8 else "")


def in_words(path: KeyPath, document: Mapping[str, object]) -> str:
    """Turn a key path into words: `point "flake_thickness": at fm3, warning`."""
    heads: list[str] = []
    tail: list[str] = []
    here: object = document
    for step in path:
        here = _step_into(here, step)
        if isinstance(step, int):
            _name_entry(tail, heads, step, here)
        else:
            tail.append(step)
    head = ", ".join(heads)
    rest = ", ".join(tail).replace("at, ", "at ").replace("limits, ", "limits ")
    return f"{head}: {rest}" if head and rest else head or rest


def _step_into(here: object, step: str | int) -> object:
    """One step down the parsed file; None where the path leaves it."""
    if isinstance(here, Mapping) and isinstance(step, str):
        return here.get(step)
    if isinstance(here, list) and isinstance(step, int) and step < len(here):
        return here[step]
    return None


def _name_entry(tail: list[str], heads: list[str], index: int, entry: object) -> None:
    """Replace a list's name and index by `point "key"`, or by its number where it has no key."""
    key = entry.get("key") if isinstance(entry, Mapping) else None
    if not tail or tail[-1] not in _NAMED_SECTIONS:
        tail.append(f"entry {index + 1}")
        return
    section = _singular(tail.pop())
    heads.extend(tail)
    tail.clear()
    heads.append(f'{section} "{key}"' if isinstance(key, str) else f"{section} {index + 1}")


def _singular(section: str) -> str:
    """Name one entry of a list: a row of the rows."""
    return {"rows": "row", "columns": "column", "choices": "choice"}.get(section, section)


def keys_of(section: KeyPath, count: int, names: Iterable[str] = ("key",)) -> list[KeyPath]:
    """The key paths that say what there is in a list of `count` tables.

    A check whether something exists leans on them: what seems not to exist may only be
    misspelt in its own declaration. One entry at least, so that a fault of the whole list counts.
    """
    return [(*section, index, name) for index in range(max(1, count)) for name in names]


@dataclass(slots=True)
class Reporter:
    """Collects faults of one file and keeps one fault from being told twice.

    `dropped` holds the paths of values already found wrong; a check that leans on one of
    them says nothing, so that one mistake gives one fault.
    """

    path: Path
    document: Mapping[str, object]
    lines: Mapping[KeyPath, int]
    dropped: set[KeyPath] = field(default_factory=set)
    faults: list[Fault] = field(default_factory=list)

    def add(self, at: KeyPath, what: str, wanted: str, *, leans_on: Iterable[KeyPath] = ()) -> None:
        """Record a fault at a key path, unless it follows from one already recorded."""
        if any(self.is_dropped(path) for path in (at, *leans_on)):
            return
        where = in_words(at, self.document)
        fault = Fault(self.path, self.line_of(at), where, what, wanted)
        if fault not in self.faults:
            self.faults.append(fault)

    def add_and_drop(
        self, at: KeyPath, what: str, wanted: str, *, leans_on: Iterable[KeyPath] = ()
    ) -> None:
        """Record a fault of a value that others lean on, and judge nothing by it any more."""
        self.add(at, what, wanted, leans_on=leans_on)
        self.dropped.add(at)

    def is_dropped(self, path: KeyPath) -> bool:
        """True where the value at `path`, something above it or inside it was found wrong."""
        if any(path[:size] in self.dropped for size in range(1, len(path) + 1)):
            return True
        return any(known[: len(path)] == path for known in self.dropped if len(known) > len(path))

    def line_of(self, path: KeyPath) -> int | None:
        """Line of the key, else of the nearest table around it."""
        for size in range(len(path), 0, -1):
            if path[:size] in self.lines:
                return self.lines[path[:size]]
        return None

    def in_order(self) -> tuple[Fault, ...]:
        """All faults by line; those of the whole file first."""
        return tuple(sorted(self.faults, key=lambda fault: fault.line or 0))
