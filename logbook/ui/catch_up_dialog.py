"""What happened since a person was last here: a list, each line confirmed as read with Enter."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.plant.localtime import local_label, to_local
from logbook.record import Book, BookError
from logbook.shift.catch_up import CatchUp, Missed, catch_up, confirm
from logbook.ui.session import Session
from logbook.ui.sign_on import words

LINE = Qt.ItemDataRole.UserRole


def show_missed(session: Session, book: Book, parent: QWidget | None) -> str:
    """Show what the person signed on has not confirmed; nothing where there is nothing.

    Returns what is wrong, or nothing.
    """
    try:
        found = catch_up(book, session.plant, session.person, book.now())
    except BookError as error:
        return error.message
    if found.unread:
        dialog = CatchUpDialog(session, book, found, parent)
        dialog.exec()
        dialog.deleteLater()
    return ""


class MissedList(QListWidget):
    """The lines; Enter is taken by the dialog."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter reads the line; everything else as in any list."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.ignore()
            return
        super().keyPressEvent(event)


class CatchUpDialog(QDialog):
    """Enter confirms the current line and goes on; what is left is asked again at the next sign-on."""

    def __init__(
        self, session: Session, book: Book, found: CatchUp, parent: QWidget | None = None
    ) -> None:
        """The lines of `found` that are not confirmed yet."""
        super().__init__(parent)
        self.setWindowTitle("Since you were last here")
        self.resize(760, 520)
        self._book, self._found = book, found
        self.list = MissedList()
        self.list.setAccessibleName("What happened since you were last here")
        self.list.setWordWrap(True)
        self.list.setSpacing(2)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for line in found.unread:
            item = QListWidgetItem(f"○  {line.kind.capitalize()}: {line.title}\n     {line.text}")
            item.setData(LINE, line)
            self.list.addItem(item)
        self._fault = words("fault", "")
        self._left = words("muted", "")
        self._lay_out(session)
        self.list.setCurrentRow(0)
        self._show_left()
        self.list.setFocus(Qt.FocusReason.OtherFocusReason)

    def _lay_out(self, session: Session) -> None:
        found = self._found
        assert found.since is not None
        zone = session.plant.time_zone
        since = f"{to_local(found.since, zone):%A %Y-%m-%d} {local_label(found.since, zone)}"
        count = len(found.shifts)
        head = QLabel(
            f"{session.name_of(found.person)}: your last shift ended {since}; {count} shifts since. "
            "Read each line; Enter confirms that you have."
        )
        head.setTextFormat(Qt.TextFormat.PlainText)
        head.setWordWrap(True)
        self.read = QPushButton("I have read it")
        self.read.setProperty("primary", True)
        self.read.setDefault(True)
        self.read.clicked.connect(self.confirm)
        later = QPushButton("Later")
        later.setAutoDefault(False)
        later.clicked.connect(self.reject)
        row = QHBoxLayout()
        row.addWidget(self._left, 1)
        row.addWidget(self.read)
        row.addWidget(later)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 16, 18, 14)
        layout.setSpacing(10)
        layout.addWidget(head)
        layout.addWidget(self.list, 1)
        layout.addWidget(self._fault)
        layout.addLayout(row)

    def confirm(self) -> None:
        """The current line was read; the dialog ends with the last one."""
        if not self.list.count():
            return
        item = self.list.currentItem()
        line = item.data(LINE)
        assert isinstance(line, Missed)
        try:
            confirm(self._book, self._found, line)
        except BookError as error:
            self._fault.setText(error.message)
            self._fault.show()
            return
        self.list.takeItem(self.list.row(item))
        self._show_left()
        if not self.list.count():
            self.accept()

    def _show_left(self) -> None:
        left = self.list.count()
        self._left.setText(f"{left} to read" if left else "")
        self._left.setVisible(bool(left))
