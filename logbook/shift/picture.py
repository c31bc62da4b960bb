"""A shift as one picture: a lane per area with what happened in it over the shift's hours.

Plain data for the screen and for the print: what there is, from when to when, and in words.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from logbook.assess.limits import Closing, Judgement, Severity
from logbook.plant.localtime import local_label
from logbook.plant.model import Plant, Point
from logbook.plant.roster import Shift
from logbook.record import Book, Entry
from logbook.shift.answers import AnswerFound
from logbook.shift.exceptions import DeviationFound, ShiftExceptions, exceptions_of
from logbook.shift.gaps import GapFound
from logbook.shift.round_form import describe_reason
from logbook.shift.round_state import RoundStatus
from logbook.shift.stops import StopFound
from logbook.shift.words import (
    answer_text,
    judgement_text,
    judgement_word,
    number_text,
    place_name,
)

LABEL_LETTERS = 120
PLANT_LANE = ""
"""Key of the lane for what concerns the whole plant."""


class MatterKind(StrEnum):
    """What a mark in a lane stands for."""

    DEVIATION = "deviation"
    ANSWER = "answer"
    DOWN = "down"
    MODE = "mode"
    ENTRY = "entry"
    GAP = "missing"


Source = DeviationFound | AnswerFound | StopFound | Entry | tuple[GapFound, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Matter:
    """One thing in a lane: a bar from `start` to `end`, or a mark at `start` without an end."""

    kind: MatterKind
    area: str
    start: datetime
    end: datetime | None = None
    is_open: bool = False
    """True of a bar that lasts: `end` is only how far the picture reaches."""
    judgement: Judgement | None = None
    label: str
    """Short, for the bar itself; what may be cut off comes last."""
    letter: str = ""
    """On a pin: which kind of entry."""
    words: str
    """The whole of it in one sentence."""
    source: Source

    @property
    def is_bar(self) -> bool:
        """True of what has a length."""
        return self.end is not None


@dataclass(frozen=True, slots=True)
class Lane:
    """An area (or the whole plant) and what happened in it, in order of time."""

    area: str
    name: str
    matters: tuple[Matter, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftPicture:
    """The whole shift: its rounds, its lanes, and how far it has come."""

    shift: Shift
    now: datetime
    plant: Plant
    rounds: tuple[RoundStatus, ...]
    lanes: tuple[Lane, ...]

    @property
    def reaches(self) -> datetime:
        """Until when there can be anything: now, or the end of the shift."""
        return min(self.now, self.shift.end)

    @property
    def matters(self) -> tuple[Matter, ...]:
        """All of them, lane by lane."""
        return tuple(matter for lane in self.lanes for matter in lane.matters)


def picture_of(
    book: Book, shift: Shift, now: datetime, found: ShiftExceptions | None = None
) -> ShiftPicture:
    """Draw a shift together, up to `now` where it is still running.

    `found` saves looking the shift through again. Raises BookError.
    """
    found = found or exceptions_of(book, shift, now)
    entries = book.entries(shift.start, shift.end)
    matters = [*_deviations(found, now), *_answers(found), *_stops(found, now)]
    matters += [*_entries(found.plant, entries), *_gaps(found)]
    return ShiftPicture(
        shift=shift,
        now=now,
        plant=found.plant,
        rounds=found.rounds,
        lanes=_lanes(found.plant, matters),
    )


def _lanes(plant: Plant, matters: Iterable[Matter]) -> tuple[Lane, ...]:
    by_area: dict[str, list[Matter]] = {area.key: [] for area in plant.areas}
    whole: list[Matter] = []
    for matter in matters:
        by_area.get(matter.area, whole).append(matter)
    lanes = [Lane(a.key, a.name, _in_order(by_area[a.key])) for a in plant.areas]
    if whole:
        lanes.insert(0, Lane(PLANT_LANE, "Whole plant", _in_order(whole)))
    return tuple(lanes)


def _in_order(matters: Iterable[Matter]) -> tuple[Matter, ...]:
    """By time; at the same time the worse first."""

    def rank(matter: Matter) -> tuple[datetime, int, str]:
        severity = matter.judgement.severity if matter.judgement else Severity.NONE
        return matter.start, -severity, matter.label

    return tuple(sorted(matters, key=rank))


def _deviations(found: ShiftExceptions, now: datetime) -> Iterator[Matter]:
    reaches = min(now, found.shift.end)
    comma = found.plant.settings.decimal_comma
    for deviation in found.deviations:
        run, point = deviation.found.run, deviation.found.point
        last = number_text(point, deviation.found.last_value, decimal_comma=comma)
        judged = judgement_text(
            point, deviation.found.limits, deviation.judgement, decimal_comma=comma
        )
        yield Matter(
            kind=MatterKind.DEVIATION,
            area=point.area,
            start=run.start,
            end=reaches if run.is_open else run.end or run.last_out,
            is_open=run.is_open,
            judgement=deviation.judgement,
            label=_label(found.plant, point, last),
            words=_deviation_words(found.plant, deviation, judged, last),
            source=deviation,
        )


def _deviation_words(plant: Plant, deviation: DeviationFound, judged: str, last: str) -> str:
    run, point = deviation.found.run, deviation.found.point
    unit = f" {point.unit}" if point.unit else ""
    ends = {
        Closing.BACK_INSIDE: f"back inside at {_clock(plant, run.end)}",
        Closing.OTHER_SIDE: "then out on the other side",
        Closing.NOT_DUE: "then no longer due",
        Closing.GAP: "then not read for long",
        Closing.OPEN: "still open",
    }
    done = f" Done: {'; '.join(deviation.responses)}." if deviation.responses else ""
    since = _clock(plant, run.start)
    return (
        f"{place_name(plant, deviation.found.point)}: {judged}, since {since}, last {last}{unit}, "
        f"{ends[run.closing]}.{done or ' No response written.'}"
    )


def _answers(found: ShiftExceptions) -> Iterator[Matter]:
    for answer in found.answers:
        point, reading = answer.point, answer.reading
        said = answer_text(point, reading.value, reading.text)
        name = place_name(found.plant, point)
        done = f" Done: {'; '.join(answer.responses)}." if answer.responses else ""
        yield Matter(
            kind=MatterKind.ANSWER,
            area=point.area,
            start=reading.taken_at,
            judgement=answer.judgement,
            label=_label(found.plant, point, said),
            words=(
                f"{name}: {said} at {_clock(found.plant, reading.taken_at)}, "
                f"{judgement_word(answer.judgement)}.{done}"
            ),
            source=answer,
        )


def _stops(found: ShiftExceptions, now: datetime) -> Iterator[Matter]:
    reaches = min(now, found.shift.end)
    areas = {machine.key: machine.area for machine in found.plant.equipment}
    for stop in found.stops:
        since = _clock(found.plant, stop.start)
        if stop.scope == "mode":
            yield Matter(
                kind=MatterKind.MODE,
                area=PLANT_LANE,
                start=stop.start,
                label=f"mode {stop.name}",
                letter="M",
                words=f"Mode {stop.name} from {since}: {stop.reason or 'no reason given'}.",
                source=stop,
            )
            continue
        area = stop.target if stop.scope == "area" else areas.get(stop.target, PLANT_LANE)
        until = f"to {_clock(found.plant, stop.end)}" if stop.end else "still down"
        yield Matter(
            kind=MatterKind.DOWN,
            area=area,
            start=stop.start,
            end=stop.end or reaches,
            is_open=stop.end is None,
            label=f"{stop.name} down: {stop.reason}" if stop.reason else f"{stop.name} down",
            words=f"{stop.name} down from {since}, {until}: {stop.reason or 'no reason given'}.",
            source=stop,
        )


def _entries(plant: Plant, entries: Sequence[Entry]) -> Iterator[Matter]:
    areas = {machine.key: machine.area for machine in plant.equipment}
    for entry in entries:
        yield Matter(
            kind=MatterKind.ENTRY,
            area=entry.area or areas.get(entry.equipment or "", PLANT_LANE),
            start=entry.at,
            label=" ".join((entry.text or "").split())[:LABEL_LETTERS],
            letter=entry.kind[:1].upper(),
            words=f"{_clock(plant, entry.at)} {entry.kind}: {entry.text or ''}",
            source=entry,
        )


def _gaps(found: ShiftExceptions) -> Iterator[Matter]:
    """Missing readings of an area in a round as one mark.

    A round that nobody took at all is told by the rounds, not once more in every lane.
    """
    untaken = {status.at for status in found.rounds if status.due and not status.done}
    groups: dict[tuple[str, datetime], list[GapFound]] = {}
    for gap in found.gaps:
        if gap.reason is not None or gap.round_at not in untaken:
            groups.setdefault((gap.point.area, gap.round_at), []).append(gap)
    for (area, at), group in groups.items():
        reasons = dict.fromkeys(
            describe_reason(g.reason) if g.reason else "nobody said why" for g in group
        )
        count = f"{len(group)} readings" if len(group) > 1 else group[0].point.name
        yield Matter(
            kind=MatterKind.GAP,
            area=area,
            start=at,
            label=f"{len(group)} missing",
            words=f"{count} missing at {_clock(found.plant, at)}: {', '.join(reasons)}.",
            source=tuple(group),
        )


def _label(plant: Plant, point: Point, value: str) -> str:
    """Machine, position and value first, the table's name last: "Mill 2, left 0.41 · Flakes"."""
    table, colon, place = place_name(plant, point).partition(": ")
    return f"{place} {value} · {table}" if colon and point.place else f"{point.name} {value}"


def _clock(plant: Plant, at: datetime | None) -> str:
    return local_label(at, plant.time_zone) if at is not None else ""
