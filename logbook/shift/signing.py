"""Handing a shift over: prepared by the outgoing, read by the incoming, signed by both.

Nothing is half signed: the printed form is made first, then document and signature are written
in one save, which the book refuses where somebody else was quicker. What is signed is the content
(`handover_json.content_of`) with its hash; it is frozen in the document of the outgoing signature,
and the incoming person signs that same hash. What is written later shows as changed.
"""

# ruff: noqa: N818 -- named for the situation, as the errors of the book are

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from logbook.plant.localtime import local_label
from logbook.plant.model import Person, Plant
from logbook.plant.roster import Shift
from logbook.record import (
    Book,
    BookError,
    NewDocument,
    NewHandoverCheck,
    NewRow,
    NewSignature,
    Ref,
    SavedPage,
    Signature,
    short_seal,
)
from logbook.record.rows_handover import CheckAnswer, DocumentKind, SignatureRole
from logbook.shift.access import Door
from logbook.shift.away import EARLY
from logbook.shift.catch_up import catch_up
from logbook.shift.handover import Handover, compose
from logbook.shift.handover_json import canonical, content_hash, content_of, in_order
from logbook.shift.json_words import Json
from logbook.shift.review import ReviewGrid, review_of
from logbook.shift.roles import Deed, may
from logbook.shift.signed_json import document_of, signature_of
from logbook.shift.signed_state import INCOMING, OUTGOING, signed_state
from logbook.shift.subjects import Subject, safety_since, subjects_of, unanswered
from logbook.shift.words import person_name

PAGE_KIND: Final = "handover"
MEANING: Mapping[str, str] = {
    OUTGOING: "Hands the shift over as described here",
    INCOMING: "Has read the safety states and what is open in action, and takes over",
}

MakePdf = Callable[[Json], bytes]
"""Makes the printed form of a document; what it raises leaves the shift unsigned."""


class SigningRefused(BookError):
    """A shift cannot be signed now; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """A handover as the outgoing person sees it before signing."""

    handover: Handover
    grid: ReviewGrid
    content: Json
    content_hash: str
    last_page: int
    """Page of the book up to which it looks."""
    seal: str
    """Short seal of that page."""


@dataclass(frozen=True, slots=True)
class ToSign:
    """A signature that is proven and not written yet: what is printed, then what is stored.

    The printed form can be made elsewhere meanwhile; `finish` writes both in one save.
    """

    shift: Shift
    person: str
    role: SignatureRole
    at: datetime
    meaning: str
    kind: DocumentKind
    document: Json
    """What is printed."""
    kept: Json
    """What is stored beside the printed form."""
    why_not: Callable[[], str]
    """Why it cannot be signed any more; asked when nobody else can write."""


def prepare(book: Book, shift: Shift, now: datetime) -> Prepared:
    """Compose a shift's handover for signing. Raises BookError."""
    page = book.last_page()
    handover = compose(book, shift, now)
    grid = review_of(book, shift, now, handover.exceptions)
    content = content_of(handover, grid)
    return Prepared(handover, grid, content, content_hash(content), page.id, short_seal(page.seal))


# -- outgoing -----------------------------------------------------------------------------


def unsaid(handover: Handover) -> tuple[str, ...]:
    """What the outgoing crew must still say in so many words, as sentences.

    Nothing to tell is said as well: a part left empty might just be forgotten.
    """
    missing = []
    if not handover.safety and "no_safety" not in handover.notes:
        missing.append("Enter what is bypassed, permitted or isolated, or say that nothing is.")
    if not {"next_shift", "no_next"} & set(handover.notes):
        missing.append("Write what the next shift must watch or do, or say that there is nothing.")
    return tuple(missing)


def why_not_outgoing(book: Book, handover: Handover, person: str, now: datetime) -> str:
    """Why this person cannot hand the shift over now; empty where they can."""
    shift = handover.shift
    refused = _may_not(handover.plant, person)
    if refused:
        return refused
    if now < shift.end - EARLY:
        zone = handover.plant.time_zone
        first, end = local_label(shift.end - EARLY, zone), local_label(shift.end, zone)
        return f"The shift runs until {end}; it can be handed over from {first} on."
    state = signed_state(book, shift, now)
    if state.outgoing is not None:
        return _signed_already(handover.plant, state.outgoing)
    return next(iter(unsaid(handover)), "")


def sign_outgoing(
    book: Book, door: Door, prepared: Prepared, person: str, secret: str, make_pdf: MakePdf
) -> SavedPage:
    """Hand a shift over: freeze what was prepared, and sign it.

    Raises SigningRefused (also for a wrong secret, and where the shift was changed since it was
    prepared), WriteRefused where another window was quicker, other BookErrors, and what
    `make_pdf` raises. Then nothing is signed.
    """
    signing = begin_outgoing(book, door, prepared, person, secret)
    return finish(book, signing, make_pdf(signing.document))


def begin_outgoing(book: Book, door: Door, prepared: Prepared, person: str, secret: str) -> ToSign:
    """Prove who hands a shift over, and freeze what was prepared. Raises as `sign_outgoing`."""
    handover, now = prepared.handover, book.now()
    shift = handover.shift

    def why_not() -> str:
        return why_not_outgoing(book, handover, person, book.now()) or _stale(book, prepared)

    _refuse(why_not())
    _prove(door, person, secret, "outgoing signature")
    signature = signature_of(handover.plant, shift, person, OUTGOING, now, MEANING)
    document = document_of(prepared.content, prepared.content_hash, prepared.seal, [signature])
    return ToSign(
        shift, person, OUTGOING, now, MEANING[OUTGOING], PAGE_KIND, document, document, why_not
    )


def _stale(book: Book, prepared: Prepared) -> str:
    """Why what was prepared no longer is what the book says."""
    handover, shift = prepared.handover, prepared.handover.shift
    changed = book.changed_since(prepared.last_page, shift.start, shift.end)
    notes = book.handover_notes(shift.date, shift.pattern)
    said = {part: note for part, note in notes.items() if note.text.strip()}
    if not changed and said == dict(handover.notes):
        return ""
    return "The shift was changed since this was put together; look at it again, then sign."


# -- incoming -----------------------------------------------------------------------------


def subjects_to_read(book: Book, shift: Shift, now: datetime) -> tuple[Subject, ...]:
    """What the incoming person reads one by one; none before the outgoing has signed.

    Safety states that came after the outgoing signature stand at the end. Raises BookError.
    """
    outgoing = signed_state(book, shift, now).outgoing
    if outgoing is None:
        return ()
    known = subjects_of(signed_content(book, outgoing))
    return (*known, *safety_since(book.safety_states(now), known))


def answer_subject(
    book: Book, shift: Shift, person: str, subject: str, answer: CheckAnswer, text: str = ""
) -> SavedPage:
    """Write that a subject was read or accepted, or what is asked about it.

    Raises WriteRefused for a question without words, NotAllowed, other BookErrors.
    """
    _refuse(_may_not(book.plant_at(book.now()), person))
    row = NewHandoverCheck(shift.date, shift.pattern, subject, answer, text)
    return book.write(person, [row], kind=PAGE_KIND)


def why_not_incoming(book: Book, shift: Shift, person: str, now: datetime) -> str:
    """Why this person cannot take the shift over now; empty where they can."""
    plant = book.plant_at(now)
    refused = _may_not(plant, person)
    if refused:
        return refused
    state = signed_state(book, shift, now)
    if state.outgoing is None:
        return "The outgoing crew has not signed this shift yet; it signs first."
    if state.incoming is not None:
        return _signed_already(plant, state.incoming)
    if state.outgoing.person == person:
        name = person_name(plant, person)
        return f"{name} handed this shift over; somebody else must take it over."
    missed = catch_up(book, plant, person, now).unread
    if missed:
        return (
            f"Read first what happened since you were last here (Ctrl+Shift+L): {len(missed)} "
            "to confirm."
        )
    left = unanswered(subjects_to_read(book, shift, now), state.checks, person)
    if left:
        more = f" and {len(left) - 1} more" if len(left) > 1 else ""
        return f"Read first, and accept it or ask: {left[0].title}{more}."
    return ""


def sign_incoming(
    book: Book, door: Door, shift: Shift, person: str, secret: str, make_pdf: MakePdf
) -> SavedPage:
    """Take a shift over: sign what the outgoing person has signed.

    Raises as `sign_outgoing` does, and BookDamaged where what was signed is no longer intact.
    """
    signing = begin_incoming(book, door, shift, person, secret)
    return finish(book, signing, make_pdf(signing.document))


def begin_incoming(book: Book, door: Door, shift: Shift, person: str, secret: str) -> ToSign:
    """Prove who takes a shift over, and of which signed content. Raises as `sign_incoming`."""
    now = book.now()

    def why_not() -> str:
        return why_not_incoming(book, shift, person, book.now())

    _refuse(why_not())
    state = signed_state(book, shift, now)
    assert state.outgoing is not None
    content = signed_content(book, state.outgoing)
    _prove(door, person, secret, "incoming signature")
    plant = book.plant_at(now)
    signatures = [
        signature_of(plant, shift, one.person, one.role, one.at, {one.role: one.meaning})
        for one in [state.outgoing]
    ]
    signatures.append(signature_of(plant, shift, person, INCOMING, now, MEANING))
    seal = short_seal(book.last_page().seal)
    document = document_of(
        content, state.outgoing.content_hash, seal, signatures, plant=plant, state=state
    )
    # The content is frozen once, with the outgoing signature; this document names it.
    kept = {key: value for key, value in document.items() if key != "content"}
    kept["content_document"] = state.outgoing.document
    return ToSign(
        shift, person, INCOMING, now, MEANING[INCOMING], PAGE_KIND, document, kept, why_not
    )


def signed_content(book: Book, signature: Signature) -> Json:
    """The content that a handover's outgoing signature stands for, held against its hash.

    Raises BookDamaged, or SigningRefused where it is not what was signed.
    """
    if signature.document is None:
        raise SigningRefused("This signature has no document; look the shift up in the book.")
    snapshot = json.loads(book.document(signature.document).snapshot)
    if "content_document" in snapshot:
        snapshot = json.loads(book.document(snapshot["content_document"]).snapshot)
    content: Json = snapshot["content"]
    if content_hash(content) != signature.content_hash:
        msg = "What was signed is not what is stored; have the book verified before going on."
        raise SigningRefused(msg)
    return in_order(content)


# -- both ---------------------------------------------------------------------------------


def finish(book: Book, signing: ToSign, pdf: bytes) -> SavedPage:
    """Write a proven signature with its document and printed form, in one save.

    Whether it still holds is asked when nobody else can write any more. Raises SigningRefused,
    WriteRefused where another window was quicker, other BookErrors; then nothing is signed.
    """
    shift = signing.shift
    rows: list[NewRow] = [
        NewDocument(signing.kind, shift.date, shift.pattern, canonical(signing.kept), pdf),
        NewSignature(
            shift.date,
            shift.pattern,
            signing.role,
            signing.at,
            signing.meaning,
            document=Ref(0),
            content_hash=str(signing.kept["content_hash"]),
        ),
    ]

    def still_holds() -> None:
        _refuse(signing.why_not())

    return book.write(signing.person, rows, kind=signing.kind, guard=still_holds)


def _may_not(plant: Plant, key: str) -> str:
    person = _person(plant, key)
    if person is None:
        return f"The plant has nobody called {key} now; sign on as somebody it has."
    return may(person.role, Deed.HAND_OVER)


def _person(plant: Plant, key: str) -> Person | None:
    return next((person for person in plant.people if person.key == key), None)


def _signed_already(plant: Plant, signature: Signature) -> str:
    name, at = person_name(plant, signature.person), local_label(signature.at, plant.time_zone)
    return f"{name} has signed this at {at} already ({signature.role}); nothing is left to sign."


def _prove(door: Door, person: str, secret: str, what_for: str) -> None:
    answer = door.check(person, secret, what_for=what_for)
    if not answer.is_right:
        raise SigningRefused(answer.message)


def _refuse(why: str) -> None:
    if why:
        raise SigningRefused(why)
