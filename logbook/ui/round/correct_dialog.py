"""The dialog in which a saved reading is corrected: old value, new value, and why."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QDialogButtonBox, QLabel, QLineEdit, QWidget

from logbook.plant.localtime import local_label
from logbook.record import Book, BookError, Reading, SavedPage, short_seal
from logbook.shift.answer import Entry
from logbook.shift.correcting import (
    Correcting,
    correct_reading,
    correcting,
    refusal,
    withdraw_reading,
)
from logbook.shift.round_form import MISSING_REASONS, RoundForm
from logbook.shift.value_words import value_words
from logbook.shift.words import judgement_text, limits_text, person_name
from logbook.ui.round.dialogs import AskDialog
from logbook.ui.round.paint import full_name

A_VALUE, TAKE_BACK = "", "\0"
"""What the new reading is, beside the keys of reasons for a missing one."""


class CorrectDialog(AskDialog):
    """Corrects one of several saved readings; nothing is written before it is accepted."""

    def __init__(
        self,
        book: Book,
        form: RoundForm,
        keys: Sequence[str],
        person: str,
        parent: QWidget | None,
    ) -> None:
        """A choice among the saved fields `keys` of `form`, for `person` (a key)."""
        super().__init__(
            "Correct a saved reading",
            "The old value stays in the book and is shown beside the new one, with your name and "
            "the reason.",
            parent,
        )
        self._book, self._form, self._person = book, form, person
        self._zone = form.plant.time_zone
        self._loaded: Correcting | None = None
        self._refused = ""
        self._asked_about = ""
        self.saved: SavedPage | None = None
        self.what, self.instead = QComboBox(), QComboBox()
        self.new, self.why = QLineEdit(), QLineEdit()
        self.old, self.judged = _label("strong"), _label("muted")
        self.why.setPlaceholderText("such as: misread, digits swapped, wrong row")
        for key in keys:
            self.what.addItem(full_name(form, key), key)
        self.instead.addItem("a value", A_VALUE)
        for reason, words in MISSING_REASONS.items():
            self.instead.addItem(f"no reading: {words}", reason)
        self.instead.addItem("nothing: take the reading back", TAKE_BACK)
        self._lay_out()
        self.what.currentIndexChanged.connect(self._on_what)
        self.instead.currentIndexChanged.connect(self._on_instead)
        self.new.textEdited.connect(self._on_typed)

    def _lay_out(self) -> None:
        rows = (
            ("Reading", self.what),
            ("Stands now", self.old),
            ("Should be", self.instead),
            ("New value", self.new),
            ("", self.judged),
            ("Why", self.why),
        )
        for name, field in rows:
            field.setAccessibleName(name or "Judgement of the new value")
            self.form.addRow(name, field)

    # -- what is shown --------------------------------------------------------------------

    def choose(self, key: str) -> None:
        """Turn to a saved field."""
        self.what.setCurrentIndex(max(0, self.what.findData(key)))
        self._on_what()
        target = self.what if self._refused else self.new
        target.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_what(self) -> None:
        saved = self._form.fields[self.what.currentData()].saved
        assert saved is not None
        self._loaded, self._asked_about = None, ""
        self.new.clear()
        try:
            self._loaded = correcting(self._book, saved.id)
            self._refused = refusal(self._book, self._person, self._loaded.reading)
            self.old.setText(self._history())
        except BookError as error:
            self._refused = error.message
        go = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        for field in (self.new, self.instead, self.why, go):
            field.setEnabled(not self._refused)
        self.tell(self._refused)
        self._on_typed()

    def _history(self) -> str:
        """Every version, the one that stands first, with who wrote it when."""
        assert self._loaded is not None
        versions = self._book.history_of(self._loaded.reading.id)
        return "\n".join(self._version(row) for row in reversed(versions))

    def _version(self, row: Reading) -> str:
        assert self._loaded is not None
        point, plant = self._loaded.point, self._form.plant
        unit = f" {point.unit}" if point.unit and row.value is not None else ""
        who, at = person_name(plant, row.person), local_label(row.written_at, self._zone)
        why = f": {row.why}" if row.why else ""
        return f"{value_words(plant, point, row)}{unit}, {who}, written {at}{why}"

    def _on_instead(self) -> None:
        is_value = self.instead.currentData() == A_VALUE
        self.form.setRowVisible(self.new, is_value)
        self.form.setRowVisible(self.judged, is_value)
        self.tell("")

    def _on_typed(self) -> None:
        """Judge what is typed with every key, as the form does."""
        if self._loaded is not None:
            self.judged.setText(self._words(self._entry()))

    def _words(self, entry: Entry) -> str:
        assert self._loaded is not None
        point, limits, comma = (
            self._loaded.point,
            self._loaded.limits,
            self._loaded.decimal_comma,
        )
        if not entry.typed.strip():
            return limits_text(point, limits, decimal_comma=comma)
        if entry.question is not None:
            return entry.question.sentence
        return judgement_text(point, limits, entry.judgement, decimal_comma=comma) or "taken"

    def _entry(self, *, confirmed: bool = False) -> Entry:
        assert self._loaded is not None
        reason = self.instead.currentData()
        if reason not in {A_VALUE, TAKE_BACK}:
            return Entry(reason=reason)
        return self._loaded.read(self.new.text(), Entry(confirmed=confirmed))

    # -- accepting ------------------------------------------------------------------------

    def try_it(self) -> str:
        """Write the correction. Returns what is wrong, or nothing.

        A value that is asked about is taken when it is accepted a second time as it stands.
        """
        if self._refused or self._loaded is None:
            return self._refused
        text = self.new.text()
        entry = self._entry(confirmed=bool(text) and self._asked_about == text)
        if entry.question is not None:
            self._asked_about = text if entry.question.can_confirm else ""
            return entry.question.sentence
        if not self.why.text().strip():
            self.why.setFocus(Qt.FocusReason.OtherFocusReason)
            return "Say why the reading is corrected."
        try:
            self.saved = self._write(self._loaded.reading, entry)
        except BookError as error:
            return error.message
        return ""

    def _write(self, old: Reading, entry: Entry) -> SavedPage:
        if self.instead.currentData() == TAKE_BACK:
            return withdraw_reading(self._book, self._person, old, self.why.text())
        return correct_reading(self._book, self._person, old, entry, self.why.text())

    def told(self) -> str:
        """What was written, in words; empty where nothing was."""
        if self.saved is None or self._loaded is None:
            return ""
        plant, point, old = self._form.plant, self._loaded.point, self._loaded.reading
        now = self._book.history_of(old.id)[-1]
        was, stands = value_words(plant, point, old), value_words(plant, point, now)
        name = full_name(self._form, point.key)
        return f"{name} corrected: {was} is now {stands}. Seal {short_seal(self.saved.seal)}."


def ask_correction(
    parent: QWidget | None,
    book: Book,
    form: RoundForm,
    keys: Sequence[str],
    start: str,
    person: str,
) -> str:
    """Run the dialog, open at `start`. Returns what was written, or nothing."""
    dialog = CorrectDialog(book, form, keys, person, parent)
    dialog.choose(start)
    dialog.ask(dialog.try_it, "Write the correction")
    told = dialog.told()
    dialog.deleteLater()
    return told


def _label(role: str) -> QLabel:
    label = QLabel()
    label.setProperty("role", role)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label
