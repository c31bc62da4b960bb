"""The views of version 2 say to any SQLite client what the program says."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date

import pytest

from logbook.record import (
    NewAccess,
    NewAcknowledgement,
    NewDocument,
    NewHandoverCheck,
    NewHandoverNote,
    NewInstruction,
    NewInstructionEnd,
    NewItemEvent,
    NewOpenItem,
    NewReading,
    NewResponse,
    NewSafetyEvent,
    NewSafetyState,
    NewSignature,
    Ref,
)
from logbook.record.instants import iso

DAY = date(2026, 3, 2)


@pytest.fixture
def ask(path):
    """Asks through a plain connection; rows by name of the column."""

    def query(text, *values):
        with closing(sqlite3.connect(path)) as connection:
            connection.row_factory = sqlite3.Row
            return connection.execute(text, values).fetchall()

    return query


@pytest.fixture
def late(clock, hours):
    """The clock stands at hour 48."""
    clock.set(hours(48))


def optional(instant):
    return None if instant is None else iso(instant)


def test_v_open_item_agrees_with_the_program(book, ask, hours, late):
    """Open, closed, and closed then opened again, with who closed and how."""
    rows = [NewOpenItem(hours(n), f"item {n}", due_at=hours(60)) for n in range(4)]
    ids = book.write("anna", rows).ids
    for item, hour, kind in (
        (1, 5, "close"),
        (2, 5, "close"),
        (2, 6, "reopen"),
        (3, 5, "close"),
        (3, 6, "reopen"),
        (3, 7, "close"),
        (3, 7, "reopen"),
        (3, 7, "close"),
    ):
        book.write("eva", [NewItemEvent(ids[item], hours(hour), kind, f"{kind} {hour}")])
    found = ask("SELECT * FROM v_open_item ORDER BY item_id")
    mine = [book.item(row["item_id"]) for row in found]
    assert [(r["state"] == "open", r["closed_at"], r["events"]) for r in found] == [
        (i.is_open, optional(i.closed_at), len(i.events)) for i in mine
    ]
    assert [r["state"] for r in found] == ["open", "closed", "open", "closed"]
    assert [(r["closed_by"], r["closing"]) for r in found] == [
        (None, None),
        ("eva", "close 5"),
        (None, None),
        ("eva", "close 7"),
    ]
    assert {(r["due_at"], r["person"]) for r in found} == {(iso(hours(60)), "anna")}
    assert len(ask("SELECT * FROM v_item_event WHERE item_id = ?", ids[3])) == 5


def test_v_safety_agrees_with_the_program(book, ask, hours, late):
    """The end allowed with extensions, and who cleared it."""
    rows = [NewSafetyState(hours(n), "bypass", f"state {n}", until_at=hours(9)) for n in range(3)]
    ids = book.write("anna", rows).ids
    book.write("eva", [NewSafetyEvent(ids[1], hours(4), "extend", "part late", hours(20))])
    book.write("eva", [NewSafetyEvent(ids[1], hours(5), "extend", "still late", hours(15))])
    book.write("bob", [NewSafetyEvent(ids[2], hours(6), "clear", "removed")])
    found = ask("SELECT * FROM v_safety ORDER BY state_id")
    mine = [book.safety_state(row["state_id"]) for row in found]
    assert [(r["until_at"], r["cleared_at"]) for r in found] == [
        (optional(s.until_at), optional(s.cleared_at)) for s in mine
    ]
    assert [(r["cleared_by"], r["clearing"]) for r in found] == [
        (None, None),
        (None, None),
        ("bob", "removed"),
    ]
    assert found[1]["until_at"] == iso(hours(15))


def test_v_instruction_tells_the_end_that_comes_first(book, ask, hours, late):
    """As planned, as ended, or none; and how many have read it, each person once."""
    rows = [
        NewInstruction(hours(1), hours(20), "a"),
        NewInstruction(hours(1), None, "b"),
        NewInstruction(hours(1), hours(20), "c"),
        NewInstruction(hours(1), None, "d"),
    ]
    ids = book.write("eva", rows).ids
    ends = ((2, 10), (3, 12))
    book.write("eva", [NewInstructionEnd(ids[n], hours(h), "over") for n, h in ends])
    for person in ("anna", "bob", "anna"):
        book.write(person, [NewAcknowledgement(ids[0], hours(2))])
    found = ask("SELECT * FROM v_instruction ORDER BY instruction_id")
    assert [r["valid_to"] for r in found] == [
        iso(hours(20)),
        None,
        iso(hours(10)),
        iso(hours(12)),
    ]
    assert [r["acknowledged"] for r in found] == [2, 0, 0, 0]
    assert [r["end_reason"] for r in found] == [None, None, "over", "over"]
    assert len(ask("SELECT * FROM v_acknowledgement")) == 3


def test_the_views_of_a_handover_agree_with_the_program(book, ask, clock):
    """Latest notes, all checks, documents without contents, signatures."""
    for text in ("first", "second"):
        book.write("anna", [NewHandoverNote(DAY, "D", "remarks", text)])
        clock.advance(minutes=1)
    rows = [
        NewHandoverCheck(DAY, "D", "item 1", "asked", "why?"),
        NewDocument("handover", DAY, "D", "{}", b"%PDF"),
        NewSignature(DAY, "D", "outgoing", clock.now, "I hand over", Ref(1), "ab"),
    ]
    book.write("anna", rows)
    (note,) = ask("SELECT * FROM v_handover_note")
    assert (note["part"], note["text"]) == ("remarks", "second")
    (check,) = ask("SELECT * FROM v_handover_check")
    assert (check["subject"], check["answer"], check["text"]) == ("item 1", "asked", "why?")
    (document,) = ask("SELECT * FROM v_document")
    (head,) = book.documents(DAY, "D")
    assert document["pdf_sha256"] == head.pdf_sha256
    assert {"pdf", "snapshot"}.isdisjoint(document.keys())
    (signature,) = ask("SELECT * FROM v_signature")
    assert (signature["person"], signature["role"], signature["at"]) == (
        "anna",
        "outgoing",
        iso(clock.now),
    )
    assert signature["document_id"] == head.id


def test_v_response_and_v_access_name_whom_they_are_about(book, ask, clock):
    """The point of a response; and the person, apart from who wrote it."""
    now = clock.now
    book.write(
        "eva",
        [
            NewReading("level", now, value=1.0),
            NewResponse(Ref(0), "valve closed", now),
            NewAccess("anna", now, "locked", "Cabin"),
        ],
    )
    (response,) = ask("SELECT * FROM v_response")
    assert (response["point"], response["text"], response["person"]) == (
        "level",
        "valve closed",
        "eva",
    )
    (access,) = ask("SELECT * FROM v_access")
    assert (access["about"], access["kind"], access["person"]) == ("anna", "locked", "eva")


def test_v_text_holds_what_can_be_searched(book, ask, crew_rows):
    """Row for row what a search for everything finds."""
    book.write("anna", crew_rows, note="windy")
    found = {(r["kind"], r["row"], r["text"]) for r in ask("SELECT * FROM v_text")}
    assert found == {(hit.kind, hit.id, hit.text) for hit in book.search("")}
    assert len(found) == 10
