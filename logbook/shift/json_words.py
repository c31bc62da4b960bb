"""The words of one shift's documents: times, numbers, people and places as plain data.

A time is {"iso", "label"}: local time with its offset, and the time of day as people write it (with
the date where it lies outside the shift). A value is {"value", "text"}: the number unrounded, and
with the point's decimals and unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.assess.typed import format_number
from logbook.plant.localtime import local_label, to_local
from logbook.plant.model import Limits, Plant, Point
from logbook.plant.roster import Shift
from logbook.record import Reading
from logbook.shift.round_form import describe_reason
from logbook.shift.words import answer_text, limits_text, number_text, person_name, point_name

Json = dict[str, object]


@dataclass(frozen=True, slots=True)
class JsonWords:
    """Puts what stands in a shift's documents into words and plain data."""

    plant: Plant
    shift: Shift

    def when(self, at: datetime | None) -> Json | None:
        """A time; None stays None."""
        if at is None:
            return None
        return {"iso": to_local(at, self.plant.time_zone).isoformat(), "label": self.label(at)}

    def label(self, at: datetime) -> str:
        """Local time of day, with the date where it lies outside the shift."""
        zone = self.plant.time_zone
        clock = local_label(at, zone)
        inside = self.shift.start <= at <= self.shift.end
        return clock if inside else f"{to_local(at, zone):%Y-%m-%d} {clock}"

    def number(self, point: Point, value: float | None) -> Json | None:
        """A number of a point; None stays None."""
        if value is None:
            return None
        comma = self.plant.settings.decimal_comma
        text = number_text(point, value, decimal_comma=comma)
        return {"value": value, "text": f"{text} {point.unit}".strip()}

    def figure(self, value: float | None, decimals: int, unit: str) -> Json | None:
        """A number that belongs to no point."""
        if value is None:
            return None
        comma = self.plant.settings.decimal_comma
        text = format_number(value, decimals, decimal_comma=comma)
        return {"value": value, "text": f"{text} {unit}".strip()}

    def reading(self, point: Point, reading: Reading | None) -> Json | None:
        """A reading's value or answer, or the reason why there is none, with who and when."""
        if reading is None:
            return None
        comma = self.plant.settings.decimal_comma
        text = answer_text(point, reading.value, reading.text, decimal_comma=comma)
        if reading.value is not None:
            text = f"{text} {point.unit}".strip()
        if reading.reason is not None:
            text = f"no reading ({describe_reason(reading.reason)})"
        return {
            "id": reading.id,
            "value": reading.value if reading.value is not None else reading.text,
            "text": text or "withdrawn",
            "typed": reading.typed,
            "taken_at": self.when(reading.taken_at),
            "written_at": self.when(reading.written_at),
            "person": self.person(reading.person),
            "late": reading.late,
        }

    def point(self, point: Point) -> Json:
        """What a point is, so that it stands alone."""
        return {
            "key": point.key,
            "name": point_name(self.plant, point),
            "area": point.area,
            "unit": point.unit,
            "tag": point.tag,
        }

    def limits(self, point: Point, limits: Limits | None) -> str:
        """Target and limits on one line; empty where there are none."""
        if limits is None:
            return ""
        return limits_text(point, limits, decimal_comma=self.plant.settings.decimal_comma)

    def person(self, key: str) -> Json:
        """A person's key and name."""
        return {"key": key, "name": person_name(self.plant, key)}

    def crew(self, key: str | None) -> Json | None:
        """A crew's key and name."""
        if key is None:
            return None
        names = {crew.key: crew.name for crew in self.plant.calendar.crews}
        return {"key": key, "name": names.get(key, key)}

    def place(self, area: str | None, equipment: str | None) -> str:
        """Name of a machine, else of an area, else empty."""
        machines = {one.key: one.name for one in self.plant.equipment}
        areas = {one.key: one.name for one in self.plant.areas}
        if equipment:
            return machines.get(equipment, equipment)
        return areas.get(area, area) if area else ""

    def shift_head(self, shift: Shift) -> Json:
        """What a shift is."""
        return {
            "date": shift.date.isoformat(),
            "key": shift.pattern,
            "name": shift.name,
            "crew": self.crew(shift.crew),
            "start": self.when(shift.start),
            "end": self.when(shift.end),
            "hours": shift.length / timedelta(hours=1),
        }


def minutes(span: timedelta | None) -> float | None:
    """A span in minutes."""
    return None if span is None else span / timedelta(minutes=1)
