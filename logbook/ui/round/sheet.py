"""The form itself: one scrolling surface that paints an area and carries the field in use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QRect, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

from logbook.plant.model import PointKind
from logbook.shift.round_form import RoundForm
from logbook.shift.trends import Trend
from logbook.shift.words import limits_text
from logbook.ui.round.editors import FieldEditor, ResponseEditor
from logbook.ui.round.geometry import Part, Placed, place
from logbook.ui.round.paint import (
    SheetPainter,
    decimal_pads,
    full_name,
    own_units,
    response_field,
    words_room,
)
from logbook.ui.round.sections import Section, Walk, sections_of
from logbook.ui.theme import Theme

if TYPE_CHECKING:
    from logbook.shift.drift import DriftFound


class RoundSheet(QAbstractScrollArea):
    """Shows one area of a `RoundForm` and tells what the person does.

    It changes nothing itself: the screen puts what was typed into the form and calls
    `refresh` with the keys that changed.
    """

    typed = Signal(str, str)
    """Key and the whole text now in the field."""
    responded = Signal(str, str)
    """Key and the whole response text."""
    confirmed = Signal(str)
    """A second Enter on an implausible value."""
    settled = Signal(str)
    """The person leaves a field."""
    reason_wanted = Signal(str)
    """A reason for a missing reading is asked for."""
    pasted = Signal(list, str)
    """Keys (rows of keys, None outside) and the text of a pasted block."""
    undo_wanted = Signal()
    redo_wanted = Signal()
    correction_wanted = Signal(str)
    """A double click on a saved field."""
    area_ended = Signal()
    """Enter on the last open field of the area."""
    current_changed = Signal(str)
    """Key of the field now in use; empty for none."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """An empty sheet; `show_area` fills it."""
        super().__init__(parent)
        self._theme = theme
        self._form: RoundForm | None = None
        self._painter: SheetPainter | None = None
        self._drifts: Mapping[str, DriftFound] = {}
        self._walk = Walk(())
        self._placed = Placed((), {}, 0)
        self._current = ""
        self._before = ""
        self._asking = ""
        self._opened = ""
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().setAutoFillBackground(False)
        self._editor = FieldEditor(self.viewport())
        self._answer = ResponseEditor(self.viewport())
        self._editor.textEdited.connect(self._on_edited)
        self._editor.asked.connect(self._on_asked)
        self._editor.pasted.connect(self._on_pasted)
        self._answer.textEdited.connect(self._on_answer_edited)
        self._answer.asked.connect(self._on_answer_asked)
        self.setFocusProxy(self._editor)

    # -- what is shown --------------------------------------------------------------------

    def show_area(self, form: RoundForm, area: str, trends: Mapping[str, Trend]) -> None:
        """Show `area` of `form`; the first open field comes into use."""
        self._form = form
        self._walk = Walk(sections_of(form.plant, area))
        self._current = self._asking = ""
        pads = _pads_of(form, self._walk.sections)
        mixed = frozenset(key for s in self._walk.sections for key in own_units(form, s))
        self._painter = SheetPainter(form, trends, self._theme, pads, mixed, drifts=self._drifts)
        self._editor.hide()
        self._answer.hide()
        self.verticalScrollBar().setValue(0)
        self._arrange()
        first = self._walk.first(self._is_empty) or self._walk.first(form.is_open)
        self.go_to(first or "")

    def show_trends(self, trends: Mapping[str, Trend]) -> None:
        """Draw these sparklines beside the fields shown."""
        if self._painter is not None:
            self._painter.trends = trends
            self.viewport().update()

    def show_drifts(self, drifts: Mapping[str, DriftFound]) -> None:
        """Mark these points as drifting, in whatever area is shown."""
        self._drifts = drifts
        if self._painter is not None:
            self._painter.drifts = drifts
            self.viewport().update()

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._theme = theme
        if self._painter is not None:
            self._painter.theme = theme
        self.viewport().update()

    def refresh(self, keys: Iterable[str] | None = None) -> None:
        """Show what changed in the form: `keys`, or everything."""
        keys = None if keys is None else [k for k in keys if k in self._placed.cells]
        if self._needs_arranging():
            self._arrange()
            return
        if keys is None:
            self.viewport().update()
        else:
            for key in keys:
                self.viewport().update(self._strip_of(key))
        self._sync_editor(keys)

    @property
    def current(self) -> str:
        """Key of the field in use; empty for none."""
        return self._current

    @property
    def keys(self) -> list[str]:
        """All keys of the area in reading order."""
        return [key for section in self._walk.sections for key in section.by_rows()]

    def go_to(self, key: str) -> None:
        """Bring a field into use; an empty key leaves all fields."""
        self._leave_answer()
        self._asking = ""
        changed = key != self._current
        self._current = key
        if self._painter is not None:
            self._painter.active = key
        if not key or self._form is None:
            self._editor.hide()
        else:
            self._before = self._form.fields[key].entry.typed
            self._opened = key if self._form.fields[key].wants_response else ""
            self._show_editor(key)
        if changed:
            self._arrange()
            self.current_changed.emit(key)
        self.viewport().update()

    def leave_for_next(self) -> None:
        """Go on to the next open field, as Enter does; stay where there is none."""
        if self._form is None or not self._current:
            return
        target = self._walk.after(self._current, self._calls)
        self.go_to(target or self._current)

    # -- painting -------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the strips that show."""
        painter = QPainter(self.viewport())
        dirty = event.rect()
        painter.fillRect(dirty, self._theme.colour("surface"))
        if self._painter is None:
            return
        offset = self.verticalScrollBar().value()
        painter.translate(0, -offset)
        shown = dirty.translated(0, offset)
        for block in self._placed.blocks:
            if block.box.intersects(shown):
                self._painter.draw(painter, block)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the form out anew for the new width."""
        super().resizeEvent(event)
        self._arrange()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Scroll, the editors with it."""
        self.viewport().update()
        self._place_editors()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll by rows."""
        bar = self.verticalScrollBar()
        bar.setValue(bar.value() - event.angleDelta().y() // 2)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A click brings a field or a response line into use."""
        at = event.position().toPoint() + QPoint(0, self.verticalScrollBar().value())
        for (part, key), box in self._placed.extras.items():
            if part is Part.RESPONSE and box.contains(at):
                self._leave_field()
                self.go_to(key)
                self._enter_answer(key)
                return
        for key, cell in self._placed.cells.items():
            if cell.box.contains(at) and self._form and self._form.is_open(key):
                self._leave_field()
                self.go_to(key)
                return

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """A double click on a saved field asks to correct it."""
        at = event.position().toPoint() + QPoint(0, self.verticalScrollBar().value())
        for key, cell in self._placed.cells.items():
            if cell.box.contains(at) and self._form and self._form.fields[key].saved is not None:
                self.correction_wanted.emit(key)
                return
        super().mouseDoubleClickEvent(event)

    # -- layout ---------------------------------------------------------------------------

    def _arrange(self) -> None:
        width = self.viewport().width()
        self._placed = place(
            self._walk.sections, width, self._asks, self._responds, self._words_room
        )
        bar = self.verticalScrollBar()
        bar.setRange(0, max(0, self._placed.height - self.viewport().height()))
        bar.setPageStep(self.viewport().height())
        bar.setSingleStep(32)
        self._reveal()
        self._place_editors()
        self.viewport().update()

    def _asks(self, key: str) -> bool:
        return key == self._asking

    def _responds(self, key: str) -> bool:
        """True where the response line shows under a field.

        Under the field in use only once its value was entered: on the way to 52.7 a 5 is no
        deviation, and a line that comes and goes with the keys would make the form jump.
        """
        assert self._form is not None
        is_settled = key != self._current or key == self._opened
        return is_settled and self._form.fields[key].wants_response

    def _words_room(self, key: str) -> int:
        assert self._form is not None
        return words_room(self._form.fields[key].point)

    def _needs_arranging(self) -> bool:
        shown = {key for part, key in self._placed.extras if part is Part.RESPONSE}
        wanted = {key for key in self._placed.cells if self._responds(key)}
        asked = {key for part, key in self._placed.extras if part is Part.QUESTION}
        return shown != wanted or asked != ({self._asking} if self._asking else set())

    def _strip_of(self, key: str) -> QRect:
        box = self._placed.cells[key].box
        offset = self.verticalScrollBar().value()
        return QRect(0, box.top() - offset, self.viewport().width(), box.height() + 1)

    def _reveal(self) -> None:
        """Scroll so that the field in use and the strips under it can be seen."""
        cell = self._placed.cells.get(self._current)
        if cell is None:
            return
        bottom = cell.box.bottom()
        for part in (Part.QUESTION, Part.RESPONSE):
            bottom = max(bottom, self._placed.extras.get((part, self._current), cell.box).bottom())
        bar = self.verticalScrollBar()
        height = self.viewport().height()
        if cell.box.top() - 70 < bar.value():
            bar.setValue(max(0, cell.box.top() - 70))
        elif bottom + 40 > bar.value() + height:
            bar.setValue(bottom + 40 - height)

    def _place_editors(self) -> None:
        offset = self.verticalScrollBar().value()
        cell = self._placed.cells.get(self._current)
        if cell is not None:
            self._editor.setGeometry(cell.entry.translated(0, -offset))
        strip = self._placed.extras.get((Part.RESPONSE, self._current))
        if strip is not None:
            self._answer.setGeometry(response_field(strip).translated(0, -offset))

    # -- the field in use -----------------------------------------------------------------

    def _show_editor(self, key: str) -> None:
        assert self._form is not None
        assert self._painter is not None
        shown = self._form.fields[key]
        self._editor.setText(shown.entry.typed)
        is_wide = self._placed.cells[key].is_wide
        side = Qt.AlignmentFlag.AlignLeft if is_wide else Qt.AlignmentFlag.AlignRight
        self._editor.setAlignment(side | Qt.AlignmentFlag.AlignVCenter)
        self._editor.setTextMargins(0, 0, self._painter.pads.get(key, 0), 0)
        self._editor.setAccessibleName(self._spoken(key))
        self._editor.setPlaceholderText(self._hint(key))
        self._editor.show()
        self._place_editors()
        self._editor.setFocus(Qt.FocusReason.OtherFocusReason)
        self._editor.selectAll()

    def _hint(self, key: str) -> str:
        assert self._form is not None
        shown = self._form.fields[key]
        if shown.entry.reason is not None:
            return "no reading"
        is_plain = shown.point.kind is PointKind.CHECK and not shown.point.choices
        return "Y / N" if is_plain else ""

    def _spoken(self, key: str) -> str:
        """What a screen reader says of a field."""
        assert self._form is not None
        shown = self._form.fields[key]
        parts = [full_name(self._form, key), shown.point.unit]
        parts.append(limits_text(shown.point, shown.limits))
        return ", ".join(part for part in parts if part)

    def _sync_editor(self, keys: Iterable[str] | None) -> None:
        """Follow a change of the field in use that was not typed here (undo, paste, a reason)."""
        if not self._current or self._form is None:
            return
        if keys is not None and self._current not in keys:
            return
        typed = self._form.fields[self._current].entry.typed
        if typed != self._editor.text():
            self._editor.setText(typed)
            self._editor.selectAll()
        self._editor.setPlaceholderText(self._hint(self._current))

    def _is_empty(self, key: str) -> bool:
        assert self._form is not None
        shown = self._form.fields[key]
        return self._form.is_open(key) and shown.due and not shown.is_done

    def _on_edited(self, text: str) -> None:
        if self._asking:
            self._asking = ""
            self._arrange()
        self.typed.emit(self._current, text)

    def _on_pasted(self, text: str) -> None:
        lines = text.strip("\r\n").replace("\r\n", "\n").replace("\r", "\n").split("\n")
        width = max(line.count("\t") + 1 for line in lines)
        keys = self._walk.block(self._current, len(lines), width)
        self.pasted.emit(keys, text)

    def _on_asked(self, wish: str) -> None:
        match wish:
            case "undo":
                self.undo_wanted.emit()
            case "redo":
                self.redo_wanted.emit()
            case "reason":
                self.reason_wanted.emit(self._current)
            case "revert":
                self._revert()
            case _:
                self._move(wish)

    def _revert(self) -> None:
        """Escape: the text as it stood when the field was entered; a second Escape empties it."""
        text = self._before if self._editor.text() != self._before else ""
        self._asking = ""
        self._editor.setText(text)
        self._editor.selectAll()
        self.typed.emit(self._current, text)
        self.refresh()

    def _move(self, wish: str) -> None:
        assert self._form is not None
        key = self._current
        if not self._leave_field(confirming=wish == "enter"):
            return
        shown = self._form.fields[key]
        if wish == "enter" and shown.wants_response and not shown.entry.response:
            self._enter_answer(key)
            return
        target = self._target(key, wish)
        if target is not None:
            self.go_to(target)
        elif wish in {"enter", "tab"}:
            self.area_ended.emit()
        else:
            self._editor.selectAll()

    def _calls(self, key: str) -> bool:
        """True for fields that Enter and Tab stop at: those due, or all where none is due.

        The arrow keys reach every open field.
        """
        assert self._form is not None
        form = self._form
        any_due = any(form.fields[k].due and form.is_open(k) for k in self._placed.cells)
        return form.is_open(key) and (form.fields[key].due or not any_due)

    def _target(self, key: str, wish: str) -> str | None:
        assert self._form is not None
        opens = self._form.is_open
        match wish:
            case "enter":
                return self._walk.after(key, self._calls)
            case "back":
                return self._walk.before(key, self._calls)
            case "tab":
                return self._walk.right(key, self._calls)
            case "backtab":
                return self._walk.left(key, self._calls)
            case "up" | "down":
                return self._walk.vertical(key, opens, down=wish == "down")
            case _:
                return self._walk.sideways(key, opens, right=wish == "right")

    def _leave_field(self, *, confirming: bool = False) -> bool:
        """Settle the field in use. False where a question keeps the person in it.

        The first attempt to leave with a question shows it; Enter then confirms where that is
        possible, any other move leaves the field unsettled, which the form keeps marked.
        """
        if not self._current or self._form is None:
            return True
        question = self._form.fields[self._current].entry.question
        if question is None:
            self.settled.emit(self._current)
            return True
        if self._asking != self._current:
            self._asking = self._current
            self._arrange()
            self._editor.selectAll()
            return False
        if confirming and question.can_confirm:
            self._asking = ""
            self.confirmed.emit(self._current)
            self.settled.emit(self._current)
            self._arrange()
            return True
        if confirming:
            self._editor.selectAll()
            return False
        self.settled.emit(self._current)
        return True

    # -- the response line ----------------------------------------------------------------

    def _enter_answer(self, key: str) -> None:
        assert self._form is not None
        assert self._painter is not None
        self._painter.answering = key
        self._opened = key
        self._arrange()
        self._answer.setText(self._form.fields[key].entry.response)
        self._answer.setAccessibleName(f"What was done about {full_name(self._form, key)}")
        self._editor.hide()
        self._answer.show()
        self._place_editors()
        self._answer.setFocus(Qt.FocusReason.OtherFocusReason)
        self.viewport().update()

    def _leave_answer(self) -> None:
        if self._painter is None or not self._painter.answering:
            return
        self._painter.answering = ""
        self._answer.hide()

    def _on_answer_edited(self, text: str) -> None:
        self.responded.emit(self._current, text)

    def _on_answer_asked(self, wish: str) -> None:
        assert self._form is not None
        key = self._current
        self.settled.emit(key)
        if wish == "back":
            self.go_to(key)
            return
        target = self._walk.after(key, self._calls)
        if target is not None:
            self.go_to(target)
        else:
            self.go_to(key)
            self.area_ended.emit()


def _pads_of(form: RoundForm, sections: tuple[Section, ...]) -> dict[str, int]:
    pads: dict[str, int] = {}
    for section in sections:
        pads.update(decimal_pads(form, section))
    return pads
