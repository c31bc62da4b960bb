"""What the Review screen does with the book, without a widget."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from logbook.plant.calendar import next_shift, previous_shift, shift_at
from logbook.plant.localtime import local_label, to_local
from logbook.plant.model import Plant, Point
from logbook.plant.roster import Shift
from logbook.record import Book, OpenItem, Reading, short_seal
from logbook.shift.handover_json import content_hash
from logbook.shift.json_words import Json
from logbook.shift.plants import PlantHistory
from logbook.shift.review import NO_FILTER, ReviewFilter, ReviewGrid, chosen_rows, review_of
from logbook.shift.review_cells import Cell, CellState, Mark, ReviewRow
from logbook.shift.review_detail import Version, ask_crew, detail_of
from logbook.shift.review_sign import begin_review, review_content, why_not_review
from logbook.shift.round_form import describe_reason
from logbook.shift.signed_state import HandoverStatus, SignedState, signed_state
from logbook.shift.signing import ToSign
from logbook.shift.trends import Trend
from logbook.shift.words import (
    answer_text,
    judgement_text,
    judgement_word,
    limits_text,
    meaning_text,
    person_name,
    place_name,
)
from logbook.ui.review.detail import NOTHING_SHOWN, ReadingShown
from logbook.ui.review.rows import GridColumn, GridRow, grid_columns, grid_rows

if TYPE_CHECKING:
    from logbook.shift.access import Door

MOMENT = timedelta(seconds=1)
TREND_DAYS = 7
MOST_STEPS = 120
"""So many shifts are looked through for one of a crew."""


@dataclass(frozen=True, slots=True)
class ReviewSeen:
    """A shift as it stood when the book was looked at."""

    grid: ReviewGrid
    state: SignedState
    items: tuple[OpenItem, ...]
    last_page: int


def look(book: Book, plants: PlantHistory, shift: Shift | None = None) -> ReviewSeen:
    """Look a shift through (None: the one before the one now running). Raises BookError."""
    plants.refresh()
    now, last = book.now(), book.last_page().id
    if shift is None:
        calendar = plants.at(now).calendar
        shift = previous_shift(calendar, shift_at(calendar, now))
    grid = review_of(book, shift, now)
    return ReviewSeen(grid, signed_state(book, shift, now), items_about(book, shift), last)


def items_about(book: Book, shift: Shift) -> tuple[OpenItem, ...]:
    """The open items that were written about a shift's readings. Raises BookError."""
    now = book.now() + MOMENT
    found = book.items(min(shift.start, now - MOMENT), now)
    return tuple(item for item in found if item.reading is not None)


class ReviewDesk:
    """One shift under review at a time."""

    def __init__(self, book: Book, *, opened: bool = True) -> None:
        """A desk with the shift before the one now running, if `opened`. Raises BookError."""
        self.book = book
        self._plants = PlantHistory(book)
        self._seen: ReviewSeen | None = None
        self.filter = NO_FILTER
        self.worst_first = True
        if opened:
            self.take(look(book, self._plants))

    # -- which shift ----------------------------------------------------------------------

    @property
    def is_open(self) -> bool:
        """True once a shift has been looked through."""
        return self._seen is not None

    @property
    def seen(self) -> ReviewSeen:
        """What was looked at; only where it `is_open`."""
        assert self._seen is not None, "no shift was looked at yet"
        return self._seen

    @property
    def grid(self) -> ReviewGrid:
        """The points by the rounds."""
        return self.seen.grid

    @property
    def state(self) -> SignedState:
        """The signatures."""
        return self.seen.state

    @property
    def plant(self) -> Plant:
        """The plant as defined at the end of the shift."""
        return self.grid.plant

    @property
    def shift(self) -> Shift:
        """The shift under review."""
        return self.grid.shift

    @property
    def is_running(self) -> bool:
        """True while the shift is not over."""
        return self.book.now() < self.shift.end

    def looking(self, shift: Shift | None) -> Callable[[Book], ReviewSeen]:
        """What looks a shift through in another thread, for `take`."""
        plants = self._plants

        def read(beside: Book) -> ReviewSeen:
            import logbook.shift.trend_load  # noqa: F401 -- numpy, for the first reading shown

            return look(beside, plants.beside(beside), shift)

        return read

    def take(self, seen: ReviewSeen) -> None:
        """Show what was looked at."""
        self._seen = seen

    def open(self, shift: Shift) -> None:
        """Look a shift through here and now. Raises BookError; then the one before stays."""
        self.take(look(self.book, self._plants, shift))

    def refresh(self) -> None:
        """Look the same shift through again."""
        self.open(self.shift)

    def is_stale(self) -> bool:
        """True where somebody has written in the book since the shift was looked through."""
        return self.book.last_page().id != self.seen.last_page

    def load_items(self) -> None:
        """Read the open items that were written about the shift's readings."""
        self._seen = replace(self.seen, items=items_about(self.book, self.shift))

    def other(self, by: int, crew: str = "", shift: Shift | None = None) -> Shift | None:
        """The shift before (-1) or after (1) the one shown or named, of a crew where one is.

        None: there is none.
        """
        now, first = self.book.now(), self.book.created_at
        shift = shift or self.shift
        for _ in range(MOST_STEPS):
            calendar = self._plants.at(shift.start).calendar
            shift = previous_shift(calendar, shift) if by < 0 else next_shift(calendar, shift)
            if shift.start > now or shift.end <= first:
                return None
            if not crew or shift.crew == crew:
                return shift
        return None

    def title(self) -> str:
        """Name, date, times and crew of the shift."""
        shift, zone = self.shift, self.plant.time_zone
        start, end = local_label(shift.start, zone), local_label(shift.end, zone)
        day = f"{shift.date:%A} {shift.date.isoformat()}"
        crew = f" · {self.crew_name(shift.crew)}" if shift.crew else ""
        return f"{shift.name} of {day}, {start} to {end}{crew}"

    def crew_name(self, key: str | None) -> str:
        """Name of a crew."""
        crews = {crew.key: crew.name for crew in self.plant.calendar.crews}
        return crews.get(key or "", key or "")

    def when(self, at: datetime) -> str:
        """Local time of day, with the date where it lies outside the shift."""
        zone = self.plant.time_zone
        clock = local_label(at, zone)
        inside = self.shift.start <= at <= self.shift.end
        return clock if inside else f"{to_local(at, zone):%d %b} {clock}"

    # -- how it stands --------------------------------------------------------------------

    @property
    def is_signed(self) -> bool:
        """True once the shift is signed as reviewed."""
        return self.state.review is not None

    def standing(self) -> tuple[str, bool]:
        """How the shift stands in words, and whether that must not be overlooked."""
        if self.is_running:
            return f"still running until {self.when(self.shift.end)}", False
        words = []
        if self.state.review is not None:
            at = self.when(self.state.review.at)
            words.append(f"reviewed by {person_name(self.plant, self.state.review.person)}, {at}")
        is_fault = self.state.is_overdue
        if self.state.status is not HandoverStatus.ACCEPTED:
            loud = "NOT TAKEN OVER" if self.state.outgoing else "handover not signed"
            words.append(loud)
        if self.state.changes:
            count = len(self.state.changes)
            words.append(f"{count} {'change' if count == 1 else 'changes'} since signing")
        return " · ".join(words), is_fault

    def counts(self) -> dict[str, int]:
        """How many cells bear each mark, by the word of the legend."""
        states = Counter(cell.state for row in self.grid.rows for cell in row.cells)
        marks = Counter(mark for row in self.grid.rows for cell in row.cells for mark in cell.marks)
        asked = sum(item.is_open for item in self.seen.items)
        return {
            "action": states[CellState.ACTION],
            "warning": states[CellState.WARNING],
            "missing": states[CellState.MISSING],
            "not taken, with reason": states[CellState.EXPLAINED],
            **{mark.value: marks[mark] for mark in Mark},
            "question open": asked,
        }

    # -- the grid -------------------------------------------------------------------------

    def columns(self) -> tuple[GridColumn, ...]:
        """The rounds."""
        return grid_columns(self.grid)

    def rows(self) -> tuple[GridRow, ...]:
        """The rows that pass the filter, with headings."""
        chosen = chosen_rows(self.grid, self.filter, exceptions_first=self.worst_first)
        asked = {
            item.reading for item in self.seen.items if item.is_open and item.reading is not None
        }
        return grid_rows(self.grid, chosen, asked, worst_first=self.worst_first)

    def narrow(self, wanted: ReviewFilter) -> None:
        """Show only what passes this filter."""
        self.filter = wanted

    def row_of(self, point: str) -> ReviewRow | None:
        """The row of a point."""
        return next((row for row in self.grid.rows if row.point.key == point), None)

    # -- one reading ----------------------------------------------------------------------

    def shown(self, point: str, column: int) -> ReadingShown:
        """All about one cell. Raises BookError."""
        row = self.row_of(point)
        if row is None or not 0 <= column < len(row.cells):
            return NOTHING_SHOWN
        cell, reading = row.cells[column], row.cells[column].reading
        trend = self._trend(row.point)
        return ReadingShown(
            title=place_name(self.plant, row.point),
            where=self._where(row.point, column),
            value=f"{cell.text} {row.point.unit}".strip() if cell.text else "",
            judgement=cell.judgement,
            verdict=self._verdict(row.point, cell),
            written=self._written(reading),
            limits=self._limits(row.point, cell),
            means=meaning_text(row.point, cell.judgement) if cell.judgement.code else "",
            remarks=_remarks(cell),
            history=self._history(reading),
            responses=self._responses(reading),
            questions=self._questions(reading),
            trend=trend,
            trend_words=f"{TREND_DAYS} days to the end of the shift, band of the limits in force",
            may_ask=True,
        )

    def _where(self, point: Point, column: int) -> str:
        area = self.plant.area(point.area).name
        at = self.when(self.grid.rounds[column].at)
        return " · ".join(part for part in (area, f"round {at}", point.tag) if part)

    def _verdict(self, point: Point, cell: Cell) -> str:
        comma = self.plant.settings.decimal_comma
        if cell.judgement.is_judged:
            mode = cell.reading.mode if cell.reading else ""
            limits = point.limits_in(mode)
            return judgement_text(point, limits, cell.judgement, decimal_comma=comma)
        return "not judged" if cell.text else cell.state.value

    def _limits(self, point: Point, cell: Cell) -> str:
        mode = cell.reading.mode if cell.reading else ""
        comma = self.plant.settings.decimal_comma
        return limits_text(point, point.limits_in(mode), decimal_comma=comma)

    def _written(self, reading: Reading | None) -> str:
        if reading is None:
            return ""
        person = person_name(self.plant, reading.person)
        late = " (late)" if reading.late else ""
        taken, written = self.when(reading.taken_at), self.when(reading.written_at)
        return f"taken {taken}, written {written}{late} by {person}"

    def _history(self, reading: Reading | None) -> tuple[str, ...]:
        if reading is None or not reading.corrected:
            return ()
        found = detail_of(self.book, self._plants, reading.id)
        if found is None:
            return ()
        return tuple(
            self._version(found.point, one, first=k == 0) for k, one in enumerate(found.versions)
        )

    def _version(self, point: Point, version: Version, *, first: bool) -> str:
        one, comma = version.reading, self.plant.settings.decimal_comma
        text = answer_text(point, one.value, one.text, decimal_comma=comma)
        if one.reason:
            text = f"no reading ({describe_reason(one.reason)})"
        judged = judgement_word(version.judgement)
        text = f"{text or 'withdrawn'}{f' ({judged})' if judged else ''}"
        who = f"{person_name(self.plant, one.person)}, {self.when(one.written_at)}"
        return f"{text}, first written by {who}" if first else f"{text}, by {who}: {one.why}"

    def _responses(self, reading: Reading | None) -> tuple[str, ...]:
        found = self.book.responses([reading.id]).values() if reading else ()
        return tuple(
            f"{self.when(r.at)} {r.text} ({person_name(self.plant, r.person)})"
            for group in found
            for r in group
        )

    def _questions(self, reading: Reading | None) -> tuple[str, ...]:
        if reading is None:
            return ()
        lines = []
        for item in self.seen.items:
            if item.reading == reading.id:
                asker = person_name(self.plant, item.person)
                lines.append(f"{self.when(item.at)} {asker}: {item.text}")
                for event in item.events:
                    by = person_name(self.plant, event.person)
                    lines.append(f"   {self.when(event.at)} {by}: {event.text}")
        return tuple(lines)

    def _trend(self, point: Point) -> Trend | None:
        if not point.kind.is_numeric:
            return None
        from logbook.shift.trend_load import load_trends  # numpy: not before it is needed

        end = min(self.shift.end, self.book.now() + MOMENT)
        start = end - timedelta(days=TREND_DAYS)
        return load_trends(self.book, self.plant, [point], start, end)[point.key]

    # -- asking and signing ---------------------------------------------------------------

    def ask(self, person: str, point: str, column: int, text: str) -> None:
        """Write a question to the crew as an open item. Raises BookError."""
        row = self.row_of(point)
        assert row is not None
        ask_crew(self.book, self.grid, person, row.point, row.cells[column], text)
        self.load_items()

    def why_not_sign(self, person: str) -> str:
        """Why somebody cannot sign the review now; empty where they can."""
        return why_not_review(self.book, self.plant, self.shift, person, self.book.now())

    def why_nobody_signs(self) -> str:
        """Why nobody can sign the review now, whoever it is; empty where somebody can."""
        if self.is_running:
            end = self.when(self.shift.end)
            return f"The shift runs until {end}; it can be reviewed when it is over."
        return "This shift is signed as reviewed already." if self.is_signed else ""

    def begin(self, door: Door, person: str, secret: str) -> ToSign:
        """Prove who has reviewed the shift. Raises BookError with why not."""
        return begin_review(self.book, door, self.grid, person, secret)

    def pdf(self, book: Book) -> bytes:
        """The stored bytes of the signed review; made now where nobody has signed.

        `book` may be the one of another thread. Raises BookError.
        """
        review = self.state.review
        if review is not None and review.document is not None:
            return book.document(review.document).pdf
        content = review_content(self.grid)
        seal = short_seal(book.last_page().seal)
        document: Json = {"content": content, "seal": seal, "signatures": []}
        return printed(book, {**document, "content_hash": content_hash(content)})


def printed(book: Book, document: Json) -> bytes:
    """The printed form of a review's document."""
    from logbook.report.make import make_review_pdf  # the typesetter

    return make_review_pdf(document, printed_at=book.now())


def _remarks(cell: Cell) -> tuple[str, ...]:
    words = [mark.value for mark in Mark if mark in cell.marks]
    if cell.count > 1:
        words.append(f"{cell.count} readings in this round, the last is shown")
    off = cell.state in (CellState.MISSING, CellState.NOT_DUE, CellState.EXPLAINED)
    return tuple([*words, *cell.why] if cell.why or words or off else ())
