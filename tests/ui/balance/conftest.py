"""A balance as the screen gets it, made by hand so that every mark is in it."""

from datetime import UTC, date, datetime

import pytest

from logbook.process.quantity import Quantity, absent
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


@pytest.fixture
def shown() -> BalanceView:
    """A month with a suspect scale, a missing figure and two pictures."""
    period = Period(
        PeriodKind.MONTH,
        datetime(2026, 5, 1, 11, tzinfo=UTC),
        datetime(2026, 6, 1, 11, tzinfo=UTC),
        date(2026, 5, 1),
        date(2026, 5, 31),
        "May 2026",
    )
    beans = Quantity("Beans crushed", 72300.0, "t", 150.0, ("bean_total",), "counter difference")
    hulls = absent("Oil in hulls", "t", "hull_oil")
    accounts = (
        Account("throughput", "Throughput", (figure_of(beans),), "97.2 t/h."),
        Account("oil", "Oil account", (figure_of(hulls), figure_of(beans)), "", "No legal figure."),
    )
    steps = (("prep", "Preparation", 0, 0), ("extract", "Extractor", 1, 0))
    streams = (
        FlowStream(
            "beans", "Beans", None, "prep", 100.0, "left", "suspect", "100 t/h", "Beans in."
        ),
        FlowStream("flakes", "Flakes", "prep", "extract", 94.0, label="94 t/h", words="Flakes."),
        FlowStream("hulls", "Hulls", "prep", None, None, "bottom", "unknown", words="Hulls out."),
        FlowStream(
            "rest", "All else", "extract", None, 94.0, "right", "inferred", words="The rest."
        ),
    )
    flows = (
        FlowSteps("mass", "Mass", "t/h", steps, streams),
        FlowSteps("oil", "Oil", "t/h", steps, streams[:2]),
    )
    meters = (
        MeterLine("oil", "Crude oil counter", "t", "13 700", "± 55", "13 690", "± 40", "-10", "-0.3"),
        MeterLine(
            "beans", "Bean scale", "t", "72 300", "± 300", "73 400", "± 200", "+1 100", "7.3",
            "suspect", "It shows too little.",
        ),
    )  # fmt: skip
    return BalanceView(
        period, ("Crushed 72 300 t.",), accounts, meters, "They do not agree.", flows
    )


@pytest.fixture
def trend() -> TrendLine:
    """Ten days, two of them unknown, one in doubt."""
    points = tuple(
        TrendPoint(
            f"{day} May 2026",
            f"{day} May",
            None if day in {4, 5} else 18.0 + day / 10.0,
            None if day in {4, 5} else 17.5 + day / 10.0,
            None if day in {4, 5} else 18.5 + day / 10.0,
            "suspect" if day == 7 else "",
        )
        for day in range(1, 11)
    )
    return TrendLine("oil_yield", "Oil yield", "%", 1, points, 19.0, "")


@pytest.fixture
def comparison() -> Comparison:
    """Four crews, one of them with too little to tell."""
    groups = tuple(
        Group(f"Crew {name}", 18.9, 18.7, 19.1, 40) if name != "D" else Group("Crew D", None, None, None, 1)
        for name in "ABCD"
    )  # fmt: skip
    return Comparison("crew", "Oil yield by crew", "%", 2, groups, "No difference can be told.")
