"""What the tables, columns and views of schema version 2 mean, in words."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

_SHIFT = {
    "shift_date": "local day on which the shift began, YYYY-MM-DD",
    "shift_key": "key of the shift pattern",
}

TABLES: Mapping[str, tuple[str, Mapping[str, str]]] = MappingProxyType(
    {
        "credential": (
            "What a person proves with who they are; of several the one written last holds.",
            {
                "person": "whose it is; `recovery:KEY` for the recovery code of KEY",
                "kind": "pin or password",
                "hash": "Argon2id hash with its salt and settings; the secret itself is nowhere",
            },
        ),
        "access": (
            "Signing on and off, wrong secrets, lock-outs, changes of a secret.",
            {
                "person": "whom it is about (`recovery:KEY`: the recovery code of KEY; a typed name "
                "and `(not signed on)`: somebody without a PIN); who wrote it stands on the page",
                "at": "when (seconds UTC)",
                "kind": "wrong, locked, signed_on, signed_off or changed",
                "detail": "more about it, or empty",
            },
        ),
        "open_item": (
            "A matter that is carried from shift to shift until it is closed.",
            {
                "at": "when it came up (seconds UTC)",
                "text": "what is to be done",
                "area": "key of the area, if any",
                "equipment": "key of the machine, if any",
                "owner": "who sees to it, if anybody was named",
                "due_at": "until when (seconds UTC), if said",
                "reading": "the reading that it came from, if any",
                "entry": "the log entry that it came from, if any",
            },
        ),
        "item_event": (
            "News of an open item, its closing, or its opening again.",
            {
                "item": "the open item",
                "at": "when (seconds UTC)",
                "kind": "update, close or reopen",
                "text": "what is new, what was done, or why it was opened again",
            },
        ),
        "instruction": (
            "A standing instruction to all crews.",
            {
                "valid_from": "since when it holds (seconds UTC)",
                "valid_to": "until when (seconds UTC); empty: until it is ended",
                "text": "the instruction",
                "area": "key of the area, if it is for one",
            },
        ),
        "instruction_end": (
            "An instruction was ended before its time.",
            {
                "instruction": "the instruction",
                "at": "from when on it no longer holds (seconds UTC)",
                "reason": "why",
            },
        ),
        "acknowledgement": (
            "The person who wrote the page has read an instruction; the first one counts.",
            {"instruction": "the instruction", "at": "when (seconds UTC)"},
        ),
        "safety_state": (
            "A bypassed interlock, a permit, an isolation and the like: open until cleared.",
            {
                "at": "since when (seconds UTC)",
                "kind": "bypass, permit, isolation, override or other",
                "what": "what exactly, in words",
                "area": "key of the area, if any",
                "equipment": "key of the machine, if any",
                "authorised_by": "who allowed it, or empty",
                "until_at": "until when it was allowed at first (seconds UTC), if limited",
            },
        ),
        "safety_event": (
            "A safety state was cleared, or may last until another time.",
            {
                "state": "the safety state",
                "at": "when (seconds UTC)",
                "kind": "clear or extend",
                "text": "how it was cleared, or why it lasts",
                "until_at": "new end (seconds UTC) where extended",
            },
        ),
        "handover_note": (
            "The crew's own words on a part of its handover; the last of a part holds.",
            {
                **_SHIFT,
                "part": "remarks, next_shift, or that there is nothing to say: no_safety, no_next",
                "text": "the words",
            },
        ),
        "handover_check": (
            "An answer to one subject of a handover by the person who takes over.",
            {
                **_SHIFT,
                "subject": "what was answered to, as the handover names it; beginning with "
                "`relief:` in a relief during the shift, `missed:` of what happened while the "
                "person was away, `unproven:` where a supervisor confirms an `access` row",
                "answer": "read, asked or accepted",
                "text": "the question, or a remark",
            },
        ),
        "document": (
            "A handover or a review as it was signed: its facts and its printed form.",
            {
                "kind": "handover or review",
                **_SHIFT,
                "snapshot_sha256": "SHA-256 of the snapshot in UTF-8, hexadecimal",
                "pdf_sha256": "SHA-256 of the printed form, hexadecimal",
                "snapshot": "the facts as JSON",
                "pdf": "the printed form, a PDF file; in the seal its SHA-256 stands for it",
            },
        ),
        "signature": (
            "The person who wrote the page has signed a shift; once in each role.",
            {
                **_SHIFT,
                "role": "outgoing, incoming or review",
                "at": "when (seconds UTC)",
                "meaning": "what the signature says, in words",
                "document": "the stored document that was signed, if any",
                "content_hash": "SHA-256 of what was signed, hexadecimal",
            },
        ),
        "words": (
            "The search index (FTS5): a copy of every text that can be searched, no fact itself.",
            {
                "kind": "what it is, see `v_text`",
                "row": "the row that the text stands in",
                "at": "when it happened (seconds UTC)",
                "area": "key of the area, if any",
                "equipment": "key of the machine, if any",
                "page": "the page that the row belongs to",
                "text": "the words",
            },
        ),
    }
)
"""Table to its meaning and that of its columns."""

_WHERE = {"area": "key of the area, if any", "equipment": "key of the machine, if any"}

VIEWS: Mapping[str, tuple[str, Mapping[str, str]]] = MappingProxyType(
    {
        "v_text": (
            "Every text that can be searched.",
            {
                "kind": "entry, response, open item, item event, instruction, instruction end, "
                "safety state, safety event, downtime, sample, note, question or page note",
                "row": "number of the row in the table of that kind",
                "at": "when it happened (seconds UTC)",
                **_WHERE,
                "text": "the words",
            },
        ),
        "v_response": (
            "What was done about readings.",
            {
                "response_id": "`response.id`",
                "reading_id": "the reading",
                "point": "key of its point",
                "at": "when it was done, ISO 8601 UTC",
                "text": "what was done",
            },
        ),
        "v_access": (
            "Signing on and off, wrong secrets, lock-outs, changes of a secret.",
            {
                "access_id": "`access.id`",
                "about": "key of the person whom it is about",
                "at": "when, ISO 8601 UTC",
                "kind": "wrong, locked, signed_on, signed_off or changed",
                "detail": "more about it, or empty",
            },
        ),
        "v_item_event": (
            "What happened to open items.",
            {
                "event_id": "`item_event.id`",
                "item_id": "the open item",
                "at": "when, ISO 8601 UTC",
                "kind": "update, close or reopen",
                "text": "what is new, what was done, or why it was opened again",
            },
        ),
        "v_open_item": (
            "All items ever opened and whether they are open now.",
            {
                "item_id": "`open_item.id`",
                "at": "when it came up, ISO 8601 UTC",
                "text": "what is to be done",
                **_WHERE,
                "owner": "who sees to it",
                "due_at": "until when, ISO 8601 UTC",
                "state": "open or closed",
                "closed_at": "when it was closed, ISO 8601 UTC",
                "closed_by": "who closed it",
                "closing": "what was done",
                "events": "how many events it has",
                "reading_id": "the reading that it came from",
                "entry_id": "the log entry that it came from",
            },
        ),
        "v_safety": (
            "All safety states; those not cleared are open.",
            {
                "state_id": "`safety_state.id`",
                "at": "since when, ISO 8601 UTC",
                "kind": "bypass, permit, isolation, override or other",
                "what": "what exactly",
                **_WHERE,
                "authorised_by": "who allowed it",
                "until_at": "until when it is allowed, extensions counted, ISO 8601 UTC",
                "cleared_at": "when it was cleared, ISO 8601 UTC; empty while it is open",
                "cleared_by": "who wrote that it is cleared",
                "clearing": "how it was cleared",
            },
        ),
        "v_instruction": (
            "Standing instructions.",
            {
                "instruction_id": "`instruction.id`",
                "valid_from": "since when it holds, ISO 8601 UTC",
                "valid_to": "until when, ISO 8601 UTC, ends counted; empty: without end",
                "text": "the instruction",
                "area": "key of the area, if it is for one",
                "end_reason": "why it was ended before its time",
                "acknowledged": "how many people have acknowledged it",
            },
        ),
        "v_acknowledgement": (
            "Who has acknowledged which instruction.",
            {
                "acknowledgement_id": "`acknowledgement.id`",
                "instruction_id": "the instruction",
                "at": "when, ISO 8601 UTC",
            },
        ),
        "v_handover_note": (
            "The latest words of a crew on each part of a handover.",
            {
                "note_id": "`handover_note.id`",
                **_SHIFT,
                "part": "remarks, next_shift, no_safety or no_next",
                "text": "the words",
            },
        ),
        "v_handover_check": (
            "Every answer of those who took over.",
            {
                "check_id": "`handover_check.id`",
                **_SHIFT,
                "subject": "what was answered to",
                "answer": "read, asked or accepted",
                "text": "the question, or a remark",
            },
        ),
        "v_document": (
            "Stored documents without their contents.",
            {
                "document_id": "`document.id`",
                "kind": "handover or review",
                **_SHIFT,
                "snapshot_sha256": "SHA-256 of the facts",
                "pdf_sha256": "SHA-256 of the printed form",
            },
        ),
        "v_signature": (
            "Who has signed which shift.",
            {
                "signature_id": "`signature.id`",
                **_SHIFT,
                "role": "outgoing, incoming or review",
                "at": "when, ISO 8601 UTC",
                "meaning": "what the signature says",
                "document_id": "the stored document that was signed",
                "content_hash": "SHA-256 of what was signed",
            },
        ),
    }
)
"""View to its meaning and that of its columns."""
