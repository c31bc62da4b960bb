"""The checks and columns of journal rows: items, instructions, safety states, who signed on."""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from logbook.record.errors import WriteRefused
from logbook.record.instants import from_seconds, optional_seconds, seconds
from logbook.record.links import Ref
from logbook.record.rows import NewEntry, NewReading
from logbook.record.rows_journal import (
    NewAccess,
    NewAcknowledgement,
    NewCredential,
    NewInstruction,
    NewInstructionEnd,
    NewItemEvent,
    NewOpenItem,
    NewSafetyEvent,
    NewSafetyState,
)
from logbook.record.saving import Row, Saving, require_one_of, require_words

CREDENTIAL_KINDS = ("pin", "password")
ACCESS_KINDS = ("wrong", "locked", "signed_on", "signed_off", "changed")
ITEM_EVENT_KINDS = ("update", "close", "reopen")
SAFETY_KINDS = ("bypass", "permit", "isolation", "override", "other")
SAFETY_EVENT_KINDS = ("clear", "extend")


class Journal:
    """Turns new journal rows into columns. Each method raises WriteRefused."""

    def __init__(self, saving: Saving) -> None:
        self._saving = saving

    def makers(self) -> dict[type, Callable[[Any, int], Row]]:
        """Class of a new row to the method that gives its columns."""
        return {
            NewCredential: self._credential,
            NewAccess: self._access,
            NewOpenItem: self._open_item,
            NewItemEvent: self._item_event,
            NewInstruction: self._instruction,
            NewInstructionEnd: self._instruction_end,
            NewAcknowledgement: self._acknowledgement,
            NewSafetyState: self._safety_state,
            NewSafetyEvent: self._safety_event,
        }

    # ---------------------------------------------------------------- signing on

    def _credential(self, row: NewCredential, new_id: int) -> Row:
        require_words(row.person, "A credential")
        require_words(row.hash, "A credential")
        require_one_of(row.kind, CREDENTIAL_KINDS, "A credential")
        return (new_id, self._saving.page, row.person, row.kind, row.hash)

    def _access(self, row: NewAccess, new_id: int) -> Row:
        require_words(row.person, "Signing on")
        require_one_of(row.kind, ACCESS_KINDS, "Signing on")
        at = self._saving.happened(row.at, "Signing on")
        return (new_id, self._saving.page, row.person, at, row.kind, row.detail)

    # ---------------------------------------------------------------- open items

    def _open_item(self, row: NewOpenItem, new_id: int) -> Row:
        require_words(row.text, "An open item")
        at = self._saving.happened(row.at, "Open item")
        reading = self._link(row.reading, NewReading)
        entry = self._link(row.entry, NewEntry)
        return (
            new_id, self._saving.page, at, row.text, row.area, row.equipment, row.owner,
            optional_seconds(row.due_at), reading, entry,
        )  # fmt: skip

    def _item_event(self, row: NewItemEvent, new_id: int) -> Row:
        require_one_of(row.kind, ITEM_EVENT_KINDS, "News of an open item")
        require_words(row.text, _ITEM_WORDS[row.kind])
        item = self._saving.linked(row.item, NewOpenItem)
        at = self._saving.happened(row.at, "Open item")
        self._after_start("open_item", item, row.item, at, "The open item was opened")
        turned = self._last_turn(item, new_id)
        closed = turned is not None and turned[0] == "close"
        if turned is not None and at < turned[1]:
            msg = (
                f"The open item was {_DONE[turned[0]]} at {_utc(turned[1])} by {turned[2]}, after "
                f"the time of this entry ({_utc(at)}); give a later time."
            )
            raise WriteRefused(msg)
        if closed and turned is not None and row.kind != "reopen":
            msg = (
                f"The open item was closed already by {turned[2]} at {_utc(turned[1])}; "
                "open it again first, if it is not done."
            )
            raise WriteRefused(msg)
        if row.kind == "reopen" and not closed:
            msg = "The open item is open; add to it instead of opening it again."
            raise WriteRefused(msg)
        return (new_id, self._saving.page, item, at, row.kind, row.text)

    def _last_turn(self, item: int, new_id: int) -> tuple[str, int, str] | None:
        """The last closing or opening again of an item: kind, instant, by whom."""
        here = [
            (row.kind, seconds(row.at), "this save")
            for row, row_id in zip(self._saving.rows, self._saving.ids, strict=True)
            if isinstance(row, NewItemEvent)
            and row_id < new_id
            and row.kind != "update"
            and self._saving.linked(row.item, NewOpenItem) == item
        ]
        if here:
            return here[-1]
        found: tuple[str, int, str] | None = self._saving.connection.execute(
            "SELECT e.kind, e.at, g.person FROM item_event e JOIN page g ON g.id = e.page "
            "WHERE e.item = ? AND e.kind <> 'update' "
            "ORDER BY e.at DESC, g.written_at DESC, e.id DESC LIMIT 1",
            (item,),
        ).fetchone()
        return found

    # ---------------------------------------------------------------- instructions

    def _instruction(self, row: NewInstruction, new_id: int) -> Row:
        require_words(row.text, "An instruction")
        valid_from, valid_to = seconds(row.valid_from), optional_seconds(row.valid_to)
        if valid_to is not None and valid_to <= valid_from:
            msg = (
                f"The instruction would end at {_utc(valid_to)}, before it begins at "
                f"{_utc(valid_from)}; give a later end."
            )
            raise WriteRefused(msg)
        return (new_id, self._saving.page, valid_from, valid_to, row.text, row.area)

    def _instruction_end(self, row: NewInstructionEnd, new_id: int) -> Row:
        require_words(row.reason, "Ending an instruction")
        instruction = self._saving.linked(row.instruction, NewInstruction)
        ended = self._saving.connection.execute(
            "SELECT e.at, g.person FROM instruction_end e JOIN page g ON g.id = e.page "
            "WHERE e.instruction = ?",
            (instruction,),
        ).fetchone()
        if ended is not None:
            msg = (
                f"The instruction was ended already by {ended[1]} as of {_utc(ended[0])}; "
                "write a new one, if it must hold again."
            )
            raise WriteRefused(msg)
        return (new_id, self._saving.page, instruction, seconds(row.at), row.reason)

    def _acknowledgement(self, row: NewAcknowledgement, new_id: int) -> Row:
        instruction = self._saving.linked(row.instruction, NewInstruction)
        at = self._saving.happened(row.at, "Acknowledgement")
        return (new_id, self._saving.page, instruction, at)

    # ---------------------------------------------------------------- safety states

    def _safety_state(self, row: NewSafetyState, new_id: int) -> Row:
        require_words(row.what, "A safety state")
        require_one_of(row.kind, SAFETY_KINDS, "A safety state")
        at = self._saving.happened(row.at, "Safety state")
        until = optional_seconds(row.until_at)
        _require_later(until, at, "The safety state")
        return (
            new_id, self._saving.page, at, row.kind, row.what, row.area, row.equipment,
            row.authorised_by, until,
        )  # fmt: skip

    def _safety_event(self, row: NewSafetyEvent, new_id: int) -> Row:
        require_one_of(row.kind, SAFETY_EVENT_KINDS, "A safety state")
        require_words(row.text, "Clearing or extending a safety state")
        state = self._saving.linked(row.state, NewSafetyState)
        at, until = self._saving.happened(row.at, "Safety state"), optional_seconds(row.until_at)
        if (row.kind == "extend") != (until is not None):
            msg = "An extended safety state needs the time until which it may last, a cleared none."
            raise WriteRefused(msg)
        _require_later(until, at, "The extension")
        self._after_start("safety_state", state, row.state, at, "The safety state began")
        cleared = self._cleared(state, new_id)
        if cleared is not None:
            msg = (
                f"The safety state was cleared already by {cleared[1]} at {_utc(cleared[0])}; "
                "enter a new one, if it exists again."
            )
            raise WriteRefused(msg)
        return (new_id, self._saving.page, state, at, row.kind, row.text, until)

    def _cleared(self, state: int, new_id: int) -> tuple[int, str] | None:
        for row, row_id in zip(self._saving.rows, self._saving.ids, strict=True):
            if (
                isinstance(row, NewSafetyEvent)
                and row_id < new_id
                and row.kind == "clear"
                and self._saving.linked(row.state, NewSafetyState) == state
            ):
                return seconds(row.at), "this save"
        found: tuple[int, str] | None = self._saving.connection.execute(
            "SELECT e.at, g.person FROM safety_event e JOIN page g ON g.id = e.page "
            "WHERE e.state = ? AND e.kind = 'clear'",
            (state,),
        ).fetchone()
        return found

    # ---------------------------------------------------------------- both

    def _link(self, link: int | Ref | None, kind: type) -> int | None:
        return None if link is None else self._saving.linked(link, kind)

    def _after_start(self, table: str, row: int, link: int | Ref, at: int, what: str) -> None:
        """Refuse an event before the row it belongs to."""
        if isinstance(link, Ref):
            started = seconds(self._started(link))
        else:
            query = f"SELECT at FROM {table} WHERE id = ?"
            started = self._saving.connection.execute(query, (row,)).fetchone()[0]
        if at < started:
            msg = f"{what} at {_utc(started)}, after the time of this entry ({_utc(at)}); give a later time."
            raise WriteRefused(msg)

    def _started(self, link: Ref) -> datetime:
        row = self._saving.rows[link.index]
        assert isinstance(row, NewOpenItem | NewSafetyState)  # `linked` has seen to that
        return row.at


_ITEM_WORDS = {
    "update": "News of an open item",
    "close": "Closing an open item",
    "reopen": "Opening an item again",
}
_DONE = {"close": "closed", "reopen": "opened again"}


def _require_later(until: int | None, at: int, what: str) -> None:
    if until is not None and until <= at:
        msg = (
            f"{what} would end at {_utc(until)}, before it begins at {_utc(at)}; give a later end."
        )
        raise WriteRefused(msg)


def _utc(at: int) -> str:
    return f"{from_seconds(at):%Y-%m-%d %H:%M} UTC"
