"""Moments of readings: what was done about them, samples and their results, corrections."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from logbook.assess.limits import Judgement
from logbook.plant.model import Plant, Point, PointKind
from logbook.record import Reader, Reading, Sample
from logbook.shift.lab_results import WAITING_BACK
from logbook.shift.moments import Moment, MomentKind, is_late
from logbook.shift.plants import PlantHistory
from logbook.shift.round_load import judge_reading
from logbook.shift.round_state import grace_of
from logbook.shift.value_words import value_words
from logbook.shift.words import judgement_word, place_name


def reading_words(plant: Plant, point: Point, reading: Reading) -> str:
    """Name, value with unit and judgement: "Flake thickness: Mill 3, left 0.47 mm, action high"."""
    shown = value_words(plant, point, reading)
    unit = f" {point.unit}" if point.unit and reading.value is not None else ""
    word = judgement_word(_judged(point, reading))
    told = f", {word}" if word and word != "within" else ""
    return f"{place_name(plant, point)} {shown}{unit}{told}"


def _judged(point: Point, reading: Reading) -> Judgement:
    return judge_reading(point, reading.mode, reading)


def response_moments(
    book: Reader, plants: PlantHistory, start: datetime, end: datetime
) -> Iterator[Moment]:
    """What was done about deviations."""
    for response in book.responses_between(start, end):
        reading = book.reading(response.reading)
        plant, point = plants.at(reading.taken_at), plants.point_of(reading)
        about = reading_words(plant, point, reading) if point else reading.point
        yield Moment(
            kind=MomentKind.RESPONSE,
            at=response.at,
            text=f"{about}: {response.text}",
            note=reading.point,
            area=point.area if point else None,
            equipment=point.equipment if point else None,
            person=response.person,
            written_at=response.written_at,
            is_late=is_late(response.at, response.written_at, grace_of(plant)),
            row=response.id,
        )


def sample_moments(
    book: Reader, plants: PlantHistory, start: datetime, end: datetime
) -> Iterator[Moment]:
    """Samples taken in the span, and results entered in it, one moment for each save."""
    samples = {sample.id: sample for sample in book.samples(start - WAITING_BACK, end)}
    for sample in samples.values():
        if start <= sample.taken_at:
            yield Moment(
                kind=MomentKind.SAMPLE,
                at=sample.taken_at,
                text=": ".join(part for part in (_sample_name(sample), sample.note) if part),
                note=sample.label,
                person=sample.person,
                written_at=sample.written_at,
                row=sample.id,
            )
    if samples:
        yield from _results(book, plants, samples, start, end)


def _results(
    book: Reader,
    plants: PlantHistory,
    samples: dict[int, Sample],
    start: datetime,
    end: datetime,
) -> Iterator[Moment]:
    points = plants.at(end).points
    keys = [p.key for p in points if p.sampling_point and p.kind is not PointKind.COMPUTED]
    saves: dict[tuple[int, int], list[tuple[Reading, Reading]]] = {}
    for reading in book.readings(keys, min(s.taken_at for s in samples.values()), end):
        if reading.sample not in samples:
            continue
        # A corrected result came when its first version was written, and says what it says now.
        first = reading if reading.replaces is None else book.history_of(reading.id)[0]
        if start <= first.written_at < end:
            saves.setdefault((reading.sample or 0, first.page), []).append((first, reading))
    for (sample, _), results in saves.items():
        first = results[0][0]
        point = plants.point_of(first)
        yield Moment(
            kind=MomentKind.RESULT,
            at=first.written_at,
            text=f"{_sample_name(samples[sample])}: {_listed(plants, [r for _, r in results])}",
            note=samples[sample].label,
            area=point.area if point else None,
            person=first.person,
            written_at=first.written_at,
            row=first.id,
        )


def _sample_name(sample: Sample) -> str:
    return f"{sample.sampling_point} {sample.label}".strip()


def _listed(plants: PlantHistory, readings: Iterable[Reading]) -> str:
    told = []
    for reading in readings:
        point = plants.point_of(reading)
        if point is not None:
            told.append(reading_words(plants.at(reading.taken_at), point, reading))
    return "; ".join(told)


def correction_moments(
    book: Reader, plants: PlantHistory, start: datetime, end: datetime
) -> Iterator[Moment]:
    """Corrections of readings taken in the span, whenever they were made, with the old value."""
    rows = [row for row in book.readings(None, start, end) if row.replaces is not None]
    for row in [*rows, *book.withdrawn(start, end)]:
        point = plants.point_of(row)
        if point is None or row.replaces is None:
            continue
        plant = plants.at(row.taken_at)
        yield Moment(
            kind=MomentKind.CORRECTION,
            at=row.taken_at,
            text=reading_words(plant, point, row),
            note=point.key,
            area=point.area,
            equipment=point.equipment,
            person=row.person,
            written_at=row.written_at,
            was=value_words(plant, point, book.reading(row.replaces)),
            why=row.why or "",
            row=row.id,
        )
