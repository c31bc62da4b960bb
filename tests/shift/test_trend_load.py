"""Histories of points out of the book, against the same worked out in plain Python."""

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.model import NO_LIMITS, Limits
from logbook.record import NewModeChange, corrected
from logbook.shift.trend_load import load_lines, load_trends
from logbook.shift.trends import Band, Trend, bands_of


@pytest.fixture
def trends(book, at):
    """Trends of points from the evening of 1 March to that of 2 March, by key."""

    def load(*keys, start="03-01 18:00", end="03-02 18:00"):
        plant = book.plant_at(at(end))
        points = [plant.point(key) for key in keys]
        return load_trends(book, plant, points, at(start), at(end))

    return load


def judged(value, limits):
    """The code of a value, written out: no limits -128, beyond action 2, beyond warning 1."""
    low, high = limits.action_low, limits.action_high
    if limits == NO_LIMITS or not limits.judges:
        return -128
    if low is not None and value < low:
        return -2
    if high is not None and value > high:
        return 2
    if limits.warning_low is not None and value < limits.warning_low:
        return -1
    return int(limits.warning_high is not None and value > limits.warning_high)


def test_a_trend_holds_the_readings_of_its_window(crew, trends, at):
    """From the start on, up to but without the end; missing readings are left out."""
    crew.round(at("03-01 16:00"), {"gap.m1": 0.31})
    crew.round(at("03-01 18:00"), {"gap.m1": 0.32})
    crew.round(at("03-01 20:00"), {"gap.m1": "!not_safe"})
    crew.round(at("03-02 16:00"), {"gap.m1": 0.41})
    crew.round(at("03-02 18:00"), {"gap.m1": 0.42})
    trend = trends("gap.m1")["gap.m1"]
    assert trend.value.tolist() == [0.32, 0.41]
    assert trend.taken_at.tolist() == [
        at("03-01 18:00").timestamp(), at("03-02 16:00").timestamp(),
    ]  # fmt: skip
    assert trend.code.tolist() == [0, 1]


def test_a_corrected_reading_shows_its_new_value(crew, book, trends, at):
    """A withdrawn one is gone."""
    crew.round(at("03-02 08:00"), {"gap.m1": 3.5, "gap.m2": 0.5})
    one, two = book.readings(["gap.m1", "gap.m2"], at("03-02 08:00"), at("03-02 08:01"))
    fixed = corrected(one, why="slip", value=0.35)
    book.write("op1", [fixed, corrected(two, why="other mill")], kind="correction")
    found = trends("gap.m1", "gap.m2")
    assert found["gap.m1"].value.tolist() == [0.35]
    assert found["gap.m2"].value.size == 0


def test_a_point_never_read_has_an_empty_trend_with_its_limits(trends):
    """So that the band can be drawn all the same."""
    trend = trends("gap.m1")["gap.m1"]
    assert trend.value.size == 0
    assert trend.limits_now.warning_high == 0.40
    low, high = trend.span()
    assert low < 0.25
    assert high > 0.45


def test_limits_changed_within_the_window_judge_from_then_on(crew, book, plant, trends, at, clock):
    """Two bands; each reading has the code of the limits then in force."""
    crew.round(at("03-02 06:00"), {"gap.m1": 0.42})
    crew.round(at("03-02 08:00"), {"gap.m1": 0.46})
    point = plant.point("gap.m1")
    wide = replace(point.limits, warning_high=0.44, action_high=0.48)
    points = tuple(replace(p, limits=wide) if p.key == "gap.m1" else p for p in plant.points)
    changed = at("03-02 09:00")
    clock.set(changed)
    book.revise("head", replace(plant, points=points), effective_from=changed, reason="worn rolls")
    crew.round(at("03-02 10:00"), {"gap.m1": 0.42})
    crew.round(at("03-02 12:00"), {"gap.m1": 0.46})
    trend = trends("gap.m1")["gap.m1"]
    start, end = at("03-01 18:00").timestamp(), at("03-02 18:00").timestamp()
    assert trend.bands == (
        Band(start, changed.timestamp(), point.limits),
        Band(changed.timestamp(), end, wide),
    )
    expected = [
        judged(value, point.limits if taken < changed.timestamp() else wide)
        for taken, value in zip(trend.taken_at.tolist(), trend.value.tolist(), strict=True)
    ]
    assert trend.code.tolist() == expected == [1, 2, 0, 1]


def test_limits_of_the_modes_are_bands_too(crew, book, trends, at, clock):
    """Normal, start-up, normal again; a mode without limits of its own has the normal ones."""
    clock.set(at("03-02 15:00"))
    for when, mode in (("03-02 08:00", "startup"), ("03-02 12:00", "normal")):
        book.write("op1", [NewModeChange(at(when), mode, "x")], kind="event")
    for hour in (6, 8, 10, 12, 14):
        crew.round(at(f"03-02 {hour:02d}:00"), {"pressure": -200, "gap.m1": 0.42})
    found = trends("pressure", "gap.m1")
    assert found["pressure"].code.tolist() == [-1, 0, 0, -1, -1]
    assert [band.limits.warning_low for band in found["pressure"].bands] == [-160, -300, -160]
    assert found["gap.m1"].code.tolist() == [1] * 5
    assert len(found["gap.m1"].bands) == 1


def test_the_mode_in_force_before_the_window_holds_in_it(crew, book, trends, at, clock):
    """The change itself lies days before."""
    clock.set(at("03-02 15:00"))
    book.write("op1", [NewModeChange(at("03-01 07:00"), "startup", "x")], kind="event")
    crew.round(at("03-02 10:00"), {"pressure": -200})
    trend = trends("pressure")["pressure"]
    assert trend.code.tolist() == [0]
    assert [band.limits.warning_low for band in trend.bands] == [-300]


# -- computed points -----------------------------------------------------------------------------


def test_computed_points_are_those_of_the_form(crew, trends, at, book):
    """Mean, spread and their ratio in each round, rounded and judged as when typed."""
    pairs = [(0.30, 0.35), (0.41, 0.36), (0.45, 0.44)]
    for k, (one, two) in enumerate(pairs):
        crew.round(at(f"03-02 {6 + 2 * k:02d}:00"), {"gap.m1": one, "gap.m2": two})
    found = trends("gap_mean", "gap_spread", "gap_evenness")
    means = [round((a + b) / 2, 5) for a, b in pairs]
    assert found["gap_mean"].value.tolist() == means
    limits = found["gap_mean"].limits_now
    assert found["gap_mean"].code.tolist() == [judged(m, limits) for m in means] == [0, 1, 1]
    spreads = [round(abs(a - b), 5) for a, b in pairs]
    assert found["gap_spread"].value.tolist() == spreads
    ratios = [round(s / m, 5) for s, m in zip(spreads, means, strict=True)]
    assert found["gap_evenness"].value.tolist() == ratios
    assert found["gap_spread"].code.tolist() == [-128] * 3


def test_a_computed_point_needs_all_its_inputs_at_one_time(crew, trends, at, clock):
    """A round without mill 2 and a reading between the rounds give no mean."""
    crew.round(at("03-02 06:00"))
    crew.round(at("03-02 08:00"), without=["gap.m2"])
    clock.set(at("03-02 09:10"))
    rows = [crew.reading("gap.m1", at("03-02 09:10"), 0.36)]
    crew.book.write("op1", rows)
    crew.round(at("03-02 10:00"))
    times = trends("gap_mean")["gap_mean"].taken_at.tolist()
    assert times == [at("03-02 06:00").timestamp(), at("03-02 10:00").timestamp()]


def test_rates_and_quotients_of_counters_over_a_gap_and_a_rollover(crew, trends, at):
    """Increase since the last count, per hour or per tonne; a count that fell gives none."""
    counts = [(99_900, 500), (40, 560), (None, 590), (280, 680), (270, 700)]
    for k, (feed, solvent) in enumerate(counts):
        answers = {"solvent": solvent, **({"feed": feed} if feed is not None else {})}
        without = [] if feed is not None else ["feed"]
        crew.round(at(f"03-02 {6 + 2 * k:02d}:00"), answers, without=without)
    found = trends("feed_rate", "solvent_use")
    assert found["feed_rate"].value.tolist() == pytest.approx([140 / 2, 240 / 4])
    assert found["solvent_use"].value.tolist() == pytest.approx([60 / 140, 120 / 240], abs=1e-4)


def test_the_form_and_the_trend_agree_on_computed_points(crew, book, trends, at):
    """What is seen while typing is what is drawn after the save."""
    from logbook.shift.round_load import load_form

    given = {"gap.m1": 0.337, "gap.m2": 0.412, "feed": 1130.0, "solvent": 567.0}
    crew.round(at("03-02 06:00"), {"feed": 1000, "solvent": 500})
    form = load_form(book, book.plant_at(at("03-02 08:00")), at("03-02 08:00"), is_round=True)
    form.fill({key: str(value) for key, value in given.items()})
    crew.round(at("03-02 08:00"), given)
    keys = ["gap_mean", "gap_spread", "gap_evenness", "feed_rate", "solvent_use"]
    for key, trend in trends(*keys).items():
        assert trend.value[-1] == form.fields[key].entry.value
        assert trend.code[-1] == form.fields[key].judgement.code


def test_lines_hold_what_computed_points_need(crew, book, plant, at):
    """Asking for the ratio brings mean, spread and both mills, inputs first."""
    crew.round(at("03-02 06:00"))
    points = [plant.point("gap_evenness")]
    lines = load_lines(book, plant, points, at("03-02 00:00"), at("03-03 00:00"))
    order = list(lines)
    assert set(order) == {"gap.m1", "gap.m2", "gap_mean", "gap_spread", "gap_evenness"}
    assert order.index("gap.m1") < order.index("gap_mean") < order.index("gap_evenness")


# -- bands and spans -------------------------------------------------------------------------------


def test_bands_cover_the_window_without_gap_or_overlap():
    """A change before the window holds at its start; one behind its end is left out."""
    one, two, three = (Limits(warning_high=float(n)) for n in (1, 2, 3))
    assert bands_of([(0, one), (50, two), (200, three)], 10, 100) == (
        Band(10, 50, one),
        Band(50, 100, two),
    )
    assert bands_of([(0, one), (10, two)], 10, 100) == (Band(10, 100, two),)
    assert bands_of([(50, one)], 10, 100) == (Band(50, 100, one),)
    assert bands_of([], 10, 100) == ()


def test_a_wild_value_does_not_flatten_the_picture(crew, trends, at):
    """The picture is at most three times the limits' own span, plus its margin."""
    crew.round(at("03-02 06:00"), {"gap.m1": 0.35})
    crew.round(at("03-02 08:00"), {"gap.m1": 350.0})
    low, high = trends("gap.m1")["gap.m1"].span()
    assert low == pytest.approx(0.25, abs=0.05)
    assert high == pytest.approx(0.65, abs=0.05)


def test_a_trend_without_limits_or_values_has_a_span(trends, crew, at):
    """Also one of a single value, which has no height of its own."""
    assert trends("moisture")["moisture"].span() == (0.0, 1.0)
    crew.round(at("03-02 06:00"), {"moisture": 12.0, "dip": 0.0})
    low, high = trends("moisture")["moisture"].span()
    assert low < 12.0 < high
    low, high = trends("dip")["dip"].span()
    assert low < 0.0 < high


def test_a_week_of_trends_comes_quickly(crew, book, plant, at):
    """All of an area in well under a twentieth of a second."""
    import time

    for k in range(84):
        crew.round(at("03-01 06:00") + timedelta(hours=2 * k))
    points = [p for p in plant.points if p.kind.is_numeric]
    end = at("03-01 06:00") + timedelta(days=7)
    begun = time.perf_counter()
    found = load_trends(book, plant, points, at("03-01 06:00"), end)
    assert time.perf_counter() - begun < 0.25
    assert isinstance(found["gap_mean"], Trend)
    assert found["gap_mean"].value.size == 84
