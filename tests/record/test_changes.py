"""What was written after a page and touches a span: "changed since signing"."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.model import Limits
from logbook.record import (
    BookError,
    NewEntry,
    NewItemEvent,
    NewModeChange,
    NewOpenItem,
    NewReading,
    NewResponse,
    NewSafetyEvent,
    NewSafetyState,
    NewSample,
    NewStatus,
    Ref,
    corrected,
)


@pytest.fixture
def signed(book, clock, hours):
    """A shift of 12 hours with readings and an entry; the page at its end."""
    rows = [NewReading("level", hours(h), value=100.0 + h, typed=f"{100 + h}") for h in range(12)]
    clock.set(hours(12))
    book.write("anna", [*rows, NewEntry(hours(3), "conveyor noisy", area="toaster")])
    return book.write("anna", [NewEntry(hours(12), "signed")], kind="handover").page


def told(changes):
    return [(c.kind, c.how, c.old, c.new, c.why) for c in changes]


def test_nothing_has_changed_right_after_signing(book, signed, hours):
    """The page itself and all before it do not count; nor what lies outside the span."""
    assert book.changed_since(signed, hours(0), hours(12)) == []
    book.write("anna", [NewReading("level", hours(12), value=1.0)])
    assert book.changed_since(signed, hours(0), hours(12)) == []
    assert len(book.changed_since(signed, hours(0), hours(13))) == 1


def test_a_correction_stands_with_old_new_who_when_and_why(book, signed, clock, hours):
    """And a withdrawal says so; of several, each is told in the order written."""
    old = book.readings(["level"], hours(2), hours(3))[0]
    clock.advance(minutes=5)
    book.write("eva", [corrected(old, why="misread", value=10.5, typed="10,5")])
    new = book.readings(["level"], hours(2), hours(3))[0]
    clock.advance(minutes=5)
    book.write("bob", [corrected(new, why="wrong tank")])
    first, second = book.changed_since(signed, hours(0), hours(12))
    assert told([first, second]) == [
        ("reading", "corrected", "102", "10,5", "misread"),
        ("reading", "withdrawn", "10,5", "", "wrong tank"),
    ]
    assert (first.subject, first.person, first.replaces) == ("level", "eva", old.id)
    assert (first.at, first.written_at) == (hours(2), hours(12) + timedelta(minutes=5))
    assert second.person == "bob"


def test_a_reading_added_afterwards_is_told_and_marked_late(book, signed, clock, hours):
    """With what was typed; a missing one with its reason, an answer with its key."""
    clock.set(hours(20))
    book.write(
        "anna",
        [
            NewReading("toaster_t", hours(5), value=101.0),
            NewReading("pump", hours(6), text="leak"),
            NewReading("walk", hours(7), reason="not_safe", round_at=hours(7)),
        ],
    )
    found = book.changed_since(signed, hours(0), hours(12))
    assert [(c.subject, c.how, c.new, c.late) for c in found] == [
        ("toaster_t", "added", "101.0", True),
        ("pump", "added", "leak", True),
        ("walk", "added", "not_safe", True),
    ]


def test_a_reading_moved_out_of_the_span_touches_it(book, signed, clock, hours):
    """And one moved into it; asked for either shift, the change shows."""
    clock.set(hours(20))
    old = book.readings(["level"], hours(11), hours(12))[0]
    book.write("eva", [corrected(old, why="next shift", value=5.0, taken_at=hours(13))])
    for span in ((0, 12), (12, 24)):
        (change,) = book.changed_since(signed, hours(span[0]), hours(span[1]))
        assert (change.how, change.at) == ("corrected", hours(13))
    entry = book.entries(hours(3), hours(4))[0]
    book.write("eva", [NewEntry(hours(14), "conveyor", replaces=entry.id, why="was later")])
    assert told(book.changed_since(signed, hours(0), hours(12)))[1] == (
        "entry", "corrected", "conveyor noisy", "conveyor", "was later",
    )  # fmt: skip


def test_every_kind_of_row_is_told(book, plant, signed, clock, hours):
    """Events, samples, items and limits that take effect in the span."""
    clock.set(hours(20))
    first = book.readings(["level"], hours(1), hours(2))[0]
    book.write(
        "eva",
        [
            NewResponse(first.id, "valve closed", hours(2)),
            NewStatus("equipment", "dt", hours(3), "down", "bearing"),
            NewModeChange(hours(4), "shutdown", "bearing"),
            NewSample(hours(5), "chute", "M-1"),
            NewOpenItem(hours(6), "order a bearing"),
            NewItemEvent(Ref(4), hours(7), "close", "ordered"),
        ],
    )
    tighter = tuple(
        replace(p, limits=Limits(action_high=103.0)) if p.key == "toaster_t" else p
        for p in plant.points
    )
    book.revise("eva", replace(plant, points=tighter), effective_from=hours(8), reason="trial")
    found = book.changed_since(signed, hours(0), hours(12))
    assert [(c.kind, c.subject, c.new, c.why) for c in found] == [
        ("response", "level", "valve closed", ""),
        ("downtime", "dt", "down", "bearing"),
        ("mode", "", "shutdown", "bearing"),
        ("sample", "", "M-1", ""),
        ("open item", "", "order a bearing", ""),
        ("item event", "", "close · ordered", ""),
        ("limits", "toaster_t", "normal", "trial"),
    ]
    assert {c.how for c in found} == {"added"}


def test_the_order_of_pages_of_a_seat_counts_not_its_clock(book, signed, clock, hours):
    """A clock that was put back hides nothing."""
    clock.set(hours(11))
    old = book.readings(["level"], hours(2), hours(3))[0]
    book.write("eva", [corrected(old, why="misread", value=1.0)])
    assert len(book.changed_since(signed, hours(0), hours(12))) == 1


def test_other_seats_are_compared_by_their_clocks(book, signed, clock, hours, reopen):
    """Their pages have numbers of their own; the same millisecond counts as after."""
    cabin = reopen(seat_name="Cabin")
    entry = NewEntry(hours(4), "from the cabin")
    clock.set(hours(11.9))
    cabin.write("bob", [entry])
    assert book.changed_since(signed, hours(0), hours(12)) == []
    clock.set(hours(12))
    cabin.write("bob", [entry])
    assert len(book.changed_since(signed, hours(0), hours(12))) == 1


def test_an_instant_may_be_given_in_place_of_a_page(book, signed, clock, hours):
    """What was written later than it."""
    clock.set(hours(13))
    book.write("eva", [NewEntry(hours(4), "late entry")])
    ask = [len(book.changed_since(hours(h), hours(0), hours(12))) for h in (0, 12, 12.9, 13)]
    assert ask == [14, 1, 1, 0]


def test_a_page_that_is_not_there_is_refused(book, hours):
    """One sentence."""
    with pytest.raises(BookError, match="no page number 5"):
        book.changed_since(5, hours(0), hours(1))


def test_a_long_book_is_not_gone_through(book, signed, hours):
    """Readings and entries of the span come from an index, not from a pass through the book."""
    from logbook.record import changes

    for table, query in (("reading", changes._READINGS), ("entry", changes._ENTRIES)):
        plan = [row[3] for row in book._ask(f"EXPLAIN QUERY PLAN {query}", 0, 10)]
        gone_through = {line.split()[1] for line in plan if line.startswith("SCAN")}
        assert gone_through <= {"k", "i"}, table  # the points, and what was found of the span
    details = " ".join(row[3] for row in book._ask(f"EXPLAIN QUERY PLAN {changes._READINGS}", 0, 1))
    assert "reading_series (point=? AND taken_at>? AND taken_at<?)" in details


def test_a_response_given_later_belongs_to_the_reading_it_answers(book, signed, clock, hours):
    """Whatever its own time: it concerns the shift of the reading."""
    first = book.readings(["level"], hours(1), hours(2))[0]
    clock.set(hours(20))
    book.write("eva", [NewResponse(first.id, "valve closed", hours(19))])
    (change,) = book.changed_since(signed, hours(0), hours(12))
    assert (change.kind, change.subject, change.new) == ("response", "level", "valve closed")


def test_what_happens_to_matters_handed_on_is_told_for_as_long_as_asked(book, signed, clock, hours):
    """Of items and safety states from before the end; not of new ones, nor of what came later."""
    rows = [
        NewOpenItem(hours(6), "order a bearing"),
        NewSafetyState(hours(7), "permit", "Hot work"),
    ]
    clock.set(hours(13))
    item, permit = book.write("eva", rows).ids
    mark = book.last_page().id
    later = book.write("eva", [NewSafetyState(hours(12.5), "bypass", "Level trip")]).ids[0]
    clock.set(hours(16))
    book.write(
        "bob",
        [
            NewItemEvent(item, hours(13), "close", "ordered"),
            NewSafetyEvent(permit, hours(14), "clear", "work done"),
            NewSafetyEvent(later, hours(14), "clear", "trip back"),
        ],
    )
    found = book.followed_since(mark, hours(12), hours(15))
    assert told(found) == [
        ("item event", "added", "order a bearing", "close · ordered", ""),
        ("safety event", "added", "Hot work", "clear · work done", ""),
    ]
    assert len(book.followed_since(mark, hours(12), hours(14))) == 1
    assert book.changed_since(mark, hours(0), hours(12)) == []
