"""What happened at the sample plant: the constants both the simulator and the tests use.

Everything is placed by whole days before the local date on which the book ends, so that the
same story can be told for any end. `sample_db.placing.place_story` turns it into instants.
Sizes are those of the true process, before measurement noise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from types import MappingProxyType

NOMINAL_RATE = 62.5
"""Beans, t/h, after the cleaner."""
MILLS = ("fm1", "fm2", "fm3", "fm4", "fm5", "fm6")
POSITIONS = ("left", "centre", "right")
DEFAULT_SEED = 20260618
DEFAULT_DAYS = 400
DEFAULT_END = datetime(2026, 6, 18, 15, 4, tzinfo=UTC)
"""End of the book when none is asked for: four minutes after a round of the day shift."""


@dataclass(frozen=True, slots=True)
class Span:
    """A half-open interval of time, aware UTC."""

    start: datetime
    end: datetime

    @property
    def length(self) -> timedelta:
        """True length."""
        return self.end - self.start

    def holds(self, instant: datetime) -> bool:
        """True where `instant` lies in it."""
        return self.start <= instant < self.end


@dataclass(frozen=True, slots=True)
class PlantStop(Span):
    """A stop of the whole line. `area` and `equipment` say where it began."""

    restart_hours: float
    area: str
    equipment: str | None
    reason: str
    told: str
    """The log entry written about it."""
    planned: bool = False


@dataclass(frozen=True, slots=True)
class MachineStop(Span):
    """One machine (`equipment`) or one area out of use while the plant goes on."""

    area: str
    equipment: str | None
    reason: str
    told: str


@dataclass(frozen=True, slots=True)
class MillStop(Span):
    """A flaking mill standing; `mill` is its place in `MILLS`. After a regrind it is as new."""

    mill: int
    reason: str
    regrind: bool = False


@dataclass(frozen=True, slots=True)
class MillDrift(Span):
    """One side of a mill thickening evenly by `per_day` mm until `end`."""

    mill: int
    position: int
    per_day: float

    @property
    def size(self) -> float:
        """Thickening reached at the end, mm."""
        return self.per_day * self.length.total_seconds() / 86400.0


@dataclass(frozen=True, slots=True)
class Fouling(Span):
    """A condenser fouling by `per_day` K from `start` until it is cleaned at `end`."""

    condenser: str
    per_day: float


@dataclass(frozen=True, slots=True)
class Slow(Span):
    """Running at `factor` of the planned rate."""

    factor: float
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """The story placed in time. All instants are aware UTC."""

    start: datetime
    end: datetime
    time_zone: str
    plant_stops: tuple[PlantStop, ...] = ()
    machine_stops: tuple[MachineStop, ...] = ()
    mill_stops: tuple[MillStop, ...] = ()
    mill_drifts: tuple[MillDrift, ...] = ()
    fouling: tuple[Fouling, ...] = ()
    slow_periods: tuple[Slow, ...] = ()
    steam_valve: Span | None = None
    scale_low: Span | None = None
    fan_trips: tuple[Span, ...] = ()
    campaign: Span | None = None
    """Hulls added back to the meal (mode `meal44`)."""
    clock_changes: tuple[datetime, ...] = ()
    limits_revised: datetime | None = None
    leaves: datetime | None = None
    joins: datetime | None = None
    last_shift: Span | None = None
    """The whole shift before the one in which the book ends."""
    copied: tuple[Span, ...] = ()
    """Nights (whole shifts) in which the copying person wrote rounds from the one before."""
    notes: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def shutdown(self) -> PlantStop | None:
        """The planned shutdown."""
        return next((stop for stop in self.plant_stops if stop.planned), None)


# (a) worn mill: the right side of the fourth mill, 3.5 thousandths of a mm a day for three weeks
DRIFT_MILL, DRIFT_POSITION, DRIFT_PER_DAY = 3, 2, 0.0035
DRIFT_FROM, DRIFT_REGRIND = (150, "06:00"), (129, "07:30")
REGRIND_HOURS = 8.0
# The same again, still going on when the book ends: the left side of the second mill
LIVE_MILL, LIVE_POSITION, LIVE_PER_DAY = 1, 0, 0.0040
LIVE_FROM = (9, "06:00")
REGRINDS: tuple[tuple[int, int], ...] = (
    (5, 385), (4, 370), (3, 352), (2, 340), (1, 325), (0, 310), (5, 275), (4, 259), (3, 243),
    (2, 228), (1, 215), (0, 200), (5, 165), (4, 152), (2, 118), (1, 105), (0, 95), (5, 55),
    (4, 40), (3, 20), (2, 12),
)  # fmt: skip
"""Ordinary regrinds: place of the mill, days before the end; each from 07:30 local."""

# (b) fouled condenser: the vent condenser, cleaned on the 28th day
FOULED, FOULED_PER_DAY = "c4", 0.30
FOULED_FROM, FOULED_CLEANED = (98, "08:00"), (70, "08:00")
CLEANING_HOURS = 6.0

# (c) stuck steam valve of the fourth tray, one night
VALVE_FROM, VALVE_UNTIL = (41, "20:30"), (40, "04:30")
VALVE_TRAY = 4
VALVE_TRAY_DROP, VALVE_VAPOUR_DROP, VALVE_TOAST_DROP = 13.0, 3.6, 6.0
"""Fall of the tray, of the vapour and of the trays below it, K, when settled."""

# (d) bean scale low
SCALE_FROM, SCALE_DAYS, SCALE_FACTOR = (222, "06:00"), 10, 0.985

# (e) copied nights: rounds 5 and 6 of the night (index 4 and 5) repeat round 4 (index 3)
COPY_WINDOW = (76, 18)
COPY_NIGHTS = 6
COPY_SOURCE, COPY_ROUNDS = 3, (4, 5)
COPIER_CREW, COPIER_PLACE = 2, 1
"""Place of the crew in the calendar, place of the operator within the crew."""

# (i) planned shutdown
SHUTDOWN_FROM, SHUTDOWN_UNTIL = (262, "14:00"), (256, "08:00")
SHUTDOWN_RESTART_HOURS = 9.0
SHUTDOWN_SOLVENT_T = 2.4
"""Solvent lost over and above the running loss by draining, purging and refilling, t."""

# (m) and (a) the last night: cooling-tower fan out, hours after the start of the last whole shift
LAST_FAN_FROM, LAST_FAN_HOURS, FAN_KELVIN = 5.0, 3.5, 10.7

CAMPAIGN_FROM, CAMPAIGN_DAYS = (300, "06:00"), 4
LIMITS_REVISED = (180, "10:00")
LEAVES, JOINS = (210, "18:00"), (188, "06:00")

TRIPS: tuple[tuple[int, str, float, str, str | None, str, str], ...] = (
    (377, "14:30", 3.0, "flaking", None, "flake conveyor choked",
     ("Flake conveyor choked at the inlet to the extractor, feed stopped, cleaned out by hand "
     "under lock-out. Chute liner loose, wedged; to be renewed at the shutdown.")),
    (341, "02:00", 2.5, "utilities", None, "power dip",
     ("Power dip, all drives out. Emergency lights came on, cooling pump on the second feeder. "
     "Restarted in sequence.")),
    (303, "10:30", 6.5, "extraction", None, "extractor drive stopped on high torque",
     ("Extractor drive stopped on high torque. Bed loosened by washing, drive inched free with "
     "maintenance. No opening of the vessel.")),
    (236, "22:00", 4.0, "desolventizing", None, "desolventizer drive overload",
     ("Desolventizer drive tripped on overload after tray 3 filled. Gates worked by hand, level "
     "brought down before restart.")),
    (187, "07:30", 2.0, "utilities", None, "boiler tripped on low water",
     "Boiler tripped on low water level, feed pump had lost suction. Standby pump taken in use."),
    (141, "17:00", 3.5, "receiving", None, "bean elevator belt slipped",
     "Bean elevator 2 stopped by its speed switch, belt slipping. Boot cleared, belt tensioned."),
    (83, "04:30", 3.0, "recovery", None, "cooling water pump lost",
     "Cooling water pump tripped, condenser outlets rose at once, feed stopped and steam shut."),
    (33, "12:00", 5.5, "desolventizing", None, "spent flake conveyor chain off",
     "Spent flake conveyor chain came off its sprocket. Isolated, gas tested, chain refitted."),
    (17, "20:30", 2.5, "extraction", None, "gas alarm, miscella pump seal",
     ("Gas alarm at the miscella pumps, 24 % LEL at the peak: seal of pump 2 leaking. Stopped, "
     "area cleared and ventilated, standby pump lined up, seal isolated.")),
)  # fmt: skip
"""Short stops of the line: days before the end, local time, hours, area, equipment, reason, entry."""

MACHINE_STOPS: tuple[tuple[int, str, float, str, str | None, str, str], ...] = (
    (364, "08:00", 6.0, "hulls", None, "pellet die change",
     "Pellet die changed, hulls to the bypass bin meanwhile."),
    (210, "07:00", 12.0, "cracking", "cm2", "roll change",
     "Cracking mill 2: top rolls changed. Rate held at 82 % on two mills."),
    (190, "09:00", 5.0, "hulls", None, "pellet die change",
     "Pellet die changed; old one worn oval at the outer rows."),
    (122, "13:00", 9.0, "grinding", "mg2", "bearing",
     "Meal grinder 2 stopped, drive-end bearing at 88 C and noisy. Bearing changed."),
    (24, "10:00", 6.0, "hulls", None, "pellet die change", "Pellet die changed."),
)  # fmt: skip

SLOW_PERIODS: tuple[tuple[int, str, float, float, str], ...] = (
    (366, "12:00", 30.0, 0.92, "wet beans, dryers ahead of us at their limit"),
    (318, "10:00", 34.0, 0.93, "hot weather, cooling water at its limit"),
    (210, "07:00", 12.0, 0.82, "two cracking mills only"),
    (172, "06:00", 40.0, 0.93, "meal silos nearly full, barges delayed"),
    (70, "08:00", 6.0, 0.85, "vent condenser off line for cleaning"),
    (48, "14:00", 22.0, 0.93, "day bin low, railway late"),
)  # fmt: skip
"""Days before the end, local time, hours, factor, reason."""
