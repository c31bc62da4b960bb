"""The areas down the left: how far the round is in each, and what is wrong in it."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QFontMetrics, QPainter
from PySide6.QtWidgets import QListView, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from logbook.assess.limits import Direction, Judgement, Severity
from logbook.shift.round_form import AreaProgress
from logbook.ui.marks import draw_judgement, draw_tick
from logbook.ui.theme import Theme, font

ROW_HEIGHT = 38
PROGRESS_ROLE = Qt.ItemDataRole.UserRole + 1
Index = QModelIndex | QPersistentModelIndex


@dataclass(frozen=True, slots=True)
class AreaLine:
    """One area as listed."""

    key: str
    name: str
    progress: AreaProgress


class AreaModel(QAbstractListModel):
    """The areas with their progress; rows are replaced, never edited."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """An empty list."""
        super().__init__(parent)
        self._lines: tuple[AreaLine, ...] = ()

    def show_lines(self, lines: tuple[AreaLine, ...]) -> None:
        """Show these areas; where only progress differs the selection stays."""
        if [line.key for line in lines] != [line.key for line in self._lines]:
            self.beginResetModel()
            self._lines = lines
            self.endResetModel()
            return
        before, self._lines = self._lines, lines
        for row, (old, new) in enumerate(zip(before, lines, strict=True)):
            if old != new:
                index = self.index(row, 0)
                self.dataChanged.emit(index, index)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        """Number of areas; none below an area."""
        return 0 if parent.isValid() else len(self._lines)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Name, spoken summary or the `AreaLine`."""
        if not index.isValid() or index.row() >= len(self._lines):
            return None
        line = self._lines[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return line.name
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return f"{line.name}: {progress_words(line.progress)}"
        if role == PROGRESS_ROLE:
            return line
        return None

    def row_of(self, key: str) -> int:
        """Row of an area, -1 where it is not listed."""
        return next((row for row, line in enumerate(self._lines) if line.key == key), -1)

    def key_at(self, row: int) -> str:
        """Area key of a row; empty outside."""
        return self._lines[row].key if 0 <= row < len(self._lines) else ""


def progress_words(progress: AreaProgress) -> str:
    """An area's state in words."""
    if progress.down:
        return progress.down
    parts = [f"{progress.done} of {progress.due} done"]
    counts = (
        (progress.actions, "action" if progress.actions == 1 else "actions"),
        (progress.warnings, "warning" if progress.warnings == 1 else "warnings"),
        (progress.missing, "not taken"),
        (progress.unsettled, "unsettled"),
        (progress.unanswered, "without response"),
    )
    parts += [f"{count} {word}" for count, word in counts if count]
    return ", ".join(parts)


class AreaDelegate(QStyledItemDelegate):
    """Paints an area: name, progress bar, marks with counts."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A delegate in the palette of `theme`."""
        super().__init__(parent)
        self.theme = theme

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """All rows are alike."""
        return QSize(200, ROW_HEIGHT)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint one area."""
        line = index.data(PROGRESS_ROLE)
        assert isinstance(line, AreaLine)
        box: QRect = option.rect
        painter.save()
        # The style's state flags say so too, but making them costs 9 ms at the start.
        view = self.parent()
        is_current = isinstance(view, QListView) and view.currentIndex() == index
        if is_current:
            painter.fillRect(box, self.theme.colour("selected"))
            painter.fillRect(
                QRect(box.left(), box.top(), 4, box.height()), self.theme.colour("focus")
            )
        self._name(painter, box, line, is_current)
        self._state(painter, box, line.progress)
        self._bar(painter, box, line.progress)
        painter.restore()

    def _name(self, painter: QPainter, box: QRect, line: AreaLine, is_current: bool) -> None:
        face = font("body", medium=is_current)
        painter.setFont(face)
        muted = bool(line.progress.down)
        painter.setPen(self.theme.colour("muted" if muted else "text"))
        room = QRect(box.left() + 14, box.top() + 3, box.width() - 92, 20)
        text = QFontMetrics(face).elidedText(line.name, Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, text)

    def _state(self, painter: QPainter, box: QRect, progress: AreaProgress) -> None:
        right = box.right() - 10
        painter.setFont(font("small"))
        painter.setPen(self.theme.colour("muted"))
        if progress.down:
            self._right_text(painter, box, right, "down")
            return
        if progress.is_complete and progress.due:
            draw_tick(painter, QRectF(right - 14, box.top() + 7, 14, 14), self.theme)
        else:
            told = f"{progress.done}/{progress.due}" if progress.due else "–"
            self._right_text(painter, box, right, told)
        right -= 36
        for count, severity in (
            (progress.actions, Severity.ACTION),
            (progress.warnings, Severity.WARNING),
        ):
            if count:
                right = self._count(painter, box, right, count, severity)

    def _right_text(self, painter: QPainter, box: QRect, right: int, text: str) -> None:
        align = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(QRect(right - 60, box.top() + 4, 60, 20), align, text)

    def _count(
        self, painter: QPainter, box: QRect, right: int, count: int, severity: Severity
    ) -> int:
        mark = QRectF(right - 12, box.top() + 8, 12, 12)
        draw_judgement(painter, mark, Judgement(severity, Direction.NONE), self.theme)
        left = right - 14
        if count > 1:
            text = str(count)
            width = painter.fontMetrics().horizontalAdvance(text)
            painter.setPen(self.theme.colour("text"))
            align = Qt.AlignmentFlag.AlignVCenter
            painter.drawText(QRect(left - width - 1, box.top() + 4, width + 2, 20), align, text)
            left -= width + 3
        return left - 4

    def _bar(self, painter: QPainter, box: QRect, progress: AreaProgress) -> None:
        track = QRect(box.left() + 14, box.bottom() - 9, box.width() - 24, 4)
        painter.fillRect(track, self.theme.colour("hairline"))
        if progress.due and not progress.down:
            part = QRect(track)
            part.setWidth(round(track.width() * min(1.0, progress.done / progress.due)))
            painter.fillRect(part, self.theme.colour("done" if progress.is_complete else "focus"))


class AreaList(QListView):
    """The list widget; the screen connects its selection."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """An empty list of a fixed width."""
        super().__init__(parent)
        self.areas = AreaModel(self)
        self._delegate = AreaDelegate(theme, self)
        self.setModel(self.areas)
        self.setItemDelegate(self._delegate)
        self.setFrameShape(QListView.Shape.NoFrame)
        self.setFixedWidth(264)
        self.setUniformItemSizes(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("Areas of the plant")

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._delegate.theme = theme
        self.viewport().update()

    def choose(self, key: str) -> None:
        """Select an area without being told."""
        row = self.areas.row_of(key)
        if row >= 0:
            self.setCurrentIndex(self.areas.index(row, 0))
