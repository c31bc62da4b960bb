"""What stands in the tanks at the end of a shift, by dip and tank table."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.model import Plant, Point, PointKind, TankTable
from logbook.record import Reader, Reading

MOMENT = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class TankLevel:
    """The last dip of a tank, the volume it stands for, and how both stood before the shift."""

    point: Point
    reading: Reading | None
    volume: float | None
    """m3; None without a tank table, and where the dip lies outside it."""
    before: Reading | None
    volume_before: float | None
    is_from_before: bool
    """True where the tank was not dipped in this shift."""

    @property
    def volume_change(self) -> float | None:
        """m3 since the last dip before the shift; None where one of them is not known."""
        if self.volume is None or self.volume_before is None:
            return None
        return self.volume - self.volume_before


def volume_at(table: TankTable, dip: float) -> float | None:
    """Volume in m3 at a reading in the table's unit, by its monotone curve; None outside it.

    An ullage is read down from the last dip of the table.

    >>> volume_at(TankTable((0.0, 1.0, 2.0), (0.0, 20.0, 40.0)), 1.5)
    30.0
    """
    from logbook.process import tank

    try:
        return tank.volume_at(table, dip)
    except ValueError:
        return None


def tank_levels(
    book: Reader, plant: Plant, start: datetime, end: datetime
) -> tuple[TankLevel, ...]:
    """Every level point, in form order, as last read before `end` and at the start or before."""
    points = [point for point in plant.points if point.kind is PointKind.LEVEL]
    keys = [point.key for point in points]
    last, before = book.last_before(keys, end), book.last_before(keys, start + MOMENT)
    return tuple(
        _level(point, last.get(point.key), before.get(point.key), start) for point in points
    )


def _level(
    point: Point, last: Reading | None, before: Reading | None, start: datetime
) -> TankLevel:
    is_old = last is not None and last.taken_at < start
    return TankLevel(point, last, _volume(point, last), before, _volume(point, before), is_old)


def _volume(point: Point, reading: Reading | None) -> float | None:
    if reading is None or reading.value is None or point.tank is None:
        return None
    return volume_at(point.tank, reading.value)
