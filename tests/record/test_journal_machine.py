"""Two seats write one journal in any order: what each reads is what a plain account says."""

from __future__ import annotations

import os
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    initialize,
    invariant,
    multiple,
    rule,
)

from logbook.record import (
    NewDocument,
    NewEntry,
    NewItemEvent,
    NewOpenItem,
    NewSafetyEvent,
    NewSafetyState,
    NewSignature,
    Ref,
    WriteRefused,
    create_book,
    open_book,
    verify,
)

START = datetime(2026, 3, 2, 6, tzinfo=UTC)
EXAMPLES = int(os.environ.get("LOGBOOK_EXAMPLES", "12"))
"""Set LOGBOOK_EXAMPLES=500 for a long run."""

SEATS = st.sampled_from([0, 1])
BACK = st.integers(0, 300)
"""Minutes before now at which something happened."""


class Machine(RuleBasedStateMachine):
    """Items, safety states, signatures and corrected entries, beside a plain Python account."""

    plant = None  # set by the test
    items = Bundle("items")
    states = Bundle("states")
    entries = Bundle("entries")

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "plant.book"
        self.now = START
        self.opened: dict[int, datetime] = {}
        self.turns: dict[int, list[tuple[datetime, str]]] = {}
        self.safety: dict[int, tuple[datetime, datetime | None]] = {}
        self.signed: dict[tuple[str, str], str] = {}
        self.wording: dict[int, str | None] = {}
        self.seals: list[str] = []

    @initialize()
    def make(self) -> None:
        """One book, open at two seats."""
        create_book(
            self.path, self.plant, clock=lambda: self.now, person="eva", reason="first"
        ).close()
        self.books = [
            open_book(self.path, clock=lambda: self.now, seat_name=name)
            for name in ("Control room", "Cabin")
        ]

    def write(self, seat, person, *rows):
        """Save and note the seal; a moment passes."""
        saved = self.books[seat].write(person, rows)
        self.seals.append(saved.seal)
        self.now += timedelta(seconds=1)
        return saved.ids

    @rule(target=items, seat=SEATS, back=BACK)
    def open_item(self, seat, back):
        """A matter comes up."""
        at = self.now - timedelta(minutes=back)
        (item,) = self.write(seat, "anna", NewOpenItem(at, "matter"))
        self.opened[item], self.turns[item] = at, []
        return item

    @rule(seat=SEATS, item=items, back=BACK, kind=st.sampled_from(["close", "reopen", "update"]))
    def turn(self, seat, item, back, kind):
        """It is closed, opened again, or there is news; what makes no sense is refused."""
        at = self.now - timedelta(minutes=back)
        turns = self.turns[item]
        closed = bool(turns) and turns[-1][1] == "close"
        sensible = (
            at >= self.opened[item]
            and (not turns or at >= turns[-1][0])
            and closed == (kind == "reopen")
        )
        try:
            self.write(seat, "bob", NewItemEvent(item, at, kind, "words"))
        except WriteRefused:
            assert not sensible
        else:
            assert sensible
            if kind != "update":
                turns.append((at, kind))

    @rule(target=states, seat=SEATS, back=BACK)
    def bypass(self, seat, back):
        """Something is bridged."""
        at = self.now - timedelta(minutes=back)
        (state,) = self.write(seat, "anna", NewSafetyState(at, "bypass", "switch"))
        self.safety[state] = (at, None)
        return state

    @rule(seat=SEATS, state=states, back=BACK)
    def clear(self, seat, state, back):
        """It is put right, once."""
        at = self.now - timedelta(minutes=back)
        began, cleared = self.safety[state]
        sensible = cleared is None and at >= began
        try:
            self.write(seat, "bob", NewSafetyEvent(state, at, "clear", "removed"))
        except WriteRefused:
            assert not sensible
        else:
            assert sensible
            self.safety[state] = (began, at)

    @rule(
        seat=SEATS,
        person=st.sampled_from(["anna", "bob", "eva"]),
        role=st.sampled_from(["outgoing", "incoming", "review"]),
        key=st.sampled_from(["D", "N"]),
    )
    def sign(self, seat, person, role, key):
        """A shift is signed once in each role, by different people at a handover."""
        day = START.date()
        other = {"outgoing": "incoming", "incoming": "outgoing"}.get(role)
        free = (key, role) not in self.signed and self.signed.get((key, other)) != person
        document = NewDocument("handover", day, key, "{}", person.encode())
        signature = NewSignature(day, key, role, self.now, "meant", Ref(0), "ab")
        try:
            self.write(seat, person, document, signature)
        except WriteRefused:
            assert not free
        else:
            assert free
            self.signed[key, role] = person

    @rule(target=entries, seat=SEATS, word=st.sampled_from(["pump", "fan"]))
    def log(self, seat, word):
        """A log entry."""
        (entry,) = self.write(seat, "anna", NewEntry(self.now, word))
        self.wording[entry] = word
        return entry

    @rule(
        target=entries,
        seat=SEATS,
        entry=entries,
        word=st.sampled_from(["pump", "fan"]) | st.none(),
    )
    def correct(self, seat, entry, word):
        """Its newest wording is corrected or withdrawn; an older one is refused."""
        row = NewEntry(self.now, word, replaces=entry, why="misheard")
        try:
            (new,) = self.write(seat, "eva", row)
        except WriteRefused:
            assert entry not in self.wording
            return multiple()
        del self.wording[entry]
        self.wording[new] = word
        return new

    @rule(minutes=st.integers(1, 400))
    def wait(self, minutes):
        """Time passes."""
        self.now += timedelta(minutes=minutes)

    @rule(seat=SEATS, back=BACK)
    def look_back(self, seat, back):
        """As of any instant, what was open then is what is told."""
        at = self.now - timedelta(minutes=back)
        book = self.books[seat]
        assert {i.id for i in book.open_items(at)} == {
            item
            for item, since in self.opened.items()
            if since <= at and ([k for t, k in self.turns[item] if t <= at] or [""])[-1] != "close"
        }
        assert {s.id for s in book.safety_states(at)} == {
            state
            for state, (began, cleared) in self.safety.items()
            if began <= at and (cleared is None or cleared > at)
        }

    @invariant()
    def both_seats_read_the_same(self) -> None:
        """Signatures, and words as they now stand."""
        if not hasattr(self, "books"):
            return
        for book in self.books:
            signed = {
                (key, s.role): s.person
                for key in ("D", "N")
                for s in book.signatures(START.date(), key)
            }
            assert signed == self.signed
            hits = {h.id: h.text for h in book.search("", limit=9999) if h.kind == "entry"}
            assert hits == {i: word for i, word in self.wording.items() if word is not None}

    def teardown(self) -> None:
        """Every seal that was given out is there, the index agrees, nothing half signed is left."""
        if hasattr(self, "books"):
            documents = sum(len(self.books[0].documents(START.date(), key)) for key in ("D", "N"))
            assert documents == len(self.signed)
            for book in self.books:
                book.close()
            found = verify(self.path, known_seals=self.seals)
            assert found.is_sound, str(found)
        self.folder.cleanup()


@pytest.mark.slow
def test_two_seats_keep_one_journal(plant):
    """Random sequences from two seats: nothing is lost, told twice, or signed twice."""
    from hypothesis.stateful import run_state_machine_as_test

    Machine.plant = plant
    run_state_machine_as_test(
        Machine, settings=settings(max_examples=EXAMPLES, stateful_step_count=30, deadline=None)
    )
