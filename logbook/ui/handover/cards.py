"""The parts of a handover as cards, in their fixed order."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, Qt, QTimer
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from logbook.assess.limits import Judgement
from logbook.ui.handover.parts import Line, Part
from logbook.ui.marks import draw_judgement
from logbook.ui.theme import Theme, font

LEAST_WHEN = 44
LOUD_TAGS = frozenset({"OPEN", "EXPIRED", "OVERDUE", "DOWN"})
MARK_WIDTH = 18
LEAST_WIDTH = 200
"""Without it a scroll area reckons with words wrapped into the narrowest column there is."""
SCROLL_STEP = 60
AT_A_TIME = 8
"""Lines that are made together: a few milliseconds."""


class LineMark(QWidget):
    """The mark of a judgement at the head of a line."""

    def __init__(self, judgement: Judgement, theme: Theme) -> None:
        """A mark in the palette of `theme`."""
        super().__init__()
        self._judgement = judgement
        self._theme = theme
        self.setFixedSize(MARK_WIDTH, 18)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the mark."""
        painter = QPainter(self)
        draw_judgement(painter, QRectF(0, 1, 15, 16), self._judgement, self._theme)
        painter.end()


class PartCard(QFrame):
    """One part: heading, how many, and its lines, which are made bit by bit."""

    def __init__(self, part: Part, theme: Theme) -> None:
        """The card of a part, its lines still to be made (`build`)."""
        super().__init__()
        self.part, self._theme, self._made = part, theme, 0
        self.setProperty("role", "loud" if part.is_loud else "part")
        self.setAccessibleName(f"{part.title}: {len(part.lines) or part.nothing}")
        head = QHBoxLayout()
        head.setSpacing(8)
        if part.number:
            head.addWidget(_label(str(part.number), "small", role="muted", wraps=False))
        head.addWidget(_label(part.title, "title", strong=True, wraps=False))
        if part.lines:
            head.addWidget(_label(str(len(part.lines)), "body", role="muted", wraps=False))
        head.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 8, 14, 10)
        layout.setSpacing(6)
        layout.addLayout(head)
        self._grid = QGridLayout()
        if part.lines:
            layout.addLayout(self._grid)
            self._measure(part.lines)
        else:
            layout.addWidget(_label(part.nothing, "body", role="muted"))

    @property
    def left(self) -> int:
        """How many lines are still to be made."""
        return len(self.part.lines) - self._made

    def build(self, most: int) -> int:
        """Make so many more lines; gives back how many it were."""
        first, last = self._made, min(self._made + most, len(self.part.lines))
        for row in range(first, last):
            self._add(row, self.part.lines[row])
        self._made = last
        return last - first

    def _measure(self, lines: Sequence[Line]) -> None:
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(5)
        metrics = QFontMetrics(font("small"))
        widths = (metrics.horizontalAdvance(x.when) + 4 for x in lines if x.when)
        self._when_width = max((LEAST_WHEN, *widths)) if any(x.when for x in lines) else 0
        self._has_marks = any(line.judgement.is_judged for line in lines)
        self._grid.setColumnStretch(2, 2 if any(x.head for x in lines) else 0)
        self._grid.setColumnStretch(3, 3)

    def _add(self, row: int, line: Line) -> None:
        grid, top = self._grid, Qt.AlignmentFlag.AlignTop
        if self._when_width:
            when = _label(line.when, "small", role="muted", wraps=False)
            when.setFixedWidth(self._when_width)
            grid.addWidget(when, row, 0, top)
        if self._has_marks:
            grid.addWidget(LineMark(line.judgement, self._theme), row, 1, top)
        if line.head:
            grid.addWidget(_label(line.head, "body", medium=True), row, 2, top)
            grid.addLayout(_told(line), row, 3)
        else:
            grid.addLayout(_told(line), row, 2, 1, 2)


def _told(line: Line) -> QVBoxLayout:
    """The loud word, what is to be said, and what belongs to it."""
    box = QVBoxLayout()
    box.setSpacing(1)
    if line.tag:
        loud = "alarm" if line.tag in LOUD_TAGS else "strong"
        box.addWidget(_label(line.tag, "small", role=loud, wraps=False))
    if line.text:
        box.addWidget(_label(line.text, "body"))
    if line.details:
        box.addWidget(_label("\n".join(line.details), "body", role="muted"))
    box.addStretch(1)
    return box


class PartList(QScrollArea):
    """All cards; arrows and Page keys scroll them.

    New cards are made bit by bit while the window has nothing else to do, and take the place of
    the old ones together when they are whole: nothing flickers, and no key press has to wait.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A list without cards."""
        super().__init__(parent)
        self.theme = theme
        self._parts: tuple[Part, ...] = ()
        self._coming: QWidget | None = None
        self._cards: list[PartCard] = []
        self._idle = QTimer(self)
        self._idle.setInterval(0)
        self._idle.timeout.connect(self._go_on)
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Parts of the handover")
        self.verticalScrollBar().setSingleStep(SCROLL_STEP)

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts now shown."""
        return self._parts

    @property
    def text(self) -> str:
        """All that the cards say, for tests and for reading aloud."""
        lines: list[str] = []
        for part in self._parts:
            lines += [part.title, *(_words(line) for line in part.lines)]
            lines += [] if part.lines else [part.nothing]
        return "\n".join(lines)

    @property
    def is_whole(self) -> bool:
        """True once all cards are there."""
        return not self._idle.isActive()

    def show_parts(self, parts: Sequence[Part]) -> None:
        """Show these parts; how far it was scrolled stays."""
        if tuple(parts) != self._parts:
            self._parts = tuple(parts)
            self._begin()

    def _begin(self) -> None:
        if self._coming is not None:
            self._coming.deleteLater()
        body = self._coming = QWidget(self)
        body.hide()
        layout = QVBoxLayout(body)
        layout.setContentsMargins(12, 10, 12, 12)
        layout.setSpacing(8)
        self._cards = [PartCard(part, self.theme) for part in self._parts]
        for card in self._cards:
            layout.addWidget(card)
        layout.addStretch(1)
        self._idle.start()

    def _go_on(self) -> None:
        """Make some more lines; once all are made, show them."""
        most = AT_A_TIME
        for card in self._cards:
            if most > 0 and card.left:
                most -= card.build(most)
        if any(card.left for card in self._cards) or self._coming is None:
            return
        self._idle.stop()
        at = self.verticalScrollBar().value()
        body, self._coming = self._coming, None
        self.setWidget(body)  # the one before is deleted with it
        body.show()
        self.verticalScrollBar().setValue(at)

    def set_theme(self, theme: Theme) -> None:
        """Show the same in another palette."""
        self.theme = theme
        self._begin()


def _words(line: Line) -> str:
    return " ".join([line.when, line.tag, line.head, line.text, *line.details]).strip()


def _label(
    text: str,
    size: str,
    *,
    role: str = "",
    strong: bool = False,
    medium: bool = False,
    wraps: bool = True,
) -> QLabel:
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setFont(font(size, strong=strong, medium=medium))
    label.setProperty("role", role)
    if wraps:
        label.setWordWrap(True)
        label.setMinimumWidth(LEAST_WIDTH)
        label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
    return label
