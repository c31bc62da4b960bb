from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from logbook.plant.file import read_plant
from logbook.plant.templates import template_path
from logbook.record import BookError, NewEntry, NewReading, NewStatus, corrected, create_book
from logbook.report.chart_look import Look
from logbook.report.chart_trend import trend_figure
from logbook.report.trend_files import page_file, trend_file
from logbook.report.trend_pages import PAGES, PageAsk, draw_page, page_figure
from logbook.shift.trend_study import Around, Study, read_around, read_study

NOW = datetime(2026, 3, 20, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def studied(tmp_path_factory) -> tuple[Study, Around]:
    """Three points of ten days with a spike, a gap, a stop, an entry and a correction."""
    path: Path = tmp_path_factory.mktemp("trend") / "b.logbook"
    moment = [NOW - timedelta(days=11)]
    plant = read_plant(template_path("soybean-metric"))
    points = [p for p in plant.points if "flak" in p.area and p.unit == "mm"][:3]
    person, rng = plant.people[0].key, np.random.default_rng(1)
    with create_book(path, plant, clock=lambda: moment[0], person=person, reason="begun") as book:
        moment[0] = NOW
        times = [NOW - timedelta(hours=2 * k) for k in range(120, 0, -1) if not 40 < k < 60]
        rows = [
            NewReading(p.key, at, value=round(0.35 + 0.02 * rng.normal(), 2))
            for p in points
            for at in times
        ]
        rows[30] = NewReading(points[0].key, times[30], value=1.7)
        book.write(person, rows, kind="round")
        old = book.readings([points[1].key], times[5], times[6])[0]
        book.write(person, [corrected(old, why="slip", value=0.33)], kind="correction")
        gone = NOW - timedelta(hours=110)
        book.write(person, [NewStatus("plant", "", gone, "down", "belt")], kind="event")
        up = NewStatus("plant", "", NOW - timedelta(hours=90), "up", "mended")
        book.write(person, [up], kind="event")
        book.write(person, [NewEntry(gone, "Belt torn.", area=points[0].area)], kind="entry")
        study = read_study(book, plant, [p.key for p in points], NOW)
        around = read_around(book, plant, NOW - timedelta(days=12), NOW)
    return study, around


def lines_of(figure) -> list[np.ndarray]:
    """The values of every line drawn in a figure."""
    return [np.asarray(line.get_ydata(), float) for ax in figure.axes for line in ax.get_lines()]


def test_the_printed_trend_shows_the_spike_and_the_gap(studied):
    """A wild reading is within the axis, and no line runs over the days without readings."""
    study, around = studied
    figure = trend_figure(study, (study.start, study.end), around=around)
    assert len(figure.axes) == 3
    first = figure.axes[0]
    assert first.get_ylim()[1] > 1.7
    line = first.get_lines()[0]
    assert np.nanmax(line.get_ydata()) == 1.7
    assert np.isnan(line.get_ydata()).sum() == 1


def test_points_of_one_unit_are_drawn_on_one_axis_with_a_legend(studied):
    """All three lines in one panel, named."""
    study, _ = studied
    figure = trend_figure(study, (study.start, study.end), by_unit=True)
    assert len(figure.axes) == 1
    names = [text.get_text() for text in figure.axes[0].get_legend().get_texts()]
    assert len(names) == 3
    assert all(name and name in track.name for name, track in zip(names, study.tracks, strict=True))


def test_stops_entries_and_corrections_are_drawn(studied):
    """With them there is more on the figure than without."""
    study, around = studied
    with_, without = (
        trend_figure(study, (study.start, study.end), around=one) for one in (around, None)
    )
    assert len(with_.axes[0].patches) > len(without.axes[0].patches)
    assert len(with_.axes[-1].collections) > len(without.axes[-1].collections)
    marks = {line.get_marker() for line in with_.axes[1].get_lines()}
    assert {"x", "D"} <= marks


def test_a_study_without_points_is_refused(studied):
    """There is nothing to draw."""
    study = Study(plant=studied[0].plant, tracks=(), modes=(), start=0.0, end=1.0)
    with pytest.raises(ValueError, match="at least one point"):
        trend_figure(study, (0.0, 1.0))
    with pytest.raises(BookError, match="no point"):
        trend_file(Path("a.png"), study, (0.0, 1.0), NOW)


@pytest.mark.parametrize("page", [key for key, _ in PAGES])
@pytest.mark.parametrize("look", [Look(), Look(ground="#101010", panel="#000000", ink="#ffffff")])
def test_every_page_is_drawn_at_the_size_asked_for(studied, page, look):
    """A PNG of so many pixels, and words."""
    study, _ = studied
    ask = PageAsk(
        page=page, study=study, chosen=study.tracks[0].key, span=(study.start, study.end),
        look=look, size=(9.0, 5.0),
    )  # fmt: skip
    made = draw_page(ask, dpi=50.0)
    assert made.png.startswith(b"\x89PNG")
    size = int.from_bytes(made.png[16:20]), int.from_bytes(made.png[20:24])
    assert size == (450, 250)
    assert all(words.endswith((".", ":")) for words in made.told)


@pytest.mark.parametrize("page", ["shape", "pair", "periods", "crews"])
def test_a_stretch_without_readings_is_told_and_not_drawn(studied, page):
    """Words alone, and no file."""
    study, _ = studied
    ask = PageAsk(page=page, study=study, chosen=study.tracks[0].key, span=(1.0, 2.0))
    figure, told = page_figure(ask)
    assert figure is None
    assert told
    with pytest.raises(BookError):
        page_file(Path("a.pdf"), ask, NOW)


def test_files_are_what_their_names_say_and_the_same_again(studied):
    """PNG or PDF by the ending; anything else is refused in a sentence."""
    study, around = studied
    span = (study.start, study.end)
    assert trend_file(Path("a.PNG"), study, span, NOW).startswith(b"\x89PNG")
    once, again = (trend_file(Path("a.pdf"), study, span, NOW, around=around) for _ in range(2))
    assert once.startswith(b"%PDF")
    assert once == again
    with pytest.raises(BookError, match=r"\.png or \.pdf"):
        trend_file(Path("a.gif"), study, span, NOW)
