"""The parts of a handover that follow from its readings and events, as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.assess.limits import Closing
from logbook.record import Entry
from logbook.shift.answers import AnswerFound
from logbook.shift.doubts import DoubtFound
from logbook.shift.exceptions import CorrectionFound, DeviationFound, LateFound
from logbook.shift.gap_words import gap_lines
from logbook.shift.json_words import Json, JsonWords, minutes
from logbook.shift.lab_results import LabWork
from logbook.shift.limit_changes import LimitChange
from logbook.shift.lost_time import LostTime
from logbook.shift.next_duties import NextDuty
from logbook.shift.round_form import describe_reason
from logbook.shift.round_state import RoundStatus
from logbook.shift.stops import StopFound
from logbook.shift.tank_levels import TankLevel
from logbook.shift.throughput import Throughput
from logbook.shift.words import judgement_text, meaning_text

if TYPE_CHECKING:
    from logbook.shift.handover import Handover

CLOSING_WORDS = {
    Closing.OPEN: "still open",
    Closing.BACK_INSIDE: "back inside",
    Closing.OTHER_SIDE: "then out on the other side",
    Closing.NOT_DUE: "then down or not in use",
    Closing.GAP: "then not read for too long",
}


def deviation(words: JsonWords, one: DeviationFound) -> Json:
    """A deviation with its worst and last value, the limit passed, and what was done."""
    run, point = one.found.run, one.found.point
    comma = words.plant.settings.decimal_comma
    return {
        "point": words.point(point),
        "severity": one.judgement.severity.name.lower(),
        "direction": one.judgement.direction.name.lower(),
        "judgement": judgement_text(point, one.found.limits, one.judgement, decimal_comma=comma),
        "worst": words.number(point, run.worst_value),
        "worst_at": words.when(run.worst_at),
        "last": words.number(point, one.found.last_value),
        "last_at": words.when(run.last_out),
        "limits": words.limits(point, one.found.limits),
        "start": words.when(run.start),
        "end": words.when(run.end),
        "closing": CLOSING_WORDS[run.closing],
        "readings": run.count,
        "follows": list(one.follows),
        "responses": list(one.responses),
        "means": meaning_text(point, one.judgement),
        "first_response": point.response,
        "caution": point.caution,
    }


def answer(words: JsonWords, one: AnswerFound) -> Json:
    """A state or check that is not normal."""
    return {
        "point": words.point(one.point),
        "severity": one.judgement.severity.name.lower(),
        "reading": words.reading(one.point, one.reading),
        "readings": one.count,
        "responses": list(one.responses),
    }


def stop(words: JsonWords, one: StopFound) -> Json:
    """Something that stood, or a change of mode."""
    return {
        "scope": one.scope,
        "target": one.target,
        "name": one.name,
        "start": words.when(one.start),
        "end": words.when(one.end),
        "reason": one.reason,
    }


def round_state(words: JsonWords, one: RoundStatus) -> Json:
    """A round and how far it was done."""
    return {"at": words.when(one.at), "due": one.due, "done": one.done, "state": one.state.value}


def gaps(words: JsonWords, handover: Handover) -> Json:
    """Readings that were not taken: as few lines, and each by itself."""
    plant = words.plant
    lines = gap_lines(plant, handover.rounds, handover.gaps, words.label)
    return {
        "count": len(handover.gaps),
        "lines": [{"when": when, "text": text} for when, text in lines],
        "each": [
            {
                "point": words.point(gap.point),
                "round_at": words.when(gap.round_at),
                "reason": describe_reason(gap.reason) if gap.reason else None,
            }
            for gap in handover.gaps
        ],
    }


def lost_time(words: JsonWords, one: LostTime, unit: str) -> Json:
    """Downtime and what it has cost by the bean counter, in the counter's `unit`."""
    return {
        "downs": [
            {
                **stop(words, down.stop),
                "minutes": minutes(down.in_shift),
                "began_before": down.began_before,
                "runs_on": down.runs_on,
            }
            for down in one.downs
        ],
        "line_minutes": minutes(one.line_down),
        "lost": words.figure(one.lost_tonnes, 0, unit),
        "slow": words.figure(one.slow_tonnes, 0, unit),
        "is_estimate": one.is_estimate,
    }


def throughput(words: JsonWords, one: Throughput | None) -> Json | None:
    """Tonnes of the shift by the bean counter."""
    if one is None:
        return None
    return {
        "counter": words.point(one.counter),
        "start": words.when(one.start),
        "end": words.when(one.end),
        "total": words.number(one.counter, one.tonnes),
        "hours": one.hours,
        "rate": words.figure(one.rate, 1, f"{one.counter.unit}/h"),
        "nominal": words.figure(one.nominal, 1, f"{one.counter.unit}/h"),
        "unknown": [
            {"start": words.when(count.start), "end": words.when(count.end)}
            for count in one.unknown
        ],
    }


def lab(words: JsonWords, work: LabWork) -> Json:
    """Results that came, and samples that wait."""
    return {
        "results": [
            {
                "point": words.point(one.point),
                "reading": words.reading(one.point, one.reading),
                "severity": one.judgement.severity.name.lower(),
                "direction": one.judgement.direction.name.lower(),
                "sample": one.sample.label if one.sample else None,
            }
            for one in work.results
        ],
        "waiting": [
            {
                "label": one.sample.label,
                "sampling_point": one.sample.sampling_point,
                "taken_at": words.when(one.sample.taken_at),
                "minutes": minutes(one.since),
                "overdue": one.is_overdue,
            }
            for one in work.waiting
        ],
    }


def tank(words: JsonWords, one: TankLevel) -> Json:
    """What stands in a tank, and what it was before the shift."""
    return {
        "point": words.point(one.point),
        "reading": words.reading(one.point, one.reading),
        "volume": words.figure(one.volume, 1, "m³"),
        "change": words.figure(one.volume_change, 1, "m³"),
        "from_before": one.is_from_before,
    }


def limit_change(words: JsonWords, one: LimitChange) -> Json:
    """Limits as they were and as they are."""
    modes = {mode.key: mode.name for mode in words.plant.modes}
    return {
        "point": words.point(one.point),
        "mode": modes.get(one.mode, one.mode),
        "effective_from": words.when(one.effective_from),
        "before": words.limits(one.point, one.before),
        "after": words.limits(one.point, one.after),
        "person": words.person(one.person),
        "reason": one.reason,
    }


def correction(words: JsonWords, one: CorrectionFound) -> Json:
    """A corrected reading: as it was, as it is, who, when and why."""
    return {
        "point": words.point(one.point),
        "taken_at": words.when(one.after.taken_at),
        "before": words.reading(one.point, one.before),
        "after": None if one.after.withdrawn else words.reading(one.point, one.after),
        "withdrawn": one.after.withdrawn,
        "why": one.after.why,
        "person": words.person(one.after.person),
        "written_at": words.when(one.after.written_at),
    }


def late(words: JsonWords, one: LateFound) -> Json:
    """Readings that were entered late."""
    return {
        "taken_at": words.when(one.taken_at),
        "written_at": words.when(one.written_at),
        "readings": one.count,
        "person": words.person(one.person),
        "note": one.note,
    }


def doubt(words: JsonWords, one: DoubtFound) -> Json:
    """A reading that was questioned and kept."""
    return {
        "point": words.point(one.point),
        "reading": words.reading(one.point, one.reading),
        "why": one.why,
    }


def duty(words: JsonWords, one: NextDuty) -> Json:
    """One thing that the next shift must do."""
    return {
        "kind": one.kind.value,
        "text": one.text,
        "due_at": words.when(one.due_at),
        "place": words.place(one.area, one.equipment),
        "person": words.person(one.person) if one.person else None,
    }


def entry(words: JsonWords, one: Entry) -> Json:
    """A log entry."""
    return {
        "id": one.id,
        "at": words.when(one.at),
        "kind": one.kind,
        "place": words.place(one.area, one.equipment),
        "text": one.text,
        "person": words.person(one.person),
        "written_at": words.when(one.written_at),
        "corrected": one.replaces is not None,
        "why": one.why,
    }
