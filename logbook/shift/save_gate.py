"""What stands between a filled form and its save."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum, auto

from logbook.shift.round_form import RoundForm


class Stop(StrEnum):
    """Why a round is not saved yet."""

    UNSETTLED = auto()
    NOTHING = auto()
    NO_PERSON = auto()
    NO_NOTE = auto()
    UNANSWERED = auto()


@dataclass(frozen=True, slots=True)
class Stopped:
    """The reason, a sentence for the person, and the field to go to (empty: none)."""

    stop: Stop
    sentence: str
    key: str = ""


def what_stops(
    form: RoundForm, *, has_person: bool, needs_note: bool, leaves_unanswered: bool
) -> Stopped | None:
    """The first thing that stands in the way of saving, None where nothing does.

    A deviation without a response may stay open, but only when the person has been asked:
    `leaves_unanswered` says that they were.
    """
    unsettled = form.unsettled()
    if unsettled:
        one = len(unsettled) == 1
        count, shown = (
            ("1 entry", "it is") if one else (f"{len(unsettled)} entries", "the first is")
        )
        told = f"{count} cannot be taken as typed; {shown} shown."
        return Stopped(Stop.UNSETTLED, told, unsettled[0])
    if not form.taken():
        return Stopped(Stop.NOTHING, "There is nothing new to save in this round.")
    if not has_person:
        return Stopped(Stop.NO_PERSON, "Choose who writes, then save again.")
    if needs_note and not form.note.strip():
        is_round = form.round_at is not None
        why = "the round is entered late" if is_round else "readings were taken outside the rounds"
        return Stopped(Stop.NO_NOTE, f"Say why {why}, then save again.")
    return None if leaves_unanswered else _unanswered(form)


def _unanswered(form: RoundForm) -> Stopped | None:
    waiting = [
        f.point.key for f in form.taken() if f.wants_response and not f.entry.response.strip()
    ]
    if not waiting:
        return None
    count = len(waiting)
    told = "1 action deviation has" if count == 1 else f"{count} action deviations have"
    sentence = f"{told} no response yet. Write what was done, or save again to leave it open."
    return Stopped(Stop.UNANSWERED, sentence, waiting[0])
