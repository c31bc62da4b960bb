"""Reading the book beside the window: one thread at a time, and only the newest answer is shown."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Generic, TypeVar

from PySide6.QtCore import QCoreApplication, QObject, QTimer, Signal
from PySide6.QtWidgets import QLabel, QWidget

from logbook.record import Book, BookError
from logbook.ui.work import Job, Progress

log = logging.getLogger(__name__)

T = TypeVar("T")

QUIET_MS = 150
"""What is read sooner than that changes without a word."""
LOADING = "reading the book…"


@dataclass(frozen=True, slots=True)
class Asked(Generic[T]):
    """What is to be read, and who is told: of the result, or of the sentence what is wrong."""

    read: Callable[[Book], T]
    show: Callable[[T], None]
    failed: Callable[[str], None]
    at: datetime


class Loads(QObject):
    """What one part of the window has read for it, in a thread with a reader of its own.

    A question that comes while another is being answered takes its place: the older answer is
    never shown, and so nothing flickers. `read` gets the book as of the moment of asking; it must
    not touch a widget, and gives back plain data.
    """

    busy_changed = Signal(bool)

    def __init__(self, book: Book, parent: QObject) -> None:
        """Nothing is read yet."""
        super().__init__(parent)
        self._book = book
        self._job: Job | None = None
        self._now: Asked[Any] | None = None
        self._next: Asked[Any] | None = None
        self._found: list[object] = []
        self._fault: Exception | None = None

    @property
    def is_busy(self) -> bool:
        """True from a question to its answer."""
        return self._now is not None or self._next is not None

    def ask(
        self, read: Callable[[Book], T], show: Callable[[T], None], failed: Callable[[str], None]
    ) -> None:
        """Read, then call `show` with what was found, or `failed` with what is wrong."""
        asked = Asked(read, show, failed, self._book.now())
        if self._job is not None:
            self._job.cancel()
            self._next = asked
        else:
            self._start(asked)

    def drop(self) -> None:
        """Ask no more: whatever is still read is not shown."""
        self._now = self._next = None
        if self._job is not None:
            self._job.cancel()

    def stop(self) -> None:
        """The same, and wait until nobody reads any more: before the book closes."""
        self.drop()
        if self._job is not None:
            self._job.wait()

    def _start(self, asked: Asked[Any]) -> None:
        book = self._book

        def task(_progress: Progress, _cancelled: Callable[[], bool]) -> Any:  # noqa: ANN401 - any data
            with book.beside(asked.at) as beside:
                return asked.read(beside)

        self._now, self._next, self._found, self._fault = asked, None, [], None
        # The application outlives every screen: a thread is never destroyed while it runs.
        app = QCoreApplication.instance()
        assert app is not None
        job = self._job = Job(task, app)
        job.succeeded.connect(self._on_found)
        job.failed.connect(self._on_fault)
        job.finished.connect(self._on_finished)
        job.finished.connect(job.deleteLater)
        job.start()
        self.busy_changed.emit(True)

    def _on_found(self, found: object) -> None:
        self._found = [found]

    def _on_fault(self, fault: Exception) -> None:
        self._fault = fault

    def _on_finished(self) -> None:
        answered, self._job, self._now = self._now, None, None
        if self._next is not None:
            self._start(self._next)
            return
        self.busy_changed.emit(False)
        if answered is None:
            return
        if self._fault is not None:
            answered.failed(told(self._fault))
        else:
            answered.show(self._found[0])


def told(fault: Exception) -> str:
    """What went wrong beside the window, in a sentence."""
    if isinstance(fault, BookError):
        return fault.message
    if isinstance(fault, ValueError):
        return str(fault)
    log.error("a fault beside the window", exc_info=fault)
    return f"That failed ({type(fault).__name__}: {fault}); report this as a fault."


class LoadingMark(QLabel):
    """Says quietly that something is still read; keeps its place, so that nothing moves."""

    def __init__(self, loads: Loads, text: str = LOADING, parent: QWidget | None = None) -> None:
        """A mark that follows `loads` and says `text`."""
        super().__init__(text, parent)
        self.setProperty("role", "muted")
        policy = self.sizePolicy()
        policy.setRetainSizeWhenHidden(True)
        self.setSizePolicy(policy)
        self._followed: list[tuple[Loads, str]] = []
        self._wait = QTimer(self)
        self._wait.setSingleShot(True)
        self._wait.setInterval(QUIET_MS)
        self._wait.timeout.connect(self._tell)
        self.hide()
        self.follow(loads, text)

    def follow(self, loads: Loads, text: str) -> None:
        """Tell of these as well, with words of their own."""
        self._followed.append((loads, text))
        widest = max(self.fontMetrics().horizontalAdvance(words) for _, words in self._followed)
        self.setMinimumWidth(widest + 4)
        loads.busy_changed.connect(self._on_busy)

    def _on_busy(self, _: bool) -> None:
        if not any(loads.is_busy for loads, _ in self._followed):
            self._wait.stop()
            self.hide()
        elif self.isHidden():
            self._wait.start()

    def _tell(self) -> None:
        busy = [text for loads, text in self._followed if loads.is_busy]
        if busy:
            self.setText(busy[-1])
            self.show()
