"""Rows of the book, as SQLite gives them, to the records that callers see."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import chain
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from logbook.plant.model import Limits
from logbook.record.definitions import EDGES
from logbook.record.instants import from_milliseconds, from_seconds, optional_instant
from logbook.record.rows import (
    Down,
    Entry,
    LimitRow,
    Lines,
    ModeChange,
    PageHead,
    Reading,
    Response,
    Revision,
    Sample,
    Series,
    Status,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = tuple[NDArray[np.float64], NDArray[np.float64]]
    """Times in epoch seconds, and values."""

Row = tuple[Any, ...]


def series(rows: Iterable[Row]) -> Series:
    """Rows of (taken_at, value or None, id), taken up one by one as they come."""
    import numpy as np  # not needed to write, nor to open a form: that must not wait for it

    columns = np.dtype([("taken_at", np.int64), ("value", np.float64), ("id", np.int64)])
    held = np.fromiter(rows, dtype=columns)  # None becomes NaN
    return Series(
        taken_at=np.ascontiguousarray(held["taken_at"]),
        value=np.ascontiguousarray(held["value"]),
        id=np.ascontiguousarray(held["id"]),
    )


def numbers(rows: Iterable[Row]) -> Numbers:
    """Rows of (taken_at, value), taken up one by one as they come; less to carry than a series."""
    import numpy as np

    table = np.fromiter(rows, dtype=np.dtype([("at", np.float64), ("value", np.float64)]))
    return np.ascontiguousarray(table["at"]), np.ascontiguousarray(table["value"])


class _Instants(dict[int | None, datetime | None]):
    """Seconds to instants: the readings of a round share theirs, so each is made once."""

    def __missing__(self, key: int | None) -> datetime | None:
        found = self[key] = optional_instant(key)
        return found


class _Written(dict[int, datetime]):
    """The same for milliseconds."""

    def __missing__(self, key: int) -> datetime:
        found = self[key] = from_milliseconds(key)
        return found


def readings(rows: Iterable[Row]) -> list[Reading]:
    """Rows of the reading queries."""
    at: Any = _Instants()
    written: Any = _Written()
    return [
        Reading(
            row_id, page_id, point, at[taken], at[round_at], value, text, typed, reason, of_mode,
            late == 1, sample_id, replaces, why, person, written[written_at],
        )
        for (
            row_id, page_id, point, taken, round_at, value, text, typed, reason, of_mode, late,
            sample_id, replaces, why, person, written_at,
        ) in rows
    ]  # fmt: skip


def reading(row: Row) -> Reading:
    """A row of the reading queries."""
    return readings([row])[0]


def lines(keys: Sequence[str], rows: Sequence[Sequence[Row]]) -> Lines:
    """Rows of (taken_at, value) of each of the points."""
    import numpy as np  # as above

    sizes = [len(of_point) for of_point in rows]
    held = list(chain.from_iterable(rows))
    return Lines(
        keys=tuple(keys),
        edges=np.concatenate(([0], np.cumsum(sizes, dtype=np.intp))),
        taken_at=np.fromiter(map(itemgetter(0), held), np.int64, len(held)),
        value=np.fromiter(map(itemgetter(1), held), np.float64, len(held)),
    )


def response(row: Row) -> Response:
    """A row of the response query."""
    return Response(*(*row[:3], from_seconds(row[3]), *row[4:6], from_milliseconds(row[6])))


def entry(row: Row) -> Entry:
    """A row of the entry query."""
    return Entry(*(*row[:2], from_seconds(row[2]), *row[3:10], from_milliseconds(row[10])))


def status(row: Row) -> Status:
    """A row of the status query."""
    return Status(*(*row[:4], from_seconds(row[4]), *row[5:8], from_milliseconds(row[8])))


def mode(row: Row) -> ModeChange:
    """A row of the mode query."""
    return ModeChange(*(*row[:2], from_seconds(row[2]), *row[3:6], from_milliseconds(row[6])))


def sample(row: Row) -> Sample:
    """A row of the sample query."""
    return Sample(*(*row[:2], from_seconds(row[2]), *row[3:7], from_milliseconds(row[7])))


def page(row: Row) -> PageHead:
    """A row of the page query."""
    return PageHead(*(*row[:3], from_milliseconds(row[3]), *row[4:8]))


def revision(row: Row) -> Revision:
    """A row of the revision query."""
    since, withdrawn, written = from_seconds(row[4]), bool(row[5]), from_milliseconds(row[8])
    return Revision(*(*row[:4], since, withdrawn, *row[6:8], written))


def limit_row(row: Row) -> LimitRow:
    """A row of (point, mode, effective from, withdrawn, edges...)."""
    key, of_mode, since, withdrawn, *edges = row
    limits = None if withdrawn else Limits(**dict(zip(EDGES, edges, strict=True)))
    return LimitRow(key, of_mode, from_seconds(since), limits)


def down_spans(changes: Iterable[Status]) -> list[Down]:
    """Spans between a "down" and the next "up" of the same target, by their starts.

    `changes` come in order of time. A "down" while down and an "up" while up change nothing.
    """
    running: dict[tuple[str, str], Status] = {}
    spans: list[Down] = []
    for change in changes:
        target = (change.scope, change.target)
        if change.state == "down":
            running.setdefault(target, change)
        elif target in running:
            began = running.pop(target)
            spans.append(Down(*target, began.at, change.at, began.reason))
    spans += [Down(*target, began.at, None, began.reason) for target, began in running.items()]
    return sorted(spans, key=lambda span: (span.start, span.scope, span.target))
