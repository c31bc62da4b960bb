"""The pages of the Balance screen: each shows one side of a period, with its words below."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from logbook.report.flow_layout import picture_of
from logbook.shift.balance_view import (
    BalanceView,
    Comparison,
    FlowSteps,
    MeterLine,
    TrendLine,
)
from logbook.ui.balance.compare_view import CompareView
from logbook.ui.balance.figures import AccountRow, AccountTable
from logbook.ui.balance.flow_view import FlowView
from logbook.ui.balance.meters import MeterTable
from logbook.ui.balance.trend_chart import TrendChart
from logbook.ui.theme import Theme, font

WHICH = "which"
"""Property of a button: the picture it shows."""


def words_label(name: str = "") -> QLabel:
    """A label for sentences: plain text, wrapped, readable by assistive tools."""
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setMinimumWidth(10)
    if name:
        label.setAccessibleName(name)
    return label


def foot_of(*widgets: QWidget) -> QFrame:
    """A quiet strip below a page."""
    foot = QFrame()
    foot.setProperty("role", "foot")
    layout = QVBoxLayout(foot)
    layout.setContentsMargins(12, 6, 12, 6)
    layout.setSpacing(4)
    for widget in widgets:
        layout.addWidget(widget)
    return foot


class FlowPage(QWidget):
    """Streams by width; which component is shown is chosen above."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A page without a picture."""
        super().__init__(parent)
        self.view = FlowView(theme, self)
        self.told = words_label("The chosen stream")
        self.verdict = words_label("What the period comes to")
        self.verdict.setFont(font("body", medium=True))
        self._flows: tuple[FlowSteps, ...] = ()
        self._which = QButtonGroup(self)
        self._which.buttonClicked.connect(self._on_which)
        self._row = QHBoxLayout()
        self._row.setContentsMargins(12, 6, 12, 0)
        self._row.setSpacing(6)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(self._row)
        layout.addWidget(self.view, 1)
        layout.addWidget(foot_of(self.verdict, self.told))
        self.view.current_changed.connect(self._on_stream)
        self.setFocusProxy(self.view)

    def show_view(self, view: BalanceView) -> None:
        """Show a period."""
        chosen = self._which.checkedId()
        self._flows = view.flows
        self._offer()
        self._show(chosen if 0 <= chosen < len(self._flows) else 0)
        self.verdict.setText("\n".join(view.verdict))

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self.view.set_theme(theme)

    def _offer(self) -> None:
        names = [flow.name for flow in self._flows]
        if names == [button.text() for button in self._which.buttons()]:
            return
        while (item := self._row.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.deleteLater()
        for number, flow in enumerate(self._flows):
            button = QPushButton(flow.name)
            button.setCheckable(True)
            button.setProperty("role", "nav")
            button.setProperty(WHICH, number)
            self._which.addButton(button, number)
            self._row.addWidget(button)
        self._row.addStretch(1)

    def _show(self, number: int) -> None:
        if not self._flows:
            return
        button = self._which.button(number)
        if button is not None:
            button.setChecked(True)
        self.view.show_picture(picture_of(self._flows[number]))

    def _on_which(self, button: QAbstractButton) -> None:
        self._show(button.property(WHICH))
        self.view.setFocus()

    def _on_stream(self, key: str) -> None:
        number = max(self._which.checkedId(), 0)
        streams = self._flows[number].streams if self._flows else ()
        words = next((stream.words for stream in streams if stream.key == key), "")
        self.told.setText(words or "Arrow keys go from stream to stream.")


class AccountsPage(QWidget):
    """All figures at the left, how the chosen one came about at the right."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A page without accounts."""
        super().__init__(parent)
        self.table = AccountTable(theme)
        self.name = words_label()
        self.name.setFont(font("title", strong=True))
        self.value = words_label()
        self.value.setFont(font("large", medium=True))
        self.words = words_label("How the figure came about")
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.caution = words_label()
        self.caution.setProperty("role", "caution")
        pane = QFrame()
        pane.setProperty("role", "pane")
        pane.setMinimumWidth(300)
        inner = QVBoxLayout(pane)
        inner.setContentsMargins(14, 14, 14, 14)
        inner.setSpacing(10)
        for widget in (self.name, self.value, self.words, self.caution):
            inner.addWidget(widget)
        inner.addStretch(1)
        parts = QSplitter(Qt.Orientation.Horizontal)
        parts.setChildrenCollapsible(False)
        parts.setHandleWidth(3)
        parts.addWidget(self.table)
        parts.addWidget(pane)
        parts.setSizes([820, 420])
        parts.setStretchFactor(0, 2)
        parts.setStretchFactor(1, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(parts)
        self.table.chosen.connect(self._on_row)
        self.setFocusProxy(self.table)

    def show_view(self, view: BalanceView) -> None:
        """Show a period."""
        self.table.show_accounts(view.accounts)
        self._on_row(self.table.row_now)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self.table.set_theme(theme)

    def _on_row(self, row: AccountRow | None) -> None:
        if row is None:
            return
        figure = row.figure
        self.name.setText(figure.name if figure else row.account.title)
        value = f"{figure.value} {figure.spread} {figure.unit}" if figure else ""
        self.value.setText(" ".join(value.split()))
        self.value.setVisible(bool(value))
        self.words.setText(figure.words if figure else row.account.told)
        self.caution.setText(row.account.caution)
        self.caution.setVisible(bool(row.account.caution))


class MetersPage(QWidget):
    """Measured beside reconciled; the suspect meter is named."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A page without meters."""
        super().__init__(parent)
        self.table = MeterTable(theme)
        self.told = words_label("The test of all meters together")
        self.told.setFont(font("body", medium=True))
        self.words = words_label("The chosen meter")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.table, 1)
        layout.addWidget(foot_of(self.told, self.words))
        self.table.chosen.connect(self._on_line)
        self.setFocusProxy(self.table)

    def show_view(self, view: BalanceView) -> None:
        """Show a period."""
        self.told.setText(view.meters_told)
        self.table.show_lines(view.meters)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self.table.set_theme(theme)

    def choose(self, key: str) -> None:
        """Choose the line of a stream, where it has one."""
        self.table.choose(key)

    def _on_line(self, line: MeterLine | None) -> None:
        self.words.setText(line.words if line is not None else "")


class TrendsPage(QWidget):
    """Figures by day, with the words of the day under the cursor."""

    wanted = Signal()
    """The page is shown and has nothing yet of this period."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A page without trends."""
        super().__init__(parent)
        self.chart = TrendChart(theme, self)
        self.told = words_label("The chosen day")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.chart, 1)
        layout.addWidget(foot_of(self.told))
        self.chart.day_chosen.connect(self._on_day)
        self.setFocusProxy(self.chart)

    def show_lines(self, lines: Sequence[TrendLine]) -> None:
        """Show these."""
        self.chart.show_lines(lines)
        self._on_day(self.chart.at)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self.chart.set_theme(theme)

    def _on_day(self, _at: int) -> None:
        self.told.setText(self.chart.told() or "No day of this span can be told.")


class ComparePage(QScrollArea):
    """Crews and months side by side."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A page without comparisons."""
        super().__init__(parent)
        self.view = CompareView(theme)
        self.setWidget(self.view)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)

    def show_comparisons(self, shown: Sequence[Comparison]) -> None:
        """Show these."""
        self.view.show_comparisons(shown)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self.view.set_theme(theme)
