"""Notes, checks, documents and signatures of a handover."""

from __future__ import annotations

import json
import sqlite3
from datetime import date, datetime, timedelta
from hashlib import sha256

import pytest

from logbook.record import (
    BookDamaged,
    BookError,
    NewDocument,
    NewEntry,
    NewHandoverCheck,
    NewHandoverNote,
    NewSignature,
    Ref,
    WriteRefused,
    verify,
)

DAY = date(2026, 3, 2)
HASH = "ab" * 32


@pytest.fixture
def sign(book, clock):
    """Signs the day shift of the first day, in a role, as a person."""

    def write(person, role, *, by=None, day=DAY, key="D", **more):
        row = NewSignature(day, key, role, clock.now, f"signed as {role}", None, HASH)
        return (by or book).write(person, [row], kind="handover", **more)

    return write


def test_the_latest_note_of_each_part_holds(book, clock):
    """Part by part and shift by shift; earlier words stay in the book."""
    for part, text in (("remarks", "a"), ("next_shift", "b"), ("remarks", "c"), ("no_safety", "")):
        clock.advance(minutes=1)
        book.write("anna", [NewHandoverNote(DAY, "D", part, text)])
    book.write("bob", [NewHandoverNote(DAY, "N", "remarks", "other shift")])
    notes = book.handover_notes(DAY, "D")
    assert {part: note.text for part, note in notes.items()} == {
        "remarks": "c",
        "next_shift": "b",
        "no_safety": "",
    }
    assert (notes["remarks"].person, notes["remarks"].written_at) == (
        "anna",
        clock.now - timedelta(minutes=1),
    )
    assert book.handover_notes(DAY + timedelta(days=1), "D") == {}


def test_a_day_given_with_its_time_is_the_day(book):
    """A datetime is a date to Python; the book keeps and finds the day."""
    noon = datetime.fromisoformat("2026-03-02T12:00Z")
    book.write("anna", [NewHandoverNote(noon, "D", "remarks", "a")])
    assert book.handover_notes(DAY, "D") == book.handover_notes(noon, "D") != {}


def test_checks_come_in_the_order_in_which_they_were_given(book, clock):
    """A question first, accepted later."""
    for answer, text in (("asked", "who?"), ("accepted", "")):
        clock.advance(minutes=1)
        book.write("bob", [NewHandoverCheck(DAY, "D", "safety 1", answer, text)])
    found = book.handover_checks(DAY, "D")
    assert [(c.subject, c.answer, c.text, c.person) for c in found] == [
        ("safety 1", "asked", "who?", "bob"),
        ("safety 1", "accepted", "", "bob"),
    ]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (NewHandoverNote(DAY, "D", "gossip", "x"), "one of remarks, next_shift"),
        (NewHandoverNote(DAY, " ", "remarks", "x"), "A shift needs some words"),
        (NewHandoverCheck(DAY, "D", "", "read"), "needs some words"),
        (NewHandoverCheck(DAY, "D", "s", "asked", " "), "A question needs some words"),
        (NewHandoverCheck(DAY, "D", "s", "nodded"), "one of read, asked, accepted"),
        (NewDocument("letter", DAY, "D", "{}", b"x"), "one of handover, review"),
        (NewDocument("handover", DAY, "D", "{", b"x"), "no JSON"),
        (NewDocument("handover", DAY, "D", "{}", b""), "is empty"),
    ],
)
def test_what_cannot_be_is_refused(book, row, said):
    """One sentence each, and nothing written."""
    with pytest.raises(WriteRefused, match=said):
        book.write("anna", [row])
    assert len(verify(book.path).last_seals) == 1


# ---------------------------------------------------------------- documents


def test_a_document_comes_back_byte_for_byte(book):
    """Snapshot and printed form, with the hashes of both; heads come without them."""
    snapshot = json.dumps({"remarks": 'any "words" – ☂ \u202e'}, ensure_ascii=False)
    pdf = bytes(range(256)) * 300
    (number,) = book.write("anna", [NewDocument("review", DAY, "D", snapshot, pdf)]).ids
    found = book.document(number)
    assert (found.snapshot, found.pdf) == (snapshot, pdf)
    assert found.head.snapshot_sha256 == sha256(snapshot.encode()).hexdigest()
    assert found.head.pdf_sha256 == sha256(pdf).hexdigest()
    assert book.documents(DAY, "D") == [found.head]
    with pytest.raises(BookError, match="no document number 5"):
        book.document(5)


@pytest.mark.parametrize(
    ("column", "value"), [("pdf", b"%PDF-1.7 other"), ("snapshot", '{"a": 2}')]
)
def test_a_changed_document_is_refused_and_told(book, bare, unguard, column, value):
    """Its own hash shows it when it is read, the seal of its page when the book is verified."""
    saved = book.write("anna", [NewDocument("handover", DAY, "D", '{"a": 1}', b"%PDF-1.7")])
    guards = unguard(bare)
    bare.execute(f"UPDATE document SET {column} = ?", (value,))
    for guard in guards:
        bare.execute(guard)
    with pytest.raises(BookDamaged, match="is not what was signed"):
        book.document(saved.ids[0])
    fault = verify(book.path).faults[0]
    assert (fault.page, fault.what) == (saved.page, "what it holds is not what was written.")


def test_the_printed_form_is_sealed_by_its_hash(book, bare):
    """As the documentation of the seal says, worked out without the program."""
    pdf = b"%PDF-1.7 \x00\xff"
    saved = book.write("anna", [NewDocument("handover", DAY, "D", "{}", pdf)])
    head = bare.execute("SELECT * FROM page WHERE id = ?", (saved.page,)).fetchone()
    row = bare.execute("SELECT * FROM document").fetchone()
    assert row[-1] == pdf
    sealed = [["page", *head[:-1]], ["document", *row[:-1], f"sha256:{sha256(pdf).hexdigest()}"]]
    text = json.dumps(sealed, ensure_ascii=False, separators=(",", ":"))
    assert sha256(text.encode()).hexdigest() == saved.seal == head[-1]


# ---------------------------------------------------------------- signatures


def test_two_people_sign_and_both_signatures_are_read_back(book, clock, sign):
    """Who, when, in which role, with which meaning, for which document."""
    rows = [
        NewDocument("handover", DAY, "D", "{}", b"%PDF"),
        NewSignature(DAY, "D", "outgoing", clock.now, "I hand over", Ref(0), HASH),
    ]
    document, _ = book.write("anna", rows).ids
    clock.advance(minutes=5)
    sign("bob", "incoming")
    clock.advance(hours=3)
    sign("eva", "review")
    found = book.signatures(DAY, "D")
    assert [(s.role, s.person, s.document) for s in found] == [
        ("outgoing", "anna", document),
        ("incoming", "bob", None),
        ("review", "eva", None),
    ]
    assert (found[0].meaning, found[0].content_hash) == ("I hand over", HASH)
    assert found[1].at - found[0].at == timedelta(minutes=5)
    assert book.signatures_between(DAY, DAY) == found
    assert book.signatures_between(DAY + timedelta(days=1), DAY + timedelta(days=9)) == []


def test_a_second_signature_in_a_role_is_told_who_signed_when(book, sign, reopen):
    """Two windows sign the same shift: one wins, the other is told."""
    other = reopen(seat_name="Cabin")
    sign("anna", "outgoing", by=other)
    said = r"The shift D of 2026-03-02 was signed already \(outgoing\) by anna at 2026-03-02 06:00"
    with pytest.raises(WriteRefused, match=said):
        sign("bob", "outgoing")
    assert [s.person for s in book.signatures(DAY, "D")] == ["anna"]
    sign("bob", "outgoing", key="N")
    sign("bob", "outgoing", day=DAY + timedelta(days=1))


@pytest.mark.parametrize("roles", [("outgoing", "incoming"), ("incoming", "outgoing")])
def test_nobody_takes_over_from_themselves(book, sign, roles):
    """In either order, also in one save; a review by one of them is the service's matter."""
    sign("anna", roles[0])
    with pytest.raises(WriteRefused, match="a handover needs two people"):
        sign("anna", roles[1])
    sign("anna", "review")
    rows = [NewSignature(DAY, "N", role, book.now(), "m", None, HASH) for role in roles]
    with pytest.raises(WriteRefused, match="a handover needs two people"):
        book.write("bob", rows)
    assert book.signatures(DAY, "N") == []


def test_the_table_itself_holds_to_two_people(book, bare, sign):
    """A client that knows nothing of us gets no page with the same person on both sides."""
    sign("anna", "outgoing")
    page = (1 << 40) + 900
    bare.execute("BEGIN")
    bare.execute(
        "INSERT INTO signature VALUES (?, ?, '2026-03-02', 'D', 'incoming', 0, 'm', NULL, 'h')",
        ((1 << 40) + 900, page),
    )
    row = (page, 1, "anna", 0, "handover", "", 1, "", "")
    with pytest.raises(sqlite3.IntegrityError, match="nobody takes over a shift from themselves"):
        bare.execute("INSERT INTO page VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
    bare.execute("ROLLBACK")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"role": "witness"}, "one of outgoing, incoming, review"),
        ({"meaning": " "}, "A signature needs some words"),
        ({"content_hash": ""}, "A signature needs some words"),
        ({"document": 99}, "no document number 99"),
        ({"at": datetime.fromisoformat("2026-03-02T09:00Z")}, "in the future"),
    ],
)
def test_a_signature_that_says_nothing_is_refused(book, clock, more, said):
    """It needs a known role, a meaning, what it is for, and a time that has come."""
    given = {"role": "outgoing", "at": clock.now, "meaning": "m", "content_hash": HASH, **more}
    with pytest.raises(WriteRefused, match=said):
        book.write("anna", [NewSignature(DAY, "D", **given)])
    assert book.signatures(DAY, "D") == []


def test_a_refused_signature_leaves_no_document(book, sign, clock):
    """Nothing half signed: the document of the loser is not stored either."""
    sign("anna", "outgoing")
    rows = [
        NewDocument("handover", DAY, "D", "{}", b"%PDF"),
        NewEntry(clock.now, "signed"),
        NewSignature(DAY, "D", "outgoing", clock.now, "m", Ref(0), HASH),
    ]
    with pytest.raises(WriteRefused):
        book.write("bob", rows)
    assert book.documents(DAY, "D") == []
    assert book.entries(clock.now, clock.now + timedelta(hours=1)) == []
    book.write("bob", rows[1:2])
    assert verify(book.path).is_sound


SIGNER = """
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from logbook.record import NewSignature, WriteRefused, open_book
path, seat, person = sys.argv[1:]
now = datetime(2026, 3, 2, 18, tzinfo=UTC)
with open_book(Path(path), clock=lambda: now, seat_name=seat) as book:
    print("ready", flush=True)
    sys.stdin.readline()
    for day in range(1, 29):
        row = NewSignature(date(2026, 2, day), "D", "outgoing", now, "m", None, "h")
        try:
            book.write(person, [row])
            print(day, "won", flush=True)
        except WriteRefused as error:
            print(day, error, flush=True)
"""


def test_of_two_processes_signing_at_once_one_wins_each_shift(book, path, child):
    """28 shifts, two programs: each is signed once, and the loser hears by whom."""
    book.close()
    people = ("anna", "bob")
    both = [child(SIGNER, path, f"seat of {person}", person) for person in people]
    for process in both:
        assert process.stdout.readline() == "ready\n"
    for process in both:
        process.stdin.write("go\n")
        process.stdin.flush()
    said = [process.communicate()[0].splitlines() for process in both]
    for day in range(1, 29):
        lines = [next(line for line in told if line.startswith(f"{day} ")) for told in said]
        (winner,) = [n for n, line in enumerate(lines) if line.endswith(" won")]
        assert f"by {people[winner]} at 2026-03-02 18:00 UTC" in lines[1 - winner]
    assert verify(path).is_sound
