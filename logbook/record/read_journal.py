"""Reading the journal of a shift: items, instructions, safety states, who signed on."""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from logbook.record.asking import Asking, written_by
from logbook.record.errors import BookError
from logbook.record.instants import seconds
from logbook.record.later import Later
from logbook.record.numbers import SEAT_SHIFT
from logbook.record.unpack import Row

if TYPE_CHECKING:
    from logbook.record import unpack_journal as unpack
    from logbook.record.rows_journal import (
        AccessEvent,
        Credential,
        Instruction,
        ItemEvent,
        OpenItem,
        SafetyEvent,
        SafetyState,
    )
else:
    unpack = Later("logbook.record.unpack_journal")

_CREDENTIAL = written_by("credential", "id page person kind hash")
_ACCESS = written_by("access", "id page person at kind detail")
_ITEM = written_by("open_item", "id page at text area equipment owner due_at reading entry")
_ITEM_EVENT = written_by("item_event", "id page item at kind text")
_INSTRUCTION = """
SELECT x.id, x.page, x.valid_from, x.valid_to, x.text, x.area, g.person, g.written_at, e.at, e.reason
FROM instruction x JOIN page g ON g.id = x.page LEFT JOIN instruction_end e ON e.instruction = x.id"""
_SAFETY = written_by("safety_state", "id page at kind what area equipment authorised_by until_at")
_SAFETY_EVENT = written_by("safety_event", "id page state at kind text until_at")

SECOND = timedelta(seconds=1)


class JournalReader(Asking):
    """Questions about the journal. "As of" an instant counts what happened at it as well."""

    # ---------------------------------------------------------------- signing on

    def credential(self, person: str) -> Credential | None:
        """The credential of a person that holds: the one written last; None without one."""
        last = f"{_LAST_OF_SEAT} ORDER BY g.written_at DESC, x.id DESC LIMIT 1"
        rows = self._ask(f"{_CREDENTIAL} WHERE x.person = ? AND {last}", person)
        return unpack.credential(rows[0]) if rows else None

    def credentials(self) -> dict[str, Credential]:
        """The credential that holds of everybody who has one."""
        rows = self._ask(f"{_CREDENTIAL} WHERE {_LAST_OF_SEAT} ORDER BY g.written_at, x.id")
        return {found.person: found for found in map(unpack.credential, rows)}

    def has_credentials(self) -> bool:
        """True once anybody has a PIN or a password."""
        return bool(self._ask("SELECT EXISTS (SELECT 1 FROM credential)")[0][0])

    def access_events(
        self, person: str | None, start: datetime, end: datetime
    ) -> list[AccessEvent]:
        """What a person (None: anybody) did to sign on in a span, in order of time."""
        query = (
            f"{_ACCESS} WHERE x.at >= ?1 AND x.at < ?2 AND (x.person = ?3 OR ?3 IS NULL) "
            "ORDER BY x.at, g.written_at, x.id"
        )
        return [
            unpack.access(row) for row in self._ask(query, seconds(start), seconds(end), person)
        ]

    # ---------------------------------------------------------------- open items

    def open_items(self, at: datetime) -> list[OpenItem]:
        """Items that were open at an instant, the oldest first, with their events so far."""
        until = at + SECOND
        rows = self._ask(f"{_ITEM} WHERE x.at < ?1 AND {_STILL_OPEN}", seconds(until))
        return self._items(rows, until)

    def items(self, start: datetime, end: datetime) -> list[OpenItem]:
        """Items opened in a span or with an event in it, as they were at its end."""
        query = (
            f"{_ITEM} WHERE (x.at >= ?1 AND x.at < ?2) OR x.id IN "
            "(SELECT item FROM item_event WHERE at >= ?1 AND at < ?2)"
        )
        return self._items(self._ask(query, seconds(start), seconds(end)), end)

    def item(self, item_id: int) -> OpenItem:
        """One item with all its events. Raises BookError where there is none."""
        rows = self._ask(f"{_ITEM} WHERE x.id = ?", item_id)
        return self._items([_only(rows, "open item", item_id)], None)[0]

    def _items(self, rows: list[Row], end: datetime | None) -> list[OpenItem]:
        """Rows of items with their events before `end`, or all of them."""
        found = self._events(_ITEM_EVENT, "item", rows, end)
        events: dict[int, list[ItemEvent]] = {}
        for event in map(unpack.item_event, found):
            events.setdefault(event.item, []).append(event)
        items = [unpack.item(row, tuple(events.get(row[0], ()))) for row in rows]
        return sorted(items, key=lambda item: (item.at, item.id))

    # ---------------------------------------------------------------- instructions

    def instructions(self, at: datetime) -> list[Instruction]:
        """Instructions in force at an instant, the oldest first, with who had acknowledged them."""
        query = (
            f"{_INSTRUCTION} WHERE x.valid_from <= ?1 AND coalesce(x.valid_to, ?1 + 1) > ?1 "
            "AND coalesce(e.at, ?1 + 1) > ?1"
        )
        return self._instructions(self._ask(query, seconds(at)), at + SECOND)

    def instructions_between(self, start: datetime, end: datetime) -> list[Instruction]:
        """Instructions in force at any time of a span, as they were at its end."""
        query = (
            f"{_INSTRUCTION} WHERE x.valid_from < ?2 AND coalesce(x.valid_to, ?2) > ?1 "
            "AND coalesce(e.at, ?2) > ?1"
        )
        return self._instructions(self._ask(query, seconds(start), seconds(end)), end)

    def instruction(self, instruction_id: int) -> Instruction:
        """One instruction with all that is known of it. Raises BookError where there is none."""
        rows = self._ask(f"{_INSTRUCTION} WHERE x.id = ?", instruction_id)
        return self._instructions([_only(rows, "instruction", instruction_id)], None)[0]

    def _instructions(self, rows: list[Row], end: datetime | None) -> list[Instruction]:
        query = (
            "SELECT x.instruction, g.person, min(x.at) FROM acknowledgement x "
            "JOIN page g ON g.id = x.page WHERE x.instruction IN (SELECT value FROM json_each(?1)) "
            "AND (x.at < ?2 OR ?2 IS NULL) GROUP BY x.instruction, g.person ORDER BY 3, 2"
        )
        read: dict[int, dict[str, int]] = {}
        for instruction, person, at in self._ask(query, *_ids_and_end(rows, end)):
            read.setdefault(instruction, {})[person] = at
        found = [unpack.instruction(row, read.get(row[0], {})) for row in rows]
        return sorted(found, key=lambda instruction: (instruction.valid_from, instruction.id))

    # ---------------------------------------------------------------- safety states

    def safety_states(self, at: datetime) -> list[SafetyState]:
        """Safety states that were open at an instant, the oldest first."""
        until = at + SECOND
        query = f"{_SAFETY} WHERE x.at < ?1 AND NOT EXISTS ({_CLEARED} AND e.at < ?1)"
        return self._states(self._ask(query, seconds(until)), until)

    def safety_between(self, start: datetime, end: datetime) -> list[SafetyState]:
        """Safety states that were open at any time of a span, as they were at its end."""
        query = f"{_SAFETY} WHERE x.at < ?2 AND NOT EXISTS ({_CLEARED} AND e.at < ?1)"
        return self._states(self._ask(query, seconds(start), seconds(end)), end)

    def safety_state(self, state_id: int) -> SafetyState:
        """One safety state with all its events. Raises BookError where there is none."""
        rows = self._ask(f"{_SAFETY} WHERE x.id = ?", state_id)
        return self._states([_only(rows, "safety state", state_id)], None)[0]

    def _states(self, rows: list[Row], end: datetime | None) -> list[SafetyState]:
        found = self._events(_SAFETY_EVENT, "state", rows, end)
        events: dict[int, list[SafetyEvent]] = {}
        for event in map(unpack.safety_event, found):
            events.setdefault(event.state, []).append(event)
        states = [unpack.safety_state(row, tuple(events.get(row[0], ()))) for row in rows]
        return sorted(states, key=lambda state: (state.at, state.id))

    # ---------------------------------------------------------------- events

    def _events(self, query: str, link: str, rows: list[Row], end: datetime | None) -> list[Row]:
        """Events of some rows before `end` (None: all), in the order in which they hold."""
        where = f"x.{link} IN (SELECT value FROM json_each(?1)) AND (x.at < ?2 OR ?2 IS NULL)"
        order = "x.at, g.written_at, x.id"
        return self._ask(f"{query} WHERE {where} ORDER BY {order}", *_ids_and_end(rows, end))


# What a seat wrote last has its highest id, whatever its clock did; between seats the times tell.
_LAST_OF_SEAT = f"""NOT EXISTS (
  SELECT 1 FROM credential n WHERE n.person = x.person AND n.id > x.id
  AND n.id >> {SEAT_SHIFT} = x.id >> {SEAT_SHIFT})"""
_STILL_OPEN = """coalesce((
  SELECT e.kind FROM item_event e JOIN page n ON n.id = e.page
  WHERE e.item = x.id AND e.kind <> 'update' AND e.at < ?1
  ORDER BY e.at DESC, n.written_at DESC, e.id DESC LIMIT 1), 'reopen') <> 'close'"""
_CLEARED = "SELECT 1 FROM safety_event e WHERE e.state = x.id AND e.kind = 'clear'"


def _ids_and_end(rows: Iterable[Row], end: datetime | None) -> tuple[str, int | None]:
    return json.dumps([row[0] for row in rows]), None if end is None else seconds(end)


def _only(rows: list[Row], what: str, number: int) -> Row:
    if not rows:
        msg = f"There is no {what} number {number} in the book; reload and try again."
        raise BookError(msg)
    return rows[0]
