"""Makes the printed form of a shift's documents, for whoever signs them and for the printer."""

from __future__ import annotations

from datetime import datetime

from logbook.plant.roster import Shift
from logbook.record import Book, Reader, short_seal
from logbook.report.extras import extras_of
from logbook.report.handover import handover_pdf
from logbook.report.parts import Content
from logbook.report.readings import NO_EXTRAS
from logbook.report.review import review_pdf
from logbook.report.sheet import round_sheet_pdf
from logbook.shift.handover_json import content_hash
from logbook.shift.json_words import Json
from logbook.shift.plant_revision import revision_words
from logbook.shift.review import review_of
from logbook.shift.review_sign import MEANING as REVIEW_MEANING
from logbook.shift.review_sign import review_content
from logbook.shift.signed_json import document_of, signature_of, unsigned_document
from logbook.shift.signed_state import REVIEW, SignedState, signed_state
from logbook.shift.signing import MakePdf, prepare, signed_content


def make_handover_pdf(
    document: Content,
    *,
    book: Reader | None = None,
    printed_at: datetime | None = None,
    paper: str = "a4",
) -> bytes:
    """The PDF of a handover's document.

    With the `book` it has lines, limits edge by edge and tables of machines; without it the
    readings stand row by row. `printed_at` is by default when it was last signed, else composed.
    Raises ReportError, and BookError where the book cannot be read.
    """
    content = document["content"]
    extras = NO_EXTRAS if book is None else extras_of(book, content)
    at = printed_at or _made_at(document, content["composed_at"])
    return handover_pdf(document, printed_at=at, extras=extras, paper=paper)


def handover_maker(book: Reader, *, paper: str = "a4") -> MakePdf:
    """What makes the PDF of a handover, with all that `book` adds: for signing and previews."""
    return lambda document: make_handover_pdf(document, book=book, paper=paper)


def make_review_pdf(
    document: Content, *, printed_at: datetime | None = None, paper: str = "a4"
) -> bytes:
    """The PDF of a review's document. Raises ReportError."""
    at = printed_at or _made_at(document, document["content"]["made_at"])
    return review_pdf(document, printed_at=at, paper=paper)


def handover_of(book: Book, shift: Shift, *, paper: str = "a4") -> bytes:
    """A shift's handover as it now stands: signed content, later changes marked, or unsigned.

    Raises BookError, and ReportError where it cannot be typeset.
    """
    document = handover_document(book, shift)
    return make_handover_pdf(document, book=book, printed_at=book.now(), paper=paper)


def handover_document(book: Book, shift: Shift) -> Json:
    """What `handover_of` prints, as plain data."""
    now = book.now()
    state = signed_state(book, shift, now)
    if state.outgoing is None:
        made = prepare(book, shift, now)
        return unsigned_document(made.content, made.content_hash, made.seal)
    plant = book.plant_at(now)
    seal = short_seal(book.last_page().seal)
    return document_of(
        signed_content(book, state.outgoing),
        state.outgoing.content_hash,
        seal,
        _signatures(book, shift, state),
        plant=plant,
        state=state,
    )


def review_pdf_of(book: Book, shift: Shift, *, paper: str = "a4") -> bytes:
    """A shift's review as it now stands, signed or not. Raises BookError and ReportError."""
    now = book.now()
    grid = review_of(book, shift, now)
    state = signed_state(book, shift, now)
    content = review_content(grid)
    signatures = []
    if state.review is not None:
        one = state.review
        signatures = [signature_of(grid.plant, shift, one.person, REVIEW, one.at, REVIEW_MEANING)]
    document = {
        "content": content,
        "content_hash": state.review.content_hash if state.review else content_hash(content),
        "seal": short_seal(book.last_page().seal),
        "signatures": signatures,
    }
    return make_review_pdf(document, printed_at=now, paper=paper)


def round_sheet_of(book: Book, shift: Shift, *, paper: str = "a4") -> bytes:
    """A blank sheet for the rounds of `shift`, with the limits now in force. Raises BookError."""
    now = book.now()
    plant = book.plant_at(now)
    return round_sheet_pdf(
        plant,
        shift,
        printed_at=now,
        seal=short_seal(book.last_page().seal),
        paper=paper,
        mode=book.mode_at(now),
        revision=revision_words(book, plant, now),
    )


def _signatures(book: Reader, shift: Shift, state: SignedState) -> list[Json]:
    plant = book.plant_at(state.seen_at)
    signed = [one for one in (state.outgoing, state.incoming) if one is not None]
    return [
        signature_of(plant, shift, one.person, one.role, one.at, {one.role: one.meaning})
        for one in signed
    ]


def _made_at(document: Content, otherwise: Content) -> datetime:
    times = [one["at"] for one in document.get("signatures", ())]
    return datetime.fromisoformat((times[-1] if times else otherwise)["iso"])
