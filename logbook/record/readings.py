"""The checks of a reading, and its columns.

Built for speed where it matters: a simulation or an import brings millions of readings, most of
them in order of time and many with the same instant.
"""

from __future__ import annotations

import sqlite3
from bisect import bisect_right
from datetime import datetime
from typing import NamedTuple

from logbook.plant.model import Settings
from logbook.record.codec import decode
from logbook.record.errors import WriteRefused
from logbook.record.instants import from_seconds, optional_seconds, seconds
from logbook.record.numbers import ROUND_WINDOW_S
from logbook.record.rows import NewReading, NewSample
from logbook.record.saving import Row, Saving, finite, require_words

NEVER = -(1 << 62)


class Replaced(NamedTuple):
    """What a correction must know of the row it replaces."""

    point: int
    taken_at: int
    round_at: int | None
    value: float | None
    text: str | None
    late: int
    sample: int | None


class Readings:
    """Turns new readings into rows, one page after the other."""

    def __init__(self, saving: Saving) -> None:
        self._saving = saving
        self._graces = _graces(saving.connection)
        self._latest: dict[int, int] = {}
        self._fresh: set[tuple[int, int]] | None = None
        self._made: list[Row] = []
        self._seen_taken: tuple[datetime | None, int] = (None, 0)
        self._seen_round: tuple[datetime | None, int] = (None, 0)
        self._seen_due: tuple[int, int] = (NEVER, 0)

    def begin(self) -> None:
        """Turn to the next page."""
        self._fresh = None
        self._made = []
        self._seen_taken = self._seen_round = (None, 0)
        self._seen_due = (NEVER, 0)

    def row(self, new: NewReading, new_id: int) -> Row:
        """Columns of a reading. Raises WriteRefused."""
        saving = self._saving
        key, value, text, sample = new.point, new.value, new.text, new.sample
        point = saving.points.get(key) or saving.point(key)
        # The same instant mostly comes as the same object; `is` cannot mistake the two 01:30s of
        # an autumn night for one another, as `==` would.
        seen, taken = self._seen_taken
        if new.taken_at is not seen:
            taken = saving.happened(new.taken_at, key)
            self._seen_taken = (new.taken_at, taken)
        if value is not None:
            value = finite(value, key)
        if text is not None:
            require_words(text, key)
        given = (value is not None) + (text is not None) + (new.reason is not None)
        if new.replaces is not None:
            made = self._correction(new, new_id, point, taken, value, given)
        else:
            if given != 1:
                raise WriteRefused(_not_one(key))
            round_at = None if new.round_at is None else self._round(new.round_at, taken, key)
            self._require_free(key, point, taken, None)
            if sample is None:
                late = self._late(taken if round_at is None else round_at)
            else:
                sample, late = saving.linked(sample, NewSample), 0
            made = (
                new_id, saving.page, point, taken, round_at, value, text, new.typed, new.reason,
                new.mode, late, sample, None, None,
            )  # fmt: skip
        self._made.append(made)
        return made

    def _round(self, instant: datetime, taken: int, key: str) -> int:
        seen, round_at = self._seen_round
        if instant is not seen:
            round_at = seconds(instant)
            self._seen_round = (instant, round_at)
        if not -ROUND_WINDOW_S <= round_at - taken <= ROUND_WINDOW_S:
            msg = (
                f"{key}: taken at {from_seconds(taken):%Y-%m-%d %H:%M} UTC, more than "
                f"{ROUND_WINDOW_S // 3600} hours from the round of "
                f"{from_seconds(round_at):%Y-%m-%d %H:%M} UTC; check the time of taking."
            )
            raise WriteRefused(msg)
        return round_at

    def _late(self, due: int) -> int:
        """1 where the page is written later than the grace time, as in force when due."""
        seen, late = self._seen_due
        if due != seen:
            place = bisect_right(self._graces, due, key=lambda grace: grace[0])
            grace = self._graces[max(place - 1, 0)][1]
            late = int(self._saving.now > (due + grace) * 1000)
            self._seen_due = (due, late)
        return late

    # ---------------------------------------------------------------- one reading at a time

    def _require_free(self, key: str, point: int, taken: int, replaced: int | None) -> None:
        """Refuse a second reading of a point at one instant.

        Readings mostly come in order of time, so the last instant of a point answers mostly.
        """
        latest = self._latest.get(point)
        if latest is None:
            query = "SELECT max(taken_at) FROM reading WHERE point = ?"
            found = self._saving.connection.execute(query, (point,)).fetchone()[0]
            latest = self._latest[point] = NEVER if found is None else int(found)
        if taken > latest:
            self._latest[point] = taken
        else:
            self._require_free_before(key, point, taken, replaced)
        if self._fresh is not None:
            self._fresh.add((point, taken))

    def _require_free_before(self, key: str, point: int, taken: int, replaced: int | None) -> None:
        """The same for an instant before the last: look at the page so far, and at the book."""
        if self._fresh is None:
            self._fresh = {(row[2], row[3]) for row in self._made}  # type: ignore[misc]
        query = (
            "SELECT 1 FROM reading r WHERE point = ? AND taken_at = ? AND id IS NOT ? "
            "AND NOT EXISTS (SELECT 1 FROM reading n WHERE n.replaces = r.id)"
        )
        in_book = self._saving.connection.execute(query, (point, taken, replaced)).fetchone()
        if in_book is not None or (point, taken) in self._fresh:
            msg = (
                f"{key} already has a reading taken at {from_seconds(taken):%Y-%m-%d %H:%M} "
                "UTC; correct that one, or give the time at which this one was taken."
            )
            raise WriteRefused(msg)

    # ---------------------------------------------------------------- corrections

    def _correction(
        self, new: NewReading, new_id: int, point: int, taken: int, value: float | None, given: int
    ) -> Row:
        old = self._replaced(new)
        if old.point != point:
            msg = (
                f"A correction must be of the same point, and reading {new.replaces} is not of "
                f"{new.point}; withdraw it there and enter the value at {new.point}."
            )
            raise WriteRefused(msg)
        if given > 1:
            raise WriteRefused(_not_one(new.point))
        round_at = optional_seconds(new.round_at)
        round_at = old.round_at if round_at is None else round_at
        if taken != old.taken_at:
            self._require_free(new.point, point, taken, new.replaces)
        linked = None if new.sample is None else self._saving.linked(new.sample, NewSample)
        sample = old.sample if linked is None else linked
        return (
            new_id, self._saving.page, point, taken, round_at, value, new.text, new.typed,
            new.reason, new.mode, self._late_again(old, given, sample), sample, new.replaces,
            new.why,
        )  # fmt: skip

    def _replaced(self, new: NewReading) -> Replaced:
        """The row that a correction replaces; refused where it is not there or not the last."""
        if not (new.why or "").strip():
            msg = f"A correction of {new.point} needs a reason; say why the value changes."
            raise WriteRefused(msg)
        query = (
            "SELECT point, taken_at, round_at, value, text, late, sample FROM reading WHERE id = ?"
        )
        found = self._saving.connection.execute(query, (new.replaces,)).fetchone()
        if found is None or new.replaces is None:
            msg = f"There is no reading number {new.replaces} to correct; reload and try again."
            raise WriteRefused(msg)
        self._saving.require_current(NewReading, new.replaces, new.point)
        return Replaced(*found)

    def _late_again(self, old: Replaced, given: int, sample: int | None) -> int:
        """A late value stays late when corrected; a value where there was none is judged anew."""
        had_value = old.value is not None or old.text is not None
        if had_value or not given or sample is not None:
            return old.late
        return self._late(old.taken_at if old.round_at is None else old.round_at)


def _graces(connection: sqlite3.Connection) -> list[tuple[int, int]]:
    """(effective from, grace in seconds) of the plant's settings in order of time."""
    rows = connection.execute(
        "SELECT d.effective_from, d.body FROM definition d JOIN page g ON g.id = d.page "
        "WHERE d.kind = 'settings' AND d.body IS NOT NULL "
        "ORDER BY d.effective_from, g.written_at, d.id"
    )
    found = [(at, decode(Settings, body).grace_minutes * 60) for at, body in rows]
    return found or [(0, Settings().grace_minutes * 60)]


def _not_one(key: str) -> str:
    return (
        f"{key} needs exactly one of: a number, an answer, or the reason why it was not taken; "
        "enter one of them."
    )
