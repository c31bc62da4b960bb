"""What the panel under the form says of the field in use."""

from __future__ import annotations

from logbook.shift.round_form import RoundForm
from logbook.shift.words import limits_text, meaning_text
from logbook.ui.round.paint import full_name


def panel_lines(form: RoundForm, key: str, *, decimal_comma: bool) -> tuple[str, ...]:
    """Title, where it is read, limits, what a deviation means, caution; empty without a field."""
    if not key:
        return ("",) * 5
    shown = form.fields[key]
    point = shown.point
    where = (point.tag, point.sampling_point, str(point.frequency))
    limits = limits_text(point, shown.limits, decimal_comma=decimal_comma)
    unit = f"  ({point.unit})" if point.unit else ""
    title = full_name(form, key) + unit
    return title, " · ".join(filter(None, where)), limits, _means(form, key), point.caution


def _means(form: RoundForm, key: str) -> str:
    """What this deviation means; both sides of one that is not there."""
    shown = form.fields[key]
    if shown.judgement.is_judged and shown.judgement.code != 0:
        return meaning_text(shown.point, shown.judgement)
    sides = (("Low", shown.point.low_means), ("High", shown.point.high_means))
    return "   ".join(f"{side}: {text}" for side, text in sides if text)
