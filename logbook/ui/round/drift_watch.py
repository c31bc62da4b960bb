"""What drifts now, looked for beside the window and told to the form a moment later."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from logbook.record import Book

if TYPE_CHECKING:
    from logbook.shift.drift import DriftFound
    from logbook.ui.loads import Loads

PAUSE_MS = 1500
"""The form comes first: drifts are looked for when it has been up that long."""

Drifts = Mapping[str, "DriftFound"]


class DriftWatch(QObject):
    """Looks through all points after the start and after every save."""

    changed = Signal()

    def __init__(self, book: Book, parent: QObject) -> None:
        """Nothing is looked for yet."""
        super().__init__(parent)
        self.found: Drifts = {}
        """The few that are said at once, by key of the point."""
        self._book = book
        self._loads: Loads | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self.look_now)

    def look(self) -> None:
        """Look in a moment; what was asked before it is asked only once."""
        self._pause.start()

    def look_now(self) -> None:
        """Look now, beside the window."""
        from logbook.ui.loads import Loads  # not before the window is up

        self._pause.stop()
        if self._loads is None:
            self._loads = Loads(self._book, self)
        self._loads.ask(_drifts, self._on_found, self._on_failed)

    def stop(self) -> None:
        """Look no more, before the book closes."""
        self._pause.stop()
        if self._loads is not None:
            self._loads.stop()

    def _on_found(self, found: Drifts) -> None:
        self.found = found
        self.changed.emit()

    def _on_failed(self, _why: str) -> None:
        """A drift that cannot be looked for is no matter of the round; the log file has it."""


def _drifts(book: Book) -> Drifts:
    from logbook.shift.drift import drifts_at

    now = book.now()
    shown = drifts_at(book, book.plant_at(now), now).shown()
    return {one.point.key: one for one in shown}
