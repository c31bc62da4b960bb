"""The parts of a handover as cards, in their fixed order."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, Qt
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
    """One part: heading, how many, and its lines."""

    def __init__(self, part: Part, theme: Theme) -> None:
        """The card of a part."""
        super().__init__()
        self.part = part
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
        if part.lines:
            layout.addLayout(self._lines(part.lines, theme))
        else:
            layout.addWidget(_label(part.nothing, "body", role="muted"))

    def _lines(self, lines: Sequence[Line], theme: Theme) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(5)
        top = Qt.AlignmentFlag.AlignTop
        has_times, has_heads = any(x.when for x in lines), any(x.head for x in lines)
        metrics = QFontMetrics(font("small"))
        width = max(LEAST_WHEN, *(metrics.horizontalAdvance(x.when) + 4 for x in lines))
        has_marks = any(line.judgement.is_judged for line in lines)
        for row, line in enumerate(lines):
            if has_times:
                when = _label(line.when, "small", role="muted", wraps=False)
                when.setFixedWidth(width)
                grid.addWidget(when, row, 0, top)
            if has_marks:
                grid.addWidget(LineMark(line.judgement, theme), row, 1, top)
            if line.head:
                grid.addWidget(_label(line.head, "body", medium=True), row, 2, top)
                grid.addLayout(_told(line), row, 3)
            else:
                grid.addLayout(_told(line), row, 2, 1, 2)
        grid.setColumnStretch(2, 2 if has_heads else 0)
        grid.setColumnStretch(3, 3)
        return grid


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
    """All cards; arrows and Page keys scroll them."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A list without cards."""
        super().__init__(parent)
        self.theme = theme
        self._parts: tuple[Part, ...] = ()
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

    def show_parts(self, parts: Sequence[Part]) -> None:
        """Show these parts; how far it was scrolled stays."""
        at = self.verticalScrollBar().value()
        self._parts = tuple(parts)
        body = QWidget()
        layout = QVBoxLayout(body)
        layout.setContentsMargins(12, 10, 12, 12)
        layout.setSpacing(8)
        for part in self._parts:
            layout.addWidget(PartCard(part, self.theme))
        layout.addStretch(1)
        self.setWidget(body)  # the one before is deleted with it
        self.verticalScrollBar().setValue(at)

    def set_theme(self, theme: Theme) -> None:
        """Show the same in another palette."""
        self.theme = theme
        self.show_parts(self._parts)


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
