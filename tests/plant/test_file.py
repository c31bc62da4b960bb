"""Reading a plant file that is right: every part of the format arrives in the Plant."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path

import pytest

from logbook.plant.file import plant_from_bytes, plant_from_text, read_plant
from logbook.plant.model import (
    Choice,
    Computation,
    Formula,
    Frequency,
    GridPlace,
    Limits,
    Mode,
    Often,
    Plant,
    PointKind,
    Role,
    TankTable,
    Weight,
)

SMALL = Path(__file__).parents[1] / "data" / "plants" / "small.toml"


@pytest.fixture(scope="module")
def plant() -> Plant:
    """The small plant, read once."""
    return read_plant(SMALL)


def test_head_and_settings_are_read(plant: Plant) -> None:
    """Key, name, zone and settings come from [plant] and [settings]; the rest keeps its default."""
    assert (plant.key, plant.name, plant.time_zone) == (
        "small",
        "Small crushing plant",
        "America/Chicago",
    )
    assert plant.settings.grace_minutes == 45
    assert plant.settings.hide_last_value is True
    assert plant.settings.barometer_kpa == 100.0
    assert plant.settings.decimal_comma is False


def test_normal_mode_comes_first_though_the_file_does_not_name_it(plant: Plant) -> None:
    """A plant always has the normal mode."""
    assert plant.modes[0] == Mode("normal", "Normal")
    assert [mode.key for mode in plant.modes] == ["normal", "startup", "shutdown"]


def test_normal_mode_may_be_named_by_the_file() -> None:
    """A plant may call its normal mode by another name."""
    text = SMALL.read_text(encoding="utf-8").replace('key = "shutdown"', 'key = "normal"')
    text = text.replace('name = "Shut-down"', 'name = "Full rate"').replace("shutdown", "startup")
    assert plant_from_text(text).modes == (Mode("startup", "Start-up"), Mode("normal", "Full rate"))


def test_calendar_is_read(plant: Plant) -> None:
    """Shifts take TOML times and texts; the roster loses its spaces; nobody is None."""
    calendar = plant.calendar
    assert [(s.key, s.start, s.end) for s in calendar.shifts] == [
        ("D", time(6), time(18)),
        ("N", time(18), time(6)),
    ]
    assert "".join(calendar.roster) == "DDNNOOOO"
    assert calendar.anchor == date(2024, 1, 1)
    assert [(crew.key, crew.offset_days) for crew in calendar.crews][1] == ("B", 2)
    assert dict(calendar.exceptions) == {(date(2024, 12, 25), "D"): None}


def test_roster_may_be_a_list_of_longer_keys() -> None:
    """Shift keys of several letters are written as a list."""
    text = SMALL.read_text(encoding="utf-8")
    text = text.replace('"DDNN OOOO"', '["day", "day", "N", "N", "O", "O", "O", "O"]')
    text = text.replace('key = "D"', 'key = "day"').replace('shift = "D"', 'shift = "day"')
    assert plant_from_text(text).calendar.roster[:3] == ("day", "day", "N")


def test_a_plant_without_crews_needs_no_roster() -> None:
    """Shifts alone are a calendar; nobody is planned on them."""
    text = SMALL.read_text(encoding="utf-8").replace('crew = "A"\n', "")
    head, _, rest = text.partition("[[calendar.crew]]")
    rest = rest[rest.index("[[person]]") :]
    head = head.replace("anchor = 2024-01-01\n", "").replace('roster = "DDNN OOOO"\n', "")
    assert plant_from_text(head + rest).calendar.crews == ()


def test_people_have_roles_and_crews(plant: Plant) -> None:
    """A person is an operator where no role is stated."""
    assert [(p.key, p.role, p.crew) for p in plant.people] == [
        ("op1", Role.OPERATOR, "A"),
        ("head", Role.ENGINEER, None),
    ]


def test_numbered_machines_are_written_out(plant: Plant) -> None:
    """One [[equipment]] with count or each gives a machine for each number or word."""
    assert [(e.key, e.name) for e in plant.equipment] == [
        ("fm1", "Flaking mill 1"),
        ("fm2", "Flaking mill 2"),
        ("pump_north", "Pump north"),
        ("pump_south", "Pump south"),
        ("dt", "Desolventizer"),
    ]


def test_table_rows_stand_for_machines(plant: Plant) -> None:
    """Rows of a table of machines carry the machine and take its area."""
    flake = plant.tables[0]
    assert flake.area == "flaking"
    assert [(row.key, row.name, row.equipment) for row in flake.rows] == [
        ("fm1", "Mill 1", "fm1"),
        ("fm2", "Mill 2", "fm2"),
    ]
    assert [row.equipment for row in plant.tables[1].rows] == ["dt", "dt", "dt"]


def test_a_point_is_written_out_for_each_cell(plant: Plant) -> None:
    """Keys are point.row.column; name, tag, place and machine follow the cell."""
    point = plant.point("flake_thickness.fm2.right")
    assert point.name == "Flake thickness, Mill 2, Right"
    assert point.tag == "FM-2-right"
    assert point.place == GridPlace("flake", "fm2", "right")
    assert (point.equipment, point.area, point.unit) == ("fm2", "flaking", "mm")
    assert point.response == "Set the Mill 2 Right side"


def test_a_point_of_one_column_has_no_column_in_its_key(plant: Plant) -> None:
    """Columns of different quantities give point.row."""
    assert plant.point("tray_level.tray2").place == GridPlace("trays", "tray2", "level")
    assert [p.key for p in plant.points if p.key.startswith("tray_level")] == [
        "tray_level.tray2",
        "tray_level.tray3",
    ]


def test_a_row_may_have_limits_of_its_own(plant: Plant) -> None:
    """What `at` states holds in its row; the others keep what the point states."""
    assert plant.point("tray_temperature.tray1").limits == Limits(
        target=68, warning_low=63, warning_high=73, action_low=59, action_high=77
    )
    assert plant.point("tray_temperature.tray3").limits.target == 103


def test_one_cell_may_differ_from_all_others(plant: Plant) -> None:
    """`at."row.column"` speaks of a single cell."""
    assert plant.point("flake_thickness.fm2.left").response == "Watch the worn left side"
    targets = [p.limits.target for p in plant.points if p.key.startswith("flake_thickness.")]
    assert targets == [0.35, 0.35, 0.36, 0.35]


def test_limits_of_a_mode_build_on_the_normal_ones(plant: Plant) -> None:
    """A mode states what differs; "" takes a limit away."""
    extractor = plant.point("extractor_pressure")
    assert extractor.limits_in("startup") == Limits(warning_low=-300)
    stripper = plant.point("stripper_pressure")
    assert stripper.limits_in("startup").warning_high == 14
    assert stripper.limits_in("startup").action_high == 16
    assert stripper.limits_in("shutdown") is stripper.limits
    tray = plant.point("tray_temperature.tray1").limits_in("startup")
    assert (tray.target, tray.action_high) == (68, 112)


def test_repeated_point_without_table(plant: Plant) -> None:
    """`machines` repeats a point for each machine, in the machine's area."""
    point = plant.point("pump_current.pump_south")
    assert (point.name, point.area, point.equipment) == (
        "Current, Pump south",
        "extraction",
        "pump_south",
    )
    assert point.limits.warning_high == 45
    assert point.place is None


def test_states_and_checks_have_answers(plant: Plant) -> None:
    """A state has its own choices; a check has done and not done where it names none."""
    state = plant.point("mill_state.fm1")
    assert state.kind is PointKind.STATE
    assert state.choices[2] == Choice("down", "Down", Weight.WARNING, means_down=True)
    assert [choice.key for choice in plant.point("magnets").choices] == ["done", "not_done"]


def test_frequencies_are_read(plant: Plant) -> None:
    """Each form of frequency; a laboratory point is on sample where nothing is stated."""
    expected = {
        "flake_thickness.fm1.left": Frequency(Often.ROUND),
        "pump_current.pump_north": Frequency(Often.HOURS, 4),
        "remark": Frequency(Often.SHIFT),
        "magnets": Frequency(Often.DAY),
        "meal_solvent": Frequency(Often.SAMPLE),
    }
    assert {key: plant.point(key).frequency for key in expected} == expected


def test_counter_and_tank_are_read(plant: Plant) -> None:
    """Rollover and tank table arrive with their numbers."""
    assert plant.point("bean_scale").rollover == 100000
    assert plant.point("solvent_tank").tank == TankTable((0, 1, 2), (0, 20, 41))


def test_patterns_become_the_keys_of_points(plant: Plant) -> None:
    """{row} is the row's key and * any one part; the order is that of the file."""
    assert plant.point("flake_mean.fm2").formula == Formula(
        Computation.MEAN, ("flake_thickness.fm2.left", "flake_thickness.fm2.right")
    )
    everything = plant.point("flake_mean_all").formula
    assert everything == Formula(Computation.MEAN, ("flake_mean.fm1", "flake_mean.fm2"))


def test_units_are_kept_in_the_spelling_of_screens(plant: Plant) -> None:
    """DegC in the file is °C in the plant."""
    assert plant.point("tray_temperature.tray1").unit == "°C"


def test_silent_modes_and_equipment_are_read(plant: Plant) -> None:
    """Silent modes arrive; a tray belongs to the machine of its row."""
    assert plant.point("extractor_pressure").silent_modes == ("shutdown",)
    assert plant.point("tray_level.tray3").equipment == "dt"


def test_the_rules_of_a_points_chart_are_read(plant: Plant) -> None:
    """Those that it names; a point that names none has none of its own."""
    assert plant.point("extractor_pressure").chart_rules == ("limits", "trend")
    assert plant.point("tray_level.tray3").chart_rules == ()


def test_a_byte_order_mark_and_windows_lines_do_no_harm(plant: Plant) -> None:
    """Files saved by other editors read the same."""
    data = SMALL.read_bytes()
    assert plant_from_bytes(b"\xef\xbb\xbf" + data.replace(b"\n", b"\r\n")) == plant


def test_equal_files_give_equal_plants(plant: Plant) -> None:
    """Reading is a pure function of the text."""
    assert read_plant(str(SMALL)) == plant


def test_the_reference_shows_only_lines_that_read(tmp_path: Path) -> None:
    """Every example of the format reference that is a whole [[point]] uses known keys only."""
    import re
    import tomllib

    from logbook.plant.schema import PointSpec

    readme = Path(__file__).parents[2] / "resources" / "plants" / "README.md"
    blocks = re.findall(r"```toml\n(.*?)```", readme.read_text(encoding="utf-8"), re.DOTALL)
    points = [p for block in blocks for p in tomllib.loads(block).get("point", [])]
    assert len(points) > 10
    for point in points:
        PointSpec.model_validate({"key": "x", "name": "X", **point})
