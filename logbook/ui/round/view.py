"""The parts of the Round screen and where they stand; what they do is in `screen`."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from logbook.ui.round.area_list import AreaList
from logbook.ui.round.bar import AreaHead, LateLine, RoundBar
from logbook.ui.round.foot import MessageLine, PointPanel
from logbook.ui.round.sheet import RoundSheet
from logbook.ui.screens import Screen
from logbook.ui.theme import Theme

KEYS = "Enter next · Tab across · F4 no reading · F8 next open · PgDn next area · Ctrl+S save"


class RoundView(Screen):
    """Bar and late line on top, areas at the left, the form with its panel, the message line."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """The parts, empty."""
        super().__init__(parent)
        self.bar = RoundBar(theme, self)
        self.late = LateLine(self)
        self.areas = AreaList(theme, self)
        self.head = AreaHead(self)
        self.sheet = RoundSheet(theme, self)
        self.panel = PointPanel(self)
        self.message = MessageLine(KEYS, self)
        self.setFocusProxy(self.sheet)
        self._lay_out()

    def _lay_out(self) -> None:
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addWidget(self.head)
        right.addWidget(self.sheet, 1)
        right.addWidget(self.panel)
        body = QHBoxLayout()
        body.setSpacing(0)
        body.addWidget(self.areas)
        body.addLayout(right, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.bar)
        layout.addWidget(self.late)
        layout.addLayout(body, 1)
        layout.addWidget(self.message)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self.sheet.set_theme(theme)
        self.areas.set_theme(theme)
        self.bar.strip.set_theme(theme)
