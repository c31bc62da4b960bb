"""A small plant, books for it, and child processes to be killed."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date, datetime, time, timedelta
from pathlib import Path

import pytest

from logbook.plant.calendar import Crew, ShiftCalendar, ShiftPattern
from logbook.plant.model import (
    Area,
    Choice,
    Equipment,
    Limits,
    Mode,
    Person,
    Plant,
    Point,
    PointKind,
    Role,
    Weight,
)
from logbook.record import (
    Book,
    NewAccess,
    NewAcknowledgement,
    NewCredential,
    NewDocument,
    NewHandoverCheck,
    NewHandoverNote,
    NewInstruction,
    NewInstructionEnd,
    NewItemEvent,
    NewOpenItem,
    NewSafetyEvent,
    NewSafetyState,
    NewSignature,
    Ref,
    create_book,
    open_book,
)

CALENDAR = ShiftCalendar(
    time_zone="UTC",
    shifts=(
        ShiftPattern("D", "Day", time(6), time(18)),
        ShiftPattern("N", "Night", time(18), time(6)),
    ),
    crews=(Crew("a", "Crew A", 0), Crew("b", "Crew B", 2)),
    roster=("D", "D", "N", "N"),
    anchor=date(2026, 3, 1),
    exceptions={(date(2026, 3, 3), "D"): "b", (date(2026, 3, 4), "N"): None},
)

TEMPERATURE = Point(
    key="toaster_t",
    name="Toaster temperature",
    area="toaster",
    equipment="dt",
    unit="degC",
    limits=Limits(
        target=105.0, warning_low=100.0, warning_high=110.0, action_low=95.0, action_high=115.0
    ),
    limits_by_mode={"startup": Limits(warning_low=60.0, warning_high=110.0)},
    silent_modes=("shutdown",),
    high_means="too hot",
)
MOISTURE = Point(
    key="meal_moisture",
    name="Meal moisture",
    area="toaster",
    kind=PointKind.LAB,
    unit="%",
    limits=Limits(warning_high=12.5, action_high=13.0),
)
PUMP = Point(
    key="pump",
    name="Solvent pump",
    area="extraction",
    kind=PointKind.STATE,
    choices=(
        Choice("run", "Running"),
        Choice("leak", "Leaking", Weight.ACTION),
        Choice("noise", "Noisy", Weight.WARNING),
    ),
)
WALK = Point(key="walk", name="Walk round done", area="extraction", kind=PointKind.CHECK)
LEVEL = Point(key="level", name="Solvent level", area="extraction", unit="cm")

SMALL_PLANT = Plant(
    key="demo",
    name="Demonstration plant",
    calendar=CALENDAR,
    areas=(Area("extraction", "Extraction", "no sparks"), Area("toaster", "Toaster")),
    equipment=(Equipment("dt", "Desolventizer", "toaster"),),
    points=(LEVEL, PUMP, WALK, TEMPERATURE, MOISTURE),
    modes=(Mode("normal", "Normal"), Mode("startup", "Start-up"), Mode("shutdown", "Shut-down")),
    people=(Person("anna", "Anna", Role.OPERATOR, "a"), Person("eva", "Eva", Role.ENGINEER)),
)


@pytest.fixture
def plant() -> Plant:
    """Two areas, five points of different kinds."""
    return SMALL_PLANT


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the book of this test lies."""
    return tmp_path / "plant.book"


@pytest.fixture
def new_book(path, clock, plant) -> Iterator[Callable[..., Book]]:
    """Makes books; those still open at the end are closed."""
    made: list[Book] = []

    def make(at: Path = path, what: Plant = plant, **more) -> Book:
        given = {"clock": clock, "person": "eva", "reason": "first description", **more}
        made.append(create_book(at, what, **given))
        return made[-1]

    yield make
    for book in made:
        book.close()


@pytest.fixture
def book(new_book) -> Book:
    """An open book for the small plant, made at 06:00."""
    return new_book()


@pytest.fixture
def reopen(path, clock) -> Iterator[Callable[..., Book]]:
    """Opens the book of this test again; what is still open at the end is closed."""
    made: list[Book] = []

    def again(**more) -> Book:
        made.append(open_book(path, **{"clock": clock, **more}))
        return made[-1]

    yield again
    for book in made:
        book.close()


@pytest.fixture
def bare(path) -> Iterator[sqlite3.Connection]:
    """The book as any SQLite client sees it: a plain connection without a pragma."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        yield connection


@pytest.fixture
def unguard() -> Callable[[sqlite3.Connection], list[str]]:
    """Drops all triggers, as somebody would who wants to change the book; gives back their SQL."""

    def drop(connection: sqlite3.Connection) -> list[str]:
        rows = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        triggers = rows.fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        return [sql for _, sql in triggers]

    return drop


@pytest.fixture
def child(repo_root) -> Iterator[Callable[..., subprocess.Popen]]:
    """Starts Python with a script and arguments; whatever still runs at the end is killed."""
    running: list[subprocess.Popen] = []

    def start(script: str, *arguments: object) -> subprocess.Popen:
        process = subprocess.Popen(
            [sys.executable, "-c", script, *map(str, arguments)],
            cwd=repo_root,
            env={**os.environ, "PYTHONPATH": str(repo_root)},
            stdout=subprocess.PIPE,
            stdin=subprocess.PIPE,
            text=True,
        )
        running.append(process)
        return process

    yield start
    for process in running:
        process.kill()
        process.communicate()


@pytest.fixture
def crew_rows(clock) -> list:
    """One new row of every kind that a shift's journal and its handover know, in one save."""
    now = clock.now
    day = now.date()
    return [
        NewCredential("anna", "pin", "$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaA"),
        NewAccess("anna", now, "signed_on"),
        NewOpenItem(now, "order a bearing", equipment="dt", owner="eva"),
        NewItemEvent(Ref(2), now, "update", "ordered"),
        NewInstruction(now, None, "keep the toaster below 110 °C", area="toaster"),
        NewInstructionEnd(Ref(4), now + timedelta(hours=9), "trial over"),
        NewAcknowledgement(Ref(4), now),
        NewSafetyState(now, "bypass", "level switch bridged", equipment="dt", authorised_by="eva"),
        NewSafetyEvent(Ref(7), now, "extend", "part missing", now + timedelta(hours=20)),
        NewHandoverNote(day, "D", "remarks", "quiet"),
        NewHandoverCheck(day, "D", "safety state 1", "asked", "who bridged it?"),
        NewDocument("handover", day, "D", '{"shift": "D"}', b"%PDF-1.7 \x00\xff"),
        NewSignature(day, "D", "outgoing", now, "I hand the shift over", Ref(11), "ab" * 32),
    ]


@pytest.fixture
def hours(clock) -> Callable[[float], datetime]:
    """The instant so many hours after the start of the test's clock."""
    start = clock.now
    return lambda count: start + timedelta(hours=count)
