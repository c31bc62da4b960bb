"""What the Round screen asks for: a time outside the rounds, a stop, a mode.

Each dialog is a function that returns plain data, or None where the person changed their mind.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from PySide6.QtCore import QDate, Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDateEdit,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from logbook.record.rows import Scope

Check = Callable[[], str]
"""Returns what is wrong with what was entered, or an empty string."""


class AskDialog(QDialog):
    """A small form with one line for what is wrong; it stays open until that is empty."""

    def __init__(self, title: str, told: str, parent: QWidget | None) -> None:
        """A form headed by `told`."""
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setMinimumWidth(460)
        self.form = QFormLayout()
        self.form.setSpacing(10)
        self._check: Check | None = None
        self._fault = QLabel()
        self._fault.setProperty("role", "fault")
        self._fault.setWordWrap(True)
        head = QLabel(told)
        head.setWordWrap(True)
        head.setProperty("role", "muted")
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        self.buttons.accepted.connect(self._on_accept)
        self.buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 16, 18, 14)
        layout.setSpacing(12)
        layout.addWidget(head)
        layout.addLayout(self.form)
        layout.addWidget(self._fault)
        layout.addWidget(self.buttons)

    def ask(self, check: Check, ok: str) -> bool:
        """Run it; True where the person accepted something that `check` found right."""
        self._check = check
        button = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        button.setText(ok)
        button.setProperty("primary", True)
        button.style().unpolish(button)  # the style sheet looks at properties only once
        button.style().polish(button)
        return self.exec() == QDialog.DialogCode.Accepted

    def tell(self, fault: str) -> None:
        """Say what is wrong; an empty text clears it."""
        self._fault.setText(fault)

    def _on_accept(self) -> None:
        fault = self._check() if self._check else ""
        self.tell(fault)
        if not fault:
            self.accept()


@dataclass(frozen=True, slots=True)
class TimeAsked:
    """A time chosen, and why it is entered outside its round or late."""

    at: datetime
    note: str


ReadTime = Callable[[date, str], datetime | str]
"""Turns a local date and typed clock time into an instant, or says what is wrong with it."""


def ask_time(parent: QWidget | None, today: date, read: ReadTime) -> TimeAsked | None:
    """Ask for the time readings were taken. `read` settles clock changes and the future."""
    dialog = AskDialog(
        "Readings at another time",
        "For readings taken outside a round, or taken on paper and entered now. "
        "The book keeps both times and marks late entries.",
        parent,
    )
    day = QDateEdit(QDate(today.year, today.month, today.day))
    day.setCalendarPopup(True)
    day.setDisplayFormat("yyyy-MM-dd")
    clock = QLineEdit()
    clock.setPlaceholderText("HH:MM")
    note = QLineEdit()
    note.setPlaceholderText("such as: PC was down, paper sheet kept")
    for name, field in (("Day", day), ("Time taken", clock), ("Why", note)):
        dialog.form.addRow(name, field)
    clock.setFocus(Qt.FocusReason.OtherFocusReason)
    found: list[datetime] = []

    def check() -> str:
        picked = day.date()
        result = read(date(picked.year(), picked.month(), picked.day()), clock.text())
        if isinstance(result, str):
            return result
        if not note.text().strip():
            return "Say why these readings are entered outside a round."
        found[:] = [result]
        return ""

    accepted = dialog.ask(check, "Open the form")
    text = note.text().strip()
    dialog.deleteLater()
    return TimeAsked(found[0], text) if accepted else None


@dataclass(frozen=True, slots=True)
class Target:
    """Something that can be down: scope "area" or "equipment", its key and name, and whether it is."""

    scope: Scope
    key: str
    name: str
    is_down: bool


@dataclass(frozen=True, slots=True)
class StopAsked:
    """An area or machine goes down or comes back, since when and why."""

    target: Target
    at: datetime
    reason: str


ReadRecent = Callable[[str], datetime | str]
"""Turns a typed time of day into the last such instant, or says what is wrong with it."""


class _SinceAndWhy:
    """Two lines that several questions share: since when, and why."""

    def __init__(self, dialog: AskDialog, since: str, read: ReadRecent) -> None:
        self._read = read
        self._since = QLineEdit(since)
        self._reason = QLineEdit()
        dialog.form.addRow("From", self._since)
        dialog.form.addRow("Why", self._reason)
        self.at: datetime | None = None

    def check(self) -> str:
        """What is wrong with them; keeps the instant where nothing is."""
        found = self._read(self._since.text())
        if isinstance(found, str):
            return found
        self.at = found
        return "" if self.reason else "Say why."

    @property
    def reason(self) -> str:
        """The reason as typed."""
        return self._reason.text().strip()

    def focus(self) -> None:
        """Begin with the reason; the time is mostly right as it stands."""
        self._reason.setFocus(Qt.FocusReason.OtherFocusReason)


def ask_stop(
    parent: QWidget | None, targets: Sequence[Target], since: str, read: ReadRecent
) -> StopAsked | None:
    """Ask what goes down or comes back, since when, and why."""
    dialog = AskDialog(
        "Down or back in service",
        "While an area or a machine is down its readings are not due and not judged. This only "
        "records it: lock out and isolate by the site procedure.",
        parent,
    )
    what = QComboBox()
    for target in targets:
        state = "back in service" if target.is_down else "goes down"
        what.addItem(f"{target.name}: {state}")
    dialog.form.addRow("What", what)
    lines = _SinceAndWhy(dialog, since, read)
    what.setFocus(Qt.FocusReason.OtherFocusReason)
    accepted = dialog.ask(lines.check, "Write it in the book")
    index, at, reason = what.currentIndex(), lines.at, lines.reason
    dialog.deleteLater()
    return StopAsked(targets[index], at, reason) if accepted and at is not None else None


@dataclass(frozen=True, slots=True)
class ModeAsked:
    """The plant changes its mode, since when and why."""

    at: datetime
    reason: str


def ask_mode(parent: QWidget | None, name: str, since: str, read: ReadRecent) -> ModeAsked | None:
    """Ask since when the plant is in the mode called `name`, and why."""
    dialog = AskDialog("Operating mode", f"The plant changes to: {name}.", parent)
    lines = _SinceAndWhy(dialog, since, read)
    lines.focus()
    accepted = dialog.ask(lines.check, "Change the mode")
    at, reason = lines.at, lines.reason
    dialog.deleteLater()
    return ModeAsked(at, reason) if accepted and at is not None else None


def ask_reason(parent: QWidget | None, title: str, told: str, ok: str) -> str | None:
    """Ask for a reason in words."""
    dialog = AskDialog(title, told, parent)
    reason = QLineEdit()
    dialog.form.addRow("Why", reason)
    reason.setFocus(Qt.FocusReason.OtherFocusReason)

    def check() -> str:
        return "" if reason.text().strip() else "Say why."

    accepted = dialog.ask(check, ok)
    text = reason.text().strip()
    dialog.deleteLater()
    return text if accepted else None
