"""Everything the story tells is found in the book through its public reading interface."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest

from logbook.plant.calendar import shifts_between
from logbook.plant.model import Plant, PointKind
from logbook.plant.rounds import rounds_of
from logbook.record import Book, Reading
from sample_db import story as told
from sample_db.missing import MISSED_SILENTLY, MISSED_WITH_WORDS
from sample_db.outages import LINE_AREAS
from sample_db.rota import make_rota
from sample_db.slips import CORRECTED, DECIMAL_KEYS, SWAPS, UNCORRECTED
from sample_db.story import MILLS, POSITIONS, Span, Story

DAY = timedelta(days=1)


def slope_per_day(book: Book, key: str, start: datetime, end: datetime) -> float:
    """Least-squares slope of a point over a span, unit per day."""
    series = book.series([key], start, end)[key]
    there = ~np.isnan(series.value)
    days = (series.taken_at[there] - series.taken_at[0]) / 86400.0
    return float(np.polyfit(days, series.value[there], 1)[0])


def mean_of(book: Book, key: str, start: datetime, end: datetime) -> float:
    """Mean of a point over a span."""
    return float(np.nanmean(book.series([key], start, end)[key].value))


def passed(book: Book, key: str, start: datetime, end: datetime) -> float:
    """What a counter has counted over a span, rollovers taken into account."""
    values = book.series([key], start, end)[key].value
    rollover = book.plant_at(start).point(key).rollover or 0.0
    steps = np.diff(values[~np.isnan(values)])
    return float(np.where(steps < 0, steps + rollover, steps).sum())


# ------------------------------------------------------------------ (a) the mills


def test_a_worn_mill_drifts_thick_at_one_side_for_three_weeks(book: Book, story: Story) -> None:
    """The slope at the worn side is the story's; the other side of the mill stays as it is."""
    drift = story.mill_drifts[0]
    key = f"flake_thickness.{MILLS[drift.mill]}"
    end = drift.end - timedelta(hours=told.REGRIND_HOURS)
    worn = slope_per_day(book, f"{key}.{POSITIONS[drift.position]}", drift.start, end)
    sound = slope_per_day(book, f"{key}.left", drift.start, end)
    assert end - drift.start == pytest.approx(21 * DAY, abs=timedelta(hours=2))
    assert worn == pytest.approx(drift.per_day, abs=0.0009)
    assert abs(sound) < 0.0012


def test_regrinding_takes_the_thickness_back(book: Book, story: Story) -> None:
    """After the regrind the worn side is thinner by more than what the drift had added."""
    drift = story.mill_drifts[0]
    key = f"flake_thickness.{MILLS[drift.mill]}.{POSITIONS[drift.position]}"
    before = mean_of(book, key, drift.end - 2 * DAY, drift.end)
    after = mean_of(book, key, drift.end, drift.end + 2 * DAY)
    assert before - after > 0.8 * drift.size


def test_another_mill_is_drifting_when_the_book_ends(book: Book, story: Story) -> None:
    """The newest days of the second mill show the same fault on its way."""
    drift = story.mill_drifts[1]
    key = f"flake_thickness.{MILLS[drift.mill]}.{POSITIONS[drift.position]}"
    slope = slope_per_day(book, key, drift.start, story.end)
    assert drift.end == story.end
    assert slope == pytest.approx(drift.per_day, abs=0.0022)


# ------------------------------------------------------------------ (b) the condenser


def approach(book: Book, condenser: str, start: datetime, end: datetime) -> np.ndarray:
    """Outlet less cooling water for the rounds in which both were read: columns days, K."""
    keys = [f"condenser_outlet.{condenser}", "cooling_water_supply"]
    one, two = book.series(keys, start, end).values()
    common, i, j = np.intersect1d(one.taken_at, two.taken_at, return_indices=True)
    pair = np.column_stack([(common - common[0]) / 86400.0, one.value[i] - two.value[j]])
    return pair[~np.isnan(pair[:, 1])]


def test_a_fouled_condenser_warms_by_the_stated_kelvin_a_day(book: Book, story: Story) -> None:
    """Its approach to the cooling water rises steadily until it is cleaned, then drops."""
    foul = story.fouling[0]
    rise = approach(book, foul.condenser, foul.start, foul.end)
    slope = float(np.polyfit(rise[:, 0], rise[:, 1], 1)[0])
    after = approach(book, foul.condenser, foul.end + DAY, foul.end + 6 * DAY)[:, 1].mean()
    assert 0.2 <= foul.per_day <= 0.4
    assert slope == pytest.approx(foul.per_day, abs=0.06)
    assert rise[-40:, 1].mean() - after > 5.0


def test_the_fouled_condenser_costs_solvent_at_the_vent(book: Book, story: Story) -> None:
    """Vent concentration in the last week of fouling is far above the week after cleaning."""
    foul = story.fouling[0]
    late = mean_of(book, "vent_lel", foul.end - 5 * DAY, foul.end)
    clean = mean_of(book, "vent_lel", foul.end + DAY, foul.end + 6 * DAY)
    assert late > 1.6 * clean


# ------------------------------------------------------------------ (c) the steam valve


def test_a_stuck_steam_valve_cools_a_tray_for_one_night(book: Book, story: Story) -> None:
    """Tray 4 falls by about the stated drop and is back the next morning."""
    assert story.steam_valve is not None
    night, key = story.steam_valve, f"dt_tray_temp.t{told.VALVE_TRAY}"
    lowest = np.nanmin(book.series([key], night.start, night.end)[key].value)
    usual = mean_of(book, key, night.start - DAY, night.start)
    next_day = mean_of(book, key, night.end + timedelta(hours=5), night.end + DAY)
    assert usual - lowest == pytest.approx(told.VALVE_TRAY_DROP, abs=6.0)
    assert next_day == pytest.approx(usual, abs=4.0)


def test_the_cold_tray_leaves_solvent_and_urease_in_the_meal(book: Book, story: Story) -> None:
    """Both laboratory findings of that night pass their action limits; the meal is downgraded."""
    assert story.steam_valve is not None
    night = Span(story.steam_valve.start, story.steam_valve.end + timedelta(hours=2))
    plant = book.plant_at(night.start)
    for key in ("lab_dt_solvent", "lab_meal_urease"):
        limit = plant.point(key).limits.action_high
        assert limit is not None
        assert np.nanmax(book.series([key], night.start, night.end)[key].value) > limit
    texts = [e.text or "" for e in book.entries(night.start, night.end + timedelta(hours=6))]
    assert any("downgraded" in text for text in texts)


# ------------------------------------------------------------------ (d) the bean scale


def products_per_bean(book: Book, start: datetime, end: datetime) -> float:
    """Meal and oil by their counters for each tonne of beans by theirs."""
    beans = passed(book, "bean_total", start, end)
    return (passed(book, "meal_total", start, end) + passed(book, "oil_total", start, end)) / beans


def test_the_bean_scale_reads_low_for_exactly_ten_days(book: Book, story: Story) -> None:
    """Products per bean are 1.5 % too good inside the span and right before and after."""
    assert story.scale_low is not None
    low = story.scale_low
    assert low.length == 10 * DAY
    inside = products_per_bean(book, low.start, low.end + timedelta(hours=1))
    before = products_per_bean(book, low.start - 10 * DAY, low.start + timedelta(hours=1))
    after = products_per_bean(book, low.end, low.end + 10 * DAY)
    assert inside / before == pytest.approx(1 / told.SCALE_FACTOR, abs=0.006)
    assert inside / after == pytest.approx(1 / told.SCALE_FACTOR, abs=0.006)


def test_counters_roll_over(book: Book, story: Story) -> None:
    """Bean and oil counters each start again from zero at least once."""
    for key in ("bean_total", "oil_total"):
        values = book.series([key], story.start, story.end)[key].value
        values = values[~np.isnan(values)]
        falls = np.flatnonzero(np.diff(values) < 0)
        rollover = book.plant_at(story.end).point(key).rollover
        assert rollover is not None
        assert len(falls) >= 1
        assert all(values[i] > 0.99 * rollover > 100 * values[i + 1] / 2 for i in falls)


# ------------------------------------------------------------------ (e) copied rounds


def numbers_of(book: Book, round_at: datetime) -> dict[str, float]:
    """Measured numbers of a round by point, counters and levels apart."""
    points = {p.key for p in book.plant_at(round_at).points if p.kind is PointKind.NUMBER}
    found = book.of_round(round_at).items()
    return {k: r.value for k, r in found if k in points and r.value is not None}


def share_same(book: Book, one: datetime, two: datetime) -> float:
    """Share of numbers that are the same in both rounds."""
    first, second = numbers_of(book, one), numbers_of(book, two)
    common = [key for key in first if key in second]
    return sum(first[key] == second[key] for key in common) / len(common)


def test_one_person_copies_rounds_on_some_nights(book: Book, plant: Plant, story: Story) -> None:
    """On the stated nights rounds 5 and 6 repeat round 4 in every number, by the same person."""
    copier = make_rota(plant, story).copier
    assert len(story.copied) == told.COPY_NIGHTS
    for night in story.copied:
        rounds = [night.start + timedelta(hours=2 * k) for k in range(6)]
        source = rounds[told.COPY_SOURCE]
        for index in told.COPY_ROUNDS:
            assert share_same(book, source, rounds[index]) == 1.0
            assert {r.person for r in book.of_round(rounds[index]).values()} == {copier}


def test_other_rounds_are_not_alike(book: Book, story: Story) -> None:
    """Rounds two hours apart on a night nobody copied agree in less than half of the numbers."""
    night = story.copied[0].start - 4 * DAY
    assert share_same(book, night + timedelta(hours=6), night + timedelta(hours=8)) < 0.5


# ------------------------------------------------------------------ (f) late and missed


ALWAYS_READ = ("gas_panel", "ambient_temp", "steam_flow", "cooling_water_supply")
"""Points of each round in areas that never stand with the line."""


def test_some_rounds_are_late_and_some_were_missed(book: Book, plant: Plant, story: Story) -> None:
    """Late rounds are a percent or two; missed ones are those of the story."""
    by_round: dict[datetime | None, list[Reading]] = {}
    for reading in book.readings(ALWAYS_READ, story.start, story.end):
        by_round.setdefault(reading.round_at, []).append(reading)
    due = [
        rnd.at
        for shift in shifts_between(plant.calendar, story.start, story.end)
        for rnd in rounds_of(shift, plant.settings.round_hours)
        if rnd.at < story.end - timedelta(hours=2)
    ]
    missed = [at for at in due if at not in by_round]
    walked = [by_round[at] for at in due if at in by_round]
    late = sum(any(r.late for r in found) for found in walked)
    worded = [f[0].reason for f in walked if len(f) > 2 and all(r.reason for r in f)]
    whole = [s for s in story.plant_stops if s.reason == "power dip"]
    silent = [at for at in missed if not any(s.holds(at) for s in whole)]
    assert len(silent) == len(MISSED_SILENTLY)
    assert sorted(w or "" for w in worded) == sorted(words for _, words in MISSED_WITH_WORDS)
    assert 0.005 < late / len(due) < 0.03


def test_missing_readings_have_every_kind_of_reason(book: Book, story: Story) -> None:
    """Not sampled, instrument fault, not safe and free words all occur."""
    some = ("vent_lel", "solvent_dip.st1", "bund_valve_closed", "oil_dip.ot1", "bean_moisture")
    reasons = {r.reason for r in book.readings(some, story.start, story.end) if r.reason}
    assert {"not_sampled", "instrument_fault", "not_safe"} < reasons


# ------------------------------------------------------------------ (g) corrections


@pytest.fixture(scope="module")
def corrections(sample_book_path: object) -> list[Reading]:
    """All corrections in the book that stand."""
    from pathlib import Path

    from logbook.record import open_book
    from sample_db.story import DEFAULT_END

    assert isinstance(sample_book_path, Path)
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as book:
        keys = [*DECIMAL_KEYS, *(f"flake_thickness.{m}.{p}" for m in MILLS for p in POSITIONS)]
        found = book.readings(keys, DEFAULT_END - 420 * DAY, DEFAULT_END + DAY)
    return [r for r in found if r.corrected]


def test_typing_errors_are_corrected_with_their_reason(
    book: Book, corrections: list[Reading]
) -> None:
    """Misplaced points, swapped sides and turned figures: old value, new value and why."""
    by_why: dict[str, list[Reading]] = {}
    for reading in corrections:
        by_why.setdefault(reading.why or "", []).append(reading)
    assert len(by_why["decimal point misplaced"]) == CORRECTED
    assert len(by_why["left and right entered the wrong way round"]) == 2 * len(SWAPS)
    assert len(by_why["figures typed the wrong way round"]) == 1
    for reading in by_why["decimal point misplaced"]:
        old, new = book.history_of(reading.id)
        assert old.value is not None
        assert new.value is not None
        ratio = old.value / new.value
        assert min(abs(ratio - 10.0), 10 * abs(ratio - 0.1)) < 0.6
        assert new.written_at > old.written_at


def test_swapped_sides_are_put_right_together(book: Book, corrections: list[Reading]) -> None:
    """Both sides of a swap change places on one page."""
    swapped = [r for r in corrections if (r.why or "").startswith("left and right")]
    for left, right in zip(swapped[::2], swapped[1::2], strict=True):
        old = {r.point: book.history_of(r.id)[0].value for r in (left, right)}
        assert left.page == right.page
        assert old == {left.point: right.value, right.point: left.value}


def test_a_few_slips_nobody_noticed_are_still_there(book: Book, story: Story) -> None:
    """Values ten times too large or small remain, as many as the story says."""
    found, usual = 0, {}
    for key, series in book.series(DECIMAL_KEYS, story.start, story.end).items():
        usual[key] = float(np.nanmedian(series.value))
    for reading in book.readings(DECIMAL_KEYS, story.start, story.end):
        if reading.value is not None and reading.mode == "normal":
            ratio = reading.value / usual[reading.point]
            found += ratio > 5.0 or ratio < 0.19
    assert found == UNCORRECTED


# ------------------------------------------------------------------ (h) clock changes


def test_both_clock_change_nights_have_their_true_rounds(
    book: Book, plant: Plant, story: Story
) -> None:
    """The long night has 13 hours and 7 rounds, the short one 11 hours and 6; all were walked."""
    lengths = {}
    for change in story.clock_changes:
        (shift,) = shifts_between(plant.calendar, change, change + timedelta(seconds=1))
        rounds = rounds_of(shift, plant.settings.round_hours)
        lengths[shift.length] = len(rounds)
        for rnd in rounds:
            assert len(book.of_round(rnd.at)) > 60
    assert lengths == {timedelta(hours=13): 7, timedelta(hours=11): 6}


# ------------------------------------------------------------------ (i) stops


def test_the_planned_shutdown_takes_the_line_down_for_six_days(book: Book, story: Story) -> None:
    """All areas of the line are down, nothing is read there, and the modes follow one another."""
    stop = story.shutdown
    assert stop is not None
    near = book.down_intervals(stop.start, stop.end + DAY)
    spans = [d for d in near if d.reason == stop.reason]
    assert {d.target for d in spans} == set(LINE_AREAS)
    assert all((d.start, d.end) == (stop.start, stop.end) for d in spans)
    assert timedelta(days=5.5) < stop.length < timedelta(days=6.5)
    modes = [m.mode for m in book.modes(stop.start, stop.end + DAY)]
    assert modes[-3:] == ["shutdown", "startup", "normal"]
    middle = stop.start + stop.length / 2
    areas = {p.key: p.area for p in book.plant_at(middle).points}
    read = {areas[r.point] for r in book.readings(None, middle, middle + DAY)}
    assert not read & set(LINE_AREAS)
    assert read


def test_short_trips_have_their_downtime_and_reasons(book: Book, story: Story) -> None:
    """Each trip stands in the book with its start, end and reason."""
    found = {(d.start, d.end, d.reason) for d in book.down_intervals(story.start, story.end)}
    for stop in story.plant_stops:
        assert (stop.start, stop.end, stop.reason) in found
    for machine in story.machine_stops:
        assert (machine.start, machine.end, machine.reason) in found
    assert len(story.plant_stops) == len(told.TRIPS) + 1


def test_a_ground_mill_is_not_read_while_it_stands(book: Book, story: Story) -> None:
    """During a regrind no thickness of that mill is entered."""
    for stop in story.mill_stops:
        key = f"flake_thickness.{MILLS[stop.mill]}.centre"
        assert len(book.series([key], stop.start, stop.end)[key]) == 0


# ------------------------------------------------------------------ (j) the log


def test_the_log_holds_some_hundred_varied_entries(book: Book, story: Story) -> None:
    """All kinds occur, texts repeat little, and no slot was left unfilled."""
    entries = book.entries(story.start, story.end)
    kinds = {e.kind for e in entries}
    texts = [e.text or "" for e in entries]
    assert 300 <= len(entries) <= 900
    assert kinds == {"safety", "quality", "process", "maintenance", "environment", "delivery"}
    assert len(set(texts)) > 0.4 * len(texts)
    assert max(texts.count(text) for text in set(texts)) < 0.03 * len(texts)
    assert not any("{" in text for text in texts)


def test_entries_name_areas_and_machines_of_the_plant(
    book: Book, plant: Plant, story: Story
) -> None:
    """What an entry is about exists."""
    areas, machines = {a.key for a in plant.areas}, {e.key for e in plant.equipment}
    for entry in book.entries(story.start, story.end):
        assert entry.area is None or entry.area in areas
        assert entry.equipment is None or entry.equipment in machines


# ------------------------------------------------------------------ (k) the laboratory


def test_results_are_entered_forty_five_to_ninety_minutes_after_the_sample(
    book: Book, story: Story
) -> None:
    """A result is true when its sample was taken and is written when it was found."""
    keys = [p.key for p in book.plant_at(story.end).points if p.kind is PointKind.LAB]
    results = [r for r in book.readings(keys, story.start, story.end) if not r.corrected]
    waits = np.array([(r.written_at - r.taken_at).total_seconds() / 60.0 for r in results])
    assert len(results) > 15_000
    assert waits.min() >= 44.0
    assert waits.max() <= 91.0
    assert all(r.sample is not None and not r.late for r in results)


def test_some_samples_still_wait_for_their_results(book: Book, story: Story) -> None:
    """When the book ends, samples of the running shift are without results; older ones are not."""
    recent = book.samples(story.end - timedelta(hours=4), story.end)
    waiting = [s for s in recent if not book.results_of(s.id)]
    older = book.samples(story.end - timedelta(hours=30), story.end - timedelta(hours=4))
    assert waiting
    assert all(book.results_of(s.id) for s in older)


# ------------------------------------------------------------------ (l) people and limits


def test_limits_are_revised_once_with_a_reason(book: Book, story: Story) -> None:
    """The residual solvent of the meal is judged by the old limits before and the new after."""
    assert story.limits_revised is not None
    old, new = book.limit_history(["lab_meal_solvent"])
    assert old.limits is not None
    assert new.limits is not None
    assert new.effective_from == story.limits_revised
    assert (old.limits.warning_high, new.limits.warning_high) == (260.0, 200.0)
    reasons = {r.reason for r in book.revisions() if r.effective_from == new.effective_from}
    assert any("contract" in reason for reason in reasons)


def test_one_person_leaves_and_one_joins(book: Book, plant: Plant, story: Story) -> None:
    """Neither writes while not there, and the plant of that day does not list them."""
    rota = make_rota(plant, story)
    assert story.leaves is not None
    assert story.joins is not None

    def listed(at: datetime) -> set[str]:
        return {p.key for p in book.plant_at(at).people}

    assert rota.leaver in listed(story.leaves - DAY)
    assert rota.leaver not in listed(story.leaves + DAY)
    assert rota.joiner not in listed(story.joins - DAY)
    assert rota.joiner in listed(story.joins + DAY)
    writers = {p.person for p in book.pages(story.leaves, story.end)}
    assert rota.leaver not in writers
    assert rota.joiner not in {p.person for p in book.pages(story.start, story.joins)}
    assert rota.joiner in writers
