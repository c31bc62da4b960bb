"""What the person who takes over reads one by one: safety states, open action deviations."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import cast

from logbook.record import HandoverCheck, SafetyState
from logbook.shift.json_words import Json
from logbook.shift.risks import TO_CONFIRM

OTHERS = ("relief:", "missed:", "unproven:")
"""How the subjects of checks begin that are none of the handover of the shift."""


@dataclass(frozen=True, slots=True)
class Subject:
    """One thing to be read, and then accepted or asked about."""

    key: str
    title: str
    text: str


def subjects_of(content: Json) -> tuple[Subject, ...]:
    """The subjects of a handover's content: safety states first, then what is in action."""
    return (
        *(_safety(one) for one in _dicts(content, "safety")),
        *(_deviation(d) for d in _dicts(content, "open_deviations") if _is_own_action(d)),
        *(_answer(a) for a in _dicts(content, "open_answers") if a["severity"] == "action"),
        *_risks(content),
    )


def _risks(content: Json) -> Iterator[Subject]:
    """What makes it a handover of higher risk and is no subject by itself."""
    for number, one in enumerate(_dicts(content, "risks")):
        if one["kind"] in TO_CONFIRM:
            key = f"risk:{one['kind']}:{number}"
            yield Subject(key, f"Needs more care: {one['text']}", "Talk it over, then confirm it.")


def is_of_handover(check: HandoverCheck) -> bool:
    """False of checks that belong to a relief, to missed shifts, or to who wrote unproven."""
    return not check.subject.startswith(OTHERS)


def safety_since(states: Iterable[SafetyState], known: Iterable[Subject]) -> tuple[Subject, ...]:
    """Safety states that came after the handover was signed: they are read as well."""
    keys = {subject.key for subject in known}
    found = [state for state in states if safety_key(state.id) not in keys]
    return tuple(
        Subject(safety_key(state.id), f"{state.kind.capitalize()}: {state.what}", "New since then.")
        for state in found
    )


def unanswered(
    subjects: Iterable[Subject], checks: Iterable[HandoverCheck], person: str
) -> tuple[Subject, ...]:
    """The subjects that this person has neither read, accepted nor asked about."""
    answered = {check.subject for check in checks if check.person == person}
    return tuple(subject for subject in subjects if subject.key not in answered)


def safety_key(state_id: int) -> str:
    """Key of the subject that a safety state is."""
    return f"safety:{state_id}"


def _dicts(content: Json, key: str) -> Iterator[dict[str, object]]:
    yield from cast("list[dict[str, object]]", content[key])


def _is_own_action(deviation: Mapping[str, object]) -> bool:
    return deviation["severity"] == "action" and not deviation["follows"]


def _text(value: object, key: str) -> str:
    return str(cast("Mapping[str, object]", value)[key]) if value else ""


def _safety(one: Mapping[str, object]) -> Subject:
    place, until = str(one["place"]), _text(one["until_at"], "label")
    parts = [
        place,
        f"since {_text(one['at'], 'label')}",
        f"until {until}{', run out' if one['expired'] else ''}" if until else "no time limit",
        f"authorised by {one['authorised_by']}" if one["authorised_by"] else "",
    ]
    title = f"{str(one['kind']).capitalize()}: {one['what']}"
    return Subject(f"safety:{one['id']}", title, ", ".join(part for part in parts if part))


def _deviation(one: Mapping[str, object]) -> Subject:
    done = cast("list[str]", one["responses"])
    told = f"done: {'; '.join(done)}" if done else "no response written"
    text = f"last {_text(one['last'], 'text')} at {_text(one['last_at'], 'label')}"
    text += f" ({one['judgement']}), {told}"
    key = _text(one["point"], "key")
    return Subject(f"deviation:{key}", _text(one["point"], "name"), text)


def _answer(one: Mapping[str, object]) -> Subject:
    done = cast("list[str]", one["responses"])
    told = f"done: {'; '.join(done)}" if done else "no response written"
    key = _text(one["point"], "key")
    return Subject(
        f"answer:{key}", _text(one["point"], "name"), f"{_text(one['reading'], 'text')}, {told}"
    )
