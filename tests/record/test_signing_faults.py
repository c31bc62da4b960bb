"""Signing while the program is killed or the disk is full: whole, or not at all."""

from __future__ import annotations

import os
import random
import time
from datetime import date

import pytest

from logbook.record import DiskFull, NewDocument, NewSignature, Ref, open_book, verify

KILLS = int(os.environ.get("LOGBOOK_KILL_CYCLES", "20")) // 3

SIGNER = """
import sys
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
import logbook.record.connect as connect
from logbook.record import NewDocument, NewHandoverNote, NewSignature, Ref, open_book
connect.CHECKPOINT_BYTES = 300_000
cycle = int(sys.argv[2])
at = datetime(2026, 3, 2, 6, tzinfo=UTC) + timedelta(days=cycle)
book = open_book(Path(sys.argv[1]), clock=lambda: at, busy_seconds=60)
print("ready", flush=True)
for number in range(100_000):
    key, pdf = f"{cycle}-{number}", bytes([number % 256]) * 40_000
    rows = [
        NewHandoverNote(at.date(), key, "remarks", "quiet " * 50),
        NewDocument("handover", at.date(), key, '{"key": "%s"}' % key, pdf),
        NewSignature(at.date(), key, "outgoing", at, "I hand over", Ref(1), sha256(pdf).hexdigest()),
    ]
    saved = book.write("anna", rows, kind="handover")
    print(saved.page, saved.seal, at.date(), key, flush=True)
"""


def killed(process, delay):
    """Whole lines of a child that is killed `delay` seconds after it has signed once."""
    assert process.stdout.readline() == "ready\n"
    first = process.stdout.readline()
    until = time.perf_counter() + delay
    while time.perf_counter() < until:
        pass  # a moment chosen by chance, not a wait for anything
    process.kill()
    rest = process.communicate()[0].splitlines(keepends=True)
    return [line.split() for line in (first, *rest) if line.endswith("\n")]


def test_a_program_killed_while_signing_leaves_no_half_signature(book, path, child, clock):
    """What was acknowledged is signed, with its document; what was not is whole or absent."""
    book.close()
    chance = random.Random(20260303)  # noqa: S311 -- moments, no secrets
    lines = []
    for cycle in range(KILLS):
        lines += killed(child(SIGNER, path, cycle), chance.uniform(0, 0.15))
    clock.advance(days=KILLS)
    found = verify(path, known_seals=[line[1] for line in lines])
    assert found.is_sound, str(found)
    with open_book(path, clock=clock) as again:
        signed = {
            (str(s.shift_date), s.shift_key): s
            for s in again.signatures_between(date(2026, 1, 1), date(2027, 1, 1))
        }
        assert {tuple(line[2:]) for line in lines} <= set(signed)
        for signature in signed.values():
            document = again.document(signature.document)
            assert document.head.pdf_sha256 == signature.content_hash
            of_shift = signature.shift_date, signature.shift_key
            assert again.handover_notes(*of_shift).keys() == {"remarks"}
            assert len(again.documents(*of_shift)) == 1


@pytest.mark.parametrize("spare", [0, 1, 5, 20, 60])
def test_a_disk_that_is_full_while_signing_leaves_nothing_half_signed(book, path, clock, spare):
    """One sentence; no document, no signature; with room again the same signing goes through."""
    pdf = bytes(range(256)) * 2000
    rows = [
        NewDocument("handover", clock.now.date(), "D", "{}", pdf),
        NewSignature(clock.now.date(), "D", "outgoing", clock.now, "m", Ref(0), "ab"),
    ]
    pages = book._writer.execute("PRAGMA page_count").fetchone()[0]
    book._writer.execute(f"PRAGMA max_page_count = {pages + spare}")
    with pytest.raises(DiskFull, match="free some space and save again"):
        book.write("anna", rows)
    assert book.documents(clock.now.date(), "D") == []
    assert book.signatures(clock.now.date(), "D") == []
    book.write("anna", rows)  # a fresh connection knows no limit: there is room again
    (signature,) = book.signatures(clock.now.date(), "D")
    assert book.document(signature.document).pdf == pdf
    assert verify(path).is_sound
