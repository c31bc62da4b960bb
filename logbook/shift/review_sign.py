"""Signing the review of a shift, and which shifts still wait for theirs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from logbook.plant.calendar import shifts_between
from logbook.plant.localtime import local_label
from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import (
    Book,
    Reader,
    SavedPage,
    Signature,
    short_seal,
)
from logbook.shift.access import Door
from logbook.shift.handover_json import content_hash
from logbook.shift.json_words import Json, JsonWords
from logbook.shift.review import ReviewGrid
from logbook.shift.review_cells import Finding
from logbook.shift.review_json import grid_json
from logbook.shift.roles import Deed, may
from logbook.shift.signed_json import signature_of
from logbook.shift.signed_state import INCOMING, OUTGOING, REVIEW, signed_state
from logbook.shift.signing import MakePdf, SigningRefused, ToSign, finish
from logbook.shift.words import person_name

PAGE_KIND: Final = "review"
REVIEW_WITHIN = timedelta(hours=24)
"""A shift that nobody has reviewed so long after its end is overdue. Our own choice."""
MEANING = {REVIEW: "Has reviewed the readings of the shift and what was marked in them"}


@dataclass(frozen=True, slots=True)
class ShiftToReview:
    """A shift that is over, and its signatures."""

    shift: Shift
    outgoing: Signature | None
    incoming: Signature | None
    review: Signature | None
    is_overdue: bool
    """True where it should have been reviewed by now."""


def shifts_to_review(
    book: Reader, plant: Plant, since: datetime, now: datetime, *, crew: str | None = None
) -> tuple[ShiftToReview, ...]:
    """Shifts that ended in (since, now], the latest first; of one crew where it is named."""
    ended = [s for s in shifts_between(plant.calendar, since, now) if since < s.end <= now]
    shifts = [s for s in ended if crew is None or s.crew == crew]
    if not shifts:
        return ()
    signed = book.signatures_between(shifts[0].date, shifts[-1].date)
    by_shift = {(s.shift_date, s.shift_key, s.role): s for s in signed}

    def found(shift: Shift) -> ShiftToReview:
        out, into, review = (
            by_shift.get((shift.date, shift.pattern, role)) for role in (OUTGOING, INCOMING, REVIEW)
        )
        overdue = review is None and now > shift.end + REVIEW_WITHIN
        return ShiftToReview(shift, out, into, review, overdue)

    return tuple(found(shift) for shift in reversed(shifts))


def why_not_review(book: Book, plant: Plant, shift: Shift, person: str, now: datetime) -> str:
    """Why this person cannot sign the review of a shift now; empty where they can."""
    known = next((one for one in plant.people if one.key == person), None)
    if known is None:
        return f"The plant has nobody called {person} now; sign on as somebody it has."
    refused = may(known.role, Deed.REVIEW)
    if refused:
        return refused
    if now < shift.end:
        end = local_label(shift.end, plant.time_zone)
        return f"The shift runs until {end}; it can be reviewed when it is over."
    state = signed_state(book, shift, now)
    if state.review is not None:
        name = person_name(plant, state.review.person)
        return f"{name} has reviewed this shift already; nothing is left to sign."
    if state.outgoing is not None and state.outgoing.person == person:
        return f"{known.name} handed this shift over; somebody else must review it."
    return ""


def review_content(grid: ReviewGrid, remark: str = "") -> Json:
    """Everything of a review that is signed."""
    words = JsonWords(grid.plant, grid.shift)
    return {
        "format": 1,
        "plant": {
            "key": grid.plant.key,
            "name": grid.plant.name,
            "time_zone": grid.plant.time_zone,
        },
        "shift": words.shift_head(grid.shift),
        "made_at": words.when(grid.made_at),
        "counts": {finding.value: grid.count(finding) for finding in Finding},
        "remark": remark,
        "readings": grid_json(words, grid),
    }


def sign_review(
    book: Book,
    door: Door,
    grid: ReviewGrid,
    person: str,
    secret: str,
    make_pdf: MakePdf,
    *,
    remark: str = "",
) -> SavedPage:
    """Sign the review of the shift that `grid` shows.

    Raises SigningRefused (also for a wrong secret), WriteRefused where another window was
    quicker, other BookErrors, and what `make_pdf` raises. Then nothing is signed.
    """
    signing = begin_review(book, door, grid, person, secret, remark=remark)
    return finish(book, signing, make_pdf(signing.document))


def begin_review(
    book: Book, door: Door, grid: ReviewGrid, person: str, secret: str, *, remark: str = ""
) -> ToSign:
    """Prove who reviews a shift, and freeze what `grid` shows. Raises as `sign_review`."""
    shift, plant, now = grid.shift, grid.plant, book.now()

    def why_not() -> str:
        refused = why_not_review(book, plant, shift, person, book.now())
        if not refused and book.changed_since(grid.made_at, shift.start, shift.end):
            refused = "The shift was changed since it was shown; look at it again, then sign."
        return refused

    refused = why_not()
    if refused:
        raise SigningRefused(refused)
    answer = door.check(person, secret, what_for="review signature")
    if not answer.is_right:
        raise SigningRefused(answer.message)
    content = review_content(grid, remark)
    document: Json = {
        "content": content,
        "content_hash": content_hash(content),
        "seal": short_seal(book.last_page().seal),
        "signatures": [signature_of(plant, shift, person, REVIEW, now, MEANING)],
    }
    return ToSign(
        shift, person, REVIEW, now, MEANING[REVIEW], PAGE_KIND, document, document, why_not
    )
