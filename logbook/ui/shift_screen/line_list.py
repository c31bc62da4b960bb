"""A list of matters in sections: when, what, and below it who and where."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from logbook.shift.open_lines import Line, Section
from logbook.ui.theme import Theme, font

Index = QModelIndex | QPersistentModelIndex
LINE = Qt.ItemDataRole.UserRole + 1
GAP = 16
"""Between the times and the texts."""
MARGIN = 12
LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
MOST_LINES = 3
"""A text is shown up to so many lines; the whole of it when it is opened."""


class LineModel(QAbstractListModel):
    """Headings (texts) and lines, one after the other."""

    def __init__(self, parent: QWidget) -> None:
        """An empty list."""
        super().__init__(parent)
        self._rows: list[str | Line] = []

    def show_sections(self, sections: Sequence[Section]) -> None:
        """Show these; a section without heading has none."""
        self.beginResetModel()
        self._rows = []
        for section in sections:
            if section.heading:
                count = f"  {len(section.lines)}" if section.lines else ""
                self._rows.append(f"{section.heading}{count}")
            self._rows += section.lines or [Line("", section.none, "")]
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        """Headings and lines."""
        return len(self._rows)

    def row(self, number: int) -> str | Line:
        """A heading, or a line."""
        return self._rows[number]

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """The row itself for the painter; words for a reader of the screen."""
        row = self._rows[index.row()]
        if role == LINE:
            return row
        if role in {Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole}:
            if isinstance(row, str):
                return row
            return " ".join(part for part in (row.when, row.mark, row.title, row.detail) if part)
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Only what can be opened can be chosen."""
        row = self._rows[index.row()]
        if isinstance(row, str) or row.source is None:
            return Qt.ItemFlag.NoItemFlags
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable


class LineDelegate(QStyledItemDelegate):
    """Paints headings and lines."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        """Paints in `theme`."""
        super().__init__(parent)
        self.theme = theme
        self.width = 400
        self.when = 60
        """Width of the times, with the gap after them."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """A heading is low; a line as high as its text."""
        row = index.data(LINE)
        if isinstance(row, str):
            return QSize(0, 30)
        if row.source is None:
            return QSize(0, 24)
        return QSize(0, self._title_height(row) + (18 if row.detail else 0) + 9)

    def _title_height(self, line: Line) -> int:
        metrics = QFontMetrics(font())
        room = QRect(0, 0, self._room(line), 1000)
        height = metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, line.title).height()
        return min(height, metrics.lineSpacing() * MOST_LINES)

    def _room(self, line: Line) -> int:
        mark = QFontMetrics(font("small", strong=True)).horizontalAdvance(line.mark)
        return max(80, self.width - self.when - 2 * MARGIN - (mark + 20 if mark else 0))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint one row."""
        row, box = index.data(LINE), QRect(option.rect)
        painter.save()
        if isinstance(row, str):
            self._heading(painter, box, row)
        else:
            if option.state & QStyle.StateFlag.State_Selected:
                painter.fillRect(box, self.theme.colour("selected"))
            if option.state & QStyle.StateFlag.State_HasFocus:
                painter.setPen(QPen(self.theme.colour("focus"), 2))
                painter.drawRect(box.adjusted(1, 1, -2, -2))
            self._line(painter, box, row)
        painter.restore()

    def _heading(self, painter: QPainter, box: QRect, text: str) -> None:
        painter.setFont(font("body", strong=True))
        painter.setPen(self.theme.colour("text"))
        painter.drawText(box.adjusted(MARGIN, 6, -MARGIN, 0), LEFT, text)

    def _line(self, painter: QPainter, box: QRect, line: Line) -> None:
        theme = self.theme
        painter.setFont(font())
        painter.setPen(theme.colour("muted"))
        if line.source is None:
            painter.drawText(box.adjusted(MARGIN, 0, 0, 0), LEFT, line.title)
            return
        top = QRect(box.left() + MARGIN, box.top() + 4, self.when, 18)
        painter.drawText(top, LEFT, line.when)
        left = box.left() + MARGIN + self.when
        title = QRect(left, box.top() + 4, self._room(line), self._title_height(line))
        painter.setPen(theme.colour("text"))
        painter.drawText(title, Qt.TextFlag.TextWordWrap, line.title)
        if line.mark:
            self._mark(painter, box, line.mark)
        if line.detail:
            painter.setFont(font("small"))
            painter.setPen(theme.colour("muted"))
            room = QRect(left, title.bottom() + 1, box.right() - left - MARGIN, 17)
            metrics = QFontMetrics(painter.font())
            text = metrics.elidedText(line.detail, Qt.TextElideMode.ElideRight, room.width())
            painter.drawText(room, LEFT, text)
        painter.setPen(QPen(theme.colour("hairline"), 1))
        painter.drawLine(box.left() + MARGIN, box.bottom(), box.right() - MARGIN, box.bottom())

    def _mark(self, painter: QPainter, box: QRect, word: str) -> None:
        """A word in a frame: what makes this line stand out."""
        painter.setFont(font("small", strong=True))
        width = QFontMetrics(painter.font()).horizontalAdvance(word) + 12
        frame = QRect(box.right() - MARGIN - width, box.top() + 5, width, 17)
        painter.setPen(QPen(self.theme.colour("warning_edge"), 1))
        painter.setBrush(self.theme.colour("warning_wash"))
        painter.drawRoundedRect(frame, 3, 3)
        painter.setPen(self.theme.colour("warning_text"))
        painter.drawText(frame, Qt.AlignmentFlag.AlignCenter, word)


class LineList(QListView):
    """Up and Down choose a line, Enter or a click opens it."""

    opened = Signal(object)
    """The source of the line that was opened."""

    def __init__(self, theme: Theme, name: str, parent: QWidget | None = None) -> None:
        """An empty list called `name`."""
        super().__init__(parent)
        self._model = LineModel(self)
        self._painter = LineDelegate(theme, self)
        self.setModel(self._model)
        self.setItemDelegate(self._painter)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAccessibleName(name)
        self.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.clicked.connect(self._open)

    def show_sections(self, sections: Sequence[Section]) -> None:
        """Show these lines; the place in the list is kept as far as it is still there."""
        row, scrolled = self.currentIndex().row(), self.verticalScrollBar().value()
        self._model.show_sections(sections)
        metrics = QFontMetrics(font())
        times = (line.when for section in sections for line in section.lines)
        self._painter.when = max(map(metrics.horizontalAdvance, times), default=0) + GAP
        self.doItemsLayout()
        self.verticalScrollBar().setValue(scrolled)
        if 0 <= row < self._model.rowCount():
            self.setCurrentIndex(self._model.index(row))

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._painter.theme = theme
        self.viewport().update()

    def line_texts(self) -> list[str]:
        """Every row as a reader of the screen hears it."""
        rows = range(self._model.rowCount())
        return [str(self._model.index(row).data()) for row in rows]

    def choose(self, source: object) -> bool:
        """Choose the line of a source; False where it is not here."""
        for number in range(self._model.rowCount()):
            row = self._model.row(number)
            if isinstance(row, Line) and row.source is not None and row.source == source:
                self.setCurrentIndex(self._model.index(number))
                return True
        return False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Long texts wrap anew."""
        self._painter.width = self.viewport().width()
        self.scheduleDelayedItemsLayout()
        super().resizeEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the line."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space}:
            self._open(self.currentIndex())
        else:
            super().keyPressEvent(event)

    def _open(self, index: Index) -> None:
        row = self._model.row(index.row()) if index.isValid() else None
        if isinstance(row, Line) and row.source is not None:
            self.opened.emit(row.source)
