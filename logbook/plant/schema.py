"""The plant file as strict pydantic models: one model per table of the file, nothing resolved yet."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Discriminator, Field, PlainValidator, Tag

from logbook.plant.fields import (
    Clock,
    Count,
    Day,
    Decimals,
    Each,
    Edge,
    Edges,
    Flag,
    How,
    Key,
    KeyPattern,
    Keys,
    Machines,
    Name,
    Number,
    Numbers,
    Roster,
    Stated,
    Text,
    Words,
    whole,
    within,
    word_of,
)
from logbook.plant.model import Computation, PointKind, Role, Weight


class Strict(BaseModel):
    """A table of the file: no key it does not know, no value of another type."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class PlantSpec(Strict):
    """[plant]."""

    key: Key
    name: Name
    description: Text = ""
    time_zone: Name
    us_key: Key | None = None
    us_name: Name | None = None
    us_description: Text | None = None
    us_time_zone: Name | None = None


class SettingsSpec(Strict):
    """[settings]."""

    round_hours: Annotated[float, PlainValidator(within(0.25, 24, "hours"))] = 2.0
    grace_minutes: Annotated[int, PlainValidator(whole(0, 1440))] = 60
    hide_last_value: Flag = False
    decimal_comma: Flag = False
    barometer_kpa: Annotated[float, PlainValidator(within(50, 110, "kPa"))] = 101.325


class ModeSpec(Strict):
    """[[mode]]."""

    key: Key
    name: Name
    us_name: Name | None = None


class PersonSpec(Strict):
    """[[person]]."""

    key: Key
    name: Name
    role: Annotated[Role, PlainValidator(word_of(Role))] = Role.OPERATOR
    crew: Key | None = None
    trainee: bool = False


class AreaSpec(Strict):
    """[[area]]."""

    key: Key
    name: Name
    caution: Text = ""
    us_name: Name | None = None
    us_caution: Text | None = None


class ShiftSpec(Strict):
    """[[calendar.shift]]."""

    key: Key
    name: Name
    start: Clock
    end: Clock


class CrewSpec(Strict):
    """[[calendar.crew]]."""

    key: Key
    name: Name
    offset_days: Annotated[int, PlainValidator(whole(-3660, 3660))]


class ExceptionSpec(Strict):
    """[[calendar.exception]]."""

    date: Day
    shift: Key
    crew: Text


class CalendarSpec(Strict):
    """[calendar]."""

    anchor: Day | None = None
    roster: Roster | None = None
    shift: list[ShiftSpec] = Field(default_factory=list)
    crew: list[CrewSpec] = Field(default_factory=list)
    exception: list[ExceptionSpec] = Field(default_factory=list)


class EquipmentSpec(Strict):
    """[[equipment]], one machine or a numbered series."""

    key: KeyPattern
    name: Name
    area: Key
    group: Text = ""
    count: Count | None = None
    each: Each | None = None
    us_name: Name | None = None


class HeaderSpec(Strict):
    """One row or column of a [[table]]."""

    key: Key
    name: Name
    equipment: Key | None = None
    us_name: Name | None = None


class RowSeriesSpec(Strict):
    """A numbered series of rows."""

    key: KeyPattern
    name: Name
    equipment: KeyPattern | None = None
    count: Count | None = None
    each: Each | None = None
    us_name: Name | None = None


def _rows_form(value: object) -> str:
    """Which of the two forms of rows this is."""
    return "<series>" if isinstance(value, dict | RowSeriesSpec) else "<list>"


Rows = Annotated[
    Annotated[RowSeriesSpec, Tag("<series>")] | Annotated[list[HeaderSpec], Tag("<list>")],
    Discriminator(_rows_form),
]


class TableSpec(Strict):
    """[[table]]."""

    key: Key
    name: Name
    area: Key | None = None
    machines: Machines | None = None
    row_name: Name | None = None
    rows: Rows | None = None
    columns: list[HeaderSpec]
    us_name: Name | None = None


class LimitFields(Strict):
    """Target and limits as stated in one place."""

    target: Edge = None
    warning: Edges = (None, None)
    action: Edges = (None, None)
    plausible: Edges = (None, None)
    warning_low: Edge = None
    warning_high: Edge = None
    action_low: Edge = None
    action_high: Edge = None
    plausible_low: Edge = None
    plausible_high: Edge = None


class WordFields(LimitFields):
    """What a point and its exceptions at a row or column may both state."""

    tag: Text = ""
    sampling_point: Text = ""
    low_means: Text = ""
    high_means: Text = ""
    response: Text = ""
    caution: Text = ""
    silent_modes: Words = ()
    chart_rules: Words = ()
    limits: dict[str, LimitFields] = Field(default_factory=dict)
    us_name: Name | None = None
    us_sampling_point: Text | None = None
    us_low_means: Text | None = None
    us_high_means: Text | None = None
    us_response: Text | None = None
    us_caution: Text | None = None


class AtSpec(WordFields):
    """[point.at.x]."""

    name: Name | None = None


class ChoiceSpec(Strict):
    """One answer of a state or check point."""

    key: Key
    name: Name
    weight: Annotated[Weight, PlainValidator(word_of(Weight))] = Weight.NORMAL
    means_down: Flag = False
    us_name: Name | None = None


class TankSpec(Strict):
    """The tank table of a level point."""

    dip: Numbers
    volume: Numbers
    ullage: Flag = False


class PointSpec(WordFields):
    """[[point]], one point or one for every cell or machine."""

    key: Key
    name: Name
    area: Key | None = None
    equipment: Key | None = None
    machines: Machines | None = None
    table: Key | None = None
    column: Key | None = None
    columns: Words | None = None
    rows: Words | None = None
    kind: Annotated[PointKind, PlainValidator(word_of(PointKind))] = PointKind.NUMBER
    unit: Text = ""
    quantity: Text | None = None
    decimals: Decimals = 1
    frequency: How | None = None
    choices: list[ChoiceSpec] = Field(default_factory=list)
    formula: Annotated[Computation, PlainValidator(word_of(Computation))] | None = None
    inputs: Words = ()
    rollover: Number | None = None
    tank: TankSpec | None = None
    at: dict[str, AtSpec] = Field(default_factory=dict)
    us_unit: Text | None = None
    us_decimals: Decimals | None = None
    us_factor: Number | None = None


class AccountsSpec(Strict):
    """[accounts]."""

    points: dict[str, Keys] = Field(default_factory=dict)
    uncertainty: dict[str, Number] = Field(default_factory=dict)
    figures: dict[str, Stated] = Field(default_factory=dict)
    words: dict[str, Text] = Field(default_factory=dict)


class PlantFile(Strict):
    """The whole file."""

    plant: PlantSpec
    settings: SettingsSpec = SettingsSpec()
    mode: list[ModeSpec] = Field(default_factory=list)
    calendar: CalendarSpec
    person: list[PersonSpec] = Field(default_factory=list)
    area: list[AreaSpec] = Field(default_factory=list)
    equipment: list[EquipmentSpec] = Field(default_factory=list)
    table: list[TableSpec] = Field(default_factory=list)
    point: list[PointSpec] = Field(default_factory=list)
    accounts: AccountsSpec = AccountsSpec()
