"""The report of a period, read back."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pypdfium2
import pytest

from logbook.process.quantity import Quantity, absent
from logbook.report.period import period_pdf
from logbook.shift.balance_view import (
    Account,
    BalanceView,
    Comparison,
    FlowSteps,
    FlowStream,
    Group,
    MeterLine,
    TrendLine,
    TrendPoint,
)
from logbook.shift.figure_words import figure_of
from logbook.shift.period import Period, PeriodKind

ODD = '#strong[oil] <b>"$x_1$"</b>'
PRINTED = datetime(2026, 6, 1, 12, 30, tzinfo=UTC)


@pytest.fixture
def view() -> BalanceView:
    """A month in which something is missing and something suspect."""
    start, end = datetime(2026, 5, 1, 11, tzinfo=UTC), datetime(2026, 6, 1, 11, tzinfo=UTC)
    month = Period(PeriodKind.MONTH, start, end, date(2026, 5, 1), date(2026, 5, 31), "May 2026")
    beans = Quantity(ODD, 72300.0, "t", 150.0)
    missing = absent("Oil in hulls", "t", "hull oil analysis")
    flow = FlowSteps(
        "mass",
        "Mass",
        "t/h",
        (("prep", "Preparation", 0, 0),),
        (FlowStream("beans", "Beans in", None, "prep", 97.2, "left", "suspect", "97.2 t/h"),),
    )
    meter = MeterLine(
        "beans", "Bean scale", "t", "72 300", "± 300", "73 400", "± 200", "+1 100", "7.3", "suspect"
    )
    account = Account(
        "oil", "Oil account", (figure_of(beans), figure_of(missing)), "", "Mind this."
    )
    return BalanceView(
        month, ("The scale is wrong.",), (account,), (meter,), "They disagree.", (flow,),
        ("No legal figure.",), {"Water account": "the dryer's air is not measured"},
    )  # fmt: skip


def make(view: BalanceView, **more: object) -> bytes:
    """The PDF with the usual head."""
    return period_pdf(
        view, plant="Sample plant", span="1 May to 1 June", seal="ab12", printed_at=PRINTED, **more
    )  # type: ignore[arg-type]


def text_of(pdf: bytes) -> str:
    """All words of the document, as one line."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        pages = [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()
    return " ".join(" ".join(pages).split())


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_report_holds_every_figure_and_every_doubt(view, paper):
    """Verdict, accounts with what is missing, meters with the suspect, cautions, gaps."""
    told = text_of(make(view, paper=paper))
    for words in (
        "Balance, May 2026", "The scale is wrong.", ODD, "72 300", "± 300", "Missing: hull oil",
        "Bean scale", "+1 100", "◆ suspect", "They disagree.", "No legal figure.", "Mind this.",
        "Water account: the dryer's air is not measured", "Beans in", "97.2 t/h", "ab12",
    ):  # fmt: skip
        assert words in told.replace("’", "'"), words


def test_trends_and_comparisons_are_printed_with_their_words(view):
    """A day without a value and a crew without enough data do not stop it."""
    points = (
        TrendPoint("1 May 2026", "1 May", 18.5, 18.0, 19.0),
        TrendPoint("2 May 2026", "2 May", None),
        TrendPoint("3 May 2026", "3 May", 18.7, 18.2, 19.2, "suspect"),
    )
    line = TrendLine("oil", "Oil yield", "%", 1, points, 19.0, "Steady.")
    groups = (Group("Crew A", 18.9, 18.7, 19.1, 9), Group("Crew B", None, None, None, 1))
    crews = Comparison("crew", "Oil yield by crew", "%", 2, groups, "Nothing can be told apart.")
    told = text_of(make(view, trends=[line], comparisons=[crews]))
    for words in (
        "Oil yield (%)", "Steady.", "Nothing can be told apart.", "Crew A", "18.90 ± 0.20",
        "too little to tell", "1 May",
    ):  # fmt: skip
        assert words in told, words


def test_a_period_of_which_nothing_is_known_prints_too(view):
    """No accounts, no meters, no picture: one page that says so."""
    empty = replace(view, verdict=(), accounts=(), meters=(), flows=(), meters_told="")
    assert "Too little is known" in text_of(make(empty))


def test_the_same_report_gives_the_same_bytes(view):
    """Same data, same instant, same file."""
    assert make(view) == make(view)
    assert b"pdfaid:part>2<" in make(view).replace(b" ", b"")
