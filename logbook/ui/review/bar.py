"""Above the grid: which shift, how it stands, and what of it to show."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.plant.model import PointKind
from logbook.shift.review import ReviewFilter
from logbook.shift.review_cells import Finding
from logbook.ui.theme import font

Choices = Sequence[tuple[str, str]]
"""Key and name."""

FINDINGS: tuple[tuple[str, str], ...] = (
    ("", "All readings"),
    ("exceptions", "Exceptions only"),
    (Finding.FLAGGED.value, "Out of limits"),
    (Finding.MISSING.value, "Not taken"),
    (Finding.LATE.value, "Late"),
    (Finding.CORRECTED.value, "Corrected"),
    (Finding.DOUBTFUL.value, "Doubtful"),
    (Finding.NOT_DUE.value, "Not due"),
)
KINDS: tuple[tuple[str, str], ...] = (
    ("", "All kinds"),
    (PointKind.NUMBER.value, "Numbers"),
    (PointKind.COUNTER.value, "Counters"),
    (PointKind.LEVEL.value, "Tank levels"),
    (PointKind.STATE.value, "States"),
    (PointKind.CHECK.value, "Checks"),
    (PointKind.LAB.value, "Laboratory"),
    (PointKind.COMPUTED.value, "Computed"),
)


class ReviewBar(QFrame):
    """Shift, filters and the button to sign."""

    narrowed = Signal()
    """Another filter was chosen."""
    crew_chosen = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """A bar without a shift."""
        super().__init__(parent)
        self.setProperty("role", "bar")
        self.earlier, self.later = QPushButton("◀"), QPushButton("▶")
        self.earlier.setAccessibleName("Earlier shift")
        self.later.setAccessibleName("Later shift")
        self.earlier.setToolTip("Earlier shift (Ctrl+Left)")
        self.later.setToolTip("Later shift (Ctrl+Right)")
        self.title = QLabel()
        self.title.setFont(font("title", strong=True))
        self.title.setTextFormat(Qt.TextFormat.PlainText)
        self.told = QLabel()
        self.told.setTextFormat(Qt.TextFormat.PlainText)
        self.preview = QPushButton("Print…")
        self.preview.setToolTip("Preview and print the review (Ctrl+P)")
        self.sign = QPushButton("Sign as reviewed…")
        self.sign.setProperty("primary", True)
        self.crew, self.area, self.kind = QComboBox(), QComboBox(), QComboBox()
        self.finding, self.words = QComboBox(), QLineEdit()
        self.words.setPlaceholderText("Name or tag (Ctrl+F)")
        self.words.setClearButtonEnabled(True)
        self.order = QComboBox()
        names = ("Crew", "Area", "Kind", "Show", "Order")
        boxes = (self.crew, self.area, self.kind, self.finding, self.order)
        for box, name in zip(boxes, names, strict=True):
            box.setAccessibleName(name)
        self._fill()
        self._lay_out()
        for box in (self.area, self.kind, self.finding, self.order):
            box.activated.connect(self.narrowed)
        self.words.textChanged.connect(self.narrowed)
        self.crew.activated.connect(self.crew_chosen)

    def show_loading(self, mark: QWidget) -> None:
        """Place the quiet mark of what is read or made."""
        self._top.insertWidget(self._top.indexOf(self.preview), mark)

    def show_choices(self, crews: Choices, areas: Choices) -> None:
        """Offer the crews and areas of a plant; what was chosen stays where it still exists."""
        refill(self.crew, [("", "Any crew"), *crews])
        refill(self.area, [("", "All areas"), *areas])

    def show_shift(self, title: str, told: str, *, is_fault: bool) -> None:
        """Show which shift it is and how it stands."""
        self.title.setText(title)
        self.told.setText(told)
        self.told.setToolTip(told)
        self.told.setProperty("role", "fault" if is_fault else "muted")
        self.told.style().unpolish(self.told)
        self.told.style().polish(self.told)

    @property
    def wanted(self) -> ReviewFilter:
        """The filter as chosen."""
        finding = self.finding.currentData()
        is_finding = finding not in ("", "exceptions")
        kind, area = self.kind.currentData(), self.area.currentData()
        return ReviewFilter(
            areas=frozenset([area] if area else []),
            kinds=frozenset([PointKind(kind)] if kind else []),
            findings=frozenset([Finding(finding)] if is_finding else []),
            only_exceptions=finding == "exceptions",
            words=self.words.text(),
        )

    @property
    def is_worst_first(self) -> bool:
        """True where the worst stands on top, else the order of the process."""
        return bool(self.order.currentData())

    def _fill(self) -> None:
        refill(self.kind, KINDS)
        refill(self.finding, FINDINGS)
        self.order.addItem("Exceptions first", True)
        self.order.addItem("Process order", False)

    def _lay_out(self) -> None:
        top = self._top = QHBoxLayout()
        top.setSpacing(8)
        for button in (self.earlier, self.later):
            button.setFixedWidth(40)
            button.setProperty("role", "step")
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            top.addWidget(button)
        top.addSpacing(4)
        top.addWidget(self.title)
        top.addWidget(self.told, 1)
        top.addWidget(self.preview)
        top.addWidget(self.sign)
        low = QHBoxLayout()
        low.setSpacing(8)
        low.addWidget(self.finding, 2)
        low.addWidget(self.area, 3)
        low.addWidget(self.kind, 2)
        low.addWidget(self.crew, 2)
        low.addWidget(self.order, 2)
        low.addWidget(self.words, 3)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 8)
        layout.setSpacing(8)
        layout.addLayout(top)
        layout.addLayout(low)


def refill(box: QComboBox, choices: Choices) -> None:
    """Offer these; what was chosen stays where it still exists."""
    before = box.currentData()
    box.blockSignals(True)
    box.clear()
    for key, name in choices:
        box.addItem(name, key)
    box.setCurrentIndex(max(0, box.findData(before)))
    box.blockSignals(False)
