"""Control charts: whether a point still is as it was when it was well.

Everything here takes plain series of readings (NaN: missing), says when they are too few instead of
guessing, and gives frozen records of arrays. `study` does all of it for one series, `chart_many`
for many at once.
"""

from __future__ import annotations

from logbook.assess.autocorrelation import Lag1, lag_one, prediction_width, residuals
from logbook.assess.baseline_search import Baseline, find_baseline
from logbook.assess.capability import Capability, Index, capability
from logbook.assess.chart_grid import Grid, on_grid
from logbook.assess.chart_many import ManyCharts, chart_many
from logbook.assess.chart_study import ChartSettings, ChartStudy, study
from logbook.assess.ewma_cusum import CusumChart, CusumSignal, EwmaChart, cusum, ewma
from logbook.assess.run_length import cusum_run_length, ewma_run_length
from logbook.assess.run_rules import (
    ISO_7870_2,
    LIMITS_ONLY,
    NELSON,
    WESTERN_ELECTRIC,
    WESTERN_ELECTRIC_ALL,
    Rule,
    RuleSettings,
    RunEvent,
    RunRules,
    run_rules,
    settings_of,
)
from logbook.assess.shewhart import IndividualsChart, SubgroupChart, individuals, xbar_r, xbar_s

__all__ = [
    "ISO_7870_2",
    "LIMITS_ONLY",
    "NELSON",
    "WESTERN_ELECTRIC",
    "WESTERN_ELECTRIC_ALL",
    "Baseline",
    "Capability",
    "ChartSettings",
    "ChartStudy",
    "CusumChart",
    "CusumSignal",
    "EwmaChart",
    "Grid",
    "Index",
    "IndividualsChart",
    "Lag1",
    "ManyCharts",
    "Rule",
    "RuleSettings",
    "RunEvent",
    "RunRules",
    "SubgroupChart",
    "capability",
    "chart_many",
    "cusum",
    "cusum_run_length",
    "ewma",
    "ewma_run_length",
    "find_baseline",
    "individuals",
    "lag_one",
    "on_grid",
    "prediction_width",
    "residuals",
    "run_rules",
    "settings_of",
    "study",
    "xbar_r",
    "xbar_s",
]
