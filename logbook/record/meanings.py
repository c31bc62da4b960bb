"""What every table, column and view of a book means, in words, for whoever reads it without us."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from logbook.record import meanings_v2

COMMON = MappingProxyType(
    {
        "id": "number of the row; the writing seat in the bits from 40 up, a counter below",
        "page": "the page (the save) that the row belongs to",
        "replaces": "the row that this one corrects",
        "why": "why it was corrected; always given with `replaces`",
        "effective_from": "since when it holds (seconds UTC)",
        "withdrawn": "1 where it no longer exists or holds from then on",
        "person": "key of the person who wrote it",
        "written_at": "when it was written, ISO 8601 UTC",
    }
)
"""Meanings of columns that occur in many tables, used where a table gives none of its own."""

TABLES: Mapping[str, tuple[str, Mapping[str, str]]] = MappingProxyType(
    {
        "book": (
            "The head of the book: one row, made with it.",
            {
                "id": "always 1",
                "uuid": "random name of this book, told apart from every other",
                "created_at": "when it was made (seconds UTC)",
                "plant_key": "key of the plant",
                "time_zone": "IANA time zone of the plant when the book was made",
                "made_with": "program and version that made it",
            },
        ),
        "seat": (
            "A place from which the book is written: one computer, one chain of pages.",
            {
                "id": "number of the seat, from 1; the high bits of the ids it writes",
                "name": "name of the seat",
                "created_at": "when it first opened the book (seconds UTC)",
            },
        ),
        "page": (
            "One save: who wrote when, and the seal over all rows of the save.",
            {
                "seat": "the seat it was written from",
                "written_at": "when it was written (milliseconds UTC), by the computer's clock",
                "kind": "what sort of save: round, definition, event, correction, lab...",
                "note": "a note on the save, or empty",
                "row_count": "how many rows it has in all tables",
                "previous_seal": "seal of the page before it of the same seat",
                "seal": "SHA-256 over head and rows, see the module `logbook.record.seal`",
            },
        ),
        "definition": (
            "A revision of one thing of the plant; the latest at an instant is what holds then.",
            {
                "kind": "plant, settings, calendar, mode, area, equipment, table, point, person, "
                "accounts (points by role, prices), or order (in which the plant lists a kind)",
                "key": "key of the thing within its kind",
                "reason": "why it was changed",
                "body": "the whole thing as JSON; empty where withdrawn",
            },
        ),
        "point": (
            "A compact number for each point key, as used in `reading` and `limit_set`.",
            {"id": "the number, from 1", "key": "key of the point"},
        ),
        "limit_set": (
            "A revision of the target and the limits of a point in an operating mode.",
            {
                "point": "number of the point",
                "mode": "key of the mode; `normal` holds where a mode has none of its own",
                "reason": "why they were changed",
                "target": "target, in the point's unit",
                "warning_low": "below it: warning",
                "warning_high": "above it: warning",
                "action_low": "below it: action",
                "action_high": "above it: action",
                "plausible_low": "below it an entry is questioned",
                "plausible_high": "above it an entry is questioned",
            },
        ),
        "sample": (
            "A sample taken; its results are readings that name it and come later.",
            {
                "taken_at": "when it was taken (seconds UTC)",
                "sampling_point": "where it was taken",
                "label": "what is written on the bottle",
                "note": "a note, or empty",
            },
        ),
        "reading": (
            "A reading as it was written: a number, an answer, or the reason why there is none.",
            {
                "point": "number of the point",
                "taken_at": "when it was true (seconds UTC)",
                "round_at": "the round it belongs to (seconds UTC), if any",
                "value": "the number, in the point's unit at that time",
                "text": "key of the answer of a state or check, or words",
                "typed": "what was typed, as it was typed",
                "reason": "why there is no reading: not_sampled, machine_down, instrument_fault, "
                "not_safe, or words",
                "mode": "operating mode when it was taken",
                "late": "1 where it was written after the round's grace time",
                "sample": "the sample it is a result of, if any",
            },
        ),
        "response": (
            "What was done about a reading.",
            {
                "reading": "the reading",
                "at": "when it was done (seconds UTC)",
                "text": "what was done",
            },
        ),
        "entry": (
            "A log entry.",
            {
                "at": "when it happened (seconds UTC)",
                "area": "key of the area, if any",
                "equipment": "key of the machine, if any",
                "kind": "what sort of entry",
                "text": "the entry; empty where an earlier one is withdrawn",
            },
        ),
        "status": (
            "The plant, an area or a machine went down or came up.",
            {
                "scope": "plant, area or equipment",
                "target": "its key",
                "at": "when (seconds UTC)",
                "state": "down or up",
                "reason": "why it went down",
            },
        ),
        "mode_change": (
            "The plant went into an operating mode.",
            {
                "at": "when (seconds UTC)",
                "mode": "key of the mode",
                "reason": "why",
            },
        ),
        "judgement": (
            "The words for judgements, a fixed table that the views use.",
            {
                "code": "severity times direction for numbers, 10 + severity for answers",
                "severity": "0 within, 1 warning, 2 action",
                "direction": "-1 low, 1 high, 0 neither",
                "word": "both in words",
            },
        ),
        "draft_head": (
            "A half-typed round. With `draft` the only rows that change or go.",
            {
                "seat": "the seat it is typed at",
                "round_at": "the round (seconds UTC)",
                "taken_at": "chosen time of taking (seconds UTC)",
                "mode": "chosen operating mode",
                "note": "the note on the round typed so far",
                "touched_at": "when last typed in (milliseconds UTC)",
            },
        ),
        "draft": (
            "A half-typed field of a round.",
            {
                "seat": "the seat it is typed at",
                "round_at": "the round (seconds UTC)",
                "point": "key of the point",
                "typed": "what is typed so far",
                "response": "the response typed so far",
                "reason": "why there is no reading, as chosen so far",
                "confirmed": "1 where an implausible value was confirmed",
                "touched_at": "when last typed in (milliseconds UTC)",
            },
        ),
        **meanings_v2.TABLES,
        "_sqlite_migrations": (
            "Steps by which the book came to its present schema, kept by sqlite-utils.",
            {
                "id": "running number",
                "migration_set": "always `logbook`",
                "name": "name of the step",
                "applied_at": "when it was taken",
            },
        ),
    }
)
"""Table to its meaning and that of its columns."""

VIEWS: Mapping[str, tuple[str, Mapping[str, str]]] = MappingProxyType(
    {
        "v_reading": (
            (
                "Readings as they now stand (corrections applied, withdrawn ones left out), each with "
                "its point and limits as they were when it was taken, and the judgement. To be quick "
                "in a long book, ask for a point and a span of `taken_epoch`."
            ),
            {
                "reading_id": "`reading.id`",
                "point": "key of the point",
                "name": "its name then",
                "area": "its area then",
                "equipment": "its machine then, if any",
                "unit": "its unit then",
                "taken_at": "when it was true, ISO 8601 UTC",
                "round_at": "the round it belongs to, ISO 8601 UTC",
                "value": "the number",
                "text": "the answer",
                "reason": "why there is none",
                "typed": "what was typed",
                "mode": "operating mode when it was taken",
                "late": "1 where written after the grace time",
                "corrected": "1 where it stands in the place of an earlier one",
                "target": "target then in force",
                "warning_low": "limit then in force",
                "warning_high": "limit then in force",
                "action_low": "limit then in force",
                "action_high": "limit then in force",
                "severity": "0 within, 1 warning, 2 action; empty where not judged: no limits, no "
                "value, machine or area down, or a mode in which the point is silent",
                "direction": "-1 low, 1 high, 0 neither",
                "judgement": "both in words",
                "sample": "the sample it is a result of",
                "point_id": "number of the point",
                "taken_epoch": "when it was true (seconds UTC)",
            },
        ),
        "v_correction": (
            "Corrections of readings: what stood there, what stands there now, who and why.",
            {
                "reading_id": "the new row of `reading`",
                "replaced_id": "the row it replaces",
                "point": "key of the point",
                "old_taken_at": "time of taking before, ISO 8601 UTC",
                "new_taken_at": "time of taking after, ISO 8601 UTC",
                "old_value": "number before",
                "old_text": "answer or reason before",
                "new_value": "number after",
                "new_text": "answer or reason after",
                "withdrawn": "1 where the reading was only taken back",
                "old_person": "who wrote the old row",
                "person": "who corrected it",
            },
        ),
        "v_deviation": (
            (
                "Runs of readings of one point outside its limits on one side. Readings that are not "
                "judged neither end nor lengthen a run. (The program itself also ends a run where the "
                "point was not due, or was not read for long.) In a long book, ask for a point."
            ),
            {
                "point": "key of the point",
                "name": "its name",
                "area": "its area",
                "started_at": "first reading outside, ISO 8601 UTC",
                "last_at": "last reading outside",
                "ended_at": "the judged reading after it; empty while the run is open",
                "readings": "how many readings",
                "severity": "the worst: 1 warning, 2 action",
                "direction": "-1 low, 1 high, 0 for answers",
                "worst_value": "lowest or highest value of the run",
                "judgement": "severity and direction in words",
            },
        ),
        "v_status": (
            "Spans in which the plant, an area or a machine was down.",
            {
                "scope": "plant, area or equipment",
                "target": "its key",
                "down_at": "when it went down, ISO 8601 UTC",
                "up_at": "when it came up; empty while it is down",
                "hours": "how long",
                "reason": "why",
                "person": "who entered that it went down",
            },
        ),
        "v_entry": (
            "Log entries as they now stand.",
            {
                "entry_id": "`entry.id`",
                "at": "when it happened, ISO 8601 UTC",
                "area": "key of the area",
                "equipment": "key of the machine",
                "kind": "what sort of entry",
                "text": "the entry",
                "corrected": "1 where it stands in the place of an earlier one",
            },
        ),
        "v_page": (
            "Pages with their seals as printed.",
            {
                "page": "`page.id`",
                "seat": "name of the seat",
                "kind": "what sort of save",
                "note": "a note on the save",
                "row_count": "how many rows",
                "short_seal": "the seal's first twelve digits in groups of four, as printed",
                "seal": "the whole seal",
            },
        ),
        **meanings_v2.VIEWS,
    }
)
"""View to its meaning and that of its columns."""
