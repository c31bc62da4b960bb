"""The printed handover: page 1 the whole shift at a glance, then the parts, readings, changes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from logbook.plant.localtime import to_local, zone_name
from logbook.report import parts
from logbook.report.glyphs import Json
from logbook.report.lanes import lanes_part
from logbook.report.parts import Content, Line, duration, joined, line, name_of, text_of, when
from logbook.report.readings import NO_EXTRAS, Extras, readings_part
from logbook.report.typeset import typeset

BRIEF = 150
"""Letters of a text on page 1; the whole of it stands in its part."""
UNSIGNED = {"outgoing": "NOT SIGNED", "incoming": "NOT TAKEN OVER", "review": "NOT REVIEWED"}
SIGNS = {
    "outgoing": "Handed over by",
    "incoming": "Taken over by",
    "review": "Reviewed by",
}


def handover_pdf(
    snapshot: Content,
    *,
    printed_at: datetime,
    extras: Extras = NO_EXTRAS,
    paper: str = "a4",
) -> bytes:
    """The PDF/A-2b of a handover.

    `snapshot` is the document of `logbook.shift.signed_json`; `extras` what the book adds to it.
    `printed_at` (aware) stands on each page. Raises ReportError.
    """
    data = document(snapshot, extras, printed_at)
    return typeset("handover", data, paper=paper, made_at=printed_at)


def document(snapshot: Content, extras: Extras, printed_at: datetime) -> dict[str, Json]:
    """Everything the template needs, ready to be printed."""
    content = snapshot["content"]
    zone = content["plant"]["time_zone"]
    signatures = list(snapshot.get("signatures", ()))
    questions = list(_questions(snapshot.get("checks", ())))
    return {
        "head": head_of(content, "Handover"),
        "foot": foot_of(snapshot.get("seal", ""), to_local(printed_at, zone)),
        "about": _about(content),
        "status": _status(signatures),
        "tiles": _tiles(content),
        "safety": [briefly(one) for one in parts.safety_lines(content)],
        "risks": [risk["text"] for risk in content["risks"]],
        "lanes": lanes_part(content, extras.areas_of),
        "matters": [briefly(one) for one in _matters(content)],
        "next": [
            briefly(one) for one in (*parts.duty_lines(content), *parts.remark_lines(content))
        ],
        "signatures": [signature_of(signatures, role) for role in ("outgoing", "incoming")],
        "content_hash": snapshot.get("content_hash", ""),
        "parts": parts.parts_of(content, questions),
        "readings": readings_part(content["readings"], extras),
        "changes": _changes(content, snapshot.get("changed", ())),
    }


def head_of(content: Content, title: str) -> dict[str, Json]:
    """Plant, title and span, as they stand at the head of every page."""
    shift = content["shift"]
    crew = name_of(shift["crew"]) or "no crew"
    span = f"{shift['date']} {shift['name']} {when(shift['start'])} to {when(shift['end'])}"
    return {"plant": content["plant"]["name"], "title": title, "span": f"{span}, {crew}"}


def foot_of(seal: str, printed: datetime) -> dict[str, Json]:
    """Last seal in short form and when it was printed (local), for the foot of every page."""
    return {
        "seal": f"last seal {seal}" if seal else "no seal",
        "printed": f"printed {printed:%Y-%m-%d %H:%M} {zone_name(printed)}",
    }


def signature_of(signatures: Iterable[Mapping[str, Any]], role: str) -> dict[str, Json]:
    """Who signed in a role and when, or that nobody did."""
    one = next((s for s in signatures if s["role"] == role), None)
    if one is None:
        return {"what": SIGNS[role], "missing": UNSIGNED[role]}
    at = one["at"]
    return {
        "what": SIGNS[role],
        "missing": "",
        "name": name_of(one["person"]),
        "role": str(one.get("person_role", "")),
        "at": at if isinstance(at, str) else when(at),
        "meaning": str(one.get("meaning", "")),
    }


def briefly(one: Line) -> Json:
    """A line for page 1: its texts shortened, nothing below it."""
    short = {key: _cut(str(one[key])) for key in ("head", "text")}
    return {**one, **short, "more": []}


def _cut(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= BRIEF else f"{text[: BRIEF - 1]}…"


def _about(content: Content) -> list[Json]:
    following = content["next_shift"]
    away = content["away"]
    missed = len(away["missed"])
    return [
        ["Crew", joined(name_of(content["shift"]["crew"]) or "none", ", ".join(name_of(p) for p in content["people"]), by=": ")],
        ["Takes over", joined(following["name"], name_of(following["crew"]) or "no crew rostered")],
        ["Away", joined(duration(away["minutes"]), f"{missed} shift{'s' * (missed != 1)} not here")],
        ["Mode", content["mode"]["name"]],
    ]  # fmt: skip


def _status(signatures: Sequence[Mapping[str, Any]]) -> dict[str, Json]:
    roles = {one["role"] for one in signatures}
    words = [UNSIGNED[role] for role in ("outgoing", "incoming") if role not in roles]
    return {"words": words, "settled": "" if words else "Signed and taken over"}


def _tiles(content: Content) -> list[Json]:
    lost, through = content["lost_time"], content["throughput"] or {}
    rounds = content["rounds"]
    done = sum(one["state"] in {"done", "none"} for one in rounds)
    opened = [*content["open_deviations"], *content["open_answers"]]
    action = sum(one["severity"] == "action" for one in opened)
    closed = len(content["closed_deviations"]) + len(content["closed_answers"])
    nominal = text_of(through.get("nominal"))
    rate = text_of(through.get("rate"))
    about = "about " if lost["is_estimate"] else ""
    by = "Lost, nominal rate" if lost["is_estimate"] else "Lost, bean counter"
    return [
        _tile("Crushed", text_of(through.get("total"), "not known"), f"{rate} of {nominal}" if nominal else rate),
        _tile(by if lost["lost"] else "Lost", about + text_of(lost["lost"], "not known"), f"line down {duration(lost['line_minutes'])}"),
        _tile("Rounds", f"{done} of {len(rounds)}", f"{content['reading_count']} readings"),
        _tile("Not taken", str(content["gaps"]["count"]), f"{len(content['corrections'])} corrected"),
        _tile("Open", str(len(opened)), f"{action} action, {len(opened) - action} warning"),
        _tile("Closed", str(closed), "deviations in the shift"),
    ]  # fmt: skip


def _tile(label: str, figure: str, below: str) -> dict[str, Json]:
    return {"label": label, "figure": figure, "below": below}


def _matters(content: Content) -> Iterable[Line]:
    """What is open, worst first: for page 1."""
    yield from parts.open_lines(content)
    yield from parts.not_available_lines(content)
    yield from (one for one in parts.item_lines(content) if one["tag"] != "closed")
    yield from (one for one in parts.lab_lines(content) if one["tag"])


def _questions(checks: Iterable[Mapping[str, Any]]) -> Iterable[Line]:
    for one in checks:
        if one["answer"] == "asked":
            at = one.get("at")
            label = at if isinstance(at, str) else when(at)
            yield line(one["title"], one["text"], when=label, more=[("", name_of(one["person"]))])


def _changes(content: Content, changed: Iterable[Mapping[str, Any]]) -> dict[str, Json]:
    return {
        "corrected": [
            [
                name_of(one["point"]),
                when(one["taken_at"]),
                text_of(one["before"]),
                text_of(one["after"], "withdrawn"),
                name_of(one["person"]),
                when(one["written_at"]),
                one["why"] or "",
            ]
            for one in content["corrections"]
        ],
        "late": [
            [
                when(one["taken_at"]),
                when(one["written_at"]),
                str(one["readings"]),
                name_of(one["person"]),
                one["note"],
            ]
            for one in content["late"]
        ],
        "doubtful": [
            [
                name_of(one["point"]),
                when(one["reading"]["taken_at"]),
                text_of(one["reading"]),
                name_of(one["reading"]["person"]),
                one["why"],
            ]
            for one in content["doubts"]
        ],
        "since": [_change(one) for one in changed],
    }


def _change(one: Mapping[str, Any]) -> list[Json]:
    """What was written after signing: as it was, as it is, who, when and why."""
    was = f"{one['old']} → {one['new']}" if one.get("old") else str(one.get("new") or "")
    what = joined(f"{one['subject']} at {when(one['at'])}", was, by=": ")
    late = "entered late" if one.get("late") else ""
    return [
        when(one["written_at"]),
        f"{what} ({joined(str(one['how']), late)})",
        name_of(one["person"]),
        one["why"] or "",
    ]
