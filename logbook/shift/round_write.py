"""What a save of a round writes, and how it is told."""

from __future__ import annotations

from logbook.assess.limits import Severity
from logbook.record import NewReading, NewResponse, Ref, SavedPage, short_seal
from logbook.shift.round_form import Field, RoundForm

NewRow = NewReading | NewResponse

READ_AGAIN = "entered again after it was taken back"
"""Why a reading stands in the place of one that was taken back."""


def rows_of(form: RoundForm) -> list[NewRow]:
    """A reading for each filled field, and a response beside those that have one."""
    rows: list[NewRow] = []
    for shown in form.taken():
        rows.append(_reading(form, shown))
        if shown.response:
            place = Ref(len(rows) - 1)
            rows.append(NewResponse(reading=place, at=form.taken_at, text=shown.response))
    return rows


def _reading(form: RoundForm, shown: Field) -> NewReading:
    entry = shown.entry
    return NewReading(
        point=shown.point.key,
        taken_at=form.taken_at,
        round_at=form.round_at,
        value=None if entry.reason else entry.value,
        text=None if entry.reason else entry.text,
        reason=entry.reason,
        typed=entry.typed.strip(),
        mode=form.mode,
        replaces=shown.taken_back,
        why=None if shown.taken_back is None else READ_AGAIN,
    )


def told_of(form: RoundForm, saved: SavedPage, clock: str) -> str:
    """What was written, in words, with the page's number and short seal."""
    fields = form.taken()
    missing = sum(f.entry.reason is not None for f in fields)
    severities = [f.judgement.severity for f in fields]
    counts = (
        (len(fields) - missing, "reading", "readings"),
        (missing, "without value and with its reason", "without value, each with its reason"),
        (severities.count(Severity.WARNING), "warning", "warnings"),
        (severities.count(Severity.ACTION), "action deviation", "action deviations"),
        (sum(bool(f.response) for f in fields), "response", "responses"),
    )
    parts = [f"{n} {one if n == 1 else many}" for n, one, many in counts if n]
    left = len(form.open_keys())
    rest = f" {left} fields are still open." if left else ""
    return f"Saved at {clock}: {', '.join(parts)}. Seal {short_seal(saved.seal)}.{rest}"
