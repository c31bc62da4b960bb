"""Which readings lay beyond an action limit, and which of them somebody answered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from logbook.plant.model import Plant, Point, Weight
from sample_db.habits import Sheets
from sample_db.missing import NOTHING
from sample_db.responses import response_to
from sample_db.rota import Rota
from sample_db.rules import judged, plant_before
from sample_db.samples import LabSample
from sample_db.series import stream
from sample_db.slips import slips_by_round

ANSWERED, ANSWERED_LATER, ANSWERED_AGAIN = 0.88, 0.16, 0.10
"""Share of action deviations answered at all; of those, later; chance to answer once more."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What was done about a reading, and when it was written (None: in the round itself)."""

    place: int
    column: int
    text: str
    at: datetime
    later: bool


@dataclass(slots=True)
class Verdicts:
    """Codes of all readings (shape as the sheets), and what was done, by round."""

    codes: NDArray[np.int8]
    answers: dict[int, list[Answer]] = field(default_factory=dict)
    lab_answers: Mapping[tuple[str, str], str] = field(default_factory=dict)
    """(label of the sample, point key) to what was done."""


def make_verdicts(
    plant: Plant, sheets: Sheets, samples: list[LabSample], rota: Rota, seed: int
) -> Verdicts:
    """Judge everything and answer most of what passed an action limit."""
    codes = _codes(plant, sheets, rota)
    verdicts = Verdicts(codes)
    rng = stream(seed, "answers")
    there = sheets.due & (sheets.absent == NOTHING)
    for j, point in enumerate(sheets.points):
        for answer in _answers(point, j, codes[:, j], there[:, j], sheets, rng):
            verdicts.answers.setdefault(answer.place, []).append(answer)
    _leave_one_open(verdicts, sheets, rota)
    verdicts.lab_answers = _lab_answers(plant, samples, rota, rng)
    return verdicts


def _codes(plant: Plant, sheets: Sheets, rota: Rota) -> NDArray[np.int8]:
    values, table = sheets.values.copy(), sheets.table
    for place, wrong in slips_by_round(sheets.slips).items():
        for column, typed in wrong.items():
            values[place, column] = typed
    modes = np.array(table.modes)
    revised = rota.story.limits_revised
    since = None if revised is None else int(revised.timestamp())
    old = {p.key: p.limits for p in plant_before(plant).points}
    codes = np.zeros(values.shape, dtype=np.int8)
    for j, point in enumerate(sheets.points):
        if point.choices:
            weights = np.array([_weight(c.weight) for c in point.choices], dtype=np.int8)
            codes[:, j] = weights[sheets.answers[:, j]]
        elif point.kind.is_numeric:
            codes[:, j] = judged(point, old[point.key], values[:, j], table.seconds, modes, since)
    return codes


def _weight(weight: Weight) -> int:
    return {Weight.NORMAL: 0, Weight.WARNING: 1, Weight.ACTION: 2}[weight]


def _answers(
    point: Point,
    column: int,
    codes: NDArray[np.int8],
    there: NDArray[np.bool_],
    sheets: Sheets,
    rng: np.random.Generator,
) -> Iterator[Answer]:
    last = 0
    for place in np.flatnonzero(there & (np.abs(codes) == 2)).tolist():
        goes_on = last and place - last <= 2 and codes[last] == codes[place]
        last = place
        if rng.random() > (ANSWERED_AGAIN if goes_on else ANSWERED):
            continue
        later = bool(rng.random() < ANSWERED_LATER)
        wait = float(rng.uniform(25.0, 80.0)) if later else 0.0
        at = sheets.written_at(place) + timedelta(minutes=round(wait))
        yield Answer(place, column, response_to(point, int(codes[place]), rng), at, later)


def _leave_one_open(verdicts: Verdicts, sheets: Sheets, rota: Rota) -> None:
    """In the last whole shift the newest action deviation is not answered."""
    last = rota.story.last_shift
    if last is None:
        return
    first = sheets.table.place(last.start)
    places = [p for p in verdicts.answers if first <= p < first + 6]
    if len(places) > 1 or sum(len(verdicts.answers[p]) for p in places) > 1:
        newest = max(places)
        verdicts.answers[newest].pop()


def _lab_answers(
    plant: Plant, samples: list[LabSample], rota: Rota, rng: np.random.Generator
) -> dict[tuple[str, str], str]:
    points, before = {p.key: p for p in plant.points}, plant_before(plant)
    old = {p.key: p.limits for p in before.points}
    revised = rota.story.limits_revised
    since = None if revised is None else int(revised.timestamp())
    drawn: dict[tuple[str, str], str] = {}
    by_key: dict[str, list[tuple[LabSample, float]]] = {}
    for sample in samples:
        for key, value in sample.found.items():
            by_key.setdefault(key, []).append((sample, value))
    for key, some in by_key.items():
        seconds = np.array([int(sample.taken_at.timestamp()) for sample, _ in some])
        modes = np.array([sample.mode for sample, _ in some])
        values = np.array([value for _, value in some])
        codes = judged(points[key], old[key], values, seconds, modes, since)
        for place in np.flatnonzero(np.abs(codes) == 2).tolist():
            if rng.random() < ANSWERED:
                said = response_to(points[key], int(codes[place]), rng)
                drawn[some[place][0].label, key] = said
    return drawn
