"""The two lines a person types in: the field's value and what was done about a deviation."""

from __future__ import annotations

from typing import ClassVar

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QLineEdit, QWidget

from logbook.ui.theme import font

ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class FieldEditor(QLineEdit):
    """The field being typed in. Says what the keyboard asks for; decides nothing."""

    asked = Signal(str)
    """One of: enter, back, tab, backtab, up, down, left, right, reason, revert, undo, redo."""
    pasted = Signal(str)
    """A block of several lines or columns from a spreadsheet."""

    KEYS: ClassVar = {
        Qt.Key.Key_Up: "up",
        Qt.Key.Key_Down: "down",
        Qt.Key.Key_F4: "reason",
        Qt.Key.Key_Escape: "revert",
    }

    def __init__(self, parent: QWidget) -> None:
        """Make the editor; hidden until a field is entered."""
        super().__init__(parent)
        self.setFont(font("field", medium=True))
        self.setObjectName("field-editor")
        self.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.NoContextMenu)
        self.hide()

    def event(self, event: QEvent) -> bool:
        """Take Tab and Shift+Tab before Qt moves the focus."""
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            if event.key() == Qt.Key.Key_Tab:
                self.asked.emit("tab")
                return True
            if event.key() == Qt.Key.Key_Backtab:
                self.asked.emit("backtab")
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn keys into requests; everything else is typed."""
        wish = self._wish(event)
        if wish == "paste":
            self._paste(event)
        elif wish:
            event.accept()
            self.asked.emit(wish)
        else:
            super().keyPressEvent(event)

    def _wish(self, event: QKeyEvent) -> str:
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if event.key() in ENTER:
            return "back" if shift else "enter"
        if event.matches(QKeySequence.StandardKey.Undo):
            return "undo"
        if event.matches(QKeySequence.StandardKey.Redo):
            return "redo"
        if event.matches(QKeySequence.StandardKey.Paste):
            return "paste"
        if event.text() == "/" and not self.text():
            return "reason"
        if event.key() in self.KEYS:
            return self.KEYS[Qt.Key(event.key())]
        return self._edge_wish(event)

    def _edge_wish(self, event: QKeyEvent) -> str:
        """Left and Right leave the field only from the edge of what is typed."""
        plain = event.modifiers() in (
            Qt.KeyboardModifier.NoModifier,
            Qt.KeyboardModifier.KeypadModifier,
        )
        whole = self.hasSelectedText() and self.selectedText() == self.text()
        if not plain or (self.hasSelectedText() and not whole):
            return ""
        if event.key() == Qt.Key.Key_Right and (whole or self.cursorPosition() == len(self.text())):
            return "right"
        if event.key() == Qt.Key.Key_Left and (whole or self.cursorPosition() == 0):
            return "left"
        return ""

    def _paste(self, event: QKeyEvent) -> None:
        text = QGuiApplication.clipboard().text()
        if "\n" in text.strip("\r\n") or "\t" in text:
            event.accept()
            self.pasted.emit(text)
        else:
            self.insert(text.strip())
            self.textEdited.emit(self.text())


class ResponseEditor(QLineEdit):
    """The line for what was done."""

    asked = Signal(str)
    """One of: enter, back."""

    def __init__(self, parent: QWidget) -> None:
        """Make the editor; hidden until a response is written."""
        super().__init__(parent)
        self.setFont(font())
        self.setObjectName("response-editor")
        self.setPlaceholderText("What was done, and who was told")
        self.hide()

    def event(self, event: QEvent) -> bool:
        """Tab leaves the line like Enter, Shift+Tab goes back to the value."""
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            if event.key() == Qt.Key.Key_Tab:
                self.asked.emit("enter")
                return True
            if event.key() == Qt.Key.Key_Backtab:
                self.asked.emit("back")
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter and Down go on, Up and Escape go back to the value."""
        if event.key() in (*ENTER, Qt.Key.Key_Down):
            back = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.asked.emit("back" if back else "enter")
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Escape):
            self.asked.emit("back")
        else:
            super().keyPressEvent(event)
