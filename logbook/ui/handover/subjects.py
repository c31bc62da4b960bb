"""What the incoming person reads one by one: each read, accepted, or asked about."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.ui.handover.parts import ToRead

MARKS = {"": "○", "read": "✓", "accepted": "✓", "asked": "?"}
STATE_WORDS = {"": "to read", "read": "read", "accepted": "accepted", "asked": "asked"}


class SubjectNames(QListWidget):
    """The subjects; Enter answers the current one."""

    entered = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter is "read"; everything else as in any list."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.entered.emit()
            return
        super().keyPressEvent(event)


class SubjectList(QFrame):
    """One subject at a time in full, its answer below it."""

    answered = Signal(str, str)
    """Key of the subject, and the question; accepted where that is empty."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """A list without subjects."""
        super().__init__(parent)
        self._subjects: tuple[ToRead, ...] = ()
        self._may_answer = True
        self.names = SubjectNames()
        self.names.setAccessibleName("To read one by one")
        self.names.setFixedHeight(118)
        self.names.currentRowChanged.connect(self._show_current)
        self.names.entered.connect(self.accept)
        self.names.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._title, self._told = _wrapped("strong"), _wrapped()
        self._answer = _wrapped("muted")
        self.read = QPushButton("Read and accepted")
        self.read.clicked.connect(self.accept)
        self.question = QLineEdit()
        self.question.setPlaceholderText("Question, or what you do not agree with")
        self.question.setAccessibleName("Question about the current subject")
        self.question.returnPressed.connect(self.ask)
        self.ask_button = QPushButton("Ask")
        self.ask_button.clicked.connect(self.ask)
        asking = QHBoxLayout()
        asking.addWidget(self.question, 1)
        asking.addWidget(self.ask_button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        for widget in (self.names, self._title, self._told, self._answer, self.read):
            layout.addWidget(widget)
        layout.addLayout(asking)

    @property
    def subjects(self) -> tuple[ToRead, ...]:
        """The subjects now shown."""
        return self._subjects

    @property
    def open_count(self) -> int:
        """How many are not answered yet."""
        return sum(not subject.is_settled for subject in self._subjects)

    def show_subjects(self, subjects: Sequence[ToRead], *, may_answer: bool = True) -> None:
        """Show these; the current one stays where it is still open, else the next open one is."""
        self._may_answer = may_answer
        row = self.names.currentRow()
        self._subjects = tuple(subjects)
        self.names.blockSignals(True)
        self.names.clear()
        for subject in self._subjects:
            state = STATE_WORDS.get(subject.answer, subject.answer)
            title = f"{MARKS.get(subject.answer, '○')} {state}:  {subject.subject.title}"
            item = QListWidgetItem(title)
            item.setToolTip(subject.subject.title)
            self.names.addItem(item)
        self.names.blockSignals(False)
        self.names.setCurrentRow(self._next_open(max(0, row)))
        self._show_current(self.names.currentRow())

    def accept(self) -> None:
        """The current subject is read and accepted."""
        self._emit("")

    def ask(self) -> None:
        """Ask about the current subject."""
        text = self.question.text().strip()
        if text:
            self._emit(text)
            self.question.clear()

    def _emit(self, text: str) -> None:
        row = self.names.currentRow()
        if self._may_answer and 0 <= row < len(self._subjects):
            self.answered.emit(self._subjects[row].subject.key, text)

    def _next_open(self, row: int) -> int:
        places = [k for k, subject in enumerate(self._subjects) if not subject.is_settled]
        return next((k for k in places if k >= row), places[0] if places else row)

    def _show_current(self, row: int) -> None:
        subject = self._subjects[row] if 0 <= row < len(self._subjects) else None
        self._title.setText(subject.subject.title if subject else "")
        self._told.setText(
            subject.subject.text if subject else "Nothing has to be read one by one."
        )
        words = ""
        if subject and subject.answer:
            asked = f": {subject.question}" if subject.question else ""
            words = f"{STATE_WORDS.get(subject.answer, subject.answer)} by {subject.by}{asked}"
        self._answer.setText(words)
        self._answer.setVisible(bool(words))
        for widget in (self.read, self.question, self.ask_button):
            widget.setVisible(subject is not None and self._may_answer)


def _wrapped(role: str = "") -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setMinimumWidth(300)  # see `steps.words`
    label.setProperty("role", role)
    return label
