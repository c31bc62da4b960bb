"""A closer look: a picture drawn beside the window, and in plain words what it shows."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QRect, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPixmap, QResizeEvent
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget

from logbook.record import Book
from logbook.report.chart_look import Look
from logbook.report.trend_pages import PageAsk, PageDrawn, draw_page
from logbook.ui.loads import Loads
from logbook.ui.theme import Theme
from logbook.ui.trend.look import DARK_LINES, LIGHT_LINES

DPI = 100.0
PAUSE_MS = 120
WORDS = 128
"""Height of the words below the picture; more are scrolled."""


def look_of(theme: Theme) -> Look:
    """The window's palette for matplotlib."""
    colours = theme.colours
    return Look(
        ground=colours.surface,
        panel=colours.field,
        ink=colours.text,
        muted=colours.muted,
        hairline=colours.hairline,
        band=colours.band,
        edge=colours.band_edge,
        stop=colours.hairline,
        warning=colours.warning_fill,
        warning_edge=colours.warning_edge,
        action=colours.action_fill,
        lines=DARK_LINES if theme.is_dark else LIGHT_LINES,
    )


class Picture(QWidget):
    """Shows a picture as large as it was drawn, in the middle, smaller where there is less room."""

    resized = Signal()
    moved = Signal(QKeyEvent)
    """A key that is not for the picture."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """Nothing to show yet."""
        super().__init__(parent)
        self.shown = QPixmap()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(300, 200)

    def sizeHint(self) -> QSize:
        """A page lying on its side."""
        return QSize(1100, 560)

    def show_picture(self, picture: QPixmap) -> None:
        """Show another one."""
        self.shown = picture
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint it."""
        if self.shown.isNull():
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        size = self.shown.deviceIndependentSize().toSize()
        if size.width() > self.width() or size.height() > self.height():
            size.scale(self.size(), Qt.AspectRatioMode.KeepAspectRatio)
        left, top = (self.width() - size.width()) // 2, (self.height() - size.height()) // 2
        painter.drawPixmap(QRect(left, top, size.width(), size.height()), self.shown)
        painter.end()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Ask for one that fits."""
        self.resized.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys move the stretch, as over the chart."""
        self.moved.emit(event)


class StudyView(QWidget):
    """One page at a time; drawn again once what it shows has stood still."""

    drawn = Signal(object)
    """The page now shown (PageDrawn)."""
    failed = Signal(str)

    def __init__(self, book: Book, theme: Theme, parent: QWidget | None = None) -> None:
        """A view without a page."""
        super().__init__(parent)
        self._theme = theme
        self._ask: Callable[[Look, tuple[float, float]], PageAsk] | None = None
        self.loads = Loads(book, self)
        self.page: PageDrawn | None = None
        self.picture = Picture()
        self.told = QLabel()
        self.told.setTextFormat(Qt.TextFormat.PlainText)
        self.told.setWordWrap(True)
        self.told.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.told.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.told.setContentsMargins(12, 6, 12, 6)
        words = QScrollArea()
        words.setWidget(self.told)
        words.setWidgetResizable(True)
        words.setFrameShape(QFrame.Shape.NoFrame)
        words.setFixedHeight(WORDS)
        words.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        for part in (words, words.viewport(), self.told):
            part.setAutoFillBackground(False)
        foot = QFrame()
        foot.setProperty("role", "foot")
        inside = QVBoxLayout(foot)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.addWidget(words)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.picture, 1)
        layout.addWidget(foot)
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._draw)
        self.picture.resized.connect(self._again)
        self.setFocusProxy(self.picture)

    def show_page(self, ask: Callable[[Look, tuple[float, float]], PageAsk]) -> None:
        """Draw what `ask` asks for, given a look and a size in inches; soon."""
        self._ask = ask
        self._again()

    def set_theme(self, theme: Theme) -> None:
        """Draw in another palette."""
        self._theme = theme
        self._again()

    def stop(self) -> None:
        """Wait for what is still drawn: before the book closes."""
        self._pause.stop()
        self.loads.stop()

    def _again(self) -> None:
        if self._ask is not None and self.isVisible():
            self._pause.start()

    def _draw(self) -> None:
        if self._ask is None:
            return
        ratio = self.devicePixelRatioF()
        room = self.picture.size()
        ask = self._ask(look_of(self._theme), (room.width() / DPI, room.height() / DPI))

        def read(_beside: Book) -> PageDrawn:
            return draw_page(ask, dpi=DPI * ratio)

        self.loads.ask(read, self._on_drawn, self._on_failed)

    def _on_drawn(self, page: PageDrawn) -> None:
        self.page = page
        picture = QPixmap()
        if page.png:
            picture.loadFromData(page.png)
            picture.setDevicePixelRatio(self.devicePixelRatioF())
        self.picture.show_picture(picture)
        words = "\n".join(page.told)
        self.told.setText(words)
        self.picture.setAccessibleName("Closer look")
        self.picture.setAccessibleDescription(words)
        self.drawn.emit(page)

    def _on_failed(self, why: str) -> None:
        self.failed.emit(why)
