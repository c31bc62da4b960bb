"""Doubtful entries, as lines of text and as plain data: questions, never accusations."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime

from logbook.assess.doubtful.mistypes import LEAST_ODDS
from logbook.assess.doubtful.question import FALSE_SHARE, Doubt, Question
from logbook.plant.localtime import to_local
from logbook.plant.model import Plant
from logbook.shift.doubtful import DoubtfulFound
from logbook.shift.drift_words import moment_text
from logbook.shift.words import person_name, point_name

WIDTH = 110
POINTS_NAMED = 3
Json = dict[str, object]
CAUTION = (
    "These are questions, not findings about anybody. An honest round can look like each of them; "
    "ask first, and look at the gauge."
)
CORRECTED = (
    f"Of questions about rounds, repeats and digits {FALSE_SHARE:.0%} at most are expected to be "
    "chance alone (Benjamini-Hochberg, kind by kind); of those about single numbers one in "
    f"{LEAST_ODDS + 1:.0f} at most."
)


def text_lines(found: DoubtfulFound) -> list[str]:
    """The whole as lines of at most 110 characters, kind by kind."""
    plant = found.plant
    first, last = moment_text(plant, found.start), moment_text(plant, found.end)
    head = f"{plant.name}: numbers worth a question, {first} to {last}"
    looked = f"{found.rounds} rounds and {found.readings} readings looked at"
    lines = _wrapped(f"{head}; {looked}")
    if not found.questions:
        return [*lines, "", "No question."]
    for doubt in Doubt:
        questions = [one for one in found.questions if one.doubt is doubt]
        if questions:
            lines += ["", doubt.value.upper(), *_wrapped(f"  {questions[0].innocent}", "  ")]
            lines += [line for one in questions for line in _told(found, one)]
    by_shift = list(_shifts(found))
    lines += ["", *by_shift] if by_shift else []
    return [*lines, "", *_wrapped(CAUTION), *_wrapped(CORRECTED)]


def subject(plant: Plant, one: Question) -> str:
    """What a question is about, in words: a point, a sheet, or the round."""
    by_key = {point.key: point for point in plant.points}
    if one.doubt in {Doubt.COPIED, Doubt.PACE}:
        area = next((a.name for a in plant.areas if a.key == one.area), "")
        return f"the round, {area}" if area else "the round"
    names = [point_name(plant, by_key[key]) for key in one.points if key in by_key]
    if len(names) > POINTS_NAMED:
        return f"{names[0]} and {len(names) - 1} more"
    return " and ".join(names)


def when(plant: Plant, one: Question) -> str:
    """The round, or the first and the last of several, in local time."""
    first = moment_text(plant, datetime.fromtimestamp(one.at, UTC))
    if one.until == one.at:
        return first
    return f"{first} to {moment_text(plant, datetime.fromtimestamp(one.until, UTC))}"


def as_json(found: DoubtfulFound) -> Json:
    """The whole as plain data; persons only where the supervisor asked."""
    return {
        "plant": found.plant.name,
        "from": to_local(found.start, found.plant.time_zone).isoformat(),
        "to": to_local(found.end, found.plant.time_zone).isoformat(),
        "rounds": found.rounds,
        "readings": found.readings,
        "questions": [_json(found, one) for one in found.questions],
        "caution": CAUTION,
        "correction": CORRECTED,
    }


def _told(found: DoubtfulFound, one: Question) -> Iterator[str]:
    plant = found.plant
    name = f" ({person_name(plant, one.person)})" if one.person is not None else ""
    yield from _wrapped(
        f"  {when(plant, one)}  {subject(plant, one)}{name}: {one.evidence}.", "    "
    )
    yield from _wrapped(f"    {one.question} {_weight(one)}", "    ")


def _weight(one: Question) -> str:
    if one.odds is not None:
        return f"[{min(one.odds, 1e6):.0f} to 1, of {one.looked_at} readings]"
    return (
        f"[p {one.p_value or 0.0:.1g}, adjusted {one.adjusted:.1g} for {one.looked_at} looked at]"
    )


def _shifts(found: DoubtfulFound) -> Iterator[str]:
    """How the questions fall on the sorts of shift: by shift, not by person."""
    counts = Counter(found.shift_of(one) for one in found.questions if one.until == one.at)
    told = ", ".join(f"{name} {counts[name]}" for name in sorted(counts))
    if told:
        yield f"Questions about single rounds by shift: {told}."


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)


def _json(found: DoubtfulFound, one: Question) -> Json:
    zone = found.plant.time_zone
    told: Json = {
        "kind": one.doubt.value,
        "points": list(one.points),
        "area": one.area,
        "about": subject(found.plant, one),
        "at": to_local(datetime.fromtimestamp(one.at, UTC), zone).isoformat(),
        "until": to_local(datetime.fromtimestamp(one.until, UTC), zone).isoformat(),
        "shift": found.shift_of(one),
        "evidence": one.evidence,
        "question": one.question,
        "innocent": one.innocent,
        "p_value": one.p_value,
        "odds": one.odds,
        "adjusted": one.adjusted,
        "looked_at": one.looked_at,
        "meant": list(one.meant),
    }
    if found.has_names:
        told["person"] = one.person
    return told
