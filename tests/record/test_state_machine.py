"""Whatever people do in whatever order, nothing is lost and every seal holds."""

from __future__ import annotations

import os
import tempfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    initialize,
    invariant,
    multiple,
    rule,
)

from logbook.record import (
    DraftField,
    DraftHead,
    NewEntry,
    NewReading,
    WriteRefused,
    create_book,
    open_book,
    verify,
)

START = datetime(2026, 3, 2, 6, tzinfo=UTC)
POINTS = ("level", "toaster_t")
EXAMPLES = int(os.environ.get("LOGBOOK_EXAMPLES", "15"))
"""Set LOGBOOK_EXAMPLES=500 for a long run."""

VALUES = st.floats(-1e6, 1e6) | st.sampled_from([0.0, -0.0, 1e-300, 110.0])


class Machine(RuleBasedStateMachine):
    """People writing, correcting, revising and restarting, beside a plain Python account of it."""

    plant = None  # set by the test
    readings = Bundle("readings")

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "plant.book"
        self.now = START
        self.seat = "Control room"
        self.told: dict[int, tuple[str, datetime, float | None]] = {}
        self.current: dict[tuple[str, datetime], int] = {}
        self.entries: list[str] = []
        self.plants = [(START, self.plant)]
        self.seals: list[str] = []
        self.draft: dict[str, str] = {}

    @initialize()
    def make(self) -> None:
        """A fresh book."""
        self.book = create_book(
            self.path, self.plant, clock=lambda: self.now, person="eva", reason="first"
        )

    def written(self, saved) -> None:
        """Note a seal that was given out, and let a moment pass."""
        self.now += timedelta(seconds=1)
        self.seals.append(saved.seal)

    @rule(
        target=readings,
        point=st.sampled_from(POINTS),
        minutes=st.integers(0, 600),
        values=st.lists(VALUES, min_size=1, max_size=4),
        drop=st.booleans(),
    )
    def read(self, point, minutes, values, drop):
        """A save of some readings of a point, in the past hours; times already taken are refused."""
        times = [self.now - timedelta(minutes=minutes + n) for n in range(len(values))]
        rows = [
            NewReading(point, t, value=v, typed=repr(v)) for t, v in zip(times, values, strict=True)
        ]
        free = all((point, t) not in self.current for t in times)
        try:
            saved = self.book.write("anna", rows, drop_draft=START if drop else None)
        except WriteRefused:
            assert not free
            return multiple()
        assert free
        if drop:
            self.draft = {}
        self.written(saved)
        for new_id, t, v in zip(saved.ids, times, values, strict=True):
            self.told[new_id] = (point, t, v)
            self.current[point, t] = new_id
        return multiple(*saved.ids)

    @rule(target=readings, old=consumes(readings), value=VALUES | st.none())
    def correct(self, old, value):
        """A correction, or with None a withdrawal."""
        point, t, _ = self.told[old]
        row = NewReading(point, t, value=value, replaces=old, why="misread")
        saved = self.book.write("eva", [row], kind="correction")
        self.written(saved)
        self.told[saved.ids[0]] = (point, t, value)
        self.current[point, t] = saved.ids[0]
        return saved.ids[0]

    @rule(text=st.text(st.characters(exclude_categories=["Cs", "Zs", "Cc"]), min_size=1))
    def log(self, text):
        """A log entry with any words."""
        try:
            self.written(self.book.write("anna", [NewEntry(self.now, text)], kind="event"))
        except WriteRefused:
            assert not text.strip()
        else:
            self.entries.append(text)

    @rule(high=st.floats(100, 200))
    def revise(self, high):
        """Other limits from now on."""
        since, (_, plant) = self.now, self.plants[-1]
        points = tuple(
            replace(p, limits=replace(p.limits, action_high=high)) if p.key == "toaster_t" else p
            for p in plant.points
        )
        changed = replace(plant, points=points)
        saved = self.book.revise("eva", changed, effective_from=since, reason="trial")
        if saved is not None:
            self.written(saved)
            self.plants.append((since, changed))

    @rule(text=st.text("0123456789,", max_size=6))
    def type_in(self, text):
        """A field of the draft changes."""
        head = DraftHead(START, START, "normal", "anna")
        self.book.keep_draft(head, [DraftField("level", text)])
        self.draft = {"level": text} if text else {}

    @rule(minutes=st.integers(1, 900))
    def wait(self, minutes):
        """Time passes."""
        self.now += timedelta(minutes=minutes)

    @rule(seat=st.sampled_from(["Control room", "Cabin"]), closed=st.booleans())
    def reopen(self, seat, closed):
        """The program is started again, on the same seat or another, with or without closing."""
        if seat != self.seat:
            self.draft = {}
            self.book.drop_draft(START)
        old, self.seat = self.book, seat
        if closed:
            old.close()
        self.book = open_book(self.path, clock=lambda: self.now, seat_name=seat)
        old.close()
        if seat != self.seat or not self.draft:
            self.book.drop_draft(START)

    @invariant()
    def nothing_is_lost(self) -> None:
        """Every value ever written can still be read, with its typed form."""
        for reading_id, (point, t, value) in self.told.items():
            found = self.book.reading(reading_id)
            assert (found.point, found.taken_at, found.value) == (point, t, value)
            assert found.id in {r.id for r in self.book.history_of(reading_id)}
        for text in self.entries:
            assert text in [e.text for e in self.book.entries(START, self.now + timedelta(1))]

    @invariant()
    def the_series_is_what_stands_now(self) -> None:
        """Corrections applied, withdrawn readings left out, in order."""
        if not hasattr(self, "book"):
            return
        found = self.book.series(POINTS, START - timedelta(days=2), self.now + timedelta(days=1))
        for point in POINTS:
            standing = sorted(
                (t, self.told[i][2])
                for (key, t), i in self.current.items()
                if key == point and self.told[i][2] is not None
            )
            assert list(found[point].value) == [value for _, value in standing]
            assert list(found[point].taken_at) == [int(t.timestamp()) for t, _ in standing]

    @invariant()
    def every_seal_holds(self) -> None:
        """The chain verifies, and every seal that was ever given out is in it."""
        if not hasattr(self, "book"):
            return
        found = verify(self.path, known_seals=self.seals, structure=False)
        assert found.is_sound, str(found)

    @invariant()
    def the_plant_of_each_time_is_what_it_was(self) -> None:
        """A later change never rewrites history."""
        if not hasattr(self, "book"):
            return
        latest = dict(self.plants)  # of two at one instant, the later
        for since, plant in latest.items():
            assert self.book.plant_at(since) == plant

    @invariant()
    def the_draft_is_what_was_typed(self) -> None:
        """Half-typed text is neither lost nor mixed up."""
        if not hasattr(self, "book"):
            return
        draft = self.book.load_draft(START)
        fields = {} if draft is None else {p: f.typed for p, f in draft.fields.items()}
        assert fields == self.draft

    def teardown(self) -> None:
        """A last full check, with the file's structure."""
        if hasattr(self, "book"):
            self.book.close()
            found = verify(self.path, known_seals=self.seals)
            assert found.is_sound, str(found)
        self.folder.cleanup()


@pytest.mark.slow
def test_nothing_people_do_loses_or_changes_what_was_written(plant):
    """Random sequences of saves, corrections, revisions and restarts keep every promise."""
    from hypothesis.stateful import run_state_machine_as_test

    Machine.plant = plant
    run_state_machine_as_test(
        Machine, settings=settings(max_examples=EXAMPLES, stateful_step_count=20, deadline=None)
    )
