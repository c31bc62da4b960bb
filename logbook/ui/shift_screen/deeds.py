"""What can be done with each kind of matter, and the forms that do it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from PySide6.QtWidgets import QWidget

from logbook.record import (
    Entry,
    Instruction,
    NewAcknowledgement,
    NewInstructionEnd,
    NewRow,
    NewStatus,
    OpenItem,
    SafetyState,
)
from logbook.record.rows import Scope
from logbook.shift.answers import AnswerFound
from logbook.shift.correcting import correct_entry, refusal
from logbook.shift.exceptions import DeviationFound
from logbook.shift.gaps import GapFound
from logbook.shift.reliefs import Relief
from logbook.shift.responses_due import CheckDue
from logbook.shift.roles import Deed
from logbook.shift.samples import WaitingSample
from logbook.shift.shift_desk import ShiftDesk
from logbook.shift.stops import StopFound
from logbook.shift.unproven import Unproven, confirm
from logbook.shift.words import place_name
from logbook.ui.round import ask
from logbook.ui.shift_screen import forms
from logbook.ui.shift_screen.forms import Guard

GuardFor = Callable[[Deed], Guard]


@dataclass(frozen=True, slots=True)
class Asked:
    """Rows to write, and what is said when they are written."""

    rows: Sequence[NewRow]
    told: str
    by: Callable[[str], object] | None = None
    """Writes them in the name of a person, where a service of its own does that."""


@dataclass(frozen=True, slots=True)
class Offer:
    """Something that can be done: its key, the words on its button, what a role needs for it."""

    key: str
    words: str
    what: Deed


@dataclass(frozen=True, slots=True)
class Form:
    """A form of the log that begins something new."""

    what: Deed
    ask: Callable[[QWidget | None, ShiftDesk, Guard, str | None], Asked | None]


# -- new ----------------------------------------------------------------------------------


def _made(row: NewRow | None, told: str) -> Asked | None:
    return Asked((row,), told) if row is not None else None


def _entry(parent: QWidget | None, desk: ShiftDesk, guard: Guard, area: str | None) -> Asked | None:
    return _made(forms.ask_entry(parent, desk, guard, area), "The entry is written.")


def _item(parent: QWidget | None, desk: ShiftDesk, guard: Guard, area: str | None) -> Asked | None:
    told = "The item is open and will be handed over until it is closed."
    return _made(forms.ask_item(parent, desk, guard, area), told)


def _safety(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, area: str | None
) -> Asked | None:
    told = "The safety state is written and will be handed over until it is cleared."
    return _made(forms.ask_safety(parent, desk, guard, area), told)


def _instruction(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, area: str | None
) -> Asked | None:
    told = "The instruction is given; everybody confirms it once."
    return _made(forms.ask_instruction(parent, desk, guard, area), told)


def _sample(parent: QWidget | None, desk: ShiftDesk, guard: Guard, _: str | None) -> Asked | None:
    told = "The sample is written and waits for its results."
    return _made(forms.ask_sample(parent, desk, guard), told)


FORMS = {
    "entry": Form(Deed.LOG, _entry),
    "item": Form(Deed.ITEM, _item),
    "safety": Form(Deed.SAFETY, _safety),
    "instruction": Form(Deed.INSTRUCT, _instruction),
    "sample": Form(Deed.SAMPLE, _sample),
}


# -- of what is there ---------------------------------------------------------------------

FIELD = Offer("field", "Go to its field", Deed.READ)
CONFIRM = Offer("confirm", "Confirm who it was…", Deed.REVIEW)
RELIEVE = Offer("relieve", "Take over, or stay…", Deed.HAND_OVER)
"""Opens the dialog of reliefs; the window has it, for it signs people on."""
ABOUT = Offer("item", "Open an item about it…", Deed.ITEM)


def offered(desk: ShiftDesk, source: object, person: str) -> tuple[Offer, ...]:
    """What can be done with a matter, the likeliest first. Raises BookError."""
    if isinstance(source, DeviationFound):
        return (FIELD, ABOUT) if source.found.point.kind.is_typed else (ABOUT,)
    if isinstance(source, AnswerFound | CheckDue):
        return (FIELD, ABOUT)
    if isinstance(source, StopFound):
        is_down = source.scope in {"area", "equipment"} and source.end is None
        return (Offer("up", "Back in service…", Deed.STOP),) if is_down else ()
    if isinstance(source, Entry):
        may_not = refusal(desk.book, person, source) if person else ""
        return () if may_not else (Offer("correct", "Correct it…", Deed.CORRECT_OWN),)
    if isinstance(source, OpenItem):
        return _of_item(source)
    if isinstance(source, SafetyState):
        return _of_safety(source)
    if isinstance(source, Instruction):
        return _of_instruction(source, person)
    if isinstance(source, Unproven | Relief):
        return _of_people(source)
    if isinstance(source, WaitingSample):
        return (Offer("results", "Enter results…", Deed.SAMPLE),) if source.points else ()
    return (FIELD,) if isinstance(source, tuple) else ()


def _of_people(source: Unproven | Relief) -> tuple[Offer, ...]:
    offer = CONFIRM if isinstance(source, Unproven) else RELIEVE
    return (offer,) if source.is_open else ()


def _of_item(item: OpenItem) -> tuple[Offer, ...]:
    if not item.is_open:
        return (Offer("reopen", "Open it again…", Deed.ITEM),)
    return (Offer("update", "Write news…", Deed.ITEM), Offer("close", "Close it…", Deed.ITEM))


def _of_safety(state: SafetyState) -> tuple[Offer, ...]:
    if not state.is_open:
        return ()
    return (
        Offer("clear", "Clear it…", Deed.SAFETY),
        Offer("extend", "Extend it…", Deed.SAFETY),
    )


def _of_instruction(one: Instruction, person: str) -> tuple[Offer, ...]:
    end = Offer("end", "End it…", Deed.INSTRUCT)
    if person in one.acknowledged_by:
        return (end,)
    return (Offer("read", "I have read it", Deed.ACKNOWLEDGE), end)


def field_of(source: object) -> tuple[str, datetime] | None:
    """Point and instant of the field on the Round screen that a matter is about."""
    if isinstance(source, DeviationFound):
        return source.found.point.key, source.found.run.last_out
    if isinstance(source, AnswerFound):
        return source.point.key, source.reading.round_at or source.reading.taken_at
    if isinstance(source, CheckDue):
        return source.point.key, source.due_at
    if isinstance(source, tuple) and source and isinstance(source[0], GapFound):
        return source[0].point.key, source[0].round_at
    return None


def written(
    parent: QWidget, desk: ShiftDesk, source: object, offer: Offer, guard_for: GuardFor
) -> Asked | None:
    """Ask what an offer needs and give the rows to write; None where it was given up."""
    guard = guard_for(offer.what)
    if isinstance(source, OpenItem):
        return _item_event(parent, desk, source, offer.key, guard)
    if isinstance(source, SafetyState):
        return _safety_event(parent, desk, source, offer.key, guard)
    if isinstance(source, Instruction):
        return _instruction_event(parent, desk, source, offer.key)
    if isinstance(source, Entry):
        return _correction(parent, desk, source, guard)
    if isinstance(source, WaitingSample):
        rows = forms.ask_results(parent, desk, guard, source)
        return Asked(rows, "The results are written.") if rows else None
    if isinstance(source, Unproven):
        return _confirmation(parent, desk, source)
    if isinstance(source, StopFound):
        return _back(parent, desk, source)
    return _about(parent, desk, source, guard)


def _item_event(
    parent: QWidget, desk: ShiftDesk, item: OpenItem, key: str, guard: Guard
) -> Asked | None:
    told = {"update": "The news is written.", "close": "Closed.", "reopen": "Open again."}
    if key == "update":
        row = forms.ask_item_event(parent, desk, guard, item.id, "update")
    elif key == "close":
        row = forms.ask_item_event(parent, desk, guard, item.id, "close")
    else:
        row = forms.ask_item_event(parent, desk, guard, item.id, "reopen")
    return _made(row, told[key])


def _safety_event(
    parent: QWidget, desk: ShiftDesk, state: SafetyState, key: str, guard: Guard
) -> Asked | None:
    if key == "clear":
        return _made(forms.ask_clearing(parent, desk, guard, state.id), "Cleared.")
    return _made(forms.ask_extension(parent, desk, guard, state.id), "Extended.")


def _instruction_event(
    parent: QWidget, desk: ShiftDesk, one: Instruction, key: str
) -> Asked | None:
    now = desk.now()
    if key == "read":
        return _made(NewAcknowledgement(one.id, now), "Confirmed as read.")
    why = ask.ask_reason(parent, "End an instruction", one.text, "End it")
    return _made(NewInstructionEnd(one.id, now, why), "The instruction ends.") if why else None


def _correction(parent: QWidget, desk: ShiftDesk, entry: Entry, guard: Guard) -> Asked | None:
    asked = forms.ask_correction(parent, desk, guard, entry)
    if asked is None:
        return None
    text, kind, why = asked
    return Asked(
        (),
        "The entry is corrected.",
        by=lambda person: correct_entry(desk.book, person, entry, text, why, kind=kind),
    )


def _confirmation(parent: QWidget, desk: ShiftDesk, source: Unproven) -> Asked | None:
    told = f"{source.person}, from {desk.when(source.at)}: {source.reason}"
    how = ask.ask_reason(parent, "Confirm who it was", told, "It was them")
    if how is None:
        return None
    return Asked((), "Confirmed.", by=lambda person: confirm(desk.book, person, source, how))


def _back(parent: QWidget, desk: ShiftDesk, stop: StopFound) -> Asked | None:
    scope: Scope = "area" if stop.scope == "area" else "equipment"
    target = ask.Target(scope, stop.target, stop.name, is_down=True)
    asked = ask.ask_stop(parent, [target], desk.clock_now(), desk.read_past)
    if asked is None:
        return None
    row = NewStatus(target.scope, target.key, asked.at, "up", asked.reason)
    return _made(row, f"{stop.name} is back in service from {desk.clock(asked.at)}.")


def _about(parent: QWidget, desk: ShiftDesk, source: object, guard: Guard) -> Asked | None:
    """An open item about a deviation or an answer."""
    if isinstance(source, DeviationFound):
        point = source.found.point
        reading = _last_reading(desk, point.key, source.found.run.last_out)
    elif isinstance(source, AnswerFound | CheckDue):
        point, reading = source.point, source.reading.id
    else:
        return None
    text = f"{place_name(desk.plant, point)}: "
    row = forms.ask_item(parent, desk, guard, point.area, text=text, reading=reading)
    return _made(row, "The item is open and will be handed over until it is closed.")


def _last_reading(desk: ShiftDesk, key: str, at: datetime) -> int | None:
    from logbook.shift.shift_desk import MOMENT

    found = desk.book.readings([key], at, at + MOMENT)
    return found[-1].id if found else None
