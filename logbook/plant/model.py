"""What a plant is: frozen records for areas, equipment, points, limits, people and settings.

Everything here is plain data without a clock, a file or a database. A plant file
(`logbook.plant.file`) and the book's revised definitions (`logbook.record`) both
produce a `Plant`; every other package only reads it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from logbook.plant.accounts import NO_ACCOUNTS, PlantAccounts
from logbook.plant.calendar import ShiftCalendar

NORMAL_MODE = "normal"
"""The operating mode every plant has; limits of other modes fall back to it."""


CHART_RULES = (
    "limits",
    "two of three",
    "four of five",
    "one side",
    "trend",
    "alternating",
    "within one",
    "none within one",
)
"""Names of the run rules that a point's control chart may use (`logbook.assess.run_rules`)."""


class PointKind(StrEnum):
    """What sort of thing is read, and so how it is typed and judged."""

    NUMBER = "number"
    COUNTER = "counter"
    LEVEL = "level"
    STATE = "state"
    CHECK = "check"
    TEXT = "text"
    LAB = "lab"
    COMPUTED = "computed"

    @property
    def is_numeric(self) -> bool:
        """True where a reading holds a number that can be plotted."""
        return self not in {PointKind.STATE, PointKind.CHECK, PointKind.TEXT}

    @property
    def is_typed(self) -> bool:
        """True where a person enters the reading; computed points follow from others."""
        return self is not PointKind.COMPUTED


class Often(StrEnum):
    """How often a point is due."""

    ROUND = "round"
    HOURS = "hours"
    SHIFT = "shift"
    DAY = "day"
    SAMPLE = "sample"


@dataclass(frozen=True, slots=True)
class Frequency:
    """How often a point is due; `hours` only with `Often.HOURS`."""

    often: Often
    hours: int = 0

    def __str__(self) -> str:
        """Say it in words, as a crew would."""
        words = {
            Often.ROUND: "each round",
            Often.HOURS: f"every {self.hours} h",
            Often.SHIFT: "once a shift",
            Often.DAY: "daily",
            Often.SAMPLE: "on sample",
        }
        return words[self.often]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Target and limits of a point in the point's own unit; None where there is no limit.

    Warning and action limits are used in the sense of ISO 7870-2. A value exactly on a
    limit is within it. Outside the plausible range an entry is questioned before it is taken.
    """

    target: float | None = None
    warning_low: float | None = None
    warning_high: float | None = None
    action_low: float | None = None
    action_high: float | None = None
    plausible_low: float | None = None
    plausible_high: float | None = None

    @property
    def judges(self) -> bool:
        """True where at least one warning or action limit is set."""
        edges = (self.warning_low, self.warning_high, self.action_low, self.action_high)
        return any(edge is not None for edge in edges)


NO_LIMITS = Limits()


class Computation(StrEnum):
    """The named calculations a computed point may use. There is no formula language."""

    MEAN = "mean"
    SPREAD = "spread"
    """Largest less smallest."""
    DIFFERENCE = "difference"
    """First less second, signed."""
    LARGEST_DIFFERENCE = "largest difference"
    """Largest absolute difference between neighbours in the given order."""
    RATIO = "ratio"
    """First over second."""
    RATE = "rate"
    """Increase of a counter per hour since its last reading."""
    PER_TONNE = "per tonne crushed"
    """Increase of the first counter per increase of the second."""


@dataclass(frozen=True, slots=True)
class Formula:
    """What a computed point is worked out from: point keys in the order the computation needs."""

    computation: Computation
    inputs: tuple[str, ...]


class Weight(StrEnum):
    """How a state or check answer is judged."""

    NORMAL = "normal"
    WARNING = "warning"
    ACTION = "action"


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer of a state or check point, and how it is judged."""

    key: str
    name: str
    weight: Weight = Weight.NORMAL
    means_down: bool = False
    """True where this state means that the machine is not running."""


@dataclass(frozen=True, slots=True)
class TankTable:
    """Dip (in the point's unit) to volume in m3, both rising."""

    dip: tuple[float, ...]
    volume: tuple[float, ...]
    is_ullage: bool = False


@dataclass(frozen=True, slots=True)
class GridPlace:
    """Where a point stands in the table of repeated machines: table, row and column key."""

    table: str
    row: str
    column: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A thing that is read. `limits` are those of the normal mode."""

    key: str
    name: str
    area: str
    kind: PointKind = PointKind.NUMBER
    equipment: str | None = None
    place: GridPlace | None = None
    unit: str = ""
    decimals: int = 1
    frequency: Frequency = Frequency(Often.ROUND)
    tag: str = ""
    sampling_point: str = ""
    limits: Limits = NO_LIMITS
    limits_by_mode: Mapping[str, Limits] = field(default_factory=lambda: MappingProxyType({}))
    choices: tuple[Choice, ...] = ()
    formula: Formula | None = None
    rollover: float | None = None
    tank: TankTable | None = None
    low_means: str = ""
    high_means: str = ""
    response: str = ""
    caution: str = ""
    silent_modes: tuple[str, ...] = ()
    chart_rules: tuple[str, ...] = ()
    """Run rules of its control chart, of `CHART_RULES`; empty: the usual ones."""
    """Modes in which the point is neither due nor judged."""

    def limits_in(self, mode: str) -> Limits:
        """Limits in `mode`, those of the normal mode where it has none of its own."""
        return self.limits_by_mode.get(mode, self.limits)

    def choice(self, key: str) -> Choice | None:
        """The answer with this key, or None."""
        return next((c for c in self.choices if c.key == key), None)


@dataclass(frozen=True, slots=True)
class Area:
    """A part of the plant in process order; `caution` is shown at the head of its form."""

    key: str
    name: str
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Equipment:
    """A machine; `group` joins machines of a kind."""

    key: str
    name: str
    area: str
    group: str = ""


@dataclass(frozen=True, slots=True)
class Header:
    """Key and name of a table's row or column; a row may stand for a machine."""

    key: str
    name: str
    equipment: str | None = None


@dataclass(frozen=True, slots=True)
class PointTable:
    """Repeated machines shown as a table: machines are rows, positions are columns."""

    key: str
    name: str
    area: str
    rows: tuple[Header, ...]
    columns: tuple[Header, ...]


@dataclass(frozen=True, slots=True)
class Mode:
    """An operating mode: normal, start-up, shut-down, a product grade."""

    key: str
    name: str


class Role(StrEnum):
    """What a person may do."""

    OPERATOR = "operator"
    SUPERVISOR = "supervisor"
    ENGINEER = "engineer"
    READER = "reader"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who writes in the book; `crew` is a crew key of the calendar or None."""

    key: str
    name: str
    role: Role = Role.OPERATOR
    crew: str | None = None
    trainee: bool = False
    """Not yet experienced in the post: a handover to them needs more care."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Plant-wide choices."""

    round_hours: float = 2.0
    """Hours between rounds, counted from the start of each shift."""
    grace_minutes: int = 60
    """A reading written later than this after its round is marked late."""
    hide_last_value: bool = False
    """Hide the last value until the field is typed, since a shown value invites copying."""
    decimal_comma: bool = False
    """True where the plant writes 12,5; both forms are read, see `logbook.assess.typed`."""
    barometer_kpa: float = 101.325
    """Mean barometric pressure, used to read gauge vacuum as absolute pressure."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plant:
    """One plant as described by a plant file or by a book at an instant."""

    key: str
    name: str
    description: str = ""
    settings: Settings = Settings()
    calendar: ShiftCalendar
    areas: tuple[Area, ...]
    equipment: tuple[Equipment, ...] = ()
    tables: tuple[PointTable, ...] = ()
    points: tuple[Point, ...]
    modes: tuple[Mode, ...] = (Mode(NORMAL_MODE, "Normal"),)
    people: tuple[Person, ...] = ()
    accounts: PlantAccounts = NO_ACCOUNTS

    def point(self, key: str) -> Point:
        """The point with this key. Raises KeyError."""
        for point in self.points:
            if point.key == key:
                return point
        raise KeyError(key)

    def area(self, key: str) -> Area:
        """The area with this key. Raises KeyError."""
        for area in self.areas:
            if area.key == key:
                return area
        raise KeyError(key)

    def points_of(self, area: str) -> Iterator[Point]:
        """The points of an area, in form order."""
        return (point for point in self.points if point.area == area)

    @property
    def time_zone(self) -> str:
        """IANA name of the plant's time zone."""
        return self.calendar.time_zone
