"""Half-typed rounds come back as they were typed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.record import (
    DiskFull,
    DraftField,
    DraftHead,
    NewReading,
    WriteRefused,
    open_book,
    verify,
)

TYPING = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from logbook.record import DraftField, DraftHead, open_book
at = datetime(2026, 3, 2, 6, tzinfo=UTC)
book = open_book(Path(sys.argv[1]), clock=lambda: at)
head = DraftHead(at, at, "normal", "anna")
for number, character in enumerate("123456789" * 50):
    text = str(number)
    book.keep_draft(head, [DraftField("level", text), DraftField("toaster_t", text, "steam " + text)])
    print(number, flush=True)
"""


@pytest.fixture
def head(hours):
    """The six o'clock round, typed by Anna."""
    return DraftHead(hours(0), hours(0.1), "startup", "anna", "windy")


def test_a_draft_comes_back_as_it_was_typed(book, head, reopen, clock):
    """Half numbers, half words, the chosen time and mode, after closing and opening."""
    fields = [
        DraftField("level", "12,"),
        DraftField("toaster_t", "140", "stea", confirmed=True),
        DraftField("walk", "", reason="not_safe"),
    ]
    book.keep_draft(head, fields)
    book.close()
    draft = reopen().load_draft(head.round_at)
    assert draft.head == head
    assert draft.fields == {field.point: field for field in fields}
    assert draft.touched_at == clock.now


def test_keeping_one_field_leaves_the_others(book, head):
    """Each change of a field sends that field alone."""
    book.keep_draft(head, [DraftField("level", "1"), DraftField("walk", "do")])
    book.keep_draft(replace(head, mode="normal"), [DraftField("level", "12")])
    draft = book.load_draft(head.round_at)
    assert {p: f.typed for p, f in draft.fields.items()} == {"level": "12", "walk": "do"}
    assert draft.head.mode == "normal"


def test_an_emptied_field_is_forgotten(book, head):
    """Text deleted again leaves nothing behind."""
    book.keep_draft(head, [DraftField("level", "1"), DraftField("walk", "x")])
    book.keep_draft(head, [DraftField("level", "")])
    assert set(book.load_draft(head.round_at).fields) == {"walk"}


def test_drafts_of_several_rounds_stand_side_by_side(book, head, hours):
    """The oldest first; each is dropped by itself."""
    later = replace(head, round_at=hours(2))
    for each in (later, head):
        book.keep_draft(each, [DraftField("level", "1")])
    assert book.drafts() == [head, later]
    book.drop_draft(head.round_at)
    assert book.drafts() == [later]
    assert book.load_draft(head.round_at) is None
    assert set(book.load_draft(later.round_at).fields) == {"level"}


def test_the_save_drops_its_draft(book, head, hours):
    """The round is either a draft or saved."""
    book.keep_draft(head, [DraftField("level", "12")])
    rows = [NewReading("level", hours(0), value=12.0, typed="12", round_at=hours(0))]
    book.write("anna", rows, drop_draft=head.round_at)
    assert book.drafts() == []


def test_a_refused_save_leaves_the_draft(book, head, hours):
    """What could not be saved is still there to be put right."""
    book.keep_draft(head, [DraftField("level", "12")])
    with pytest.raises(WriteRefused):
        book.write("anna", [NewReading("level", hours(0))], drop_draft=head.round_at)
    assert book.load_draft(head.round_at).fields["level"].typed == "12"


def test_a_full_disk_leaves_the_draft(book, head, hours, clock):
    """A save that the disk refuses takes nothing with it."""
    book.keep_draft(head, [DraftField("level", "12")])
    book._writer.execute("PRAGMA max_page_count = 1")
    clock.set(hours(100))
    rows = [NewReading("level", hours(n / 10), value=1.0, typed="1" * 50) for n in range(900)]
    with pytest.raises(DiskFull):
        book.write("anna", rows, drop_draft=head.round_at)
    assert book.load_draft(head.round_at).fields["level"].typed == "12"


def test_each_seat_has_its_own_drafts(book, head, reopen):
    """Two places typing the same round do not type into one another."""
    book.keep_draft(head, [DraftField("level", "1")])
    other = reopen(seat_name="Extraction cabin")
    assert other.load_draft(head.round_at) is None
    other.keep_draft(head, [DraftField("level", "2")])
    assert book.load_draft(head.round_at).fields["level"].typed == "1"


def test_a_draft_survives_the_killing_of_its_process(book, path, child, clock, hours):
    """Killed without warning while typing, what was acknowledged last is there, whole."""
    book.close()
    process = child(TYPING, path)
    acknowledged = [int(process.stdout.readline()) for _ in range(40)][-1]
    process.kill()
    rest, _ = process.communicate()
    acknowledged = max([acknowledged, *map(int, rest.split())])
    with open_book(path, clock=clock) as again:
        draft = again.load_draft(hours(0))
    typed = int(draft.fields["level"].typed)
    assert typed in {acknowledged, acknowledged + 1}
    assert draft.fields["toaster_t"] == DraftField("toaster_t", str(typed), f"steam {typed}")
    assert verify(path).is_sound
