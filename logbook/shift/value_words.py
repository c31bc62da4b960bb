"""What a reading of the book says, as people read it."""

from __future__ import annotations

from logbook.plant.model import Plant, Point
from logbook.record import Reading
from logbook.shift.round_form import describe_reason
from logbook.shift.words import answer_text


def value_words(plant: Plant, point: Point, reading: Reading) -> str:
    """The value alone, without unit, or why there is none."""
    if reading.withdrawn:
        return "withdrawn"
    if reading.reason is not None:
        return f"not read: {describe_reason(reading.reason)}"
    comma = plant.settings.decimal_comma
    return answer_text(point, reading.value, reading.text, decimal_comma=comma)
