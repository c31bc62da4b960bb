"""What a trend says at one instant, in words: for the legend, the foot and a screen reader."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from logbook.assess.limits import NOT_JUDGED, Direction, Judgement, Severity
from logbook.assess.typed import format_number
from logbook.plant.localtime import local_label, to_local
from logbook.plant.model import NO_LIMITS, Plant
from logbook.record import Correction, Entry
from logbook.shift.round_form import describe_reason
from logbook.shift.trend_study import Around, Study, Track
from logbook.shift.words import judgement_text, limits_text, number_text, person_name

NEAR_FACTOR = 1.0
"""A cursor farther from a reading than its gap reads nothing."""


@dataclass(frozen=True, slots=True)
class ReadOut:
    """A track at the cursor: the nearest reading as text, when, and how it was judged."""

    track: Track
    place: int
    """Place of the reading; -1 where none is near."""
    value: str = ""
    when: str = ""
    judgement: Judgement = NOT_JUDGED
    judged: str = ""
    limits: str = ""

    @property
    def words(self) -> str:
        """All of it in one line."""
        if self.place < 0:
            return f"{self.track.name}: no reading"
        unit = f" {self.track.point.unit}" if self.track.point.unit else ""
        judged = f", {self.judged}" if self.judged else ""
        return f"{self.track.name}: {self.value}{unit} at {self.when}{judged}"


def judgement_of(code: int) -> Judgement:
    """The judgement that a code of `classify_array` stands for."""
    if code < -2:
        return NOT_JUDGED
    side = Direction.NONE if code == 0 else Direction.HIGH if code > 0 else Direction.LOW
    return Judgement(Severity(abs(code)), side)


def read_out(study: Study, track: Track, at: float) -> ReadOut:
    """The reading nearest to an instant (epoch s), where one is near."""
    place = nearest_place(track, at)
    if place < 0:
        return ReadOut(track, -1)
    comma = study.plant.settings.decimal_comma
    point, taken = track.point, float(track.times[place])
    limits = track.limits_at(taken) or NO_LIMITS
    judgement = judgement_of(int(track.codes[place]))
    is_out = judgement.is_judged and judgement.severity is not Severity.NONE
    return ReadOut(
        track,
        place,
        number_text(point, float(track.values[place]), decimal_comma=comma),
        when_text(taken, study.zone),
        judgement,
        judgement_text(point, limits, judgement, decimal_comma=comma) if is_out else "",
        limits_text(point, limits, decimal_comma=comma),
    )


def nearest_place(track: Track, at: float) -> int:
    """Place of the reading nearest to an instant, not farther than the point's gap; else -1."""
    if not track.times.size:
        return -1
    after = int(track.times.searchsorted(at))
    near = [k for k in (after - 1, after) if 0 <= k < track.times.size]
    best = min(near, key=lambda k: abs(float(track.times[k]) - at))
    far = abs(float(track.times[best]) - at) > track.gap_s * NEAR_FACTOR
    return -1 if far else best


def when_text(at: float, zone: str) -> str:
    """Day and local time of an instant (epoch s): "Tue 3 Mar 2026 10:00"."""
    moment = datetime.fromtimestamp(int(at), UTC)
    local = to_local(moment, zone)
    return f"{local:%a} {local.day} {local:%b %Y} {local_label(moment, zone)}"


def span_text(start: float, end: float, zone: str) -> str:
    """A stretch as its two ends, days alone where it is long."""
    if end - start > 4 * 86400:
        a, b = (to_local(datetime.fromtimestamp(int(t), UTC), zone) for t in (start, end))
        return f"{a.day} {a:%b %Y} – {b.day} {b:%b %Y}"
    return f"{when_text(start, zone)} – {when_text(end, zone)}"


def length_text(seconds: float) -> str:
    """How long a stretch is, in the unit people use for it.

    >>> length_text(36 * 3600), length_text(30 * 86400), length_text(2.5 * 365.25 * 86400)
    ('36 h', '30 days', '2.5 years')
    """
    hours = seconds / 3600.0
    if hours <= 72:
        return f"{format_number(round(hours, 1), 0 if hours >= 10 else 1)} h"
    days = hours / 24.0
    if days <= 400:
        return f"{days:.0f} days"
    return f"{days / 365.25:.1f} years"


def correction_words(study: Study, track: Track, one: Correction) -> str:
    """A correction with what stood there and what stands there now."""
    comma = study.plant.settings.decimal_comma

    def shown(value: float | None, text: str | None) -> str:
        if value is not None:
            return number_text(track.point, value, decimal_comma=comma)
        return describe_reason(text) if text else "nothing"

    old, new = shown(one.old_value, one.old_text), shown(one.new_value, one.new_text)
    new = "withdrawn" if one.is_withdrawn else new
    by = person_name(study.plant, one.person)
    when = when_text(one.taken_at.timestamp(), study.zone)
    return f"{track.name}, {when}: corrected from {old} to {new} by {by} ({one.why})"


def entry_words(plant: Plant, entry: Entry) -> str:
    """A log entry in one line."""
    when = when_text(entry.at.timestamp(), plant.time_zone)
    return f"{when}, {person_name(plant, entry.person)}: {entry.text or ''}"


def happened_at(
    study: Study, around: Around | None, tracks: tuple[Track, ...], at: float, reach: float
) -> list[str]:
    """Corrections, log entries and stops within `reach` seconds of an instant, nearest first."""
    found: list[tuple[float, str]] = []
    for track in tracks:
        for one in track.corrections:
            off = abs(one.taken_at.timestamp() - at)
            if off <= reach:
                found.append((off, correction_words(study, track, one)))
    if around is not None:
        for entry in around.entries_of([track.point for track in tracks]):
            off = abs(entry.at.timestamp() - at)
            if off <= reach:
                found.append((off, entry_words(study.plant, entry)))
        found += _stops_at(around, tracks, at)
    return list(dict.fromkeys(words for _, words in sorted(found, key=lambda one: one[0])))


def _stops_at(around: Around, tracks: tuple[Track, ...], at: float) -> list[tuple[float, str]]:
    found: list[tuple[float, str]] = []
    for track in tracks:
        for start, end, reason in around.of_points([track.point]):
            if start <= at < end:
                length = length_text(timedelta(seconds=end - start).total_seconds())
                found.append((0.0, f"{track.name}: down for {length}: {reason or 'no reason'}"))
    return found
