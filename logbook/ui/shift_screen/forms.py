"""The forms of the log. Each is a function that returns the row to write, or None.

All are filled with the keyboard: Tab goes on, Ctrl+Enter writes from within the text. A form
stays open, with what was typed, until it is right or given up.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TypeVar, cast

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QComboBox, QLineEdit, QPlainTextEdit, QWidget

from logbook.record import (
    Entry,
    NewEntry,
    NewInstruction,
    NewItemEvent,
    NewOpenItem,
    NewReading,
    NewSafetyEvent,
    NewSafetyState,
    NewSample,
)
from logbook.record.rows_journal import ItemEventKind, SafetyKind
from logbook.shift.sample_results import SampleResults
from logbook.shift.samples import WaitingSample
from logbook.shift.shift_desk import ENTRY_KINDS, SAFETY_KINDS, ShiftDesk
from logbook.shift.vague import asks_back
from logbook.ui.round.dialogs import AskDialog

Guard = Callable[[], str]
"""Asks, when the form is accepted, that somebody who may write it is signed on."""
Row = TypeVar("Row")
TEXT_HEIGHT = 96


class LogForm(AskDialog):
    """A form with the lines that the log's forms share; each line is there once it was added."""

    def __init__(
        self, title: str, told: str, desk: ShiftDesk, guard: Guard, parent: QWidget | None
    ) -> None:
        """An empty form."""
        super().__init__(title, told, parent)
        self.setMinimumWidth(560)
        self._desk = desk
        self._guard = guard
        self._checks: list[Callable[[], str]] = []
        self.kind = QComboBox()
        self.area = QComboBox()
        self.equipment = QComboBox()
        self.owner = QComboBox()
        self.text = QPlainTextEdit()
        self.times: dict[str, datetime | None] = {}
        QShortcut(QKeySequence("Ctrl+Return"), self, self._on_accept)
        QShortcut(QKeySequence("Ctrl+Enter"), self, self._on_accept)

    def add_kinds(self, kinds: Sequence[tuple[str, str]], current: str = "") -> None:
        """A choice of kinds, keys with names."""
        _fill(self.kind, kinds, current)
        self.form.addRow("Kind", self.kind)

    def add_place(self, area: str | None, equipment: str | None = None) -> None:
        """An area, and a machine in it."""
        areas = [("", "Whole plant"), *((a.key, a.name) for a in self._desk.plant.areas)]
        _fill(self.area, areas, area or "")
        self.area.currentIndexChanged.connect(self._on_area)
        self._on_area()
        self.equipment.setCurrentIndex(max(0, self.equipment.findData(equipment or "")))
        self.form.addRow("Area", self.area)
        self.form.addRow("Machine", self.equipment)

    def add_owner(self) -> None:
        """The area that must see to it."""
        areas = [("", "The crew"), *((a.key, a.name) for a in self._desk.plant.areas)]
        _fill(self.owner, areas, "")
        self.form.addRow("To be done by", self.owner)

    def add_past(self, name: str, typed: str) -> None:
        """A time that has been."""
        self._add_time(name, typed, self._desk.read_past, must=True)

    def add_coming(self, name: str, hint: str) -> None:
        """A time to come, which may be left out."""
        self._add_time(name, "", self._desk.read_coming, must=False, hint=hint)

    def _add_time(
        self,
        name: str,
        typed: str,
        read: Callable[[str], datetime | str],
        *,
        must: bool,
        hint: str = "",
    ) -> None:
        line = QLineEdit(typed)
        line.setPlaceholderText(hint)
        self.form.addRow(name, line)
        self.times[name] = None

        def check() -> str:
            if not must and not line.text().strip():
                self.times[name] = None
                return ""
            found = read(line.text())
            if isinstance(found, str):
                line.setFocus(Qt.FocusReason.OtherFocusReason)
                return f"{name}: {found}"
            self.times[name] = found
            return ""

        self._checks.append(check)

    def add_line(self, name: str, typed: str, missing: str, hint: str = "") -> QLineEdit:
        """A short text; `missing` is told where it is empty, and nothing where that is empty."""
        line = QLineEdit(typed)
        line.setPlaceholderText(hint)
        self.form.addRow(name, line)
        self._checks.append(lambda: "" if line.text().strip() or not missing else missing)
        return line

    def add_text(self, name: str, typed: str = "", missing: str = "Write what it is.") -> None:
        """A text of any length; the cursor begins here."""
        self.text.setPlainText(typed)
        self.text.setTabChangesFocus(True)
        self.text.setFixedHeight(TEXT_HEIGHT)
        self.form.addRow(name, self.text)
        self.text.setFocus(Qt.FocusReason.OtherFocusReason)

        def check() -> str:
            if self.words:
                return ""
            self.text.setFocus(Qt.FocusReason.OtherFocusReason)
            return missing

        self._checks.append(check)

    def add_check(self, check: Callable[[], str]) -> None:
        """One more thing that must be right."""
        self._checks.append(check)

    def fill_in(self, ok: str) -> bool:
        """Run the form; True where it was accepted by somebody who may."""
        return self.ask(self._fault_of_all, ok)

    def _fault_of_all(self) -> str:
        fault = next((told for check in self._checks if (told := check())), "")
        return fault or self._guard()

    @property
    def words(self) -> str:
        """The text as typed, without blanks around it."""
        return self.text.toPlainText().strip()

    @property
    def place(self) -> tuple[str | None, str | None]:
        """Keys of the area and the machine; None for neither."""
        return self.area.currentData() or None, self.equipment.currentData() or None

    def at(self, name: str) -> datetime:
        """A time that was asked for and must be there."""
        found = self.times[name]
        assert found is not None
        return found

    def _on_area(self) -> None:
        area = self.area.currentData()
        machines = [(e.key, e.name) for e in self._desk.plant.equipment if e.area == area]
        _fill(self.equipment, [("", "None in particular"), *machines], "")
        self.equipment.setEnabled(bool(machines))


def _fill(box: QComboBox, choices: Sequence[tuple[str, str]], current: str) -> None:
    box.clear()
    for key, name in choices:
        box.addItem(name, key)
    box.setCurrentIndex(max(0, box.findData(current)))


def _finish(form: LogForm, ok: str, make: Callable[[], Row]) -> Row | None:
    """Run the form, make the row of what is in it, and let the form go."""
    row = make() if form.fill_in(ok) else None
    form.deleteLater()
    return row


def ask_entry(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, area: str | None
) -> NewEntry | None:
    """A new log entry."""
    form = LogForm("Log entry", "What happened, when and where.", desk, guard, parent)
    form.add_kinds([(kind, kind.capitalize()) for kind in ENTRY_KINDS])
    form.add_place(area)
    form.add_past("Time", desk.clock_now())
    form.add_text("Text", missing="Write what happened.")
    form.add_check(_once(lambda: _asks_back(form, desk)))
    return _finish(
        form,
        "Write it in the log",
        lambda: NewEntry(form.at("Time"), form.words, form.kind.currentData(), *form.place),
    )


def _asks_back(form: LogForm, desk: ShiftDesk) -> str:
    return asks_back(form.words, form.kind.currentData(), form.place[1], desk.plant)


def _once(check: Callable[[], str]) -> Callable[[], str]:
    """A check that is told once: who accepts the form again means it."""
    told: list[str] = []

    def asked() -> str:
        found = "" if told else check()
        told.extend([found] if found else [])
        return found

    return asked


def ask_correction(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, entry: Entry
) -> tuple[str, str, str] | None:
    """Another text and kind for an entry, and why: (text, kind, why)."""
    form = LogForm(
        "Correct an entry",
        "The entry as it was stays in the book, with the new one, who changed it, and why.",
        desk,
        guard,
        parent,
    )
    kinds = [(kind, kind.capitalize()) for kind in dict.fromkeys((*ENTRY_KINDS, entry.kind))]
    form.add_kinds(kinds, entry.kind)
    form.add_text("Text", entry.text or "", missing="Write what the entry is to say.")
    why = form.add_line("Why", "", "Say why it is corrected.")
    return _finish(
        form, "Correct it", lambda: (form.words, form.kind.currentData(), why.text().strip())
    )


def ask_item(
    parent: QWidget | None,
    desk: ShiftDesk,
    guard: Guard,
    area: str | None,
    *,
    text: str = "",
    reading: int | None = None,
) -> NewOpenItem | None:
    """A new open item, maybe about a reading."""
    form = LogForm(
        "Open item",
        "Carried from shift to shift until somebody closes it with what was done.",
        desk,
        guard,
        parent,
    )
    form.add_place(area)
    form.add_owner()
    form.add_coming("Due", "HH:MM or 2026-03-01 14:00; empty: no time set")
    form.add_text("What is to be done", text, missing="Write what is to be done.")
    now = desk.now()

    def make() -> NewOpenItem:
        where, machine = form.place
        owner = form.owner.currentData() or None
        return NewOpenItem(
            now, form.words, where, machine, owner, form.times["Due"], reading=reading
        )

    return _finish(form, "Open it", make)


def ask_item_event(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, item: int, kind: ItemEventKind
) -> NewItemEvent | None:
    """News of an open item, its closing or its opening again."""
    words = {
        "update": ("News of an open item", "What is new", "Write it"),
        "close": ("Close an open item", "What was done", "Close it"),
        "reopen": ("Open an item again", "Why", "Open it again"),
    }
    title, label, ok = words[kind]
    form = LogForm(title, "", desk, guard, parent)
    form.add_text(label, missing=f"Write {label.casefold()}.")
    return _finish(form, ok, lambda: NewItemEvent(item, desk.now(), kind, form.words))


def ask_instruction(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, area: str | None
) -> NewInstruction | None:
    """A new standing instruction."""
    form = LogForm(
        "Standing instruction",
        "To all crews. Everybody confirms once that they have read it.",
        desk,
        guard,
        parent,
    )
    form.add_place(area)
    form.form.setRowVisible(form.equipment, False)
    form.add_coming("Holds until", "HH:MM or 2026-03-01 14:00; empty: until it is ended")
    form.add_text("Instruction", missing="Write the instruction.")
    return _finish(
        form,
        "Give it",
        lambda: NewInstruction(desk.now(), form.times["Holds until"], form.words, form.place[0]),
    )


def ask_safety(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, area: str | None
) -> NewSafetyState | None:
    """A new safety state."""
    form = LogForm(
        "Safety state",
        "Open until cleared, and handed over with each shift. This only records it: it is no "
        "permit and allows nothing.",
        desk,
        guard,
        parent,
    )
    form.add_kinds([(key, name.capitalize()) for key, name in SAFETY_KINDS])
    form.add_place(area)
    form.add_past("Since", desk.clock_now())
    form.add_coming("Allowed until", "HH:MM or 2026-03-01 14:00; empty: no time set")
    who = form.add_line("Authorised by", "", "Say who has authorised it.")
    form.add_text("What exactly", missing="Write what exactly, with tag or permit number.")

    def make() -> NewSafetyState:
        kind = cast("SafetyKind", form.kind.currentData())
        where, machine = form.place
        until, by = form.times["Allowed until"], who.text().strip()
        return NewSafetyState(form.at("Since"), kind, form.words, where, machine, by, until)

    return _finish(form, "Write it in the log", make)


def ask_clearing(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, state: int
) -> NewSafetyEvent | None:
    """The clearing of a safety state."""
    form = LogForm("Clear a safety state", "", desk, guard, parent)
    form.add_past("Cleared at", desk.clock_now())
    form.add_text("How it was put right", missing="Write how it was put right, and who checked.")
    return _finish(
        form,
        "Clear it",
        lambda: NewSafetyEvent(state, form.at("Cleared at"), "clear", form.words),
    )


def ask_extension(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, state: int
) -> NewSafetyEvent | None:
    """More time for a safety state."""
    form = LogForm("Extend a safety state", "", desk, guard, parent)
    line = form.add_line("Allowed until", "", "Say until when.", "HH:MM or 2026-03-01 14:00")
    form.add_text("Why, and by whose authority", missing="Write why, and who has authorised it.")
    found: list[datetime] = []

    def check() -> str:
        read = desk.read_coming(line.text())
        if isinstance(read, str):
            return read
        found[:] = [read]
        return ""

    form.add_check(check)
    return _finish(
        form,
        "Extend it",
        lambda: NewSafetyEvent(state, desk.now(), "extend", form.words, found[0]),
    )


def ask_sample(parent: QWidget | None, desk: ShiftDesk, guard: Guard) -> NewSample | None:
    """A sample that was taken; its results come later."""
    form = LogForm(
        "Sample taken", "It waits in the list until its results are entered.", desk, guard, parent
    )
    form.add_kinds([(name, name) for name in desk.sampling_points()])
    label = form.form.labelForField(form.kind)
    label.setProperty("text", "Taken at")
    form.add_past("Time", desk.clock_now())
    mark = form.add_line("Label", "", "Write what stands on the label.")
    note = form.add_line("Note", "", "")
    mark.setFocus(Qt.FocusReason.OtherFocusReason)
    return _finish(
        form,
        "Write it in the log",
        lambda: NewSample(
            form.at("Time"), form.kind.currentData(), mark.text().strip(), note.text().strip()
        ),
    )


def ask_results(
    parent: QWidget | None, desk: ShiftDesk, guard: Guard, waiting: WaitingSample
) -> Sequence[NewReading] | None:
    """The results of a sample; those not there yet are left empty."""
    sample = waiting.sample
    results = SampleResults(desk.book, waiting, decimal_comma=desk.plant.settings.decimal_comma)
    told = f"{sample.sampling_point} {sample.label}, taken {desk.when(sample.taken_at)}."
    form = LogForm("Results of a sample", told, desk, guard, parent)
    lines: dict[str, QLineEdit] = {}
    for point in waiting.points:
        unit = f" ({point.unit})" if point.unit else ""
        lines[point.key] = form.add_line(f"{point.name}{unit}", "", "")
    form.add_check(lambda: results.fault({key: line.text() for key, line in lines.items()}))
    next(iter(lines.values())).setFocus(Qt.FocusReason.OtherFocusReason)
    return _finish(form, "Write the results", results.rows)
