"""The Trend screen over ten years, beside the bare query and a bare line drawn by Qt."""

from __future__ import annotations

import os
import sqlite3
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from statistics import median

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parent))

from PySide6.QtCore import QEventLoop, QPointF, Qt, QTimer
from PySide6.QtGui import QColor, QImage, QPainter, QPen, QPolygonF
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from screen_bench import make_window

from logbook.ui.loads import Loads
from logbook.ui.trend.screen import TrendScreen

SIZE = (1280, 640)
QUERY = "SELECT taken_at, value FROM reading WHERE point = ? ORDER BY taken_at"


@contextmanager
def trend_screen(path: Path) -> Iterator[TrendScreen]:
    """The Trend screen of a window on a book, without points."""
    window, book = make_window(path)
    screen = window.show_screen("trend")
    assert isinstance(screen, TrendScreen)
    QApplication.processEvents()
    yield screen
    window.close()
    book.close()


def first_pictures(path: Path, runs: int = 9) -> tuple[list[float], list[float]]:
    """Seconds of work from choosing a point to its ten years painted, and of the bare work.

    Bare: the same readings by a plain connection, each drawn in one polyline on an image. In
    turns, each time another point, so that neither lives on what the other has read.
    """
    ours, bare = [], []
    with trend_screen(path) as screen, closing(sqlite3.connect(path)) as plain:
        numbers = plain.execute("SELECT id, key FROM point ORDER BY id LIMIT ?", (2 * runs,))
        points = numbers.fetchall()
        for run in range(runs):
            ours.append(_timed(lambda run=run: _choose(screen, points[2 * run][1])))
            bare.append(_timed(lambda run=run: _draw_bare(plain, points[2 * run + 1][0])))
    return ours, bare


def _choose(screen: TrendScreen, key: str) -> None:
    screen.study = None
    screen.show_points((key,))
    while screen.study is None:
        # Asleep meanwhile, as a window is: a loop that spins takes turns with the reading thread.
        loop = QEventLoop()
        QTimer.singleShot(1, loop.quit)
        loop.exec()
    screen.chart.show_span(screen.chart.span.whole())
    screen.chart.repaint()


def _draw_bare(plain: sqlite3.Connection, number: int) -> None:
    rows = plain.execute(QUERY, (number,)).fetchall()
    first, last = rows[0][0], rows[-1][0]
    low, high = min(v for _, v in rows), max(v for _, v in rows)
    x, y = SIZE[0] / (last - first), SIZE[1] / ((high - low) or 1.0)
    _bare_line([QPointF((t - first) * x, (v - low) * y) for t, v in rows])


def _bare_line(points: list[QPointF]) -> None:
    image = QImage(*SIZE, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor("white"))
    painter = QPainter(image)
    painter.setPen(QPen(QColor("black"), 1.0))
    painter.drawPolyline(QPolygonF(points))
    painter.end()


def pan_frames(
    path: Path, *, points: int = 1, frames: int = 60, days: float | None = None
) -> tuple[list[float], list[float]]:
    """Seconds of work of a key press that moves the picture by a tenth, painted; and of a bare line.

    The picture shows nine tenths of the book, or so many days.

    Bare: a polyline of as many points as there are readings in the picture of one point.
    """
    with trend_screen(path) as screen:
        keys = [point.key for point in screen.session.plant.points if point.kind.is_numeric]
        screen.show_points(tuple(keys[:points]))
        while screen.study is None:
            QApplication.processEvents()
        _settle(screen)
        chart = screen.chart
        chart.resize(*SIZE)
        middle = (chart.span.first + chart.span.last) / 2.0
        length = 86400.0 * days if days else 0.9 * (chart.span.last - chart.span.first)
        chart.show_span(chart.span.placed(middle - length / 2.0, middle + length / 2.0))
        ours = []
        for frame in range(frames):
            key = Qt.Key.Key_Left if frame // 2 % 2 else Qt.Key.Key_Right
            ours.append(_timed(lambda key=key: _press(chart, key)))
        first, after = screen.study.tracks[0].inside(chart.span.start, chart.span.end)
        count = after - first
        dots = [
            QPointF(k * SIZE[0] / count, 300 + 200 * ((k * 7919) % 101) / 101) for k in range(count)
        ]
        bare = [_timed(lambda: _bare_line(dots)) for _ in range(9)]
    return ours, bare


def _press(chart, key: Qt.Key) -> None:
    QTest.keyClick(chart, key)
    chart.repaint()


def _settle(screen: TrendScreen) -> None:
    while any(loads.is_busy for loads in screen.findChildren(Loads)):
        QApplication.processEvents()


def _timed(work: Callable[[], None]) -> float:
    """Seconds of this process's own time, in all threads: others on the machine do not count."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def lines(path: Path) -> Iterator[str]:
    """A line for each figure."""
    ours, bare = first_pictures(path)
    yield (
        f"trend, first picture of one point over the whole book: median {median(ours) * 1e3:.0f} ms, "
        f"best {min(ours) * 1e3:.0f} ms; bare query and line {median(bare) * 1e3:.0f} ms, "
        f"ratio {median(ours) / median(bare):.2f} (wanted: under 150 ms)"
    )
    for points, days in ((1, None), (4, None), (4, 365.0), (4, 30.0)):
        ours, bare = pan_frames(path, points=points, days=days)
        worst = sorted(ours)[int(len(ours) * 0.95)]
        over = f"{days:.0f} days" if days else "ten years"
        yield (
            f"trend, pan frame with {points} over {over}: median {median(ours) * 1e3:.1f} ms, "
            f"95 % under {worst * 1e3:.1f} ms; bare line of all readings of one "
            f"{median(bare) * 1e3:.1f} ms, ratio {median(ours) / median(bare):.2f} "
            "(wanted: under 33 ms)"
        )


if __name__ == "__main__":
    for told in lines(Path(sys.argv[1])):
        print(told)
