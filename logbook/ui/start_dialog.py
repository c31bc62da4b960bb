"""The first window: the sample plant, a book that exists, or a new one from a template."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFileDialog,
    QFormLayout,
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

BOOK_FILES = "Logbooks (*.logbook);;All files (*)"


class Want(StrEnum):
    """What the person wants to open."""

    BOOK = "book"
    SAMPLE = "sample"
    NEW = "new"


@dataclass(frozen=True, slots=True)
class Wish:
    """The choice made: a book to open, a folder for the sample, or a new book's particulars."""

    want: Want
    path: Path
    template: str = ""
    author: str = ""


class StartDialog(QDialog):
    """Three ways in. `wish` holds the choice after it was accepted."""

    def __init__(
        self, recent: tuple[str, ...], templates: tuple[tuple[str, str], ...], told: str = ""
    ) -> None:
        """A dialog offering `recent` books and `templates` (name, words); `told` is shown on top."""
        super().__init__()
        self.wish: Wish | None = None
        self.setWindowTitle("Crush Plant Shift Logbook")
        self.setMinimumWidth(620)
        title = QLabel("Crush Plant Shift Logbook")
        title.setObjectName("start-title")
        told_label = QLabel(told)
        told_label.setProperty("role", "fault")
        told_label.setWordWrap(True)
        told_label.setVisible(bool(told))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 20, 24, 20)
        layout.setSpacing(14)
        layout.addWidget(title)
        layout.addWidget(told_label)
        layout.addWidget(self._open_part(recent))
        layout.addWidget(self._new_part(templates))
        layout.addWidget(self._sample_part())

    def _open_part(self, recent: tuple[str, ...]) -> QFrame:
        frame, layout = _part("Open a book")
        self.recent = QListWidget()
        self.recent.setAccessibleName("Recent books")
        self.recent.setMaximumHeight(112)
        for name in recent:
            item = QListWidgetItem(f"{Path(name).stem}    {Path(name).parent}")
            item.setData(Qt.ItemDataRole.UserRole, name)
            self.recent.addItem(item)
        self.recent.itemActivated.connect(self._on_recent)
        self.recent.setVisible(bool(recent))
        if recent:
            self.recent.setCurrentRow(0)
        browse = QPushButton("Choose a file…")
        browse.clicked.connect(self._on_browse)
        layout.addWidget(self.recent)
        layout.addLayout(_right(browse))
        return frame

    def _new_part(self, templates: tuple[tuple[str, str], ...]) -> QFrame:
        frame, layout = _part("Start a new book")
        self.template = QComboBox()
        for name, words in templates:
            self.template.addItem(words, name)
        self.author = QLineEdit()
        self.author.setPlaceholderText("your name, written in the book as its first engineer")
        form = QFormLayout()
        form.addRow("Plant", self.template)
        form.addRow("Started by", self.author)
        self._fault = QLabel()
        self._fault.setProperty("role", "fault")
        start = QPushButton("Choose where…")
        start.clicked.connect(self._on_new)
        layout.addLayout(form)
        layout.addWidget(self._fault)
        layout.addLayout(_right(start))
        return frame

    def _sample_part(self) -> QFrame:
        frame, layout = _part("Look at the sample plant")
        words = QLabel(
            "An invented plant with 400 days of rounds, built on this PC in a few seconds."
        )
        words.setProperty("role", "muted")
        build = QPushButton("Choose a folder…")
        build.clicked.connect(self._on_sample)
        layout.addWidget(words)
        layout.addLayout(_right(build))
        return frame

    def _on_recent(self, item: QListWidgetItem) -> None:
        self._take(Wish(Want.BOOK, Path(item.data(Qt.ItemDataRole.UserRole))))

    def _on_browse(self) -> None:
        path = choose_book(self)
        if path is not None:
            self._take(Wish(Want.BOOK, path))

    def _on_new(self) -> None:
        author = self.author.text().strip()
        if not author:
            self._fault.setText("Write who starts the book.")
            self.author.setFocus()
            return
        path = choose_new_book(self)
        if path is not None:
            self._take(Wish(Want.NEW, path, self.template.currentData(), author))

    def _on_sample(self) -> None:
        folder = choose_folder(self, "Folder for the sample book")
        if folder is not None:
            self._take(Wish(Want.SAMPLE, folder))

    def _take(self, wish: Wish) -> None:
        self.wish = wish
        self.accept()


def choose_book(parent: QWidget) -> Path | None:
    """Ask for an existing book."""
    name, _ = QFileDialog.getOpenFileName(parent, "Open a book", str(Path.home()), BOOK_FILES)
    return Path(name) if name else None


def choose_new_book(parent: QWidget) -> Path | None:
    """Ask where a new book is to be; the ending is added where it is left out."""
    name, _ = QFileDialog.getSaveFileName(parent, "New book", str(Path.home()), BOOK_FILES)
    if not name:
        return None
    path = Path(name)
    has_ending = path.suffix[1:2].isalpha()  # the 2 of "plant v1.2" is none
    return path if has_ending else path.with_name(f"{path.name}.logbook")


def choose_folder(parent: QWidget, title: str) -> Path | None:
    """Ask for a folder."""
    name = QFileDialog.getExistingDirectory(parent, title, str(Path.home()))
    return Path(name) if name else None


def _part(title: str) -> tuple[QFrame, QVBoxLayout]:
    frame = QFrame()
    frame.setProperty("role", "part")
    layout = QVBoxLayout(frame)
    layout.setContentsMargins(14, 10, 14, 12)
    layout.setSpacing(8)
    head = QLabel(title)
    head.setProperty("role", "strong")
    layout.addWidget(head)
    return frame, layout


def _right(button: QPushButton) -> QHBoxLayout:
    row = QHBoxLayout()
    row.addStretch(1)
    row.addWidget(button)
    return row


Asker = Callable[[], Wish | None]
