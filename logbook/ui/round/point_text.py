"""What the panel under the form says of the field in use."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.shift.round_form import RoundForm
from logbook.shift.words import limits_text, meaning_text
from logbook.ui.round.paint import full_name

if TYPE_CHECKING:
    from logbook.shift.drift import DriftFound


def panel_lines(
    form: RoundForm, key: str, *, decimal_comma: bool, drift: DriftFound | None = None
) -> tuple[str, ...]:
    """Title, where it is read, limits, what a deviation means, caution; empty without a field."""
    if not key:
        return ("",) * 5
    shown = form.fields[key]
    point = shown.point
    where = (point.tag, point.sampling_point, str(point.frequency))
    limits = limits_text(point, shown.limits, decimal_comma=decimal_comma)
    unit = f"  ({point.unit})" if point.unit else ""
    title = full_name(form, key) + unit
    means = _means(form, key)
    if drift is not None:
        means = f"{_since(form, drift)}   {means}".rstrip()
    return title, " · ".join(filter(None, where)), limits, means, point.caution


def _since(form: RoundForm, drift: DriftFound) -> str:
    """What is said of a drift, and since when it shows."""
    from logbook.plant.localtime import to_local
    from logbook.shift.period import day_text

    phrase = f"{drift.phrase[:1].upper()}{drift.phrase[1:]}"
    if drift.since is None:
        return f"{phrase}."
    day = to_local(drift.since, form.plant.time_zone)
    return f"{phrase}, since about {day_text(day.date())}."


def _means(form: RoundForm, key: str) -> str:
    """What this deviation means; both sides of one that is not there."""
    shown = form.fields[key]
    if shown.judgement.is_judged and shown.judgement.code != 0:
        return meaning_text(shown.point, shown.judgement)
    sides = (("Low", shown.point.low_means), ("High", shown.point.high_means))
    return "   ".join(f"{side}: {text}" for side, text in sides if text)
