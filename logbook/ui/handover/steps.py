"""The steps of a handover at the right: prepare, sign, read, take over, print."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen, QPolygonF
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QStyle,
    QStyleOptionButton,
    QVBoxLayout,
    QWidget,
)

from logbook.ui.handover.desk import NotesTyped
from logbook.ui.handover.subjects import SubjectList
from logbook.ui.theme import font

STEPS_WIDTH = 404
TEXT_WIDTH = STEPS_WIDTH - 64
NOTE_HEIGHT = 64


class NoteEdit(QPlainTextEdit):
    """Words of the crew; Tab goes on, as in every form."""

    def __init__(self, name: str, hint: str) -> None:
        """An empty field."""
        super().__init__()
        self.setAccessibleName(name)
        self.setPlaceholderText(hint)
        self.setTabChangesFocus(True)
        self.setFixedHeight(NOTE_HEIGHT)


class TickBox(QCheckBox):
    """A check box whose tick is drawn: the style sheet has only the box."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw box and words, then the tick."""
        super().paintEvent(event)
        if not self.isChecked():
            return
        option = QStyleOptionButton()
        self.initStyleOption(option)
        element = QStyle.SubElement.SE_CheckBoxIndicator
        box = QRectF(self.style().subElementRect(element, option, self))
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.palette().color(QPalette.ColorRole.HighlightedText), 1.8))
        middle, side = box.center(), box.width()
        painter.drawPolyline(
            QPolygonF(
                [
                    QPointF(middle.x() - side * 0.26, middle.y() + side * 0.02),
                    QPointF(middle.x() - side * 0.06, middle.y() + side * 0.22),
                    QPointF(middle.x() + side * 0.28, middle.y() - side * 0.22),
                ]
            )
        )
        painter.end()


class PrepareStep(QWidget):
    """What the crew adds: remarks, what the next shift must do, or that there is nothing."""

    edited = Signal()

    def __init__(self) -> None:
        """Empty fields."""
        super().__init__()
        self.remarks = NoteEdit("Remarks of the crew", "Remarks: what the readings do not tell")
        self.next_shift = NoteEdit(
            "What the next shift must watch or do", "Next shift: watch for, expected, due actions"
        )
        self.no_next = TickBox("Nothing for the next shift")
        self.no_safety = TickBox("Nothing is bypassed, permitted or isolated")
        self.keep = QPushButton("Keep notes")
        self.keep.setToolTip("Write the notes in the book (Ctrl+S)")
        self.left = words("muted")
        row = QHBoxLayout()
        row.addWidget(self.keep)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        parts = (self.remarks, self.next_shift, self.no_next, self.no_safety)
        for widget in parts:
            layout.addWidget(widget)
        layout.addLayout(row)
        layout.addWidget(self.left)
        self.remarks.textChanged.connect(self.edited)
        self.next_shift.textChanged.connect(self._on_next)
        self.no_next.toggled.connect(self.edited)
        self.no_safety.toggled.connect(self.edited)

    @property
    def typed(self) -> NotesTyped:
        """What is typed and ticked."""
        return NotesTyped(
            self.remarks.toPlainText(),
            self.next_shift.toPlainText(),
            self.no_safety.isChecked() and not self.no_safety.isHidden(),
            self.no_next.isChecked(),
        )

    def show_notes(self, notes: NotesTyped, *, has_safety: bool) -> None:
        """Show what the book holds; with open safety states nobody can say there are none."""
        fields = (self.remarks, self.next_shift, self.no_next, self.no_safety)
        for field in fields:
            field.blockSignals(True)
        if self.remarks.toPlainText() != notes.remarks:
            self.remarks.setPlainText(notes.remarks)
        if self.next_shift.toPlainText() != notes.next_shift:
            self.next_shift.setPlainText(notes.next_shift)
        self.no_next.setChecked(notes.no_next)
        self.no_safety.setChecked(notes.no_safety)
        self.no_safety.setVisible(not has_safety)
        for field in fields:
            field.blockSignals(False)
        self._show_next()

    def _on_next(self) -> None:
        self._show_next()
        self.edited.emit()

    def _show_next(self) -> None:
        """Something cannot stand beside nothing."""
        has_text = bool(self.next_shift.toPlainText().strip())
        self.no_next.setEnabled(not has_text)
        if has_text:
            self.no_next.setChecked(False)


class Step(QFrame):
    """A numbered step with its heading, a line of how it stands, and its body."""

    def __init__(self, number: int, title: str, body: QWidget | None = None) -> None:
        """A step that nobody has taken yet."""
        super().__init__()
        self.setProperty("role", "part")
        self._title, self._number = title, number
        self.head = QLabel(f"{number}  {title}")
        self.head.setFont(font("title", strong=True))
        self.told = words("")
        self.body = body
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 8, 14, 10)
        layout.setSpacing(6)
        layout.addWidget(self.head)
        layout.addWidget(self.told)
        if body is not None:
            layout.addWidget(body)
            body.hide()

    def show_state(self, told: str, *, is_done: bool, has_body: bool = False) -> None:
        """Say how the step stands; its body only while it can be worked on."""
        self.head.setText(f"{'✓' if is_done else self._number}  {self._title}")
        self.told.setText(told)
        self.told.setVisible(bool(told))
        if self.body is not None:
            self.body.setVisible(has_body)


class StepsPanel(QScrollArea):
    """All steps, one under the other."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Steps that show nothing yet."""
        super().__init__(parent)
        self.setFixedWidth(STEPS_WIDTH)
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.prepare_body, self.subjects = PrepareStep(), SubjectList()
        self.sign_out = _primary("Sign as outgoing…", "Hand the shift over (F6)")
        self.sign_in = _primary("Take over and sign…", "Take the shift over (F6)")
        self.prepare = Step(1, "Outgoing prepares", self.prepare_body)
        self.outgoing = Step(2, "Outgoing signs", self.sign_out)
        self.reading = Step(3, "Incoming reads", self.subjects)
        self.incoming = Step(4, "Incoming takes over", self.sign_in)
        body = QWidget()
        layout = QVBoxLayout(body)
        layout.setContentsMargins(4, 10, 12, 12)
        layout.setSpacing(8)
        for step in (self.prepare, self.outgoing, self.reading, self.incoming):
            layout.addWidget(step)
        layout.addStretch(1)
        self.setWidget(body)


def _primary(text: str, tip: str) -> QPushButton:
    button = QPushButton(text)
    button.setProperty("primary", True)
    button.setToolTip(tip)
    return button


def words(role: str) -> QLabel:
    """A label of plain words that wrap."""
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    # Without it a scroll area reckons with words wrapped into the narrowest column there is.
    label.setMinimumWidth(TEXT_WIDTH)
    label.setProperty("role", role)
    return label
