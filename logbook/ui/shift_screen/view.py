"""The parts of the Shift screen and where they stand; what they do is in `screen`."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from logbook.ui.round.foot import MessageLine
from logbook.ui.screens import Screen
from logbook.ui.shift_screen.lane_view import LaneView
from logbook.ui.shift_screen.line_list import LineList
from logbook.ui.shift_screen.search_line import SearchLine
from logbook.ui.theme import Theme

KEYS = "F5 next part · arrows choose · Enter opens · Ctrl+E entry · Ctrl+I item · Ctrl+F search"

WANTED = "wanted"
"""Property of a button: which step, or which form."""


class ShiftBar(QFrame):
    """Which shift is shown, and the commonest things to write."""

    stepped = Signal(int)
    """To the shift before (-1), after (1), or the running one (0)."""
    form_wanted = Signal(str)
    """Which form of the log."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """A bar without a shift."""
        super().__init__(parent)
        self.setProperty("role", "bar")
        self._steps, self._forms = QButtonGroup(self), QButtonGroup(self)
        self._steps.buttonClicked.connect(self._on_step)
        self._forms.buttonClicked.connect(self._on_form)
        self._name = QLabel()
        self._name.setObjectName("area-name")
        self._span = QLabel()
        self._span.setProperty("role", "muted")
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 7, 12, 7)
        layout.setSpacing(8)
        for text, tip, by in (
            ("‹", "Shift before (Alt+Left)", -1),
            ("›", "Shift after (Alt+Right)", 1),
        ):
            layout.addWidget(self._step(text, tip, by))
        self._present = self._step("Running shift", "To the running shift (Alt+Home)", 0)
        layout.addWidget(self._present)
        layout.addSpacing(4)
        layout.addWidget(self._name)
        layout.addWidget(self._span)
        layout.addStretch(1)
        for text, form in (
            ("Safety state…", "safety"),
            ("Open item…", "item"),
            ("Log entry…", "entry"),
        ):
            button = QPushButton(text)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setProperty("primary", form == "entry")
            button.setProperty(WANTED, form)
            self._forms.addButton(button)
            layout.addWidget(button)

    def _step(self, text: str, tip: str, by: int) -> QPushButton:
        button = QPushButton(text)
        button.setToolTip(tip)
        button.setAccessibleName(tip)
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        if by:
            button.setFixedWidth(34)
            button.setProperty("role", "step")
        button.setProperty(WANTED, by)
        self._steps.addButton(button)
        return button

    def _on_step(self, button: QAbstractButton) -> None:
        self.stepped.emit(button.property(WANTED))

    def _on_form(self, button: QAbstractButton) -> None:
        self.form_wanted.emit(button.property(WANTED))

    def show_loading(self, mark: QWidget) -> None:
        """Place the quiet mark of what is read."""
        layout = self.layout()
        assert isinstance(layout, QHBoxLayout)
        layout.insertWidget(layout.indexOf(self._span) + 1, mark)

    def show_shift(self, name: str, span: str, *, is_running: bool) -> None:
        """Show which shift it is and how far it has come."""
        self._name.setText(name)
        self._span.setText(span)
        self._present.setVisible(not is_running)

    @property
    def text(self) -> str:
        """What it says of the shift."""
        return f"{self._name.text()}  {self._span.text()}"


class ShiftView(Screen):
    """Bar on top, the picture, what is chosen in it in words, the timeline beside what is open."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """The parts, empty."""
        super().__init__(parent)
        self.bar = ShiftBar(self)
        self.lanes = LaneView(theme, self)
        self.told = QLabel()
        self.told.setTextFormat(Qt.TextFormat.PlainText)
        self.told.setMinimumWidth(10)
        self.search = SearchLine(self)
        self.timeline = LineList(theme, "Timeline of the shift")
        self.open = LineList(theme, "What is open")
        self.message = MessageLine(KEYS, self)
        self.setFocusProxy(self.lanes)
        self._lay_out()

    def _lay_out(self) -> None:
        told = QFrame()
        told.setProperty("role", "foot")
        told_row = QHBoxLayout(told)
        told_row.setContentsMargins(12, 5, 12, 5)
        told_row.addWidget(self.told)
        picture = QWidget()
        above = QVBoxLayout(picture)
        above.setContentsMargins(0, 0, 0, 0)
        above.setSpacing(0)
        above.addWidget(self.lanes, 1)
        above.addWidget(told)
        left = QWidget()
        log = QVBoxLayout(left)
        log.setContentsMargins(0, 0, 0, 0)
        log.setSpacing(0)
        log.addWidget(self.search)
        log.addWidget(self.timeline, 1)
        lower = QSplitter(Qt.Orientation.Horizontal)
        lower.addWidget(left)
        lower.addWidget(self.open)
        lower.setSizes([620, 660])
        parts = QSplitter(Qt.Orientation.Vertical)
        parts.addWidget(picture)
        parts.addWidget(lower)
        parts.setSizes([400, 270])
        parts.setStretchFactor(0, 3)
        parts.setStretchFactor(1, 2)
        for splitter in (lower, parts):
            splitter.setChildrenCollapsible(False)
            splitter.setHandleWidth(3)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.bar)
        layout.addWidget(parts, 1)
        layout.addWidget(self.message)

    @property
    def parts(self) -> tuple[QWidget, ...]:
        """What the keyboard goes around."""
        return self.lanes, self.timeline, self.open

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self.lanes.set_theme(theme)
        self.timeline.set_theme(theme)
        self.open.set_theme(theme)
