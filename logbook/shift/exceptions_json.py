"""A shift's exceptions as plain data: times ISO 8601 in local time with offset, numbers unrounded."""

from __future__ import annotations

from datetime import datetime

from logbook.plant.localtime import to_local
from logbook.plant.model import Plant
from logbook.record import Reading
from logbook.shift.answers import AnswerFound
from logbook.shift.doubts import DoubtFound
from logbook.shift.exceptions import (
    CorrectionFound,
    DeviationFound,
    LateFound,
    ShiftExceptions,
)
from logbook.shift.gaps import GapFound
from logbook.shift.stops import StopFound
from logbook.shift.words import point_name

Json = dict[str, object]


def as_json(found: ShiftExceptions) -> Json:
    """The whole, ready for `json.dumps`."""
    plant, shift = found.plant, found.shift
    return {
        "plant": plant.name,
        "shift": {
            "date": shift.date.isoformat(),
            "key": shift.pattern,
            "name": shift.name,
            "crew": shift.crew,
            "start": _when(plant, shift.start),
            "end": _when(plant, shift.end),
        },
        "readings": found.reading_count,
        "rounds": [
            {"at": _when(plant, s.at), "due": s.due, "done": s.done, "state": s.state.value}
            for s in found.rounds
        ],
        "deviations": [_deviation(plant, d) for d in found.deviations],
        "answers": [_answer(plant, a) for a in found.answers],
        "doubtful": [_doubt(plant, d) for d in found.doubts],
        "down": [_stop(plant, s) for s in found.stops],
        "not_taken": [_gap(plant, g) for g in found.gaps],
        "late": [_late(plant, one) for one in found.late],
        "corrected": [_correction(plant, c) for c in found.corrections],
    }


def _when(plant: Plant, at: datetime | None) -> str | None:
    return to_local(at, plant.time_zone).isoformat() if at is not None else None


def _deviation(plant: Plant, one: DeviationFound) -> Json:
    run, point = one.found.run, one.found.point
    return {
        "point": point.key,
        "name": point_name(plant, point),
        "unit": point.unit,
        "severity": one.judgement.severity.name.lower(),
        "direction": one.judgement.direction.name.lower(),
        "worst_value": run.worst_value,
        "last_value": one.found.last_value,
        "start": _when(plant, run.start),
        "end": _when(plant, run.end),
        "closing": run.closing.value,
        "count": run.count,
        "open": one.is_open,
        "follows": list(one.follows),
        "responses": list(one.responses),
    }


def _answer(plant: Plant, one: AnswerFound) -> Json:
    return {
        "point": one.point.key,
        "name": point_name(plant, one.point),
        "answer": one.reading.text,
        "severity": one.judgement.severity.name.lower(),
        "at": _when(plant, one.reading.taken_at),
        "count": one.count,
        "responses": list(one.responses),
    }


def _doubt(plant: Plant, one: DoubtFound) -> Json:
    return {
        "point": one.point.key,
        "name": point_name(plant, one.point),
        "unit": one.point.unit,
        "at": _when(plant, one.reading.taken_at),
        "value": one.reading.value,
        "person": one.reading.person,
        "why": one.why,
    }


def _stop(plant: Plant, one: StopFound) -> Json:
    return {
        "scope": one.scope,
        "target": one.target,
        "name": one.name,
        "start": _when(plant, one.start),
        "end": _when(plant, one.end),
        "reason": one.reason,
    }


def _gap(plant: Plant, one: GapFound) -> Json:
    return {
        "point": one.point.key,
        "name": point_name(plant, one.point),
        "round_at": _when(plant, one.round_at),
        "reason": one.reason,
    }


def _late(plant: Plant, one: LateFound) -> Json:
    return {
        "taken_at": _when(plant, one.taken_at),
        "written_at": _when(plant, one.written_at),
        "readings": one.count,
        "person": one.person,
        "note": one.note,
    }


def _correction(plant: Plant, one: CorrectionFound) -> Json:
    return {
        "point": one.point.key,
        "name": point_name(plant, one.point),
        "taken_at": _when(plant, one.after.taken_at),
        "before": _value(one.before),
        "after": _value(one.after),
        "withdrawn": one.after.withdrawn,
        "why": one.after.why,
        "person": one.after.person,
    }


def _value(reading: Reading) -> float | str | None:
    return reading.value if reading.value is not None else reading.text
