"""A handover as plain data: what is printed, what is frozen when it is signed, and its hash.

The keys of `content` stand in the fixed order of the parts. What is signed is the canonical text:
UTF-8 JSON with sorted keys, no blanks and no NaN; its SHA-256 is the content hash.
"""

from __future__ import annotations

import hashlib
import json

from logbook.shift import handover_json_found as parts
from logbook.shift import handover_json_matters as matters
from logbook.shift.handover import Handover
from logbook.shift.json_words import Json, JsonWords, minutes
from logbook.shift.review import ReviewGrid
from logbook.shift.review_json import grid_json

FORMAT = 1
"""Raised when a key changes its meaning, so that an old snapshot is read as what it was."""

ORDER = (
    "format", "plant", "shift", "next_shift", "composed_at", "until", "mode", "people", "away",
    "risks", "safety", "safety_cleared", "open_deviations", "open_answers", "closed_deviations",
    "closed_answers", "repeats", "not_available", "rounds", "gaps", "lost_time", "throughput",
    "lab", "tanks", "items", "items_closed", "limit_changes", "corrections", "late", "doubts",
    "next_duties", "instructions", "notes", "entries", "mode_changes", "reading_count", "readings",
)  # fmt: skip
"""The order in which a handover is read."""


def in_order(content: Json) -> Json:
    """A content whose keys were sorted for its hash, in the order in which it is read."""
    known = {key: content[key] for key in ORDER if key in content}
    return known | {key: value for key, value in content.items() if key not in known}


def canonical(content: Json) -> str:
    """The one text that stands for this content. Raises ValueError for NaN."""
    return json.dumps(
        content, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False
    )


def content_hash(content: Json) -> str:
    """SHA-256 of the canonical text, 64 hex digits."""
    return hashlib.sha256(canonical(content).encode("utf-8")).hexdigest()


def content_of(handover: Handover, grid: ReviewGrid) -> Json:
    """Everything of a handover that is signed, with all readings of the shift."""
    words, until = JsonWords(handover.plant, handover.shift), handover.until
    counted = handover.throughput.counter.unit if handover.throughput else ""
    return {
        "format": FORMAT,
        **_head(words, handover),
        "safety": [matters.safety(words, s, until) for s in handover.safety],
        "safety_cleared": [matters.safety(words, s, until) for s in handover.safety_cleared],
        "open_deviations": [parts.deviation(words, d) for d in handover.open_deviations],
        "open_answers": [parts.answer(words, a) for a in handover.open_answers],
        "closed_deviations": [parts.deviation(words, d) for d in handover.closed_deviations],
        "closed_answers": [parts.answer(words, a) for a in handover.closed_answers],
        "repeats": dict(handover.repeats),
        "not_available": [parts.stop(words, s) for s in handover.not_available],
        "rounds": [parts.round_state(words, r) for r in handover.rounds],
        "gaps": parts.gaps(words, handover),
        "lost_time": parts.lost_time(words, handover.lost_time, counted),
        "throughput": parts.throughput(words, handover.throughput),
        "lab": parts.lab(words, handover.lab),
        "tanks": [parts.tank(words, t) for t in handover.tanks],
        "items": [matters.item(words, i, until) for i in handover.items],
        "items_closed": [matters.item(words, i, until) for i in handover.items_closed],
        "limit_changes": [parts.limit_change(words, c) for c in handover.limit_changes],
        "corrections": [parts.correction(words, c) for c in handover.corrections],
        "late": [parts.late(words, one) for one in handover.late],
        "doubts": [parts.doubt(words, d) for d in handover.doubts],
        "next_duties": [parts.duty(words, d) for d in handover.next_duties],
        "instructions": [matters.instruction(words, i) for i in handover.instructions],
        "notes": {key: matters.note(words, handover.notes.get(key)) for key in matters.PARTS},
        "entries": [parts.entry(words, e) for e in handover.entries],
        "mode_changes": [parts.stop(words, s) for s in handover.mode_changes],
        "reading_count": handover.reading_count,
        "readings": grid_json(words, grid),
    }


def _head(words: JsonWords, handover: Handover) -> Json:
    plant, away = handover.plant, handover.away
    modes = {mode.key: mode.name for mode in plant.modes}
    return {
        "plant": {"key": plant.key, "name": plant.name, "time_zone": plant.time_zone},
        "shift": words.shift_head(handover.shift),
        "next_shift": words.shift_head(handover.next_shift),
        "composed_at": words.when(handover.composed_at),
        "until": words.when(handover.until),
        "mode": {"key": handover.mode, "name": modes.get(handover.mode, handover.mode)},
        "people": [words.person(key) for key in handover.people],
        "away": {
            "last": words.shift_head(away.last) if away.last else None,
            "missed": [words.shift_head(shift) for shift in away.missed],
            "minutes": minutes(away.length),
        },
        "risks": [{"kind": risk.kind.value, "text": risk.text} for risk in handover.risks],
    }
