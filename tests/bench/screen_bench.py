"""The Round screen beside the bare work it cannot do without."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QImage, QPainter, QPen, QPolygonF
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from logbook.record import Book, open_book
from logbook.ui.theme import LIGHT_THEME, apply_theme
from logbook.ui.window import LogbookWindow

DAYS = 7
SIZE = (1280, 800)
QUERY = (
    "SELECT taken_at, value FROM reading "
    "WHERE point = ? AND taken_at >= ? AND taken_at < ? ORDER BY taken_at"
)


def last_round(path: Path) -> datetime:
    """The instant of the newest reading."""
    with closing(sqlite3.connect(path)) as plain:
        return datetime.fromtimestamp(
            plain.execute("SELECT max(taken_at) FROM reading").fetchone()[0], UTC
        )


def make_window(path: Path) -> tuple[LogbookWindow, Book]:
    """A window on the book, shown, five minutes into the round after the last."""
    app = QApplication.instance() or QApplication([])
    apply_theme(app, LIGHT_THEME)
    now = last_round(path) + timedelta(hours=1, minutes=5)
    book = open_book(path, clock=lambda: now)
    window = LogbookWindow(book, LIGHT_THEME)
    window.resize(*SIZE)
    window.show()
    while not window.round.is_drawn:
        app.processEvents()
    return window, book


def compare_area(path: Path, area: str = "a", runs: int = 30) -> tuple[float, float]:
    """Median seconds to open an area of 60 points with 7 days of sparklines, and of the bare work.

    Bare: one query per point on a plain connection, and the same lines drawn with a QPainter on
    an image. Both sides in turns, each time another week.
    """
    window, book = make_window(path)
    screen = window.round
    end = screen.form.taken_at
    ours, bare = [], []
    with closing(sqlite3.connect(path)) as plain:
        numbers = dict(plain.execute("SELECT key, id FROM point"))
        keys = [p.key for p in screen.desk.plant.points_of(area)]
        first = plain.execute("SELECT min(taken_at) FROM reading").fetchone()[0]
        weeks = int((end.timestamp() - first) // (DAYS * 86400))
        for run in range(min(runs, weeks - 1)):
            at = end - timedelta(days=DAYS * run)
            ours.append(_timed(lambda at=at: _open_ours(screen, area, at)))
            at -= timedelta(days=3, hours=12)  # so that neither lives on what the other has read
            ids = [numbers[key] for key in keys]
            bare.append(_timed(lambda at=at, ids=ids: _open_bare(plain, ids, at)))
    window.close()
    book.close()
    return median(ours), median(bare)


def _open_ours(screen, area: str, at: datetime) -> None:
    screen.desk._trends.clear()
    screen.form.taken_at = at
    screen.show_area(area)
    sheet = screen.sheet
    sheet.viewport().resize(sheet.viewport().width(), sheet._placed.height)
    sheet.viewport().grab()


def _open_bare(plain: sqlite3.Connection, ids: list[int], at: datetime) -> None:
    end = int(at.timestamp())
    start = end - DAYS * 86400
    lines = [plain.execute(QUERY, (number, start, end)).fetchall() for number in ids]
    image = QImage(SIZE[0], 34 * len(ids), QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor("white"))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor("black"), 1.2))
    for row, line in enumerate(lines):
        box = QRectF(700, 34 * row, 200, 28)
        painter.drawPolyline(QPolygonF(_pixels(line, box, start, end)))
    painter.end()


def _pixels(line: list[tuple[int, float]], box: QRectF, start: int, end: int) -> list[QPointF]:
    low = min(value for _, value in line)
    high = max(value for _, value in line)
    x, y = box.width() / (end - start), box.height() / ((high - low) or 1.0)
    left, bottom = box.left(), box.bottom()
    return [QPointF(left + (t - start) * x, bottom - (v - low) * y) for t, v in line]


def key_times(path: Path, area: str = "a") -> list[float]:
    """Seconds from a key press to the field judged and its row with the sparkline repainted."""
    app = QApplication.instance() or QApplication([])
    window, book = make_window(path)
    screen = window.round
    screen.show_area(area)
    found = []
    for key in screen.sheet.keys[:40]:
        screen.sheet.go_to(key)
        app.processEvents()
        for letter in "52.7":
            begun = time.perf_counter()
            QTest.keyClick(screen.sheet._editor, letter)
            app.processEvents()  # paints what the key made dirty
            found.append(time.perf_counter() - begun)
        assert screen.form.fields[key].judgement.is_judged
    window.close()
    book.close()
    return found


MEMORY = """
import resource, sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from screen_bench import QApplication, make_window
window, book = make_window(Path(sys.argv[1]))
for area in window.round.desk.plant.areas:
    window.round.show_area(area.key)
    QApplication.instance().processEvents()
lines = Path("/proc/self/status").read_text().splitlines()
print(next(line.split()[1] for line in lines if line.startswith("VmRSS")))
import os
os._exit(0)
"""


def memory_mb(path: Path) -> float:
    """Resident memory of a fresh process with the book open and every area shown (Linux)."""
    here = str(Path(__file__).parent)
    done = subprocess.run(
        [sys.executable, "-c", MEMORY, str(path), here],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
    )
    return int(done.stdout.split()[-1]) / 1024


def _timed(work: Callable[[], None]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun
