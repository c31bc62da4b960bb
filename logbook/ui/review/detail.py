"""The reading pane: one reading with its limits, its history, what was done, and its trend."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from logbook.assess.limits import NOT_JUDGED, Judgement, Severity
from logbook.shift.trends import Trend
from logbook.ui.marks import draw_judgement
from logbook.ui.spark import draw_spark
from logbook.ui.theme import Theme, font

PANE_WIDTH = 372
TREND_HEIGHT = 96
TEXT_WIDTH = PANE_WIDTH - 48


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingShown:
    """What the pane says, in words; empty parts are not shown."""

    title: str = ""
    where: str = ""
    value: str = ""
    judgement: Judgement = NOT_JUDGED
    verdict: str = ""
    written: str = ""
    limits: str = ""
    means: str = ""
    remarks: tuple[str, ...] = ()
    history: tuple[str, ...] = ()
    responses: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    trend: Trend | None = None
    trend_words: str = ""
    may_ask: bool = False


NOTHING_SHOWN = ReadingShown(title="No reading chosen", where="Move through the grid with arrows.")


class TrendView(QWidget):
    """A point's recent days with the limits then in force."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A view without a trend."""
        super().__init__(parent)
        self.theme = theme
        self._trend: Trend | None = None
        self.setFixedHeight(TREND_HEIGHT)

    def show_trend(self, trend: Trend | None) -> None:
        """Show a trend; hidden where there is none."""
        self._trend = trend
        self.setVisible(trend is not None)
        self.update()

    def sizeHint(self) -> QSize:
        """As high as it stays."""
        return QSize(PANE_WIDTH - 32, TREND_HEIGHT)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint band, trace and what is out of limits."""
        if self._trend is None:
            return
        painter = QPainter(self)
        box = QRectF(self.rect()).adjusted(0, 2, 0, -2)
        painter.fillRect(box, self.theme.colour("raised"))
        draw_spark(painter, box.adjusted(4, 4, -4, -4), self._trend, self.theme)
        painter.end()


class VerdictMark(QWidget):
    """The mark of a judgement beside its words."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A mark of nothing."""
        super().__init__(parent)
        self.theme = theme
        self._judgement = NOT_JUDGED
        self.setFixedSize(18, 18)

    def show_judgement(self, judgement: Judgement) -> None:
        """Show this judgement; nothing within limits."""
        self._judgement = judgement
        is_out = judgement.is_judged and judgement.severity is not Severity.NONE
        self.setVisible(is_out)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the mark."""
        painter = QPainter(self)
        draw_judgement(painter, QRectF(self.rect()), self._judgement, self.theme)
        painter.end()


class DetailPane(QFrame):
    """Shows one reading and takes a question about it."""

    asked = Signal(str)
    """A question to the crew was typed and sent."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A pane without a reading."""
        super().__init__(parent)
        self.setProperty("role", "pane")
        self.setFixedWidth(PANE_WIDTH)
        self._title, self._where = _label("title", strong=True), _label("small", role="muted")
        self._value, self._verdict = _label("large", strong=True), _label("body")
        self._value.setWordWrap(False)
        for label in (self._value, self._verdict):
            label.setMinimumWidth(10)
        self._mark = VerdictMark(theme)
        self._trend = TrendView(theme)
        self._trend_words = _label("small", role="muted")
        self._parts = {
            name: _Part(name)
            for name in ("Limits in force", "Means", "Remarks", "History", "Done about it", "Asked")
        }
        self._written = _label("small", role="muted")
        self.question = QLineEdit()
        self.question.setPlaceholderText("Question to the crew")
        self.question.setAccessibleName("Question to the crew about this reading")
        self.ask = QPushButton("Ask")
        self.ask.setToolTip("Write the question as an open item for the crew (Enter)")
        self.question.returnPressed.connect(self._on_ask)
        self.ask.clicked.connect(self._on_ask)
        self._lay_out()
        self.show_reading(NOTHING_SHOWN)

    def show_reading(self, shown: ReadingShown) -> None:
        """Show a reading."""
        self._title.setText(shown.title)
        self._where.setText(shown.where)
        self._value.setText(shown.value)
        self._value.setVisible(bool(shown.value))
        self._verdict.setText(shown.verdict)
        self._mark.show_judgement(shown.judgement)
        self._written.setText(shown.written)
        self._written.setVisible(bool(shown.written))
        self._trend.show_trend(shown.trend)
        self._trend_words.setText(shown.trend_words)
        self._trend_words.setVisible(shown.trend is not None)
        told: dict[str, Sequence[str]] = {
            "Limits in force": shown.limits.split(" · ") if shown.limits else (),
            "Means": (shown.means,) if shown.means else (),
            "Remarks": shown.remarks,
            "History": shown.history,
            "Done about it": shown.responses,
            "Asked": shown.questions,
        }
        for name, part in self._parts.items():
            part.show_lines(told[name])
        self.question.clear()
        for field in (self.question, self.ask):
            field.setEnabled(shown.may_ask)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._trend.theme = self._mark.theme = theme
        self.update()

    @property
    def text(self) -> str:
        """All that is shown, for tests and for reading aloud."""
        labels = [self._title, self._where, self._value, self._verdict, self._written]
        lines = [label.text() for label in labels]
        return "\n".join([*lines, *(part.text for part in self._parts.values())])

    def _on_ask(self) -> None:
        self.asked.emit(self.question.text().strip())

    def _lay_out(self) -> None:
        body = QWidget()
        inner = QVBoxLayout(body)
        inner.setContentsMargins(16, 12, 16, 12)
        inner.setSpacing(6)
        verdict = QHBoxLayout()
        verdict.setSpacing(8)
        verdict.addWidget(self._value)
        verdict.addWidget(self._mark)
        verdict.addWidget(self._verdict, 1)
        for widget in (self._title, self._where):
            inner.addWidget(widget)
        inner.addLayout(verdict)
        inner.addWidget(self._written)
        inner.addWidget(self._trend)
        inner.addWidget(self._trend_words)
        for part in self._parts.values():
            inner.addWidget(part)
        inner.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setWidget(body)
        asking = QHBoxLayout()
        asking.setContentsMargins(16, 8, 16, 10)
        asking.addWidget(self.question, 1)
        asking.addWidget(self.ask)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(scroll, 1)
        layout.addLayout(asking)


class _Part(QWidget):
    """A heading and its lines; hidden without lines."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self._lines = _label("body")
        head = _label("small", role="muted", strong=True)
        head.setText(name)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.setSpacing(1)
        layout.addWidget(head)
        layout.addWidget(self._lines)

    def show_lines(self, lines: Sequence[str]) -> None:
        """Show these lines."""
        self._lines.setText("\n".join(lines))
        self.setVisible(bool(lines))

    @property
    def text(self) -> str:
        """The lines now shown."""
        return self._lines.text()


def _label(size: str, *, role: str = "", strong: bool = False) -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setFont(font(size, strong=strong))
    # Without it a scroll area reckons with words wrapped into the narrowest column there is.
    label.setMinimumWidth(TEXT_WIDTH)
    label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
    if role:
        label.setProperty("role", role)
    return label
