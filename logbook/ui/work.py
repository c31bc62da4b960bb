"""Long work off the GUI thread, with progress and cancel."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, QThread, Signal
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

log = logging.getLogger(__name__)

Progress = Callable[[float, str], None]
Task = Callable[[Progress, Callable[[], bool]], Any]
"""Work that reports (fraction, text) and asks now and then whether it is cancelled."""


class Job(QThread):
    """Runs one task; results and failures come back to the GUI thread by signal."""

    progressed = Signal(float, str)
    succeeded = Signal(object)
    failed = Signal(object)

    def __init__(self, task: Task, parent: QObject) -> None:
        """A job that is not started yet."""
        super().__init__(parent)
        self._task = task
        self._cancelled = threading.Event()

    def cancel(self) -> None:
        """Ask the task to stop."""
        self._cancelled.set()

    @property
    def is_cancelled(self) -> bool:
        """True after `cancel`."""
        return self._cancelled.is_set()

    def run(self) -> None:
        """Called by Qt on the new thread."""
        try:
            result = self._task(self.progressed.emit, self._cancelled.is_set)
        except Exception as error:
            # The border between work and window: everything is told, nothing is lost.
            log.info("job ended", exc_info=True)
            self.failed.emit(error)
        else:
            self.succeeded.emit(result)


class JobDialog(QDialog):
    """Shows a job's progress; closes when it ends. `outcome` and `error` tell how."""

    def __init__(self, title: str, task: Task, parent: QWidget | None) -> None:
        """A dialog that starts the task when it is run."""
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setMinimumWidth(440)
        self.outcome: object = None
        self.error: Exception | None = None
        self._text = QLabel(title)
        self._bar = QProgressBar()
        self._bar.setRange(0, 1000)
        self._stop = QPushButton("Cancel")
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self._stop)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 16, 18, 14)
        layout.setSpacing(12)
        layout.addWidget(self._text)
        layout.addWidget(self._bar)
        layout.addLayout(row)
        self._job = Job(task, self)
        self._job.progressed.connect(self._on_progress)
        self._job.succeeded.connect(self._on_success)
        self._job.failed.connect(self._on_failure)
        self._job.finished.connect(self._on_finished)
        self._stop.clicked.connect(self.reject)

    def perform(self) -> bool:
        """Run to the end; True where the task succeeded and was not cancelled."""
        self._job.start()
        self.exec()
        self._job.wait()
        return self.error is None and not self._job.is_cancelled

    def reject(self) -> None:
        """Cancel: ask the task to stop and wait for it."""
        self._job.cancel()
        self._stop.setEnabled(False)
        self._text.setText("Stopping…")

    def _on_progress(self, fraction: float, text: str) -> None:
        self._bar.setValue(round(fraction * 1000))
        if text and not self._job.is_cancelled:
            self._text.setText(text)

    def _on_success(self, result: object) -> None:
        self.outcome = result

    def _on_failure(self, error: Exception) -> None:
        self.error = error

    def _on_finished(self) -> None:
        self.done(QDialog.DialogCode.Accepted)
