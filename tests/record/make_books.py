"""Writes the committed book of the present schema version; run it once, when a version is new.

python tests/record/make_books.py

It refuses to overwrite: a book of a released version stays as that version wrote it.
"""

from __future__ import annotations

import sys
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from logbook.plant.calendar import Crew, ShiftCalendar, ShiftPattern
from logbook.plant.model import Area, Limits, Person, Plant, Point, PointKind, Role
from logbook.record import (
    Book,
    NewAccess,
    NewAcknowledgement,
    NewCredential,
    NewDocument,
    NewEntry,
    NewHandoverCheck,
    NewHandoverNote,
    NewInstruction,
    NewInstructionEnd,
    NewItemEvent,
    NewModeChange,
    NewOpenItem,
    NewReading,
    NewResponse,
    NewSafetyEvent,
    NewSafetyState,
    NewSample,
    NewSignature,
    NewStatus,
    Ref,
    corrected,
    create_book,
)
from logbook.record.migrations import SCHEMA_VERSION

START = datetime(2026, 3, 2, 6, tzinfo=UTC)
CALENDAR = ShiftCalendar(
    time_zone="UTC",
    shifts=(
        ShiftPattern("D", "Day", time(6), time(18)),
        ShiftPattern("N", "Night", time(18), time(6)),
    ),
    crews=(Crew("a", "Crew A", 0), Crew("b", "Crew B", 1)),
    roster=("D", "N"),
    anchor=date(2026, 3, 1),
)
PLANT = Plant(
    key="demo",
    name="Demonstration plant",
    calendar=CALENDAR,
    areas=(Area("toaster", "Toaster"),),
    points=(
        Point(
            key="toaster_t",
            name="Toaster temperature",
            area="toaster",
            unit="degC",
            limits=Limits(warning_high=110.0, action_high=115.0),
        ),
        Point(key="moisture", name="Meal moisture", area="toaster", kind=PointKind.LAB, unit="%"),
    ),
    people=(Person("anna", "Anna"), Person("eva", "Eva", Role.ENGINEER)),
)


def main(path: Path) -> None:
    """Write one row of every kind, and three days of rounds."""
    now = START

    def clock() -> datetime:
        return now

    with create_book(
        path, PLANT, clock=clock, person="eva", reason="first description", uuid="a-committed-book"
    ) as book:
        for number in range(36):
            now += timedelta(hours=2)
            value = 100.0 + number % 13 * 1.5
            rows = [NewReading("toaster_t", now, value=value, typed=f"{value}", round_at=now)]
            book.write("anna", rows)
        last = book.readings(["toaster_t"], START, now + timedelta(hours=1))[-1]
        book.write("anna", [corrected(last, why="misread", value=101.0)], kind="correction")
        book.write(
            "anna",
            [
                NewSample(now, "meal chute", "M-1"),
                NewReading("moisture", now, value=12.4, typed="12,4", sample=Ref(0)),
                NewResponse(Ref(1), "dryer turned up", now),
                NewEntry(now, "conveyor noisy", area="toaster"),
                NewStatus("area", "toaster", now, "down", "bearing"),
                NewModeChange(now, "normal"),
            ],
            kind="event",
        )
        write_crew(book, now)
    path.with_name(path.name + ".lock").unlink()


def write_crew(book: Book, now: datetime) -> None:
    """What version 2 has brought: a journal, and a handover signed by both sides."""
    day, pdf = now.date(), b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n%%EOF\n"
    book.write(
        "anna",
        [
            NewCredential("anna", "pin", "$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaA"),
            NewAccess("anna", now, "signed_on", "Control room"),
            NewOpenItem(now, "order a bearing for the conveyor", area="toaster", owner="eva"),
            NewItemEvent(Ref(2), now, "update", "ordered, comes on Friday"),
            NewInstruction(now, None, "keep the toaster below 110 °C", area="toaster"),
            NewInstructionEnd(Ref(4), now + timedelta(days=3), "trial over"),
            NewAcknowledgement(Ref(4), now),
            NewSafetyState(now, "bypass", "level switch bridged", authorised_by="eva"),
            NewSafetyEvent(Ref(7), now, "extend", "part missing", now + timedelta(days=1)),
            NewHandoverNote(day, "D", "remarks", "quiet but for the conveyor"),
            NewDocument("handover", day, "D", '{"shift": "D"}', pdf),
            NewSignature(day, "D", "outgoing", now, "I hand the shift over", Ref(10), "ab" * 32),
        ],
        kind="handover",
    )
    check = NewHandoverCheck(day, "D", "safety state 1", "asked", "who bridged the switch?")
    taken = NewSignature(day, "D", "incoming", now, "I take the shift over", None, "ab" * 32)
    book.write("eva", [check, taken], kind="handover")


if __name__ == "__main__":
    main(Path(__file__).parents[1] / "data" / "books" / f"v{SCHEMA_VERSION}.book")
