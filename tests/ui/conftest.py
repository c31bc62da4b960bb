"""A real book of the shipped template and a real window on it, driven by keys."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QWidget
from shiboken6 import isValid

from logbook.plant.file import read_plant
from logbook.plant.model import Plant, Point, PointKind
from logbook.plant.templates import template_path
from logbook.record import Book, NewReading, Page, create_book, open_book
from logbook.ui.loads import Loads
from logbook.ui.theme import LIGHT_THEME, apply_theme
from logbook.ui.window import LogbookWindow

ROUND = datetime(2026, 3, 3, 16, 0, tzinfo=UTC)
"""10:00 local in the template's zone: the third round of a day shift."""


@pytest.fixture(scope="session")
def template_plant() -> Plant:
    """The shipped metric template."""
    return read_plant(template_path("soybean-metric"))


def plausible_value(point: Point, step: int) -> float:
    """A value of the point within its limits that moves a little from round to round."""
    limits = point.limits
    middle = limits.target
    if middle is None:
        low = limits.plausible_low if limits.plausible_low is not None else 0.0
        high = limits.plausible_high if limits.plausible_high is not None else low + 100.0
        middle = low + (high - low) / 3
    edge = limits.warning_high if limits.warning_high is not None else limits.warning_low
    room = abs(edge - middle) if edge is not None else 0.0
    if point.kind is PointKind.COUNTER:
        return round(middle + step, point.decimals)
    value = round(middle + 0.5 * room * math.sin(step), point.decimals)
    low = limits.plausible_low
    return value if low is None else max(low, value)


def answer_of(point: Point) -> str:
    """The first, normal answer of a state or check point."""
    return point.choices[0].key if point.choices else "done"


@pytest.fixture(scope="session")
def values() -> SimpleNamespace:
    """How the tests choose what to type."""
    return SimpleNamespace(answer_of=answer_of, plausible=plausible_value, round_at=ROUND)


def history(plant: Plant, start: datetime, end: datetime) -> Iterator[Page]:
    """Two-hourly rounds of every typed point read each round, all within limits."""
    at, step = start, 0
    while at < end:
        rows = []
        for point in plant.points:
            if point.kind in {PointKind.NUMBER, PointKind.COUNTER, PointKind.LEVEL}:
                value = plausible_value(point, step)
                rows.append(NewReading(point.key, at, value=value, typed=f"{value}", round_at=at))
        yield Page(plant.people[0].key, rows)
        at, step = at + timedelta(hours=2), step + 1


@pytest.fixture(scope="session")
def filled_book(template_plant: Plant, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with two days of rounds before `ROUND`; tests take copies of it."""
    path = tmp_path_factory.mktemp("book") / "plant.logbook"
    start = ROUND - timedelta(days=2)
    moment = [start]
    with create_book(
        path,
        template_plant,
        clock=lambda: moment[0],
        person=template_plant.people[0].key,
        reason="book begun",
    ) as book:

        def pages() -> Iterator[Page]:
            for page in history(template_plant, start, ROUND):
                moment[0] = page.rows[0].taken_at + timedelta(minutes=20)
                yield page

        book.write_many(pages())
    return path


@pytest.fixture
def book_path(filled_book: Path, tmp_path: Path) -> Path:
    """A copy of the filled book."""
    path = tmp_path / "plant.logbook"
    path.write_bytes(filled_book.read_bytes())
    return path


@pytest.fixture
def book(book_path: Path, clock) -> Iterator[Book]:
    """The copy, open, five minutes after `ROUND`."""
    clock.set(ROUND + timedelta(minutes=5))
    opened = open_book(book_path, clock=clock, busy_seconds=0.3)
    yield opened
    opened.close()


@pytest.fixture
def window(qtbot, qapp, book: Book) -> LogbookWindow:
    """A window on the book, shown."""
    apply_theme(qapp, LIGHT_THEME)
    made = LogbookWindow(book, LIGHT_THEME)
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    made.activateWindow()
    qtbot.waitUntil(lambda: made.round.is_drawn)
    return made


@pytest.fixture
def screen(window: LogbookWindow):
    """The window's Round screen."""
    return window.round


PATIENCE_S = 90.0


def settle() -> None:
    """Wait until nothing is read or made beside the window, as somebody who looks would."""
    until = time.monotonic() + PATIENCE_S
    while any(
        loads.is_busy for top in QApplication.topLevelWidgets() for loads in top.findChildren(Loads)
    ):
        assert time.monotonic() < until, "something is still read"
        # Asleep meanwhile: a loop that spins takes turns with the thread that reads.
        loop = QEventLoop()
        QTimer.singleShot(5, loop.quit)
        loop.exec()


@pytest.fixture
def settled(qapp) -> Callable[[], None]:
    """Wait until nothing is read or made beside the window."""
    return settle


class Keys:
    """Types into whatever has the focus, as a keyboard would, and waits for what comes of it."""

    def target(self) -> QWidget:
        """The widget that gets the keys: an open menu first, then the focus."""
        found = QApplication.activePopupWidget() or QApplication.focusWidget()
        assert found is not None, "nothing has the focus"
        return found

    def type(self, text: str) -> None:
        """Type a text."""
        QTest.keyClicks(self.target(), text)

    def press(self, *keys: Qt.Key, mods: Qt.KeyboardModifier | None = None) -> None:
        """Press keys one after the other."""
        for key in keys:
            held, target = mods or Qt.KeyboardModifier.NoModifier, self.target()
            QTest.keyPress(target, key, held)
            if isValid(target):  # the press may have closed a list
                QTest.keyRelease(target, key, held)
            settle()

    def pick(self, box: QComboBox, *keys: Qt.Key) -> None:
        """Press keys in the open list of a box; its view takes them, not the popup around it."""
        for key in keys:
            QTest.keyPress(box.view(), key)

    def enter(self, text: str) -> None:
        """Type a text and press Enter."""
        self.type(text)
        self.press(Qt.Key.Key_Return)

    def chord(self, key: Qt.Key, mods: Qt.KeyboardModifier) -> None:
        """Press a key with modifiers."""
        self.press(key, mods=mods)


@pytest.fixture
def keys() -> Keys:
    """The keyboard."""
    return Keys()


@pytest.fixture
def in_dialog(qtbot) -> Callable[[Callable[[QWidget], None]], None]:
    """Arrange what is done in the next modal dialog, which blocks until it is answered."""
    timers: list[QTimer] = []

    def arrange(act: Callable[[QWidget], None]) -> None:
        timer = QTimer()
        timers.append(timer)
        timer.setInterval(10)

        def look() -> None:
            dialog = QApplication.activeModalWidget()
            focus = QApplication.focusWidget()
            if dialog is None or focus is None or not dialog.isAncestorOf(focus):
                return
            timer.stop()
            try:
                act(dialog)
            finally:
                if dialog.isVisible():  # what the test did left it open: do not hang
                    dialog.reject()

        timer.timeout.connect(look)
        timer.start()

    yield arrange
    for timer in timers:
        timer.stop()
        timer.deleteLater()
