"""A trend, or a closer look at it, as the contents of a PNG or PDF file."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from logbook.report.chart_look import Figure, as_pdf, as_png, drawing
from logbook.report.chart_trend import trend_figure
from logbook.report.errors import ReportError
from logbook.report.trend_pages import PageAsk, page_figure
from logbook.shift.trend_study import Around, Study
from logbook.shift.trend_words import span_text

PRINT_DPI = 160.0
KINDS = (".png", ".pdf")


def trend_file(
    path: Path,
    study: Study,
    span: tuple[float, float],
    made_at: datetime,
    *,
    around: Around | None = None,
    by_unit: bool = False,
) -> bytes:
    """The trend over a stretch (epoch s) in the form that the name of `path` asks for.

    Raises ReportError for another kind of file, or without points.
    """
    check_kind(path)
    if not study.tracks:
        raise ReportError("There is no point to draw; name at least one.")
    height = min(max(4.5, 1.0 + 1.9 * len(study.tracks)), 16.0)
    figure = trend_figure(study, span, around=around, by_unit=by_unit, size=(11.0, height))
    return _bytes(path, figure, made_at)


def page_file(path: Path, ask: PageAsk, made_at: datetime) -> bytes:
    """A closer look with its words below. Raises ReportError where there is nothing to draw."""
    check_kind(path)
    figure, told = page_figure(ask)
    if figure is None:
        raise ReportError(" ".join(told))
    where = f"{ask.study.plant.name} · {span_text(*ask.span, ask.study.zone)}"
    with drawing(ask.look):
        _words_below(figure, (*told, where))
    return _bytes(path, figure, made_at)


def check_kind(path: Path) -> None:
    """Raises ReportError for a file that is neither a PNG nor a PDF."""
    if path.suffix.lower() not in KINDS:
        raise ReportError(
            f'"{path.name}" is no picture; give it a name that ends with .png or .pdf.'
        )


def _words_below(figure: Figure, told: tuple[str, ...]) -> None:
    """The sentences under the picture, which grows by their height."""
    import textwrap

    width, height = figure.get_size_inches()
    lines = [line for words in told for line in textwrap.wrap(words, int(width * 14.5))]
    room = 0.17 * len(lines) + 0.2
    figure.set_size_inches(width, height + room)
    figure.tight_layout(pad=1.2, rect=(0.0, room / (height + room), 1.0, 1.0))
    figure.text(0.01, 0.1 / (height + room), "\n".join(lines), va="bottom", fontsize=8.5)


def _bytes(path: Path, figure: Figure, made_at: datetime) -> bytes:
    if path.suffix.lower() == ".pdf":
        return as_pdf(figure, made_at, path.stem)
    return as_png(figure, dpi=PRINT_DPI)
