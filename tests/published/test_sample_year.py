"""The sample plant's whole year, judged twice.

Source: independent computation with pandas. `tests/assess/pandas_reference.py` judges and finds
runs from the description of the rules alone; what it needs (readings as corrected, limits in force
by time and mode, times not due) is taken here from the file with plain SQL and joined with
`pandas.merge_asof`, without any code of the program. Compared are the code of every reading of
every numeric typed point, and of every run its times, direction, severity, worst value and count.
"""

from __future__ import annotations

import importlib.util
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta

import pandas as pd
import pytest

from logbook.plant.model import Often, PointKind
from logbook.record import open_book
from logbook.shift.runs import runs_between
from logbook.shift.trend_load import load_trends
from sample_db.story import DEFAULT_END

pytestmark = pytest.mark.slow

EDGES = ["warning_low", "warning_high", "action_low", "action_high"]
HOURS_BETWEEN = {Often.ROUND: 2, Often.SHIFT: 12, Often.DAY: 24, Often.SAMPLE: 24}
GAP_FACTOR = 2.5
"""A run goes on over one missed and one late reading."""

READINGS = """
SELECT p.key, r.taken_at AS time, r.value, r.text
FROM reading AS r JOIN point AS p ON p.id = r.point
WHERE r.reason IS NULL AND (r.value IS NOT NULL OR r.text IS NOT NULL)
  AND NOT EXISTS (SELECT 1 FROM reading AS later WHERE later.replaces = r.id)
ORDER BY r.taken_at
"""
LIMITS = """
SELECT p.key, l.mode, l.effective_from AS since, l.warning_low, l.warning_high,
       l.action_low, l.action_high
FROM limit_set AS l JOIN point AS p ON p.id = l.point
ORDER BY l.effective_from, l.id
"""


@dataclass(frozen=True)
class Told:
    """The tables of the file, as pandas reads them."""

    readings: dict[str, pd.DataFrame]
    limits: dict[str, pd.DataFrame]
    statuses: pd.DataFrame
    modes: pd.DataFrame
    plant: object


@pytest.fixture(scope="module")
def reference(repo_root):
    """The rules in pandas, loaded by path."""
    path = repo_root / "tests" / "assess" / "pandas_reference.py"
    spec = importlib.util.spec_from_file_location("pandas_reference", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def book(sample_book_path):
    """The sample book, open for reading."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as opened:
        yield opened


@pytest.fixture(scope="module")
def told(sample_book_path, book) -> Told:
    """What the file says, by plain SQL."""
    with closing(sqlite3.connect(sample_book_path)) as plain:
        readings = pd.read_sql_query(READINGS, plain)
        limits = pd.read_sql_query(LIMITS, plain)
        statuses = pd.read_sql_query("SELECT * FROM status ORDER BY at, id", plain)
        modes = pd.read_sql_query("SELECT at, mode FROM mode_change ORDER BY at, id", plain)
    edges = limits[EDGES].astype("float64")
    return Told(
        dict(tuple(readings.groupby("key"))),
        dict(tuple(limits.assign(**edges).groupby("key"))),
        statuses,
        modes,
        book.plant_at(DEFAULT_END),
    )


@pytest.fixture(scope="module")
def points(told) -> list:
    """Every numeric point that is typed."""
    kinds = {PointKind.NUMBER, PointKind.COUNTER, PointKind.LEVEL}
    return [p for p in told.plant.points if p.kind in kinds]


@pytest.fixture(scope="module")
def frames(told, points) -> dict[str, pd.DataFrame]:
    """By point: its readings in order of time with value, limits in force and whether not due."""
    return {point.key: frame_of(told, point) for point in points if point.key in told.readings}


def last_at(times: pd.Series, changes: pd.DataFrame) -> pd.DataFrame:
    """The row of `changes` (column `at`) in force at each time; NaN before the first."""
    return pd.merge_asof(
        times.rename("time").to_frame().reset_index(drop=True),
        changes.drop_duplicates("at", keep="last"),
        left_on="time",
        right_on="at",
    )


def frame_of(told: Told, point) -> pd.DataFrame:
    """The frame that the reference takes; a row without value where a time not due begins."""
    readings = told.readings[point.key][["time", "value"]].reset_index(drop=True)
    modes = last_at(readings.time, told.modes)["mode"].fillna("normal")
    frame = pd.concat([readings, limits_at(told, point, readings.time, modes)], axis=1)
    frame["not_due"] = False
    starts = []
    for changes in sources_of(told, point):
        off = last_at(readings.time, changes)["off"]
        frame["not_due"] |= off.astype("boolean").fillna(value=False).astype(bool)
        starts += changes["at"][changes["off"].astype(bool)].tolist()
    marks = pd.DataFrame({"time": starts, "not_due": True}).assign(value=float("nan"))
    marks = marks.reindex(columns=frame.columns)
    marks[EDGES] = float("nan")
    marks["is_mark"], frame["is_mark"] = True, False
    both = pd.concat([m for m in (marks, frame) if len(m)])
    return both.sort_values("time", kind="stable").reset_index(drop=True)


def limits_at(told: Told, point, times, modes) -> pd.DataFrame:
    """Limits in force at each time: the mode's own, else those of the normal mode."""
    nothing = pd.DataFrame(float("nan"), index=times.index, columns=EDGES)
    sets = told.limits.get(point.key)
    if sets is None:
        return nothing
    sets = sets.rename(columns={"since": "at"})
    found = last_at(times, sets[sets["mode"] == "normal"])[EDGES]
    for mode in set(sets["mode"]) & set(modes) - {"normal"}:
        own = last_at(times, sets[sets["mode"] == mode])
        here = (modes == mode) & own["at"].notna()
        found = found.mask(here, own[EDGES])
    return found


def sources_of(told: Told, point) -> list[pd.DataFrame]:
    """What can make a point not due, each as changes with the columns at and off."""
    scopes = [("plant", None), ("area", point.area), ("equipment", point.equipment)]
    found = []
    for scope, target in scopes:
        mine = told.statuses[told.statuses["scope"] == scope]
        mine = mine if target is None and scope == "plant" else mine[mine["target"] == target]
        found.append(pd.DataFrame({"at": mine["at"], "off": mine["state"] == "down"}))
    silent = told.modes["mode"].isin(point.silent_modes)
    found.append(pd.DataFrame({"at": told.modes["at"], "off": silent}))
    found += [standing(told, state) for state in states_of(told, point)]
    return [changes for changes in found if len(changes)]


def states_of(told: Told, point) -> list:
    """State points of the point's machine that can say that it does not run."""
    return [
        state
        for state in told.plant.points
        if state.kind is PointKind.STATE
        and state.equipment is not None
        and state.equipment == point.equipment
        and any(choice.means_down for choice in state.choices)
        and state.key in told.readings
    ]


def standing(told: Told, state) -> pd.DataFrame:
    """When a machine stands by its state: until it is read otherwise or told to be up again."""
    down = {choice.key for choice in state.choices if choice.means_down}
    read = told.readings[state.key]
    read = pd.DataFrame({"at": read["time"], "off": read["text"].isin(down), "rank": 1})
    ups = told.statuses
    mine = (ups["scope"] == "equipment") & (ups["target"] == state.equipment)
    ups = pd.DataFrame({"at": ups["at"][mine & (ups["state"] == "up")], "off": False, "rank": 0})
    both = pd.concat([changes for changes in (read, ups) if len(changes)])
    both = both.sort_values(["at", "rank"])[["at", "off"]]
    # A state read again as it was is no new stop.
    return both[both["off"] != both["off"].shift(fill_value=False)].reset_index(drop=True)


def gap_of(point) -> float:
    """Seconds between two readings over which a run goes on."""
    often = point.frequency.often
    hours = point.frequency.hours if often is Often.HOURS else HOURS_BETWEEN[often]
    return hours * 3600 * GAP_FACTOR


def test_the_year_holds_what_makes_the_comparison_worth_something(frames, told, reference):
    """Revised limits, modes and stops are in it, every code, and some hundred thousand readings."""
    assert sum((~frame["is_mark"]).sum() for frame in frames.values()) > 300_000
    normal = [sets[sets["mode"] == "normal"] for sets in told.limits.values()]
    assert any(len(sets) > 1 for sets in normal)
    assert {"startup", "shutdown"} <= set(told.modes["mode"])
    assert all(frame["is_mark"].any() for frame in frames.values())
    codes = pd.concat([reference.codes(frame) for frame in frames.values()])
    assert set(codes) == {-128, -2, -1, 0, 1, 2}


def test_every_reading_of_the_year_has_the_code_that_pandas_gives_it(
    book, told, points, frames, reference
):
    """Point by point and reading by reading, with the limits in force at its time in its mode."""
    trends = load_trends(book, told.plant, points, book.created_at, DEFAULT_END + timedelta(days=1))
    compared = 0
    for point in points:
        trend = trends[point.key]
        if point.key not in frames:
            assert trend.code.size == 0
            continue
        frame = frames[point.key]
        frame = frame[~frame["is_mark"]].reset_index(drop=True)
        assert trend.taken_at.tolist() == frame["time"].tolist(), point.key
        assert trend.value.tolist() == frame["value"].tolist(), point.key
        wanted = reference.codes(frame)
        differ = frame.assign(ours=trend.code, wanted=wanted)[trend.code != wanted]
        assert differ.empty, f"{point.key}\n{differ.head()}"
        compared += len(frame)
    assert compared > 300_000


def test_every_run_of_the_year_is_the_one_that_pandas_finds(book, told, points, frames, reference):
    """Start, last reading outside, end, direction, severity, worst value and count."""
    end = DEFAULT_END + timedelta(days=1)
    ours: dict[str, list[tuple]] = {point.key: [] for point in points}
    for found in runs_between(book, told.plant, points, book.created_at, end):
        run = found.run
        ours[found.point.key].append(
            (
                run.start.timestamp(),
                run.last_out.timestamp(),
                run.end.timestamp() if run.end else None,
                int(run.direction),
                int(run.severity),
                run.worst_value,
                run.count,
            )
        )
    total = 0
    for point in points:
        wanted = []
        if point.key in frames:
            rows = reference.runs(frames[point.key], gap_of(point))
            wanted = [
                tuple(None if pd.isna(cell) else cell for cell in row)
                for row in rows.itertuples(index=False, name=None)
            ]
        assert ours[point.key] == wanted, point.key
        total += len(wanted)
    assert total > 1_000
