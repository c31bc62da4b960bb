"""How long it takes from asking for a shift in Review, or on the Shift screen, to its picture.

python tests/bench/review_bench.py PATH [RUNS]

PATH is a book, such as `record_bench.py long PATH 10` builds, of the present version. The book is
opened for reading and shown in a window that is not on a screen. Timed is from the question until
the new shift is painted: reading the book beside the window included. Each run is of another
shift; the first, which also makes the screen, is told apart.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parent))

from PySide6.QtCore import QEventLoop, QTimer
from screen_bench import QApplication, make_window

from logbook.ui.window import LogbookWindow

LONGEST_MS = 30_000
"""What a screen may take before the bench gives up."""


@dataclass(frozen=True, slots=True)
class Opened:
    """Seconds by the clock on the wall and of all processors, the first time and then."""

    first_wall: float
    first_cpu: float
    wall: float
    cpu: float
    worst_wall: float
    runs: int

    def __str__(self) -> str:
        return (
            f"{self.wall * 1e3:.0f} ms by the clock, {self.cpu * 1e3:.0f} ms of processor "
            f"(medians of {self.runs}; worst {self.worst_wall * 1e3:.0f} ms); the first time, "
            f"with the screen made, {self.first_wall * 1e3:.0f} ms and "
            f"{self.first_cpu * 1e3:.0f} ms"
        )


def open_review(path: Path, runs: int = 9) -> Opened:
    """Review of a shift."""
    return _opened(path, "review", lambda screen: screen.earlier(), runs)


def open_shift(path: Path, runs: int = 9) -> Opened:
    """The Shift screen, with its lanes and its list of what is open."""
    return _opened(path, "shift", lambda screen: screen.earlier(), runs)


def _opened(path: Path, key: str, step: Callable[[Any], None], runs: int) -> Opened:
    window, book = make_window(path)
    try:
        first = _timed(window, key, lambda: window.show_screen(key))
        screen = window.screen_of(key)
        times = [_timed(window, key, lambda: step(screen)) for _ in range(runs)]
    finally:
        window.close()
        book.close()
    walls, cpus = zip(*times, strict=True)
    return Opened(*first, median(walls), median(cpus), max(walls), runs)


def _timed(window: LogbookWindow, key: str, ask: Callable[[], object]) -> tuple[float, float]:
    """From the question until the answer is shown, which changes the title, and painted."""
    QApplication.processEvents()
    wall, cpu = time.perf_counter(), time.process_time()
    screen = window.screen_of(key)
    waiting = QEventLoop()  # sleeps, as the window does, while a thread reads the book
    longest = QTimer(waiting)
    longest.setSingleShot(True)
    longest.timeout.connect(waiting.quit)
    screen.title_changed.connect(waiting.quit)
    ask()
    longest.start(LONGEST_MS)
    waiting.exec()
    if not longest.isActive():
        raise TimeoutError(f"the {key} screen showed nothing in {LONGEST_MS} ms")
    longest.stop()
    window.grab()
    return time.perf_counter() - wall, time.process_time() - cpu


if __name__ == "__main__":
    book_path, count = Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 9
    print("Review:      ", open_review(book_path, count))
    print("Shift screen:", open_shift(book_path, count))
