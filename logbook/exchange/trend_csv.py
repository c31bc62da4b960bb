"""The data of a trend as a CSV file: one row for each reading."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

from logbook.exchange.safe_text import csv_text
from logbook.plant.localtime import local_label, to_local
from logbook.shift.trend_study import Study, Track
from logbook.shift.trend_words import judgement_of
from logbook.shift.words import judgement_word

HEAD = (
    "taken_at", "local_time", "point", "tag", "name", "area", "unit", "value", "judgement",
)  # fmt: skip


def trend_csv(study: Study, start: float, end: float) -> str:
    """The readings of all points of a study in [start, end] (epoch s), point by point.

    `taken_at` is ISO 8601 in UTC, `local_time` what the plant's clocks showed.
    """
    return csv_text(
        HEAD, (row for track in study.tracks for row in _rows(study, track, start, end))
    )


def _rows(
    study: Study, track: Track, start: float, end: float
) -> Iterator[tuple[str | float, ...]]:
    point = track.point
    first, after = track.inside(start, end)
    known = (point.key, point.tag, track.name, track.area, point.unit)
    for place in range(first, after):
        at = datetime.fromtimestamp(int(track.times[place]), UTC)
        local = f"{to_local(at, study.zone):%Y-%m-%d} {local_label(at, study.zone)}"
        judged = judgement_word(judgement_of(int(track.codes[place])))
        # As written to the point's decimals: what a binary number adds behind is no measurement.
        value = round(float(track.values[place]), max(point.decimals, 0) + 2)
        yield (f"{at:%Y-%m-%dT%H:%M:%SZ}", local, *known, value, judged)
