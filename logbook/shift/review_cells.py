"""One cell of the review: what a point was found to be in a round, and what is odd about it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logbook.assess.limits import NOT_JUDGED, Direction, Judgement, Severity
from logbook.plant.model import Point
from logbook.record import Reading


class CellState(StrEnum):
    """What stands in a cell."""

    ACTION = "action"
    WARNING = "warning"
    MISSING = "missing"
    """Due, not taken, and nobody said why."""
    EXPLAINED = "missing with reason"
    OK = "ok"
    """Within limits, or nothing to judge it by."""
    AWAITED = "still in time"
    NOT_DUE = "not due"


class Mark(StrEnum):
    """What is odd about a reading, whatever its value."""

    LATE = "late"
    CORRECTED = "corrected"
    DOUBTFUL = "doubtful"


class Finding(StrEnum):
    """What a reviewer may look for."""

    FLAGGED = "flagged"
    MISSING = "missing"
    LATE = "late"
    CORRECTED = "corrected"
    DOUBTFUL = "doubtful"
    NOT_DUE = "not due"


FLAGGED = frozenset({CellState.ACTION, CellState.WARNING})
GONE = frozenset({CellState.MISSING, CellState.EXPLAINED})
EXCEPTIONS = frozenset(set(Finding) - {Finding.NOT_DUE})
"""What is shown first."""

SIGNS: dict[tuple[Severity, Direction], str] = {
    (Severity.WARNING, Direction.LOW): "L",
    (Severity.WARNING, Direction.HIGH): "H",
    (Severity.WARNING, Direction.NONE): "W",
    (Severity.ACTION, Direction.LOW): "LL",
    (Severity.ACTION, Direction.HIGH): "HH",
    (Severity.ACTION, Direction.NONE): "A",
}
"""Letters that show a judgement without colour; doubled where it is an action limit."""

LEGEND: tuple[tuple[str, str], ...] = (
    ("HH LL A", "outside an action limit: high, low, an answer"),
    ("H L W", "outside a warning limit: high, low, an answer"),
    ("?", "due and not taken, no reason given"),
    ("/", "not taken, with a reason"),
    ("t", "entered late"),
    ("c", "corrected or withdrawn"),
    ("~", "doubtful: implausible but confirmed, a counter that fell, or copied"),
    ("·", "not due"),
    ("…", "still in time"),
)
"""Signs and what they mean, in the order in which a legend shows them."""

_STATE_SIGN = {
    CellState.MISSING: "?",
    CellState.EXPLAINED: "/",
    CellState.AWAITED: "…",
    CellState.NOT_DUE: "·",
}
_MARK_SIGN = {Mark.LATE: "t", Mark.CORRECTED: "c", Mark.DOUBTFUL: "~"}


@dataclass(frozen=True, slots=True)
class Cell:
    """A point in a round."""

    state: CellState
    text: str = ""
    """The reading as people read it, without its unit; empty where there is none."""
    judgement: Judgement = NOT_JUDGED
    marks: frozenset[Mark] = frozenset()
    why: tuple[str, ...] = ()
    """Why it is missing, not due or doubtful, in words."""
    reading: Reading | None = None
    """None for a computed point and where nothing was written."""
    value: float | None = None
    count: int = 1
    """Readings that stand in the cell; the last is shown, the worst decides the state."""

    @property
    def findings(self) -> frozenset[Finding]:
        """What a reviewer finds in it."""
        found = {Finding(mark.value) for mark in self.marks}
        if self.state in FLAGGED:
            found.add(Finding.FLAGGED)
        if self.state in GONE:
            found.add(Finding.MISSING)
        if self.state is CellState.NOT_DUE:
            found.add(Finding.NOT_DUE)
        return frozenset(found)

    @property
    def is_exception(self) -> bool:
        """True where it wants a look."""
        return bool(self.findings & EXCEPTIONS)

    @property
    def signs(self) -> str:
        """Letters that tell state and marks without colour, see `LEGEND`."""
        judged = SIGNS.get((self.judgement.severity, self.judgement.direction), "")
        sign = judged if self.state in FLAGGED else _STATE_SIGN.get(self.state, "")
        marks = "".join(_MARK_SIGN[mark] for mark in Mark if mark in self.marks)
        return f"{sign} {marks}".strip()


@dataclass(frozen=True, slots=True)
class ReviewRow:
    """A point and its cells, one for each round of the shift."""

    point: Point
    cells: tuple[Cell, ...]

    @property
    def findings(self) -> frozenset[Finding]:
        """What is found anywhere in the row."""
        return frozenset().union(*(cell.findings for cell in self.cells))

    @property
    def rank(self) -> int:
        """0 for the worst row, more for those that can wait; 5 where nothing wants a look."""
        states = {cell.state for cell in self.cells}
        if CellState.ACTION in states:
            return 0
        if CellState.MISSING in states:
            return 1
        if Finding.DOUBTFUL in self.findings:
            return 2
        if CellState.WARNING in states:
            return 3
        return 4 if self.findings & EXCEPTIONS else 5
