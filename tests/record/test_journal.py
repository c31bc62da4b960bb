"""Open items, instructions, safety states and signing on: what is written and what is read."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from logbook.record import (
    BookError,
    NewAccess,
    NewAcknowledgement,
    NewCredential,
    NewEntry,
    NewInstruction,
    NewInstructionEnd,
    NewItemEvent,
    NewOpenItem,
    NewReading,
    NewSafetyEvent,
    NewSafetyState,
    Ref,
    WriteRefused,
)


@pytest.fixture
def later(clock, hours):
    """The clock stands at hour 48, so that all of two days can be written."""
    clock.set(hours(48))


def texts(items):
    return [item.text for item in items]


# ---------------------------------------------------------------- open items


@pytest.fixture
def item(book, hours, later):
    """An item opened at hour 1."""
    row = NewOpenItem(hours(1), "order a bearing", "toaster", "dt", "eva", hours(30))
    return book.write("anna", [row]).ids[0]


def test_an_item_is_told_as_it_was_written(book, item, hours):
    """With owner, due time, place, and what it came from."""
    rows = [
        NewReading("toaster_t", hours(2), value=120.0),
        NewEntry(hours(2), "smells burnt"),
        NewOpenItem(hours(2), "look at the steam valve", reading=Ref(0), entry=Ref(1)),
    ]
    reading, entry, other = book.write("eva", rows).ids
    first, second = book.open_items(hours(48))
    assert (first.id, first.owner, first.due_at, first.person) == (item, "eva", hours(30), "anna")
    assert (first.area, first.equipment, first.events) == ("toaster", "dt", ())
    assert (second.id, second.reading, second.entry) == (other, reading, entry)
    assert first.written_at == hours(48)


def test_an_item_is_carried_until_it_is_closed(book, item, hours):
    """Open from the instant it came up to just before it was closed, at any instant asked for."""
    book.write("anna", [NewItemEvent(item, hours(3), "update", "ordered")])
    book.write("eva", [NewItemEvent(item, hours(9), "close", "fitted")])
    assert book.open_items(hours(1) - timedelta(seconds=1)) == []
    for hour, events in ((1, 0), (2.99, 0), (3, 1), (8.9, 1)):
        (found,) = book.open_items(hours(hour))
        assert (found.is_open, found.closed_at, len(found.events)) == (True, None, events)
    assert book.open_items(hours(9)) == []
    whole = book.item(item)
    assert (whole.is_open, whole.closed_at) == (False, hours(9))
    assert [(e.kind, e.text, e.person) for e in whole.events] == [
        ("update", "ordered", "anna"),
        ("close", "fitted", "eva"),
    ]


def test_an_item_can_be_opened_again(book, item, hours):
    """A repair that did not hold: the same item with its whole story."""
    for hour, kind in ((2, "close"), (5, "reopen"), (8, "close")):
        book.write("anna", [NewItemEvent(item, hours(hour), kind, f"{kind} it")])
    states = [bool(book.open_items(hours(h))) for h in (1, 2, 4, 5, 7, 8)]
    assert states == [True, False, False, True, True, False]
    assert len(book.item(item).events) == 3


def test_items_touched_in_a_span_are_told_as_at_its_end(book, item, hours):
    """Opened or with an event inside; what came after the span does not show."""
    book.write("anna", [NewItemEvent(item, hours(3), "update", "ordered")])
    book.write("anna", [NewItemEvent(item, hours(9), "close", "fitted")])
    assert book.items(hours(1.5), hours(3)) == []
    (found,) = book.items(hours(2), hours(4))
    assert (found.is_open, len(found.events)) == (True, 1)
    (found,) = book.items(hours(8), hours(10))
    assert (found.is_open, found.closed_at, len(found.events)) == (False, hours(9), 2)
    assert texts(book.items(hours(0), hours(1.5))) == ["order a bearing"]


def test_one_save_may_open_and_close(book, hours, later):
    """Rows of a save refer to one another, in their order."""
    rows = [
        NewOpenItem(hours(1), "tighten the belt"),
        NewItemEvent(Ref(0), hours(1), "close", "done"),
        NewItemEvent(Ref(0), hours(2), "reopen", "loose again"),
    ]
    ids = book.write("anna", rows).ids
    assert book.item(ids[0]).is_open
    closed_twice = [*rows[:2], NewItemEvent(Ref(0), hours(3), "close", "again")]
    with pytest.raises(WriteRefused, match="closed already by this save"):
        book.write("anna", closed_twice)


def test_a_second_closing_is_told_who_was_first(book, item, hours, reopen):
    """Two windows close one item: the later one hears who did and when."""
    other = reopen(seat_name="Cabin")
    other.write("eva", [NewItemEvent(item, hours(4), "close", "fitted")])
    with pytest.raises(WriteRefused, match=r"closed already by eva at 2026-03-02 10:00 UTC"):
        book.write("anna", [NewItemEvent(item, hours(5), "close", "fitted")])
    with pytest.raises(WriteRefused, match="closed already by eva"):
        book.write("anna", [NewItemEvent(item, hours(5), "update", "still waiting")])


@pytest.mark.parametrize(
    ("hour", "kind", "text", "said"),
    [
        (0.5, "update", "early", "was opened at 2026-03-02 07:00 UTC"),
        (2, "reopen", "why not", "is open"),
        (2, "close", "  ", "Closing an open item needs some words"),
        (2, "update", "", "News of an open item needs some words"),
        (2, "drop", "x", "is one of update, close, reopen"),
        (99, "update", "x", "in the future"),
    ],
)
def test_news_that_cannot_be_is_refused(book, item, hours, hour, kind, text, said):
    """Before the item, without words, of an unknown kind, in the future."""
    with pytest.raises(WriteRefused, match=said):
        book.write("anna", [NewItemEvent(item, hours(hour), kind, text)])
    assert book.item(item).events == ()


def test_events_between_a_closing_and_what_came_after_are_refused(book, item, hours):
    """Otherwise the order of time would tell another story than what people saw."""
    book.write("anna", [NewItemEvent(item, hours(4), "close", "fitted")])
    book.write("anna", [NewItemEvent(item, hours(6), "reopen", "leaks")])
    with pytest.raises(WriteRefused, match=r"opened again at .* by anna, after the time"):
        book.write("anna", [NewItemEvent(item, hours(5), "update", "forgotten")])


def test_news_of_an_item_that_is_not_there_is_refused(book, hours, later):
    """A wrong number, or a Ref to another kind of row."""
    with pytest.raises(WriteRefused, match="no open_item number 77"):
        book.write("anna", [NewItemEvent(77, hours(1), "update", "x")])
    rows = [NewEntry(hours(1), "x"), NewItemEvent(Ref(0), hours(1), "update", "x")]
    with pytest.raises(WriteRefused, match="Row 0 of this save is no open_item"):
        book.write("anna", rows)
    with pytest.raises(BookError, match="no open item number 77"):
        book.item(77)


# ---------------------------------------------------------------- instructions


@pytest.fixture
def instruction(book, hours, later):
    """One that holds from hour 10 to hour 20."""
    row = NewInstruction(hours(10), hours(20), "dry meal to 12 %", "toaster")
    return book.write("eva", [row]).ids[0]


def test_an_instruction_holds_from_its_start_to_before_its_end(book, instruction, hours):
    """At its start it does, at its end no longer."""
    found = [len(book.instructions(hours(h))) for h in (9.99, 10, 19.99, 20)]
    assert found == [0, 1, 1, 0]
    (one,) = book.instructions(hours(10))
    assert (one.id, one.text, one.area, one.person) == (
        instruction,
        "dry meal to 12 %",
        "toaster",
        "eva",
    )
    assert book.instructions_between(hours(20), hours(30)) == []
    assert book.instructions_between(hours(0), hours(10)) == []
    assert len(book.instructions_between(hours(19), hours(30))) == 1


def test_an_instruction_is_ended_once(book, instruction, hours):
    """From then on it does not hold; a second end is refused with who gave the first."""
    book.write("eva", [NewInstructionEnd(instruction, hours(15), "lab says enough")])
    assert len(book.instructions(hours(14.9))) == 1
    assert book.instructions(hours(15)) == []
    one = book.instruction(instruction)
    assert (one.ended_at, one.end_reason) == (hours(15), "lab says enough")
    with pytest.raises(WriteRefused, match="ended already by eva as of 2026-03-02 21:00"):
        book.write("anna", [NewInstructionEnd(instruction, hours(16), "me too")])


def test_an_instruction_without_end_holds_until_ended(book, hours, later):
    """`valid_to` None."""
    (number,) = book.write("eva", [NewInstruction(hours(1), None, "report every stop")]).ids
    assert [one.id for one in book.instructions(hours(40_000))] == [number]
    book.write("eva", [NewInstructionEnd(number, hours(50), "new rule")])
    assert [len(book.instructions(hours(h))) for h in (49, 50)] == [1, 0]


def test_each_person_acknowledges_and_the_first_time_counts(book, instruction, hours):
    """Who has not is plain to see; asked for an earlier instant, later ones do not show."""
    for person, hour in (("anna", 11), ("bob", 12), ("anna", 13)):
        book.write(person, [NewAcknowledgement(instruction, hours(hour))])
    seen = [dict(book.instructions(hours(h))[0].acknowledged_by) for h in (10.5, 11, 14)]
    assert seen == [{}, {"anna": hours(11)}, {"anna": hours(11), "bob": hours(12)}]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (lambda h: NewInstruction(h(2), h(2), "x"), "would end at .* before it begins"),
        (lambda h: NewInstruction(h(2), None, " "), "An instruction needs some words"),
        (lambda h: NewInstructionEnd(99, h(2), "x"), "no instruction number 99"),
        (lambda h: NewAcknowledgement(99, h(2)), "no instruction number 99"),
    ],
)
def test_instructions_that_cannot_be_are_refused(book, hours, later, row, said):
    """One sentence each."""
    with pytest.raises(WriteRefused, match=said):
        book.write("eva", [row(hours)])


# ---------------------------------------------------------------- safety states


@pytest.fixture
def bypass(book, hours, later):
    """A bypass from hour 2, allowed until hour 6."""
    row = NewSafetyState(
        hours(2), "bypass", "level switch bridged", None, "dt", "eva", until_at=hours(6)
    )
    return book.write("anna", [row]).ids[0]


def test_a_safety_state_is_open_until_cleared(book, bypass, hours):
    """Not the time until which it was allowed ends it, but only that it was cleared."""
    assert [len(book.safety_states(hours(h))) for h in (1.9, 2, 7, 40)] == [0, 1, 1, 1]
    book.write("eva", [NewSafetyEvent(bypass, hours(30), "clear", "switch replaced")])
    assert [len(book.safety_states(hours(h))) for h in (29.9, 30)] == [1, 0]
    one = book.safety_state(bypass)
    assert (one.is_open, one.cleared_at, one.events[-1].text) == (
        False,
        hours(30),
        "switch replaced",
    )
    assert (one.kind, one.what, one.equipment, one.authorised_by) == (
        "bypass",
        "level switch bridged",
        "dt",
        "eva",
    )


def test_an_extension_moves_the_time_allowed(book, bypass, hours):
    """The latest counts, from the instant it was given; the first stays readable."""
    book.write("eva", [NewSafetyEvent(bypass, hours(5), "extend", "part late", hours(20))])
    assert [book.safety_states(hours(h))[0].until_at for h in (4, 5)] == [hours(6), hours(20)]
    assert book.safety_states(hours(5))[0].first_until_at == hours(6)


def test_safety_states_of_a_span_include_those_that_came_into_it(book, bypass, hours):
    """Open before and cleared inside, or open all through."""
    book.write("eva", [NewSafetyEvent(bypass, hours(30), "clear", "done")])
    spans = [(0, 2), (0, 3), (10, 20), (29, 31), (30, 40), (31, 40)]
    found = [[s.is_open for s in book.safety_between(hours(a), hours(b))] for a, b in spans]
    assert found == [[], [True], [True], [False], [False], []]


def test_clearing_twice_is_told_who_was_first(book, bypass, hours, reopen):
    """Also an extension afterwards."""
    reopen(seat_name="Cabin").write("bob", [NewSafetyEvent(bypass, hours(3), "clear", "off")])
    for kind, until in (("clear", None), ("extend", hours(9))):
        with pytest.raises(WriteRefused, match="cleared already by bob at 2026-03-02 09:00 UTC"):
            book.write("anna", [NewSafetyEvent(bypass, hours(4), kind, "x", until)])


@pytest.mark.parametrize(
    ("hour", "kind", "text", "until", "said"),
    [
        (1, "clear", "x", None, "The safety state began at 2026-03-02 08:00"),
        (3, "clear", " ", None, "needs some words"),
        (3, "clear", "x", 9, "a cleared none"),
        (3, "extend", "x", None, "needs the time until which"),
        (3, "extend", "x", 3, "would end at .* before it begins"),
        (3, "drop", "x", None, "one of clear, extend"),
    ],
)
def test_safety_events_that_cannot_be_are_refused(
    book, bypass, hours, hour, kind, text, until, said
):
    """And the state stays as it is."""
    end = None if until is None else hours(until)
    with pytest.raises(WriteRefused, match=said):
        book.write("anna", [NewSafetyEvent(bypass, hours(hour), kind, text, end)])
    assert book.safety_state(bypass).events == ()


def test_a_state_opened_and_cleared_in_one_save(book, hours, later):
    """A short bypass entered afterwards; clearing it twice in the save is refused."""
    rows = [
        NewSafetyState(hours(1), "permit", "hot work"),
        NewSafetyEvent(Ref(0), hours(2), "clear", "done"),
    ]
    assert not book.safety_state(book.write("anna", rows).ids[0]).is_open
    with pytest.raises(WriteRefused, match="cleared already by this save"):
        book.write("anna", [*rows, NewSafetyEvent(Ref(0), hours(3), "clear", "done")])
    early = [rows[0], NewSafetyEvent(Ref(0), hours(0), "clear", "done")]
    with pytest.raises(WriteRefused, match="began at"):
        book.write("anna", early)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (lambda h: NewSafetyState(h(1), "bypass", ""), "A safety state needs some words"),
        (lambda h: NewSafetyState(h(1), "luck", "x"), "one of bypass, permit"),
        (lambda h: NewSafetyState(h(1), "other", "x", until_at=h(1)), "before it begins"),
        (lambda h: NewSafetyState(h(99), "other", "x"), "in the future"),
    ],
)
def test_safety_states_that_cannot_be_are_refused(book, hours, later, row, said):
    """One sentence each."""
    with pytest.raises(WriteRefused, match=said):
        book.write("anna", [row(hours)])


# ---------------------------------------------------------------- signing on


def test_the_credential_written_last_holds(book, hours, clock):
    """A changed PIN takes the place of the old one, which stays in the book."""
    assert book.credential("anna") is None
    for person, secret in (("anna", "first"), ("eva", "other"), ("anna", "second")):
        clock.advance(minutes=1)
        book.write("eva", [NewCredential(person, "pin", secret)], kind="access")
    found = book.credential("anna")
    assert (found.kind, found.hash, found.written_by) == ("pin", "second", "eva")
    assert {p: c.hash for p, c in book.credentials().items()} == {"anna": "second", "eva": "other"}


def test_of_two_seats_the_later_credential_holds(book, reopen, clock):
    """Ids of another seat lie higher and say nothing about time."""
    cabin = reopen(seat_name="Cabin")
    cabin.write("anna", [NewCredential("anna", "pin", "first")])
    clock.advance(minutes=1)
    book.write("anna", [NewCredential("anna", "password", "second")])
    assert cabin.credential("anna").hash == book.credentials()["anna"].hash == "second"


def test_wrong_secrets_and_lock_outs_are_kept_in_order(book, hours, later):
    """Of one person, or of everybody; half open in time."""
    for hour, person, kind in (
        (1, "anna", "wrong"),
        (2, "anna", "locked"),
        (2, "bob", "signed_on"),
        (3, "anna", "signed_on"),
    ):
        book.write(person, [NewAccess(person, hours(hour), kind, "Cabin")], kind="access")
    mine = book.access_events("anna", hours(1), hours(3))
    assert [(e.kind, e.detail, e.written_by) for e in mine] == [
        ("wrong", "Cabin", "anna"),
        ("locked", "Cabin", "anna"),
    ]
    assert len(book.access_events(None, hours(0), hours(48))) == 4


@pytest.mark.parametrize(
    "row",
    [
        NewCredential("anna", "iris", "x"),
        NewCredential(" ", "pin", "x"),
        NewCredential("anna", "pin", ""),
        NewAccess("", datetime.fromisoformat("2026-03-02T06:00Z"), "wrong"),
        NewAccess("anna", datetime.fromisoformat("2026-03-02T06:00Z"), "guessed"),
    ],
)
def test_credentials_and_events_that_cannot_be_are_refused(book, row):
    """An unknown kind, nobody, or an empty hash."""
    with pytest.raises(WriteRefused):
        book.write("eva", [row])


def test_all_of_it_is_under_seal_and_read_back_by_another_reader(book, crew_rows, clock):
    """A second connection in the same process sees what was saved, at once."""
    with book.reader() as reader:
        book.write("anna", crew_rows)
        assert [i.text for i in reader.open_items(clock.now)] == ["order a bearing"]
        assert [s.what for s in reader.safety_states(clock.now)] == ["level switch bridged"]
        assert [i.acknowledged_by.keys() for i in reader.instructions(clock.now)] == [{"anna"}]
