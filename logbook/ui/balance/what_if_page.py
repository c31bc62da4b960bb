"""What-if: sections of fields that can be changed, with the results now and then beside them."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QDoubleSpinBox,
    QFormLayout,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from logbook.shift.what_if import Outcome, Section, TryField
from logbook.ui.theme import font

PAUSE_MS = 150
"""Results follow when the typing stops."""


class SectionBox(QFrame):
    """One section: its fields at the left, its results at the right."""

    changed = Signal(str)
    """Key of the section whose fields have changed."""

    def __init__(self, section: Section, parent: QWidget | None = None) -> None:
        """A box with the fields as they stand now."""
        super().__init__(parent)
        self.setProperty("role", "part")
        self.section = section
        self.spins: dict[str, QDoubleSpinBox] = {}
        self._title = QLabel(section.title)
        self._title.setFont(font("title", strong=True))
        self._reset = QPushButton("As it was")
        self._reset.setToolTip("Back to the figures of the period")
        self._reset.clicked.connect(self.reset)
        self._results = QGridLayout()
        self._results.setHorizontalSpacing(16)
        self._results.setVerticalSpacing(3)
        self._fault = _words("fault")
        self._told = _words("muted")
        self._told.setText(section.told)
        self._note = _words("")
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._emit)
        self._lay_out()

    @property
    def values(self) -> dict[str, float]:
        """The fields as they stand; one left alone has the period's own value to the last digit."""
        return {
            field.key: self._value(field, self.spins[field.key]) for field in self.section.fields
        }

    def show_outcome(self, outcome: Outcome) -> None:
        """Show what came of it."""
        self._fault.setText(outcome.fault)
        self._fault.setVisible(bool(outcome.fault))
        self._note.setText(outcome.told)
        self._note.setVisible(bool(outcome.told))
        if outcome.fault:
            return
        _clear(self._results)
        heads = ("", "Now", "Then", "Change", "")
        for column, text in enumerate(heads):
            self._results.addWidget(_cell(text, "muted", column), 0, column)
        for row, line in enumerate(outcome.lines, 1):
            texts = (line.name, line.now, line.then, line.change, line.unit)
            for column, text in enumerate(texts):
                role = "muted" if column == 4 else "strong" if column == 2 else ""
                self._results.addWidget(_cell(text, role, column), row, column)
        self._results.setColumnStretch(0, 1)

    def reset(self) -> None:
        """Back to the period's own figures."""
        for field in self.section.fields:
            self.spins[field.key].setValue(field.value)

    def results(self) -> list[list[str]]:
        """The table of results as it is read, row by row."""
        rows = []
        for row in range(self._results.rowCount()):
            cells = [self._results.itemAtPosition(row, column) for column in range(5)]
            texts = [item.widget() for item in cells if item is not None]
            rows.append([label.text() for label in texts if isinstance(label, QLabel)])
        return [row for row in rows if row]

    def _value(self, field: TryField, spin: QDoubleSpinBox) -> float:
        untouched = round(field.value, field.decimals)
        return field.value if abs(spin.value() - untouched) < 1e-12 else spin.value()

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.setHorizontalSpacing(12)
        form.setVerticalSpacing(6)
        form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)
        for field in self.section.fields:
            form.addRow(QLabel(field.name), self._spin(field))
        left = QWidget()
        left.setObjectName("plain")
        left.setFixedWidth(380)
        left.setLayout(form)
        right = QVBoxLayout()
        right.addLayout(self._results)
        right.addStretch(1)
        body = QHBoxLayout()
        body.setSpacing(28)
        body.addWidget(left)
        body.addLayout(right, 1)
        head = QHBoxLayout()
        head.addWidget(self._title, 1)
        head.addWidget(self._reset)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 10, 14, 12)
        layout.setSpacing(8)
        layout.addLayout(head)
        layout.addWidget(self._told)
        if self.section.fields:
            layout.addLayout(body)
        else:
            left.deleteLater()
        layout.addWidget(self._note)
        layout.addWidget(self._fault)
        self._reset.setVisible(bool(self.section.fields))
        self._fault.hide()
        self._note.hide()

    def _spin(self, field: TryField) -> QDoubleSpinBox:
        spin = QDoubleSpinBox()
        spin.setDecimals(field.decimals)
        spin.setRange(field.low, field.high)
        spin.setSingleStep(10.0**-field.decimals * (5 if field.decimals else 1))
        spin.setValue(field.value)
        spin.setSuffix(f" {field.unit}" if field.unit else "")
        spin.setAccessibleName(f"{field.name}, {field.unit}")
        spin.lineEdit().setTextMargins(6, 0, 6, 0)
        spin.setMinimumWidth(150)
        spin.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        spin.valueChanged.connect(self._pause.start)
        self.spins[field.key] = spin
        return spin

    def _emit(self) -> None:
        self.changed.emit(self.section.key)


class WhatIfPage(QScrollArea):
    """All sections below one another."""

    wanted = Signal(str, object)
    """A section is to be worked out: its key, and the values of its fields by name."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """A page without sections."""
        super().__init__(parent)
        self.boxes: dict[str, SectionBox] = {}
        self._inner = QWidget()
        self._column = QVBoxLayout(self._inner)
        self._column.setContentsMargins(12, 12, 12, 12)
        self._column.setSpacing(12)
        self._column.addStretch(1)
        self.setWidget(self._inner)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)

    def show_sections(self, sections: Sequence[Section]) -> None:
        """Offer these. What was tried out before is gone."""
        for box in self.boxes.values():
            self._column.removeWidget(box)
            box.hide()
            box.deleteLater()
        self.boxes = {}
        for number, section in enumerate(sections):
            box = SectionBox(section, self._inner)
            box.changed.connect(self.work_out)
            self._column.insertWidget(number, box)
            self.boxes[section.key] = box
        first = next((spin for box in self.boxes.values() for spin in box.spins.values()), None)
        if first is not None:
            self.setFocusProxy(first)

    def work_out_all(self) -> None:
        """Ask for the results of every section as it stands."""
        for key, box in self.boxes.items():
            if box.section.fields:
                self.work_out(key)

    def work_out(self, key: str) -> None:
        """Ask for the results of a section with what its fields now say."""
        self.wanted.emit(key, self.boxes[key].values)

    def show_outcome(self, key: str, outcome: Outcome) -> None:
        """Show what came of a section, where it is still offered."""
        if key in self.boxes:
            self.boxes[key].show_outcome(outcome)


def _words(role: str) -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setMinimumWidth(10)
    label.setProperty("role", role)
    return label


def _cell(text: str, role: str, column: int) -> QLabel:
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("role", role)
    if 1 <= column <= 3:
        label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        label.setMinimumWidth(84)
    return label


def _clear(grid: QGridLayout) -> None:
    while (item := grid.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
