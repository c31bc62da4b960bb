"""The rounds of this shift and the one before as a strip: which is due, done, partly done, missed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from PySide6.QtCore import QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from logbook.shift.round_book import RoundState, RoundStatus
from logbook.ui.marks import draw_clock, draw_missing, draw_tick
from logbook.ui.theme import Theme, font

CHIP = 76
HEIGHT = 44


class Step(StrEnum):
    """Which way the keyboard moves along the strip."""

    EARLIER = "earlier"
    LATER = "later"


@dataclass(frozen=True, slots=True)
class Chip:
    """One round on the strip."""

    status: RoundStatus
    label: str
    day: str


class RoundStrip(QWidget):
    """Chips to choose the round from; Left and Right move when it has the focus."""

    chosen = Signal(int)
    """Index of the chip that was chosen."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """An empty strip."""
        super().__init__(parent)
        self._theme = theme
        self._chips: tuple[Chip, ...] = ()
        self._current = -1
        self.setFixedHeight(HEIGHT)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Rounds")

    def show_chips(self, chips: tuple[Chip, ...], current: int) -> None:
        """Show these rounds; `current` is the one being written, -1 for none of them."""
        self._chips, self._current = chips, current
        self.updateGeometry()
        self.setAccessibleDescription(self._spoken())
        self.update()

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._theme = theme
        self.update()

    def sizeHint(self) -> QSize:
        """As wide as its chips."""
        return QSize(max(CHIP, CHIP * len(self._chips)), HEIGHT)

    def minimumSizeHint(self) -> QSize:
        """Chips are clipped at the left, where the oldest are."""
        return QSize(CHIP * min(6, max(1, len(self._chips))), HEIGHT)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the chips, the newest at the right."""
        painter = QPainter(self)
        for index, chip in enumerate(self._chips):
            self._chip(painter, self._box(index), chip, index == self._current)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A click chooses a round."""
        for index in range(len(self._chips)):
            if self._box(index).contains(event.position().toPoint()):
                self.chosen.emit(index)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Left and Right choose the round before and after."""
        steps = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        step = steps.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
        else:
            self.step(step)

    def step(self, by: int) -> None:
        """Choose the round `by` places further, where there is one."""
        target = self._current + by if self._current >= 0 else len(self._chips) - 1
        if 0 <= target < len(self._chips):
            self.chosen.emit(target)

    def _box(self, index: int) -> QRect:
        shift = min(0, self.width() - CHIP * len(self._chips))
        return QRect(shift + CHIP * index, 2, CHIP - 4, HEIGHT - 4)

    def _chip(self, painter: QPainter, box: QRect, chip: Chip, is_current: bool) -> None:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        edge = "focus" if is_current else "hairline"
        painter.setPen(QPen(self._theme.colour(edge), 2 if is_current else 1))
        painter.setBrush(self._theme.colour("selected" if is_current else "raised"))
        painter.drawRoundedRect(QRectF(box).adjusted(1, 1, -1, -1), 4, 4)
        painter.setPen(self._theme.colour("text"))
        painter.setFont(font("body", medium=True))
        top = QRect(box.left() + 8, box.top() + 3, box.width() - 26, 19)
        painter.drawText(top, Qt.AlignmentFlag.AlignVCenter, chip.label)
        painter.setFont(font("small"))
        painter.setPen(self._theme.colour("muted"))
        low = QRect(box.left() + 8, box.top() + 20, box.width() - 12, 17)
        painter.drawText(low, Qt.AlignmentFlag.AlignVCenter, state_word(chip.status))
        self._mark(painter, QRectF(box.right() - 20, box.top() + 5, 15, 15), chip.status.state)

    def _mark(self, painter: QPainter, box: QRectF, state: RoundState) -> None:
        if state is RoundState.DONE:
            draw_tick(painter, box, self._theme)
        elif state is RoundState.MISSED:
            draw_missing(painter, box, self._theme)
        elif state in {RoundState.PARTLY, RoundState.LATE}:
            draw_clock(painter, box, self._theme)

    def _spoken(self) -> str:
        if not 0 <= self._current < len(self._chips):
            return "a time outside the rounds"
        chip = self._chips[self._current]
        return f"round {chip.label}, {state_word(chip.status)}"


def state_word(status: RoundStatus) -> str:
    """A round's state in a word or two."""
    words = {
        RoundState.DONE: "done",
        RoundState.PARTLY: f"{status.done}/{status.due}",
        RoundState.DUE: "due now",
        RoundState.LATE: "late",
        RoundState.MISSED: "not taken",
    }
    return words[status.state]
