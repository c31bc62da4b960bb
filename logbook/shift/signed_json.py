"""What is stored and printed when a shift is signed, as plain data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import Change, HandoverCheck
from logbook.shift.json_words import Json, JsonWords
from logbook.shift.signed_state import INCOMING, OUTGOING, HandoverStatus, SignedState
from logbook.shift.subjects import subjects_of


def signature_of(
    plant: Plant, shift: Shift, person: str, role: str, at: datetime, meaning: Mapping[str, str]
) -> Json:
    """A signature as it is printed: name, role, time and meaning."""
    words = JsonWords(plant, shift)
    roles = {one.key: one.role.value for one in plant.people}
    return {
        "role": role,
        "person": words.person(person),
        "person_role": roles.get(person, ""),
        "at": words.when(at),
        "meaning": meaning[role],
    }


def document_of(
    content: Json,
    content_hash: str,
    seal: str,
    signatures: Iterable[Json],
    *,
    plant: Plant | None = None,
    state: SignedState | None = None,
) -> Json:
    """A handover with its signatures, the answers of the incoming, and what changed since."""
    signed = list(signatures)
    found: Json = {
        "content": content,
        "content_hash": content_hash,
        "seal": seal,
        "signatures": signed,
        "checks": [],
        "changed": [],
        "status": _status({str(one["role"]) for one in signed}).value,
    }
    if plant is not None and state is not None:
        words = JsonWords(plant, state.shift)
        titles = {subject.key: subject.title for subject in subjects_of(content)}
        found["checks"] = [_check(words, titles, check) for check in state.checks]
        found["changed"] = [change_json(words, change) for change in state.changes]
    return found


def unsigned_document(content: Json, content_hash: str, seal: str) -> Json:
    """A handover that nobody has signed, for looking at and for printing: it says so."""
    return document_of(content, content_hash, seal, ())


def change_json(words: JsonWords, one: Change) -> Json:
    """What was written after signing: as it was, as it is, who, when and why."""
    names = {point.key: point for point in words.plant.points}
    point = names.get(one.subject)
    return {
        "kind": one.kind,
        "how": one.how,
        "subject": words.point(point)["name"] if point else one.subject,
        "at": words.when(one.at),
        "old": str(one.old),
        "new": str(one.new),
        "why": one.why,
        "late": one.late,
        "person": words.person(one.person),
        "written_at": words.when(one.written_at),
    }


def _check(words: JsonWords, titles: Mapping[str, str], check: HandoverCheck) -> Json:
    return {
        "subject": check.subject,
        "title": titles.get(check.subject, check.subject),
        "answer": check.answer,
        "text": check.text,
        "person": words.person(check.person),
        "at": words.when(check.written_at),
    }


def _status(roles: set[str]) -> HandoverStatus:
    if OUTGOING not in roles:
        return HandoverStatus.NOT_SIGNED
    return HandoverStatus.ACCEPTED if INCOMING in roles else HandoverStatus.NOT_ACCEPTED
