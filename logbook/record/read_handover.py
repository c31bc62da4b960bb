"""Reading what belongs to a handover or a review: notes, checks, documents, signatures."""

from __future__ import annotations

from datetime import date
from hashlib import sha256
from typing import TYPE_CHECKING

from logbook.record.asking import Asking, written_by
from logbook.record.errors import BookError, damaged
from logbook.record.later import Later
from logbook.record.unpack import Row

if TYPE_CHECKING:
    from logbook.record import unpack_journal as unpack
    from logbook.record.rows_handover import Document, DocumentHead, HandoverCheck, Note, Signature
else:
    unpack = Later("logbook.record.unpack_journal")

_NOTE = written_by("handover_note", "id page shift_date shift_key part text")
_CHECK = written_by("handover_check", "id page shift_date shift_key subject answer text")
_DOCUMENT_HEAD = written_by(
    "document", "id page kind shift_date shift_key snapshot_sha256 pdf_sha256"
)
_SIGNATURE = written_by(
    "signature", "id page shift_date shift_key role at meaning document content_hash"
)
_OF_SHIFT = "WHERE x.shift_date = ? AND x.shift_key = ? ORDER BY g.written_at, x.id"


class HandoverReader(Asking):
    """Questions about the handover and the review of a shift, named by its date and key."""

    def handover_notes(self, shift_date: date, shift_key: str) -> dict[str, Note]:
        """The latest note of each part that has one."""
        rows = self._of_shift(_NOTE, shift_date, shift_key)
        return {note.part: note for note in map(unpack.note, rows)}

    def handover_checks(self, shift_date: date, shift_key: str) -> list[HandoverCheck]:
        """Every answer of whoever takes over, in the order in which they were written."""
        return [unpack.check(row) for row in self._of_shift(_CHECK, shift_date, shift_key)]

    def documents(self, shift_date: date, shift_key: str) -> list[DocumentHead]:
        """What was stored for a shift, the oldest first, without the contents."""
        rows = self._of_shift(_DOCUMENT_HEAD, shift_date, shift_key)
        return [unpack.document_head(row) for row in rows]

    def document(self, document_id: int) -> Document:
        """A stored document with its contents, held against their hashes.

        Raises BookError where there is none, BookDamaged where a content is not what was stored.
        """
        heads = self._ask(f"{_DOCUMENT_HEAD} WHERE x.id = ?", document_id)
        if not heads:
            msg = f"There is no document number {document_id} in the book; reload and try again."
            raise BookError(msg)
        head = unpack.document_head(heads[0])
        query = "SELECT snapshot, pdf FROM document WHERE id = ?"
        snapshot, pdf = self._ask(query, document_id)[0]
        found = sha256(snapshot.encode()).hexdigest(), sha256(pdf).hexdigest()
        if found != (head.snapshot_sha256, head.pdf_sha256):
            raise damaged(self.path, f"document {document_id} is not what was signed")
        from logbook.record.rows_handover import Document

        return Document(head, snapshot, pdf)

    def signatures(self, shift_date: date, shift_key: str) -> list[Signature]:
        """The signatures of a shift, in the order in which they were given."""
        return [unpack.signature(row) for row in self._of_shift(_SIGNATURE, shift_date, shift_key)]

    def signatures_between(self, first: date, last: date) -> list[Signature]:
        """The signatures of all shifts that began on one of the days, both included."""
        query = (
            f"{_SIGNATURE} WHERE x.shift_date BETWEEN ? AND ? "
            "ORDER BY x.shift_date, x.shift_key, g.written_at, x.id"
        )
        return [unpack.signature(row) for row in self._ask(query, _text(first), _text(last))]

    def _of_shift(self, query: str, shift_date: date, shift_key: str) -> list[Row]:
        return self._ask(f"{query} {_OF_SHIFT}", _text(shift_date), shift_key)


def _text(day: date) -> str:
    """A day as the book keeps it; a datetime is taken for its day."""
    return date(day.year, day.month, day.day).isoformat()
