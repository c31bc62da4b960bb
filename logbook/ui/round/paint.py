"""Painting of the form's strips. Nothing here decides anything; it shows what the form holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPen

from logbook.assess.choices import choices_of
from logbook.assess.limits import Severity
from logbook.plant.model import Point, PointKind
from logbook.shift.round_form import Field, RoundForm, describe_reason
from logbook.shift.trends import Trend
from logbook.shift.words import answer_text, judgement_text, meaning_text, number_text, place_name
from logbook.ui.marks import draw_clock, draw_drift, draw_judgement, draw_missing, draw_tick
from logbook.ui.round.geometry import (
    HEAD,
    MARGIN,
    NARROW,
    Block,
    Cell,
    Part,
    row_cell,
    row_head,
)
from logbook.ui.round.sections import Section
from logbook.ui.spark import draw_spark
from logbook.ui.theme import Theme, font

if TYPE_CHECKING:
    from logbook.shift.drift import DriftFound

RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
WORDS_FIELD = 420
"""Pixels of a field for words, where there is room."""


def response_field(box: QRect) -> QRect:
    """Where the line for what was done stands inside a response strip."""
    left = 140
    return QRect(left, box.bottom() - 34, box.width() - left - 24, 28)


@dataclass
class SheetPainter:
    """Paints strips of one area.

    `active` is the field being typed in, `answering` the one whose response line is being
    written; their texts are shown by editors, not painted.
    """

    form: RoundForm
    trends: Mapping[str, Trend]
    theme: Theme
    pads: Mapping[str, int]
    """Pixels right of each number, see `decimal_pads`."""
    own_units: frozenset[str] = frozenset()
    """Fields of a table whose column has several units."""
    active: str = ""
    answering: str = ""
    drifts: Mapping[str, DriftFound] = field(default_factory=dict)
    """Points that drift, the few that are said at once."""

    def draw(self, painter: QPainter, block: Block) -> None:
        """Paint one strip."""
        match block.part:
            case Part.COLUMN_HEAD:
                self._column_head(painter, block)
            case Part.TABLE_HEAD:
                self._table_head(painter, block)
            case Part.ROW:
                self._row(painter, block)
            case Part.TABLE_ROW:
                self._table_row(painter, block)
            case Part.QUESTION:
                self._question(painter, block)
            case Part.RESPONSE:
                self._response(painter, block)

    # -- heads ----------------------------------------------------------------------------

    def _column_head(self, painter: QPainter, block: Block) -> None:
        keys = block.section.grid[0]
        assert keys[0] is not None
        cell = row_cell(keys[0], block.box)
        heads = (
            (cell.name, "Reading", LEFT),
            (cell.last, "Last", RIGHT),
            (cell.entry.adjusted(0, 0, -8, 0), "Now", RIGHT),
            (cell.unit, "Unit", LEFT),
            (cell.change, "Change", RIGHT),
            (cell.spark, "Seven days", LEFT),
            (cell.words.adjusted(-22, 0, 0, 0), "Judgement", LEFT),
        )
        for box, text, align in heads:
            self._text(painter, box, text, align, "muted", font("small", medium=True))
        self._hairline(painter, block.box)

    def _table_head(self, painter: QPainter, block: Block) -> None:
        table = block.section.table
        assert table is not None
        box = block.box
        title = QRect(box.left() + 12, box.top() + 6, box.width() - 24, 26)
        self._text(painter, title, table.name, LEFT, "text", font("body", strong=True))
        for cell, head in self._head_cells(block.section, box):
            self._text(painter, cell, head, LEFT, "muted", font("small", medium=True))
        self._hairline(painter, box)

    def _head_cells(self, section: Section, box: QRect) -> list[tuple[QRect, str]]:
        assert section.table is not None
        start = row_head(section)
        each = (box.width() - start - MARGIN) // section.width
        found = []
        for column, head in enumerate(section.table.columns):
            left = start + each * column + (58 if each >= NARROW else 4)
            cell = QRect(left, box.bottom() - HEAD + 1, each - 12, HEAD)
            unit = self._column_unit(section, column)
            found.append((cell, f"{head.name}  {unit}".rstrip()))
        return found

    def _column_unit(self, section: Section, column: int) -> str:
        units = {
            self._point(key).unit
            for row in section.grid
            if column < len(row) and (key := row[column]) is not None
        }
        return units.pop() if len(units) == 1 else ""

    # -- rows -----------------------------------------------------------------------------

    def _row(self, painter: QPainter, block: Block) -> None:
        cell = block.cells[0]
        shown = self.form.fields[cell.key]
        self._wash(painter, block.box, [cell.key])
        name_colour = "muted" if shown.not_due else "text"
        weight = font("body", medium=cell.key == self.active)
        self._text(painter, cell.name, shown.point.name, LEFT, name_colour, weight, elide=True)
        self._text(painter, cell.unit, shown.point.unit, LEFT, "muted", font("small"))
        self._cell(painter, cell, shown)
        self._words(painter, cell, shown)
        self._hairline(painter, block.box)

    def _table_row(self, painter: QPainter, block: Block) -> None:
        table = block.section.table
        assert table is not None
        keys = [cell.key for cell in block.cells]
        self._wash(painter, block.box, keys)
        head = table.rows[block.row]
        box = QRect(12, block.box.top(), row_head(block.section) - 14, block.box.height())
        strong = font("body", medium=self.active in keys)
        self._text(painter, box, head.name, LEFT, "text", strong, elide=True)
        for cell in block.cells:
            self._cell(painter, cell, self.form.fields[cell.key])
        self._hairline(painter, block.box)

    def _cell(self, painter: QPainter, cell: Cell, shown: Field) -> None:
        pad = self.pads.get(cell.key, 0)
        self._last(painter, cell, shown, pad)
        self._field(painter, cell, shown, pad)
        self._change(painter, cell, shown, pad)
        in_table = cell.words.isEmpty()
        if in_table:
            self._mark(painter, cell, shown)
            self._cell_unit(painter, cell, shown)
        trend = self.trends.get(cell.key)
        if trend is not None and shown.point.kind.is_numeric:
            live = shown.saved.value if shown.saved is not None else shown.entry.value
            draw_spark(
                painter,
                QRectF(cell.spark),
                trend,
                self.theme,
                live=live,
                judgement=shown.judgement,
            )
        drift = self.drifts.get(cell.key)
        if drift is not None and not cell.spark.isEmpty():
            corner = QRectF(cell.spark.right() - 12, cell.spark.top() + 1, 11, 11)
            draw_drift(painter, corner, drift.drift.direction, self.theme)

    def _cell_unit(self, painter: QPainter, cell: Cell, shown: Field) -> None:
        """The unit beside a field of a table whose column has fields of several units."""
        if cell.key in self.own_units and not cell.unit.isEmpty():
            self._text(painter, cell.unit, shown.point.unit, RIGHT, "muted", font("small"))

    def _last(self, painter: QPainter, cell: Cell, shown: Field, pad: int) -> None:
        if cell.last.isEmpty() or shown.last is None or self._hides(shown):
            return
        text = self._answer(shown.point, shown.last.value, shown.last.text)
        box = cell.last.adjusted(0, 0, -pad, 0)
        self._text(painter, box, text, RIGHT, "muted", font("body"), elide=True)

    def _field(self, painter: QPainter, cell: Cell, shown: Field, pad: int) -> None:
        point = shown.point
        text_box = cell.entry.adjusted(8 if cell.is_wide else 4, 0, -8 - pad, 0)
        side = LEFT if cell.is_wide else RIGHT
        if not point.kind.is_typed:
            text = self._answer(point, shown.entry.value, None)
            self._text(painter, text_box, text, RIGHT, "text", font("field", medium=True))
            return
        if shown.saved is not None:
            self._saved(painter, text_box, shown, side)
            return
        if shown.not_due:
            self._text(painter, text_box, "–", side, "muted", font("field"))
            return
        self._field_box(painter, cell.entry, shown)
        if cell.key == self.active and not self.answering:
            return
        self._typed(painter, text_box, shown, side)

    def _field_box(self, painter: QPainter, box: QRect, shown: Field) -> None:
        # A field that may stay empty has a dotted edge: quieter, but to be seen as a field.
        line = Qt.PenStyle.SolidLine if shown.due else Qt.PenStyle.DotLine
        painter.setPen(QPen(self.theme.colour("field_edge"), 1, line))
        painter.setBrush(self.theme.colour("field"))
        painter.drawRoundedRect(QRectF(box).adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)

    def _typed(self, painter: QPainter, box: QRect, shown: Field, side: Qt.AlignmentFlag) -> None:
        entry = shown.entry
        if entry.reason is not None:
            words = describe_reason(entry.reason)
            self._text(painter, box, words, side, "muted", font("small"), elide=True)
            return
        colour = "text" if entry.question is None else "action_text"
        text = entry.typed
        if shown.point.kind in {PointKind.STATE, PointKind.CHECK} and entry.text:
            text = self._answer(shown.point, None, entry.text)
        self._text(painter, box, text, side, colour, font("field", medium=True), elide=True)

    def _saved(self, painter: QPainter, box: QRect, shown: Field, side: Qt.AlignmentFlag) -> None:
        saved = shown.saved
        assert saved is not None
        if saved.reason is not None:
            words = describe_reason(saved.reason)
            self._text(painter, box, words, side, "muted", font("small"), elide=True)
            return
        text = self._answer(shown.point, saved.value, saved.text)
        self._text(painter, box, text, side, "text", font("field", medium=True), elide=True)

    def _change(self, painter: QPainter, cell: Cell, shown: Field, pad: int) -> None:
        if cell.change.width() < 30 or self._hides(shown):
            return
        in_table = cell.words.isEmpty()
        text = self._change_text(shown, says_last=in_table and cell.last.isEmpty())
        box = cell.change if in_table else cell.change.adjusted(0, 0, -pad, 0)
        if cell.key in self.own_units and cell.last.isEmpty():
            box = box.adjusted(0, 0, 8 - cell.unit.width(), 0)
        size = font("small") if in_table else font("body")
        if QFontMetrics(size).horizontalAdvance(text) <= box.width():
            self._text(painter, box, text, LEFT if in_table else RIGHT, "muted", size)

    def _change_text(self, shown: Field, *, says_last: bool) -> str:
        """The change since last time; before anything is typed, the last value where asked.

        Of a corrected reading, what it was before.
        """
        if shown.saved is not None and shown.saved.was:
            return f"was {shown.saved.was}"
        last = shown.last
        if last is None:
            return ""
        value = shown.saved.value if shown.saved else shown.entry.value
        comma = self.form.plant.settings.decimal_comma
        if value is not None and last.value is not None:
            change = value - last.value
            sign = "+" if change > 0 else ""
            return sign + number_text(shown.point, change, decimal_comma=comma)
        if says_last and not shown.is_done:
            return f"was {self._answer(shown.point, last.value, last.text)}"
        return ""

    def _mark(self, painter: QPainter, cell: Cell, shown: Field) -> None:
        box = QRectF(cell.mark)
        if shown.judgement.is_judged and shown.judgement.severity is not Severity.NONE:
            draw_judgement(painter, box, shown.judgement, self.theme)
        elif _reason(shown) is not None:
            draw_missing(painter, box, self.theme)
        elif shown.saved is not None:
            draw_tick(painter, box, self.theme)

    def _words(self, painter: QPainter, cell: Cell, shown: Field) -> None:
        self._mark(painter, cell, shown)
        text, colour = self._judgement_words(shown)
        if shown.saved is not None and shown.saved.corrected:
            text = f"corrected · {text}" if text else "corrected"
        drift = self.drifts.get(cell.key)
        if drift is not None:
            said = _fitting(drift.phrase, cell.words.width())
            text, colour = (f"{text} · {said}" if text else said), _plain(colour)
        strong = shown.judgement.is_judged and shown.judgement.severity is Severity.ACTION
        box = cell.words
        self._text(painter, box, text, LEFT, colour, font("body", medium=strong), elide=True)
        if shown.saved is not None and shown.saved.late:
            draw_clock(painter, QRectF(box.right() - 16, box.top(), 16, box.height()), self.theme)

    def _judgement_words(self, shown: Field) -> tuple[str, str]:
        if shown.not_due:
            return shown.not_due, "muted"
        if _reason(shown) is not None:
            return "no reading", "muted"
        if shown.saved is None and shown.entry.question is not None:
            return "not taken yet", "action_text"
        judgement = shown.judgement
        comma = self.form.plant.settings.decimal_comma
        words = judgement_text(shown.point, shown.limits, judgement, decimal_comma=comma)
        if judgement.is_judged and judgement.severity is Severity.ACTION:
            return words, "action_text"
        if judgement.is_judged and judgement.severity is Severity.WARNING:
            return words, "warning_text"
        if not shown.due and not shown.is_done and shown.point.kind.is_typed:
            return shown.told, "muted"
        return words, "muted"

    # -- strips under a row ---------------------------------------------------------------

    def _question(self, painter: QPainter, block: Block) -> None:
        question = self.form.fields[block.key].entry.question
        if question is None:
            return
        painter.fillRect(block.box, self.theme.colour("action_wash"))
        box = block.box.adjusted(12, 0, -12, 0)
        head = f"{self._title(block.key)}: {question.sentence}"
        self._text(painter, box, head, LEFT, "action_text", font("body", medium=True), elide=True)

    def _response(self, painter: QPainter, block: Block) -> None:
        shown = self.form.fields[block.key]
        painter.fillRect(block.box, self.theme.colour("action_wash"))
        comma = self.form.plant.settings.decimal_comma
        words = judgement_text(shown.point, shown.limits, shown.judgement, decimal_comma=comma)
        means = meaning_text(shown.point, shown.judgement)
        line = QRect(12, block.box.top() + 5, block.box.width() - 24, 24)
        title = f"{self._title(block.key)}  "
        width = QFontMetrics(font("body", strong=True)).horizontalAdvance(title)
        self._text(painter, line, title, LEFT, "action_text", font("body", strong=True))
        told = f"{words}.  {means}" if means else words
        self._text(painter, line.adjusted(width, 0, 0, 0), told, LEFT, "text", font(), elide=True)
        # The caution stands in the panel below, where there is room for all of it.
        first = f"First: {shown.point.response}" if shown.point.response else ""
        self._text(painter, line.translated(0, 24), first, LEFT, "text", font(), elide=True)
        field = response_field(block.box)
        label = QRect(12, field.top(), field.left() - 20, field.height())
        self._text(painter, label, "What was done", LEFT, "text", font("body", medium=True))
        if block.key != self.answering:
            self._field_box(painter, field, shown)
            inner = field.adjusted(8, 0, -8, 0)
            self._text(painter, inner, shown.entry.response, LEFT, "text", font(), elide=True)

    def _title(self, key: str) -> str:
        return full_name(self.form, key)

    # -- helpers --------------------------------------------------------------------------

    def _wash(self, painter: QPainter, box: QRect, keys: list[str]) -> None:
        if self.active in keys:
            painter.fillRect(box, self.theme.colour("selected"))

    def _hairline(self, painter: QPainter, box: QRect) -> None:
        painter.setPen(QPen(self.theme.colour("hairline"), 1))
        painter.drawLine(box.left(), box.bottom(), box.right(), box.bottom())

    def _text(
        self,
        painter: QPainter,
        box: QRect,
        text: str,
        align: Qt.AlignmentFlag,
        colour: str,
        face: QFont,
        *,
        elide: bool = False,
    ) -> None:
        if not text or box.isEmpty():
            return
        painter.setFont(face)
        painter.setPen(self.theme.colour(colour))
        if elide:
            metrics = QFontMetrics(face)
            text = metrics.elidedText(text, Qt.TextElideMode.ElideRight, box.width())
        painter.drawText(box, align | Qt.TextFlag.TextSingleLine, text)

    def _answer(self, point: Point, value: float | None, text: str | None) -> str:
        comma = self.form.plant.settings.decimal_comma
        return answer_text(point, value, text, decimal_comma=comma)

    def _hides(self, shown: Field) -> bool:
        hides = self.form.plant.settings.hide_last_value and shown.point.kind.is_typed
        return hides and not shown.is_done

    def _point(self, key: str) -> Point:
        return self.form.fields[key].point


def full_name(form: RoundForm, key: str) -> str:
    """Name of a point with its machine and position, so that it stands alone in a sentence."""
    return place_name(form.plant, form.fields[key].point)


def words_room(point: Point) -> int:
    """Pixels wide that a field wants to be to show any answer whole; 0 where it takes a number."""
    if point.kind.is_numeric:
        return 0
    if point.kind is PointKind.TEXT:
        return WORDS_FIELD
    metrics = QFontMetrics(font("field", medium=True))
    answers = [answer_text(point, None, choice.key) for choice in choices_of(point)]
    return max((metrics.horizontalAdvance(text) for text in answers), default=0) + 24


def decimal_pads(form: RoundForm, section: Section) -> dict[str, int]:
    """Pixels to leave right of each number so that decimal marks stand under one another.

    Single points share one column; in a table each column has its own.
    """
    pads: dict[str, int] = {}
    for column in range(section.width):
        keys = [row[column] for row in section.grid if column < len(row)]
        pads.update(_column_pads(form, [key for key in keys if key is not None]))
    return pads


def own_units(form: RoundForm, section: Section) -> frozenset[str]:
    """Keys in columns of a table that have fields of several units."""
    found: set[str] = set()
    for column in range(section.width if section.table else 0):
        keys = [row[column] for row in section.grid if column < len(row)]
        there = [key for key in keys if key is not None]
        if len({form.fields[key].point.unit for key in there}) > 1:
            found.update(there)
    return frozenset(found)


def _column_pads(form: RoundForm, keys: list[str]) -> dict[str, int]:
    points = {k: form.fields[k].point for k in keys if form.fields[k].point.kind.is_numeric}
    most = max((point.decimals for point in points.values()), default=0)
    metrics = QFontMetrics(font("field"))
    digit, mark = metrics.horizontalAdvance("0"), metrics.horizontalAdvance(".")
    return {
        key: (most - point.decimals) * digit + (mark if point.decimals == 0 and most else 0)
        for key, point in points.items()
    }


def _reason(shown: Field) -> str | None:
    return shown.saved.reason if shown.saved else shown.entry.reason


def _plain(colour: str) -> str:
    """A phrase that is to be read is not muted; what is out of limits keeps its colour."""
    return "text" if colour == "muted" else colour


def _fitting(phrase: str, width: int) -> str:
    """A phrase of a drift, shortened where its column is narrow."""
    if QFontMetrics(font("body")).horizontalAdvance(phrase) <= width:
        return phrase
    return phrase.replace(" limit in about ", " in ")
