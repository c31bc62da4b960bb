"""A metric plant in US customary units: exact, rounded in order, remarks kept."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.plant.convert import ConversionError, Scales, base_of, convert_plant_text, main
from logbook.plant.file import PlantFileError, plant_from_text, read_plant
from logbook.plant.layers import LADDER
from logbook.plant.model import Limits, Plant, Point
from logbook.plant.templates import template_path
from logbook.plant.unit_table import US_UNITS
from logbook.plant.units import convert

SMALL = Path(__file__).parents[1] / "data" / "plants" / "small.toml"
TEXT = SMALL.read_text(encoding="utf-8")
OTHER_EDGE = {
    edge: edge.replace("low", "x").replace("high", "low").replace("x", "high") for edge in LADDER
}


@pytest.fixture(scope="module")
def american() -> Plant:
    """The small plant in US units."""
    return plant_from_text(convert_plant_text(TEXT))


def test_units_and_decimals_follow(american: Plant) -> None:
    """Usual US units, the unit stated, and the unit of the inputs of a computed point."""
    units = {key: american.point(key).unit for key in (
        "flake_thickness.fm1.left", "flake_mean.fm1", "flake_skew.fm1", "bean_rate", "solvent_use",
        "extractor_pressure", "stripper_pressure", "tray_temperature.tray1", "meal_solvent",
    )}  # fmt: skip
    assert list(units.values()) == [
        "mil", "mil", "mil", "short ton/h", "lb/short ton",
        "in H2O(g)", "inHg vacuum", "°F", "mg/kg",
    ]  # fmt: skip
    assert american.point("flake_thickness.fm1.left").decimals == 1
    assert american.point("stripper_pressure").decimals == 2


def test_limits_are_converted_and_rounded(american: Plant) -> None:
    """In the point, in its rows and in its modes."""
    assert american.point("flake_thickness.fm1.left").limits.target == 13.8
    assert american.point("tray_temperature.tray1").limits == Limits(
        target=154, warning_low=145, warning_high=163, action_low=138, action_high=171
    )
    assert american.point("extractor_pressure").limits_in("startup") == Limits(warning_low=-1.20)


def test_a_vacuum_counts_the_other_way(american: Plant) -> None:
    """Low and high change places, in every mode, and so does what they mean."""
    point = american.point("stripper_pressure")
    exact = convert(16.0, "kPa abs", "inHg vacuum", barometer_kpa=100.0)
    assert point.limits.action_low == round(exact, 2)
    assert point.limits.action_high is None
    assert point.limits_in("startup").warning_low == round(
        convert(14.0, "kPa abs", "inHg vacuum", barometer_kpa=100.0), 2
    )
    assert (point.low_means, point.high_means) == ("Leak or warm water", "Pump draws air")


def test_texts_have_us_twins_and_keys_of_conversion_go(american: Plant) -> None:
    """`us_name` takes the place of `name`; nothing that begins with us_ is left."""
    assert american.point("stripper_pressure").name == "Stripper vacuum"
    assert american.key == "small-us"
    assert "us_" not in convert_plant_text(TEXT)


def test_remarks_are_kept() -> None:
    """Remarks stand where they stood."""
    converted = convert_plant_text(TEXT)
    assert 'unit = "inHg vacuum" # below the barometer' in converted
    assert "# A small plant that uses every part of the format once." in converted


def test_rollover_stays_and_dips_follow(american: Plant) -> None:
    """The digits of a meter are no quantity; a tank's dips are in the point's unit, volumes in m3."""
    assert american.point("bean_scale").rollover == 100000
    tank = american.point("solvent_tank").tank
    assert tank is not None
    assert tank.dip == (0, 3.28084, 6.56168)
    assert tank.volume == (0, 20, 41)


def test_a_stated_factor_is_used_where_units_do_not_tell() -> None:
    """kg/t of solvent in US gal/short ton needs its density, which the file states as a factor."""
    text = TEXT.replace(
        'key = "meal_solvent"',
        'key = "meal_solvent"\nus_unit = "US gal/short ton"\nus_factor = 0.363',
    ).replace('unit = "mg/kg"', 'unit = "kg/t"\nquantity = "share"')
    point = plant_from_text(convert_plant_text(text)).point("meal_solvent")
    assert (point.unit, point.limits.warning_high) == ("US gal/short ton", 145.2)


def test_limits_that_would_fall_together_are_refused() -> None:
    """Too few decimals are told with the point, never written."""
    with pytest.raises(ConversionError, match='state more us_decimals for "extractor_pressure"'):
        convert_plant_text(
            TEXT.replace("warning = [-160, -30]", "us_decimals = 0\nwarning = [-160, -30]")
        )


def test_a_faulty_file_is_not_converted() -> None:
    """The faults of the metric file are told as such."""
    with pytest.raises(PlantFileError, match="not a known unit"):
        convert_plant_text(TEXT.replace('unit = "A"', 'unit = "amps"'))


def agrees(before: Point, after: Point, scales: Scales) -> bool:
    """Every limit of every mode within half of the last shown decimal of the exact conversion."""
    scale = scales.of(base_of(before.key))
    if scale is None:
        return before.limits == after.limits and before.unit == after.unit
    modes = ["", *before.limits_by_mode]
    for mode in modes:
        old, new = before.limits_in(mode), after.limits_in(mode)
        for edge in LADDER:
            value = getattr(old, edge)
            found = getattr(new, OTHER_EDGE[edge] if scale.is_reversed else edge)
            if (value is None) != (found is None):
                return False
            if value is not None and abs(scale.exact(value) - found) > 0.5 * 10**-after.decimals * (
                1 + 1e-9
            ):
                return False
    return after.unit == scale.unit.spelling


@pytest.mark.parametrize(
    "path", [SMALL, template_path("soybean-metric")], ids=lambda path: path.stem
)
def test_every_limit_agrees_with_the_exact_conversion(path: Path) -> None:
    """Rounding takes at most half of the last shown decimal, in every point and mode."""
    text = path.read_text(encoding="utf-8")
    plant, american = read_plant(path), plant_from_text(convert_plant_text(text))
    assert [point.key for point in plant.points] == [point.key for point in american.points]
    scales = Scales(plant, text)
    wrong = [
        before.key
        for before, after in zip(plant.points, american.points, strict=True)
        if not agrees(before, after, scales)
    ]
    assert wrong == []


def test_the_us_template_is_a_fresh_conversion_of_the_metric_one() -> None:
    """The committed US template is what the converter writes today, byte for byte."""
    metric = template_path("soybean-metric").read_text(encoding="utf-8")
    assert convert_plant_text(metric) == template_path("soybean-us").read_text(encoding="utf-8")


def test_the_us_template_keeps_no_plain_metric_unit() -> None:
    """Each unit that has a usual US unit was converted, but where the metric one states it."""
    path = template_path("soybean-metric")
    scales = Scales(read_plant(path), path.read_text(encoding="utf-8"))
    left = {
        base_of(point.key)
        for point in read_plant(template_path("soybean-us")).points
        if point.unit in US_UNITS
    }
    assert {key for key in left if "us_unit" not in scales.declared[key]} == set()


ONE_POINT = """
[[point]]
key = "probe"
name = "Probe"
area = "flaking"
unit = "{unit}"
decimals = {decimals}
us_unit = "{us_unit}"
us_decimals = {us_decimals}
"""
SCALES = st.sampled_from(
    [
        ("°C", "°F"),
        ("kPa abs", "inHg vacuum"),
        ("kPa abs", "mmHg abs"),
        ("kPa(g)", "psig"),
        ("t/h", "short ton/h"),
        ("mm", "mil"),
        ("m³/h", "US gal/min"),
    ]
)


@settings(max_examples=60, deadline=None)
@given(
    SCALES,
    st.lists(st.integers(0, 900), min_size=7, max_size=7, unique=True).map(sorted),
    st.data(),
)
def test_limits_stay_in_order_whatever_they_are(
    units: tuple[str, str], values: list[int], data: st.DataObject
) -> None:
    """Any ladder of limits reads back in order, swapped for a vacuum, however many sides it has."""
    stated = data.draw(st.lists(st.sampled_from(LADDER), min_size=1, unique=True))
    limits = dict(zip(LADDER, (value / 10 for value in values), strict=True))
    text = TEXT + ONE_POINT.format(unit=units[0], decimals=1, us_unit=units[1], us_decimals=4)
    text += "".join(f"{edge} = {limits[edge]}\n" for edge in stated)
    point = plant_from_text(convert_plant_text(text)).point("probe")
    is_vacuum = units[1] == "inHg vacuum"
    assert {edge for edge in LADDER if getattr(point.limits, edge) is not None} == {
        OTHER_EDGE[edge] if is_vacuum else edge for edge in stated
    }
    found = [getattr(point.limits, edge) for edge in LADDER]
    present = [value for value in found if value is not None]
    assert present == sorted(present)


def test_the_command_writes_the_converted_file(tmp_path: Path) -> None:
    """IN and OUT on the command line; the result reads."""
    target = tmp_path / "us.toml"
    assert main([str(SMALL), str(target)]) == 0
    assert target.read_bytes() == convert_plant_text(TEXT).encode()
    assert read_plant(target).key == "small-us"


def test_the_command_says_what_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Faults, a missing file, an impossible target and a wrong call end with a message and no file."""
    target = tmp_path / "us.toml"
    assert main([str(tmp_path / "none.toml"), str(target)]) == 1
    assert "there is no such file" in capsys.readouterr().err
    assert main([str(SMALL), str(tmp_path / "none" / "us.toml")]) == 1
    assert "cannot be written" in capsys.readouterr().err
    assert main([str(SMALL)]) == 2
    assert "Use:" in capsys.readouterr().err
    assert not target.exists()
