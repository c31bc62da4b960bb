"""Faults of a plant file: each is found, at its line, with words that help, and all at once."""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.plant.file import Fault, PlantFileError, plant_from_bytes, plant_from_text, read_plant

SMALL = Path(__file__).parents[1] / "data" / "plants" / "small.toml"
TEXT = SMALL.read_text(encoding="utf-8")


@dataclass(frozen=True)
class Slip:
    """One mistake: `old` becomes `new`; the fault stands at the line of `at` and says these words."""

    old: str
    new: str
    where: str
    what: str
    wanted: str
    at: str = ""

    def apply(self, text: str) -> str:
        """Make the mistake; the place must be there once."""
        assert text.count(self.old) == 1, self.old
        return text.replace(self.old, self.new)


def slip(old: str, new: str, where: str, what: str, wanted: str, at: str = "") -> Slip:
    """A mistake; its fault stands at the last line of `new` where `at` says nothing else."""
    return Slip(old, new, where, what, wanted, at or new.strip().splitlines()[-1])


SLIPS = (
    slip('key = "small"', 'key = "a plant"', "plant, key", "cannot be a key", "letters, digits"),
    slip('"America/Chicago"', '"America/Chicgo"', "plant, time_zone", "not a known time zone", "Chicago"),
    slip("round_hours = 2\n", "round_hours = 0\n", "settings, round_hours", "not possible", "0.25 to 24"),
    slip("grace_minutes = 45", "grace_minutes = 4.5", "settings, grace", "not possible", "whole number"),
    slip("hide_last_value = true", 'hide_last_value = "yes"', "settings", "neither true", "true or false"),
    slip("barometer_kpa", "barometer", "settings, barometer", "not a key", '"barometer_kpa"'),
    slip('role = "engineer"', 'role = "enginer"', 'person "head"', "not known", '"engineer"'),
    slip('crew = "A"', 'crew = "Q"', 'person "op1": crew', 'no crew "Q"', '"A", "B"'),
    slip("start = 06:00:00", "start = 6", 'shift "D": start', "not a time of day", "06:00:00"),
    slip('end = "18:00"', 'end = "25:00"', 'shift "D": end', "not a time of day", "06:00:00"),
    slip('"DDNN OOOO"', '"DDXN OOOO"', "calendar, roster", 'a shift "X"', '"D", "N", "O"'),
    slip("offset_days = 4", 'offset_days = "4"', 'crew "C": offset_days', "not possible", "whole number"),
    slip("date = 2024-12-25", 'date = "2024-12-25"', "exception 1: date", "not a date", "without quotation"),
    slip('caution = "Rolls turn."', "caution = 5", 'area "flaking": caution', "not text", "quotation"),
    slip("count = 2", "count = 0", 'equipment "fm{n}": count', "not possible", "1 to 200"),
    slip('group = "pump"', 'group = ["pump"]', 'equipment "pump_{n}": group', "not text", "quotation"),
    slip('row_name = "Mill {n}"', 'row_name = "Mill {row}"', 'table "flake": row_name', "{row}", "{n}"),
    slip('unit = "mm"\nquantity', 'unit = "mmm"\nquantity', '"flake_thickness": unit', "not a known unit", '"mm"', 'unit = "mmm"'),
    slip('"length"', '"temperature"', '"flake_thickness": unit', "of length, not of temperature", "temperature", 'unit = "mm"\nquantity'),
    slip("[0.30, 0.40]", "[0.30, 0.34]", '"flake_thickness": warning', "target 0.35 is above warning high 0.34", "<="),
    slip("[0.25, 0.45]", "[0.31, 0.45]", '"flake_thickness"', "action low 0.31 is above warning low 0.3", "<="),
    slip("[0.05, 2.00]", "[0.05, 0.44]", '"flake_thickness"', "action high 0.45 is above plausible high", "<="),
    slip("target = 0.36,", "target = 0.46,", '"flake_thickness": at fm2.left, target', "above warning high", "<="),
    slip('at."fm2.left"', 'at."fm2.lft"', '"flake_thickness": at fm2.lft', "no row or column", '"fm2.left"'),
    slip('tag = "FM-{n}-{column}"', 'tag = "FM-{m}"', '"flake_thickness": tag', "{m}", "{n} or {row}"),
    slip('us_unit = "mil"', 'us_unit = "psi"', '"flake_thickness": us_unit', "does not convert", "unit of length"),
    slip('formula = "spread"', 'formula = "spred"', '"flake_skew": formula', "not known", '"spread"'),
    slip('"flake_thickness.{row}.left", "f', '"flake_thickness.{row}.lft", "f', '"flake_skew": inputs', "no point is named", "fm1.left"),
    slip('["flake_mean.*"]', '["flake_mean.*", "mill_state.fm1"]', '"flake_mean_all": inputs', "of kind state", "hold a number"),
    slip('["flake_mean.*"]\nunit = "mm"', '["flake_mean.*"]\nunit = "in"', '"flake_mean_all": unit', 'is in "mm", not in "in"', '"mm"'),
    slip('key = "standby"', 'key = "running"', 'choice "running": key', "there twice", "another key", 'key = "running", name = "Standby"'),
    slip('weight = "warning"', 'weight = "warn"', 'choice "down": weight', "not known", '"warning"'),
    slip('kind = "text"', 'kind = "text"\nunit = "mm"', '"remark": unit', "no unit", "another kind"),
    slip('kind = "check"', 'kind = "check"\ntarget = 1', '"magnets": target', "no limits", "another kind"),
    slip("rollover = 100000", "rollover = -5", '"bean_scale": rollover', "cannot roll over", "100000"),
    slip('["bean_scale"]', '["pump_current.pump_north"]', '"bean_rate": inputs', "not a counter", "counter"),
    slip('unit = "t/h"', 'unit = "kg/h"', '"bean_rate": unit', '"t" over "h" is not in "kg/h"', "first over"),
    slip('"solvent_scale", "bean_scale"', '"solvent_scale"', '"solvent_use": inputs', "has 1 inputs", "2 inputs"),
    slip('"every 4 h"', '"every 3 h"', '"pump_current": frequency', "does not fall on a round", "multiple of 2 h"),
    slip("pump_south = { w", "pump_sooth = { w", '"pump_current": at pump_sooth', "no row or column", '"pump_south"'),
    slip('["shutdown"]', '["shutdwn"]', '"extractor_pressure": silent_modes', 'no mode "shutdwn"', '"shutdown"'),
    slip('"limits", "trend"', '"limits", "trned"', '"extractor_pressure": chart_rules', 'no rule "trned"', '"trend"'),
    slip('warning = [-300, ""]', "warning = [-300, -400]", '"extractor_pressure": limits startup', "-300 is above warning high -400", "<="),
    slip("target = 9.0", "target = 9.05", '"stripper_pressure": target', "more decimals", "9.1"),
    slip("action_high = 16.0", "acton_high = 16.0", '"stripper_pressure": acton_high', "not a key", '"action_high"'),
    slip("volume = [0, 20, 41]", "volume = [0, 20, 19]", '"solvent_tank": tank, volume', "does not rise", "rising"),
    slip("tank = { dip = [0, 1, 2]", "tank = { dip = [0, 1]", '"solvent_tank": tank', "2 dips and 3", "each dip"),
    slip('sampling_point = "SP-7"', 'sampling_point = "SP-7"\nrollover = 5', '"meal_solvent": rollover', "counter only", "another kind"),
    slip('["tray2", "tray3"]', '["tray2", "tray9"]', '"tray_level": rows', 'no row "tray9"', '"tray'),
    slip('column = "level"', 'column = "levle"', '"tray_level": column', 'no column "levle"', '"level"'),
    slip("[60, 112]", "[60, 105]", '"tray_temperature": limits startup', "warning high 107 is above action high 105", "<="),
    slip("warning = [45, 75]", 'warning = "45-75"', '"tray_level": warning', "not a pair", "[low, high]"),
)  # fmt: skip

# Further slips, each looked at by itself.
MORE_SLIPS = (
    slip('area = "flaking"\ngroup', 'area = "flakng"\ngroup', 'equipment "fm{n}": area', 'no area "flakng"', '"flaking"', 'area = "flakng"'),
    slip('key = "D"', 'key = "O"', 'shift "O": key', "means off", "another key"),
    slip("anchor = 2024-01-01\n", "", "calendar, anchor", "crews need anchor", "2024-01-01", "[calendar]"),
    slip('shift = "D"', 'shift = "X"', "exception 1: shift", 'no shift "X"', '"D"'),
    slip('crew = ""', 'crew = "AA"', "exception 1: crew", 'no crew "AA"', '"A"'),
    slip('crew = ""', 'crew = "A"\n[[calendar.exception]]\ndate = 2024-12-25\nshift = "D"\ncrew = "B"', "exception 2", "has an exception already", "one of the two", "[[calendar.exception]]"),
    slip('area = "flaking"\nkind = "check"', 'area = "flaking"\ncolumn = "left"\nkind = "check"', '"magnets": column', "without a table", "table = ...", 'column = "left"'),
    slip('table = "trays"\ncolumn = "level"', 'table = "trays"\nmachines = "pump"\ncolumn = "level"', '"tray_level": table', "both stated", "one of the two", 'table = "trays"\nmachines'),
    slip('table = "trays"\ncolumn = "level"', 'table = "tray"\ncolumn = "level"', '"tray_level": table', 'no table "tray"', '"trays"', 'table = "tray"\n'),
    slip('column = "level"', 'column = "level"\ncolumns = ["level"]', '"tray_level": columns', "both stated", "one of the two"),
    slip('key = "magnets"', 'key = "magnets"\nat.fm1 = { tag = "X" }', '"magnets": at fm1', "not repeated", "machines"),
    slip('area = "flaking"\nkind = "check"', 'kind = "check"', '"magnets"', "has no area", 'area = "flaking"', '[[point]]\nkey = "magnets"'),
    slip('key = "solvent_tank"', 'key = "solvent_tank"\nequipment = "dtt"', '"solvent_tank": equipment', 'no equipment "dtt"', '"dt"'),
    slip('name = "Technical head"', 'name = " "', 'person "head": name', "empty", "a name"),
    slip('name = "Technical head"', "name = true", 'person "head": name', "true is not text", "quotation"),
    slip('name = "Technical head"', "name = { a = 1 }", 'person "head": name', "a table is not text", "quotation"),
    slip('key = "fm{n}"', 'key = "fm {n}"', 'equipment "fm {n}": key', "cannot be a key", "fm{n}"),
    slip("target = 9.0", 'target = "9,0"', '"stripper_pressure": target', '"9,0" is not a number', "decimal point"),
    slip("target = 9.0", "target = nan", '"stripper_pressure": target', "cannot be measured", "ordinary"),
    slip("target = 9.0", "target = 99999999999999999999", '"stripper_pressure": target', "so large a number", "ordinary"),
    slip("dip = [0, 1, 2]", "dip = 2", '"solvent_tank": tank, dip', "not a list", "list of numbers"),
    slip('"every 4 h"', '"every 4 hours"', '"pump_current": frequency', "no frequency", "every 4 h"),
    slip('"DDNN OOOO"', '" "', "calendar, roster", "roster is empty", "DDNNOOOO"),
    slip('rows = ["tray2", "tray3"]', "rows = [2, 3]", '"tray_level": rows', "not a list of texts", '["left", "right"]'),
    slip('each = ["north", "south"]', 'each = "north"', 'equipment "pump_{n}": each', "not a list of machines", "[1, 2, 4]"),
    slip('each = ["north", "south"]', 'each = ["the north", "south"]', 'equipment "pump_{n}": each', "no part of a key", "[1, 2, 4]"),
    slip('each = ["north", "south"]', 'each = ["north", "south"]\ncount = 2', 'equipment "pump_{n}": each', "both stated", "one of the two", "each"),
    slip('key = "dt"', 'key = "dt"\ncount = 2', 'equipment "dt": key', "the same key", "{n}", 'key = "dt"'),
    slip('key = "head"', 'key = "head"\nfoo = 1', 'person "head": foo', "not a key", "one of"),
    slip('formula = "rate"', "", '"bean_rate": formula', "needs formula", "mean", '[[point]]\nkey = "bean_rate"'),
    slip('inputs = ["bean_scale"]', "inputs = []", '"bean_rate": inputs', "needs inputs", "mean"),
    slip('kind = "lab"', 'kind = "lab"\ninputs = ["bean_scale"]', '"meal_solvent": inputs', "computed points only", "computed"),
    slip('inputs = ["bean_scale"]', 'inputs = ["zzzz"]', '"bean_rate": inputs', "no point is named", "one of"),
    slip('inputs = ["flake_mean.*"]', 'inputs = ["flake_thickness"]', '"flake_mean_all": inputs', "no point is named", '"flake_thickness.*.*"'),
    slip('inputs = ["flake_mean.*"]', 'inputs = ["flake_mean.{row}"]', '"flake_mean_all": inputs', "{row} stands for nothing", "without { }"),
    slip("[point.limits.startup]\nwarning_high = 14.0", "[point.limits.start]\nwarning_high = 14.0", '"stripper_pressure": limits start', 'no mode "start"', '"startup"', "[point.limits.start]"),
    slip("[point.limits.startup]\nwarning_high = 14.0", "[point.limits.normal]\nwarning_high = 14.0", '"stripper_pressure": limits normal', "normal mode", ".normal", "[point.limits.normal]"),
    slip("action_high = 16.0", "action_high = 16.0\nwarning_high = 12.0", '"stripper_pressure": warning_high', "as a pair as well", "one of the two"),
    slip('us_unit = "mil"', 'us_unit = "mils"', '"flake_thickness": us_unit', "not a known unit", '"mil"'),
    slip('quantity = "length"', 'quantity = "lenght"', '"flake_thickness": quantity', "not a known quantity", '"length"'),
    slip('sampling_point = "SP-7"', "tank = { dip = [0, 1], volume = [0, 1] }", '"meal_solvent": tank', "level only", "another kind"),
    slip('sampling_point = "SP-7"', 'choices = [{ key = "a", name = "A" }]', '"meal_solvent": choices', "state or check", "another kind"),
    slip('kind = "check"', 'kind = "state"', '"magnets": choices', "two answers", "running", '[[point]]\nkey = "magnets"'),
    slip("tank = { dip = [0, 1, 2], volume = [0, 20, 41] }", "", '"solvent_tank": tank', "needs a tank table", "number", '[[point]]\nkey = "solvent_tank"'),
    slip('machines = "flaking mill"\nrow_name', 'machines = "flaking mil"\nrow_name', 'table "flake": machines', "no equipment is of the group", '"flaking mill"', 'machines = "flaking mil"\n'),
    slip('["pump_north", "pump_south"]', '["pump_north", "pump_sout"]', '"pump_current": machines', 'no equipment "pump_sout"', '"pump_south"'),
    slip('machines = "flaking mill"\nrow_name', 'machines = "flaking mill"\nrows = []\nrow_name', 'table "flake"', "both stated", "machines", "[[table]]"),
    slip('area = "desolventizing"\nrows = { count = 3, key = "tray{n}", name = "Tray {n}", equipment = "dt" }', 'rows = [{ key = "tray1", name = "1" }, { key = "tray2", name = "2" }, { key = "tray3", name = "3" }]', 'table "trays"', "no area", 'area = "flaking"', "[[table]]"),
    slip('equipment = "dt" }', 'equipment = "dd" }', 'table "trays": rows, equipment', 'no equipment "dd"', '"dt"', "rows = {"),
    slip('{ key = "level", name = "Level" }', '{ key = "tray2", name = "Level" }', 'table "trays"', "is taken", "row or column", 'columns = [{ key = "temp'),
    slip('at."fm2.left" =', "at.fm2.left =", '"flake_thickness": at fm2, left', "not a key", 'at."fm2.left"'),
)  # fmt: skip


def faults_of(text: str) -> tuple[Fault, ...]:
    """The faults of a text that must have some."""
    with pytest.raises(PlantFileError) as caught:
        plant_from_text(text)
    return caught.value.faults


def faults_if_any(text: str) -> tuple[Fault, ...]:
    """The faults of a text; none where it reads."""
    try:
        plant_from_text(text)
    except PlantFileError as error:
        return error.faults
    return ()


def lines_of(text: str, snippet: str) -> list[int]:
    """The lines (from 1) where a snippet starts."""
    starts = [i for i in range(len(text)) if text.startswith(snippet, i)]
    return [text.count("\n", 0, start) + 1 for start in starts]


@pytest.mark.parametrize("case", SLIPS + MORE_SLIPS, ids=lambda case: case.new.strip()[:40])
def test_one_mistake_gives_one_fault_at_its_line(case: Slip) -> None:
    """The fault says where in words, what is wrong and what would be right."""
    text = case.apply(TEXT)
    (fault,) = faults_of(text)
    assert case.where in fault.where
    assert case.what in fault.what
    assert case.wanted in fault.wanted
    assert fault.line in lines_of(text, case.at), str(fault)


def are_apart(slips: list[Slip]) -> bool:
    """True where the mistakes can all be made, one not undoing the place of another."""
    text = TEXT
    for case in slips:
        if text.count(case.old) != 1:
            return False
        text = text.replace(case.old, case.new)
    return True


# Not combined: slips that speak of the same value, a unit that depends on an input which another
# slip takes away, and slips that leave it open which machines there are, since whatever names a
# machine is then not judged.
APART = tuple(
    case
    for case in SLIPS
    if case.new
    not in {
        '"America/Chicgo"',
        "round_hours = 0\n",
        '"temperature"',
        "[0.30, 0.34]",
        "[0.31, 0.45]",
        "[0.05, 0.44]",
        "target = 0.46,",
        'unit = "mmm"\nquantity',
        '["flake_mean.*", "mill_state.fm1"]',
        '["flake_mean.*"]\nunit = "in"',
        'key = "running"',
        "tank = { dip = [0, 1]",
        'crew = "Q"',
        'unit = "kg/h"',
        "count = 0",
        'group = ["pump"]',
    }
)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.sampled_from(APART), unique=True, min_size=1).filter(are_apart))
def test_n_mistakes_give_n_faults(slips: list[Slip]) -> None:
    """However many mistakes a file has, each is told, and nothing else is."""
    text = TEXT
    for case in slips:
        text = case.apply(text)
    assert len(faults_of(text)) == len(slips)


def test_mistakes_of_every_sort_are_told_together() -> None:
    """A file with every mistake of the list gives one fault for each, at the right line."""
    text = TEXT
    made = []
    for case in APART:
        if text.count(case.old) == 1:
            text = case.apply(text)
            made.append(case)
    faults = faults_of(text)
    assert len(faults) == len(made) > 30
    for case in made:
        (fault,) = [f for f in faults if case.where in f.where and case.what in f.what]
        assert fault.line in lines_of(text, case.at)


def test_fifty_mistakes_are_all_told_in_file_order() -> None:
    """A file with fifty faults gives fifty, each at a line of its own."""
    point = (
        '[[point]]\nkey = "p{0}"\nname = "P {0}"\narea = "flaking"\nunit = "mm"\nwarning = [2, 1]\n'
    )
    faults = faults_of(TEXT + "\n" + "".join(point.format(n) for n in range(50)))
    assert len(faults) == 50
    lines = [fault.line for fault in faults]
    assert lines == sorted(set(lines), key=lambda line: line or 0)
    assert {fault.where for fault in faults} == {f'point "p{n}": warning' for n in range(50)}


def test_every_wrong_line_of_syntax_is_told() -> None:
    """Decimal commas and bare words, the commonest slips, are told together with hints."""
    text = TEXT.replace("target = 0.35", "target = 0,35").replace('unit = "A"', "unit = A")
    comma, word = faults_of(text)
    assert comma.line in lines_of(text, "target = 0,35")
    assert "decimal point" in comma.wanted
    assert word.line in lines_of(text, "unit = A")
    assert "quotation marks" in word.wanted


def test_an_array_never_closed_gives_one_fault() -> None:
    """A fault that hangs together with other lines does not set off a row of false ones."""
    (fault,) = faults_of(TEXT.replace("warning = [45, 75]", "warning = [45, 75"))
    assert "TOML" in fault.what


def test_a_key_written_twice_is_told() -> None:
    """TOML itself forbids the same key twice in a table."""
    text = TEXT.replace("grace_minutes = 45", "grace_minutes = 45\ngrace_minutes = 50")
    (fault,) = faults_of(text)
    assert fault.line in lines_of(text, "grace_minutes = 50")
    assert "once" in fault.wanted


@pytest.mark.parametrize("section", ["mode", "person", "area", "equipment", "table", "point"])
def test_a_key_taken_twice_is_told_with_the_first_line(section: str) -> None:
    """Two things of a section cannot share a key."""
    start = TEXT.index(f"[[{section}]]")
    end = TEXT.find("\n\n", start)
    copied = TEXT[start:end]
    text = TEXT + "\n" + copied + "\n"
    taken = [fault for fault in faults_of(text) if "is taken" in fault.what]
    assert len(taken) >= 1
    first = lines_of(text, f"[[{section}]]")[0] + 1
    assert f"line {first}" in taken[0].what
    assert (taken[0].line or 0) > first


def test_two_points_in_one_cell_are_told() -> None:
    """A cell of a table shows one point."""
    text = TEXT.replace('column = "skew"', 'column = "mean"')
    (fault,) = faults_of(text)
    assert '"flake_mean" stands in column "mean" already' in fault.what


def test_a_ring_of_computed_points_is_told() -> None:
    """A point cannot be worked out from itself, directly or over others."""
    text = TEXT.replace('inputs = ["flake_mean.*"]', 'inputs = ["flake_mean.*", "other"]')
    text += (
        '[[point]]\nkey = "other"\nname = "Other"\narea = "flaking"\nkind = "computed"\n'
        'formula = "mean"\ninputs = ["flake_mean_all"]\nunit = "mm"\ndecimals = 3\n'
    )
    (fault,) = faults_of(text)
    assert "flake_mean_all from other from flake_mean_all" in fault.what


def test_a_long_chain_of_computed_points_is_checked_quickly() -> None:
    """Points that lead to the same inputs by very many ways are each looked at once."""
    head = '[[point]]\nkey = "c{0}"\nname = "C"\narea = "flaking"\nkind = "computed"\nformula = "mean"\n'
    tail = 'inputs = ["{1}", "{2}"]\nunit = "mm"\ndecimals = 3\n'
    text = TEXT
    for n in range(60):
        below = ("flake_mean.fm1", "flake_mean.fm2") if n < 2 else (f"c{n - 1}", f"c{n - 2}")
        text += (head + tail).format(n, *below)
    assert len(plant_from_text(text).points) == len(plant_from_text(TEXT).points) + 60


@pytest.mark.parametrize(
    ("kelvin", "is_right"), [("K", True), ("°C", False), ("degF diff", False), ("degC diff", True)]
)
def test_a_difference_of_temperatures_is_in_kelvin(kelvin: str, is_right: bool) -> None:
    """A difference of two °C is a K, never a °C, so that 5 K is not read as 41 °F."""
    text = TEXT + (
        '[[point]]\nkey = "rise"\nname = "Rise"\narea = "desolventizing"\nkind = "computed"\n'
        'formula = "difference"\ninputs = ["tray_temperature.tray2", "tray_temperature.tray1"]\n'
        f'unit = "{kelvin}"\n'
    )
    if is_right:
        assert plant_from_text(text).point("rise").unit == "K"
    else:
        (fault,) = faults_of(text)
        assert fault.wanted == '"K"'


def test_inputs_in_different_units_are_told() -> None:
    """A mean of millimetres and metres has no meaning."""
    text = TEXT.replace('["flake_mean.*"]', '["flake_mean.*", "solvent_tank"]')
    (fault,) = faults_of(text)
    assert '"solvent_tank" is in "m", "flake_mean.fm1" in "mm"' in fault.what


def test_a_missing_required_key_is_told_once() -> None:
    """A missing name is told at the table; what would follow from it is not."""
    (fault,) = faults_of(TEXT.replace('name = "Bean scale"\n', ""))
    assert fault.where == 'point "bean_scale": name'
    assert fault.line in lines_of(TEXT, '[[point]]\nkey = "bean_scale"')


def test_a_misspelt_required_key_is_told_once() -> None:
    """`nane` is told as a misspelt `name`, not as a missing one as well."""
    (fault,) = faults_of(TEXT.replace('name = "Bean scale"', 'nane = "Bean scale"'))
    assert fault.wanted == '"name"'


def test_the_calendar_is_checked_as_a_whole() -> None:
    """A roster that leaves a shift without crew is told with the day."""
    (fault,) = faults_of(TEXT.replace("DDNN OOOO", "DDNO OOOO"))
    assert fault.where == "calendar"
    assert fault.line in lines_of(TEXT, "[calendar]")


def test_no_plant_table_gives_one_fault() -> None:
    """A file without [plant] is told so, without the keys the table would have had."""
    start = TEXT.index("[settings]")
    (fault,) = faults_of(TEXT[start:])
    assert fault.what == '"plant" is missing'
    assert fault.line is None


@pytest.mark.parametrize("name", ["area", "point", "plant", "settings", "calendar"])
def test_a_section_of_the_wrong_shape_is_told(name: str) -> None:
    """[area] for [[area]] and the like."""
    shown = [str(fault) for fault in faults_of(f"{name} = 5\n")]
    assert any(f"{name}: this is not a" in line for line in shown)


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n"])
def test_an_empty_file_is_told(text: str) -> None:
    """An empty file is one fault that points to the templates."""
    (fault,) = faults_of(text)
    assert fault.what == "the file is empty"
    assert "template" in fault.wanted


def test_a_folder_is_told(tmp_path: Path) -> None:
    """A folder given for a file."""
    with pytest.raises(PlantFileError, match="this is a folder"):
        read_plant(tmp_path)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    """A path that leads nowhere."""
    with pytest.raises(PlantFileError, match="there is no such file"):
        read_plant(tmp_path / "plant.toml")


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="everything is readable here")
def test_an_unreadable_file_is_told(tmp_path: Path) -> None:
    """A file this user may not read."""
    path = tmp_path / "plant.toml"
    path.write_text(TEXT, encoding="utf-8")
    path.chmod(0)
    with pytest.raises(PlantFileError, match="cannot be read"):
        read_plant(path)


def test_another_encoding_is_told_with_its_line(tmp_path: Path) -> None:
    """A degree sign saved as Latin-1 is found at its line."""
    path = tmp_path / "plant.toml"
    path.write_bytes(TEXT.replace('"degC"', '"°C"').encode("latin-1"))
    with pytest.raises(PlantFileError) as caught:
        read_plant(path)
    (fault,) = caught.value.faults
    assert fault.line in lines_of(TEXT, 'unit = "degC"')
    assert "0xB0" in fault.what


def test_utf_16_is_told() -> None:
    """What some editors call Unicode."""
    with pytest.raises(PlantFileError, match="UTF-16"):
        plant_from_bytes(TEXT.encode("utf-16"))


def test_the_message_names_file_line_and_key(tmp_path: Path) -> None:
    """The error as printed is enough to find and mend the fault."""
    path = tmp_path / "plant.toml"
    path.write_text(
        TEXT.replace("decimals = 3\nwarning_high = 0.05", "decimals = 1\nwarning_high = 0.05")
    )
    with pytest.raises(PlantFileError) as caught:
        read_plant(path)
    line = lines_of(TEXT, "warning_high = 0.05")[0]
    what = "0.05 has more decimals than the point (1); wanted: 0.1, or more decimals"
    assert str(caught.value).splitlines() == [
        "1 fault in the plant file:",
        f'{path}, line {line}: point "flake_skew": warning_high: {what}',
    ]


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5) | st.dates(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)


def _dump(value: object) -> str:
    """TOML of any value that TOML can hold."""
    import tomlkit

    def clean(entry: object) -> object:
        if isinstance(entry, dict):
            return {str(key): clean(inner) for key, inner in entry.items() if inner is not None}
        if isinstance(entry, list):
            return [clean(inner) for inner in entry if inner is not None]
        return entry

    return tomlkit.dumps(clean(value))


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_give_a_plant_or_a_plant_file_error(data: bytes) -> None:
    """No file, however damaged, brings anything but PlantFileError."""
    with pytest.raises(PlantFileError):
        plant_from_bytes(data)


@settings(max_examples=150, deadline=None)
@given(st.integers(0, len(TEXT) - 1), st.text(max_size=4), st.integers(0, 12))
def test_any_damage_to_a_plant_file_is_told_or_harmless(at: int, put: str, cut: int) -> None:
    """A file with a few characters changed anywhere reads, or says what is wrong."""
    text = TEXT[:at] + put + TEXT[at + cut :]
    assert all(fault.what and fault.wanted for fault in faults_if_any(text))


def _places(document: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Every key path of a parsed file."""
    entries = (
        list(document.items())
        if isinstance(document, dict)
        else list(enumerate(document))
        if isinstance(document, list)
        else []
    )
    below = [found for step, entry in entries for found in _places(entry, (*path, step))]
    return ([path] if path else []) + below


PLACES = _places(tomllib.loads(TEXT))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(PLACES), JUNK), min_size=1, max_size=3))
def test_any_value_anywhere_is_told_or_harmless(
    changes: list[tuple[tuple[str | int, ...], object]],
) -> None:
    """Whatever stands at whatever key, reading ends with a plant or a list of faults."""
    document = tomllib.loads(TEXT)
    for path, value in changes:
        here = document
        try:
            for step in path[:-1]:
                here = here[step]  # type: ignore[index]
            here[path[-1]] = value  # type: ignore[index]
        except (KeyError, IndexError, TypeError):
            continue
    assert all(fault.what and fault.wanted for fault in faults_if_any(_dump(document)))


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 5000 + "]" * 5000, "a = " + "9" * 5000, "a.b" * 500]
)
def test_monstrous_toml_is_told(text: str) -> None:
    """Nesting and numbers beyond all bounds are faults, not crashes."""
    assert faults_of(text)
