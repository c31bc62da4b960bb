"""The report of a period: what it comes to, where everything went, every account, every meter."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from logbook.report.flow_layout import lay_out_flow, picture_of
from logbook.report.flow_svg import flow_svg
from logbook.report.glyphs import Json
from logbook.report.handover import foot_of
from logbook.report.trend_svg import compare_svg, trend_svg
from logbook.report.typeset import typeset
from logbook.shift.balance_view import (
    Account,
    BalanceView,
    Comparison,
    FlowSteps,
    MeterLine,
    TrendLine,
)

FLOW_ROOM = (1180.0, 430.0)
"""Room of the flow picture, in pixels of the drawing."""
MARKS = {"suspect": "◆ suspect", "unknown": "cannot be told", "inferred": "worked out", "": ""}


def period_pdf(
    view: BalanceView,
    *,
    plant: str,
    span: str,
    seal: str,
    printed_at: datetime,
    trends: Sequence[TrendLine] = (),
    comparisons: Sequence[Comparison] = (),
    paper: str = "a4",
) -> bytes:
    """The PDF/A-2b of a period's balance.

    `plant` is its name, `span` from when to when in local words, `seal` the short seal of the
    book's last page, `printed_at` an instant in the plant's local time. Raises ReportError.
    """
    data = period_data(view, plant=plant, span=span, seal=seal, printed_at=printed_at)
    data["trends"] = [trend_svg(line) for line in trends]
    data["comparisons"] = [_comparison(one) for one in comparisons]
    return typeset("period", data, paper=paper, made_at=printed_at)


def period_data(
    view: BalanceView, *, plant: str, span: str, seal: str, printed_at: datetime
) -> dict[str, Json]:
    """What the template needs, but for trends and comparisons."""
    name = view.period.name
    title = f"Balance, {name}"
    return {
        "head": {"plant": plant, "title": title, "span": span},
        "foot": foot_of(seal, printed_at),
        "verdict": list(view.verdict),
        "flows": [_flow(flow) for flow in view.flows],
        "accounts": [_account(account) for account in view.accounts],
        "meters": [_meter(meter) for meter in view.meters],
        "meters_told": view.meters_told,
        "cautions": list(view.cautions),
        "lacks": [{"what": what, "why": why} for what, why in view.lacks.items()],
    }


def _flow(flow: FlowSteps) -> Json:
    layout = lay_out_flow(picture_of(flow), *FLOW_ROOM)
    return {"name": flow.name, "svg": flow_svg(layout)}


def _account(account: Account) -> Json:
    return {
        "title": account.title,
        "told": account.told,
        "caution": account.caution,
        "rows": [
            {
                "name": figure.name,
                "value": figure.value,
                "spread": figure.spread,
                "unit": figure.unit,
                "is_total": figure.is_total,
                "missing": figure.words if figure.mark == "missing" else "",
            }
            for figure in account.figures
        ],
    }


def _meter(meter: MeterLine) -> Json:
    cells = (
        meter.name,
        meter.measured,
        meter.measured_spread,
        meter.reconciled,
        meter.reconciled_spread,
        meter.adjustment,
        meter.score,
        meter.unit,
        MARKS[meter.mark],
    )
    return {"cells": list(cells), "is_suspect": meter.mark == "suspect"}


def _comparison(one: Comparison) -> Json:
    unit = f" ({one.unit})" if one.unit else ""
    return {"title": f"{one.title}{unit}", "told": one.told, "svg": compare_svg(one)}
