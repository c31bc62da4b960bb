"""One reading of the review in full: every version, what was written about it, its limits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook.assess.limits import Judgement
from logbook.plant.model import Limits, Point
from logbook.record import Book, NewOpenItem, Reader, Reading, Response, SavedPage
from logbook.shift.plants import PlantHistory
from logbook.shift.review import ReviewGrid
from logbook.shift.review_cells import Cell, CellState
from logbook.shift.roles import Deed, require
from logbook.shift.round_load import judge_reading
from logbook.shift.words import point_name


@dataclass(frozen=True, slots=True)
class Version:
    """A reading as it once stood, and how it was judged."""

    reading: Reading
    judgement: Judgement


@dataclass(frozen=True, slots=True)
class ReadingDetail:
    """Everything the book knows of a reading; the original is the first version."""

    point: Point
    """As defined when the reading was taken."""
    limits: Limits
    """In force then, in the mode then."""
    versions: tuple[Version, ...]
    responses: tuple[Response, ...]

    @property
    def now(self) -> Version:
        """The version that stands."""
        return self.versions[-1]


def detail_of(book: Reader, plants: PlantHistory, reading_id: int) -> ReadingDetail | None:
    """The reading in full, whichever version is named; None for a point the plant had not then.

    Raises BookError where there is no such reading.
    """
    versions = book.history_of(reading_id) or [book.reading(reading_id)]
    last = versions[-1]
    point = plants.point_of(last)
    if point is None:
        return None
    told = book.responses([last.id]).get(last.id, [])
    return ReadingDetail(
        point,
        point.limits_in(last.mode),
        tuple(Version(one, judge_reading(point, one.mode, one)) for one in versions),
        tuple(told),
    )


def ask_crew(
    book: Book,
    grid: ReviewGrid,
    person: str,
    point: Point,
    cell: Cell | None,
    question: str,
    *,
    due_at: datetime | None = None,
) -> SavedPage:
    """Put a question about a cell (None: about the point) to the crew, as an open item.

    It is carried until somebody closes it. Raises NotAllowed, WriteRefused for a question
    without words, other BookErrors.
    """
    people = {one.key: one for one in grid.plant.people}
    if person in people:
        require(people[person].role, Deed.ITEM)
    words = " ".join(question.split())
    about = f"{point_name(grid.plant, point)}{_shown(cell, point)}"
    text = f"{words} ({about})" if words else ""
    reading = cell.reading.id if cell is not None and cell.reading is not None else None
    row = NewOpenItem(
        at=book.now(),
        text=text,
        area=point.area,
        equipment=point.equipment,
        due_at=due_at,
        reading=reading,
    )
    return book.write(person, [row], kind="review")


def _shown(cell: Cell | None, point: Point) -> str:
    if cell is None:
        return ""
    if cell.text:
        return f", {cell.text} {point.unit}".rstrip()
    return ", not taken" if cell.state in {CellState.MISSING, CellState.EXPLAINED} else ""
