"""The legend of the grid: every mark with its word."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from logbook.assess.limits import Direction, Judgement, Severity
from logbook.shift.review_cells import Cell, CellState, Mark
from logbook.ui.review.grid_paint import draw_mark, draw_state
from logbook.ui.review.rows import GridCell
from logbook.ui.review.state_marks import draw_asked
from logbook.ui.theme import Theme, font

HEIGHT = 26
GAP = 16

WARNING = GridCell(Cell(CellState.WARNING, judgement=Judgement(Severity.WARNING, Direction.HIGH)))
ACTION = GridCell(Cell(CellState.ACTION, judgement=Judgement(Severity.ACTION, Direction.HIGH)))
ASKED = "question open"
ENTRIES: tuple[tuple[GridCell | Mark | str, str], ...] = (
    (ACTION, "action"),
    (WARNING, "warning"),
    (GridCell(Cell(CellState.MISSING)), "missing"),
    (GridCell(Cell(CellState.EXPLAINED)), "not taken, with reason"),
    (Mark.DOUBTFUL, "doubtful"),
    (Mark.CORRECTED, "corrected"),
    (Mark.LATE, "late"),
    (ASKED, "question open"),
    (GridCell(Cell(CellState.NOT_DUE), is_down=True), "down or silent"),
    (GridCell(Cell(CellState.NOT_DUE)), "not due"),
    (GridCell(Cell(CellState.AWAITED)), "still in time"),
)


class Legend(QWidget):
    """Painted by the same functions as the grid, so that it cannot tell otherwise."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """The legend in the palette of `theme`."""
        super().__init__(parent)
        self.theme = theme
        self.setFixedHeight(HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        words = ", ".join(word for _, word in ENTRIES)
        self.setAccessibleName(f"Marks in the grid: {words}")
        self._counts: Mapping[str, int] = {}

    def show_counts(self, counts: Mapping[str, int]) -> None:
        """Show beside each word how many cells of the shift bear the mark."""
        self._counts = counts
        self.update()

    def sizeHint(self) -> QSize:
        """As wide as all marks and words."""
        metrics = QFontMetrics(font("small"))
        width = sum(metrics.horizontalAdvance(word) + 18 + GAP for _, word in ENTRIES)
        return QSize(width + 12, HEIGHT)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint marks and words in a row."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.theme.colour("surface"))
        painter.setFont(font("small"))
        metrics = painter.fontMetrics()
        left = 12.0
        for entry, word in ENTRIES:
            box = QRectF(left, 0, 14, self.height())
            if isinstance(entry, GridCell):
                draw_state(painter, box, entry, self.theme)
            elif isinstance(entry, Mark):
                draw_mark(painter, box, entry, self.theme)
            else:
                draw_asked(painter, box, self.theme)
            count = self._counts.get(word, 0)
            told = f"{count} {word}" if count else word
            painter.setPen(self.theme.colour("text" if count else "muted"))
            width = metrics.horizontalAdvance(told)
            place = QRectF(left + 18, 0, width + 2, self.height())
            painter.drawText(place, Qt.AlignmentFlag.AlignVCenter, told)
            left += 18 + width + GAP
        painter.end()
