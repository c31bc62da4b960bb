"""The parts of a handover as lines to print, in their fixed order.

They are made from the plain data that is frozen when a handover is signed
(`logbook.shift.handover_json`) and from nothing else, so that a stored snapshot prints as it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from logbook.report.glyphs import Json

Content = Mapping[str, Any]
"""A piece of a snapshot."""


Line = dict[str, Json]
"""One matter, ready for the template; see `line`."""


def line(
    head: str,
    text: str = "",
    *,
    when: str = "",
    mark: str = "",
    tag: str = "",
    more: Iterable[tuple[str, str]] = (),
) -> Line:
    """One matter: mark, time, a name, what is to be said, a loud word, and (what, text) below."""
    below: list[Json] = [{"what": what, "text": told} for what, told in more if told]
    return {"head": head, "text": text, "when": when, "mark": mark, "tag": tag, "more": below}


def parts_of(content: Content, questions: Iterable[Line] = ()) -> list[Json]:
    """All parts, also those with nothing in them, each with its number."""
    made = [
        ("Safety states handed over", "none stated", safety_lines(content)),
        ("Open deviations", "none", open_lines(content)),
        ("Deviations closed in this shift", "none", closed_lines(content)),
        ("Equipment not available", "none", not_available_lines(content)),
        ("Rounds and readings missed", "none missed", gap_lines(content)),
        ("Downtime and lost throughput", "no downtime", down_lines(content)),
        ("Throughput of the shift", "no counter read", throughput_lines(content)),
        ("Laboratory", "no result came, no sample waits", lab_lines(content)),
        ("Tank levels", "none read", tank_lines(content)),
        ("Open items", "none", item_lines(content)),
        ("Limits changed", "none", limit_lines(content)),
        ("Corrections and late entries", "none", change_lines(content)),
        ("What the next shift must do", "nothing stated", duty_lines(content)),
        ("Standing instructions", "none", instruction_lines(content)),
        ("Log of the shift", "no entry", entry_lines(content)),
        ("Remarks of the crew", "none", remark_lines(content)),
        ("Questions of the crew that takes over", "none asked", questions),
    ]
    return [
        {"no": no, "title": title, "none": none, "lines": list(lines)}
        for no, (title, none, lines) in enumerate(made, start=1)
    ]


# -- helpers ------------------------------------------------------------------------------


def when(one: Content | None) -> str:
    """The label of a time; empty where there is none."""
    return str(one["label"]) if one else ""


def text_of(one: Content | None, none: str = "") -> str:
    """The text of a value; `none` where there is none."""
    return str(one["text"]) if one else none


def name_of(one: Content | str | None) -> str:
    """The name of a person, a crew or a point."""
    if one is None:
        return ""
    return one if isinstance(one, str) else str(one["name"])


def mark_of(one: Content) -> str:
    """The mark's name for a severity and a direction."""
    severity, direction = one.get("severity", "none"), one.get("direction", "none")
    if severity == "none":
        return ""
    return severity if direction == "none" else f"{severity}-{direction}"


def joined(*texts: str, by: str = ", ") -> str:
    """The texts that are not empty, in one."""
    return by.join(text for text in texts if text)


def duration(minutes: float | None) -> str:
    """A span such as "1 h 20 min"; empty for None."""
    if minutes is None:
        return ""
    hours, rest = divmod(round(minutes), 60)
    return joined(f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "", by=" ")


def _said(one: Content) -> list[tuple[str, str]]:
    return [("done", told) for told in one.get("responses", ())]


# -- the parts ----------------------------------------------------------------------------


def safety_lines(content: Content) -> Iterator[Line]:
    """Open safety states, then those cleared in the shift; the crew's word that there is none."""
    for one in content.get("safety", ()):
        yield _safety(one, "EXPIRED" if one.get("expired") else "OPEN")
    for one in content.get("safety_cleared", ()):
        yield _safety(one, "cleared")
    said = content.get("notes", {}).get("no_safety")
    if said and not content.get("safety"):
        yield line("No safety state to hand over", said["text"], more=_by(said))


def _safety(one: Content, tag: str) -> Line:
    until = when(one.get("until_at"))
    by = one.get("authorised_by", "")
    return line(
        joined(str(one["kind"]), one.get("place", ""), by=", "),
        str(one["what"]),
        when=when(one.get("at")),
        tag=tag,
        mark="safety" if tag != "cleared" else "",
        more=[
            ("", joined(f"until {until}" if until else "no end set", f"authorised by {by}" if by else "",
                        f"entered by {name_of(one.get('person'))}" if one.get("person") else "")),
            *_events(one),
        ],
    )  # fmt: skip


def _events(one: Content) -> list[tuple[str, str]]:
    return [
        (
            joined(when(event.get("at")), str(event.get("kind", "")), by=" "),
            joined(str(event.get("text", "")), name_of(event.get("person")), by=" – "),
        )
        for event in one.get("events", ())
    ]


def _by(said: Content) -> list[tuple[str, str]]:
    return [("", joined(name_of(said.get("person")), when(said.get("at"))))]


def open_lines(content: Content) -> Iterator[Line]:
    """Deviations and answers that are not back to normal at the end of the shift."""
    for one in content["open_deviations"]:
        yield _deviation(one, content.get("repeats", {}))
    for one in content["open_answers"]:
        yield _answer(one)


def closed_lines(content: Content) -> Iterator[Line]:
    """Deviations and answers of the shift that are back to normal."""
    for one in content["closed_deviations"]:
        yield _deviation(one, content.get("repeats", {}))
    for one in content["closed_answers"]:
        yield _answer(one)


def _deviation(one: Content, repeats: Mapping[str, int]) -> Line:
    is_open = one["end"] is None and one["closing"] == "still open"
    times = repeats.get(one["point"]["key"], 0)
    again = f"{times} time{'s' * (times > 1)} out in the week before" if times else ""
    span = f"{one['closing']}{' ' + when(one['end']) if one['end'] else ''}"
    values = f"last {text_of(one['last'])} at {when(one['last_at'])}" if is_open else ""
    is_worst = is_open and one["worst_at"] == one["last_at"]
    worst = "" if is_worst else f"worst {text_of(one['worst'])} at {when(one['worst_at'])}"
    nothing = "" if one["responses"] or not is_open else "no response written"
    return line(
        name_of(one["point"]),
        joined(one["judgement"], values, worst, span, again, nothing, by="; "),
        when=when(one["start"]),
        mark=mark_of(one),
        more=_said(one),
    )


def _answer(one: Content) -> Line:
    times = one["readings"]
    return line(
        name_of(one["point"]),
        joined(
            one["severity"], text_of(one["reading"]), f"read {times} times" if times > 1 else ""
        ),
        when=when(one["reading"]["taken_at"]),
        mark=mark_of(one),
        more=_said(one),
    )


def not_available_lines(content: Content) -> Iterator[Line]:
    """What still stands, since when and why."""
    for one in content["not_available"]:
        yield line(
            one["name"], one["reason"] or "no reason given", when=when(one["start"]), tag="DOWN"
        )


def gap_lines(content: Content) -> Iterator[Line]:
    """Readings not taken, as few lines as tell all of them."""
    for one in content["gaps"]["lines"]:
        yield line("", one["text"], when=one["when"], mark="missing")


def down_lines(content: Content) -> Iterator[Line]:
    """Each stop, then what all of them cost."""
    lost = content["lost_time"]
    for one in lost["downs"]:
        ends = "runs on" if one["runs_on"] else f"to {when(one['end'])}"
        yield line(
            one["name"],
            joined(f"{duration(one['minutes'])} in this shift", ends, one["reason"]),
            when=when(one["start"]),
        )
    if lost["downs"]:
        about = "about " if lost["is_estimate"] else ""
        slow = text_of(lost["slow"])
        yield line(
            "Lost at the nominal rate" if lost["is_estimate"] else "Lost by the bean counter",
            joined(
                f"line down {duration(lost['line_minutes'])}" if lost["line_minutes"] else "the line went on",
                f"{about}{text_of(lost['lost'], 'how much is not known')}",
                f"{slow} by running slower" if slow else "",
            ),
        )  # fmt: skip


def throughput_lines(content: Content) -> Iterator[Line]:
    """Tonnes and rate by the bean counter."""
    one = content["throughput"]
    if not one or not one["total"]:
        return
    rate = f"{text_of(one['rate'])}" + (f" of {text_of(one['nominal'])}" if one["nominal"] else "")
    yield line(
        name_of(one["counter"]),
        joined(text_of(one["total"]), f"{rate} over {one['hours']:.1f} h" if one["rate"] else ""),
        when=when(one["start"]),
    )
    for gap in one["unknown"]:
        yield line(
            "", f"not known to {when(gap['end'])}: the counter fell", when=when(gap["start"])
        )


def lab_lines(content: Content) -> Iterator[Line]:
    """Samples that wait, the results that came."""
    for one in content["lab"]["waiting"]:
        yield line(
            one["label"],
            joined(one["sampling_point"], f"waiting {duration(one['minutes'])}"),
            when=when(one["taken_at"]),
            tag="OVERDUE" if one["overdue"] else "WAITING",
        )
    for one in content["lab"]["results"]:
        word = mark_of(one).replace("-", " ")
        yield line(
            name_of(one["point"]),
            joined(text_of(one["reading"]), word, one["sample"] or ""),
            when=when(one["reading"]["taken_at"]),
            mark=mark_of(one),
        )


def tank_lines(content: Content) -> Iterator[Line]:
    """What stands in the tanks."""
    for one in content["tanks"]:
        if one["reading"] is None:
            yield line(name_of(one["point"]), "never read")
            continue
        change = one["change"]
        more = "+" if change and change["value"] > 0 else ""
        yield line(
            name_of(one["point"]),
            joined(
                text_of(one["reading"]),
                text_of(one["volume"]),
                f"{more}{text_of(change)} since the last dip before" if change else "",
                "not dipped in this shift" if one["from_before"] else "",
            ),
            when=when(one["reading"]["taken_at"]),
        )


def item_lines(content: Content) -> Iterator[Line]:
    """Open items with what was done so far, then those closed in the shift."""
    for one in content.get("items", ()):
        due = when(one.get("due_at"))
        owner = name_of(one.get("owner"))
        told = joined(f"owner {owner}" if owner else "", f"due {due}" if due else "")
        yield line(
            one.get("place", ""),
            one["text"],
            when=when(one.get("at")),
            tag="OVERDUE" if one.get("overdue") else "",
            more=[("", told), *_events(one)],
        )
    for one in content.get("items_closed", ()):
        yield line(
            one.get("place", ""),
            one["text"],
            when=when(one.get("at")),
            tag="closed",
            more=_events(one),
        )


def limit_lines(content: Content) -> Iterator[Line]:
    """Limits as they were and as they are."""
    for one in content["limit_changes"]:
        yield line(
            name_of(one["point"]),
            one["reason"],
            when=when(one["effective_from"]),
            more=[
                ("before", one["before"] or "none"),
                ("after", one["after"] or "none"),
                ("", joined(name_of(one["person"]), f"mode {one['mode']}")),
            ],
        )


def change_lines(content: Content) -> Iterator[Line]:
    """How many; the whole of them stands on the last page."""
    count, late, doubts = (len(content[key]) for key in ("corrections", "late", "doubts"))
    told = joined(
        f"{count} corrected" if count else "",
        f"{sum(one['readings'] for one in content['late'])} readings entered late" if late else "",
        f"{doubts} doubtful" if doubts else "",
    )
    if told:
        yield line("", f"{told}: each of them on the last page")


def duty_lines(content: Content) -> Iterator[Line]:
    """What must be done, by when; then the crew's own words."""
    for one in content["next_duties"]:
        if one["kind"] == "note":  # the crew's own words, which follow with who wrote them
            continue
        who = name_of(one.get("person"))
        yield line(
            "", one["text"], when=when(one["due_at"]), more=[("", f"by {who}" if who else "")]
        )
    notes = content.get("notes", {})
    for key in ("next_shift", "no_next"):
        if said := notes.get(key):
            yield line("In the crew's words", said["text"], more=_by(said))


def instruction_lines(content: Content) -> Iterator[Line]:
    """Instructions in force, and who has not read them."""
    for one in content.get("instructions", ()):
        unread = ", ".join(name_of(person) for person in one.get("unread", ()))
        ends = when(one.get("valid_to"))
        yield line(
            one.get("place", ""),
            one["text"],
            when=when(one.get("valid_from")),
            more=[
                ("", joined(f"until {ends}" if ends else "", name_of(one.get("person")))),
                ("not yet read by", unread),
            ],
        )


def entry_lines(content: Content) -> Iterator[Line]:
    """Log entries and changes of mode, in order of time."""
    for one in content["mode_changes"]:
        yield line(f"Mode {one['name']}", one["reason"], when=when(one["start"]))
    for one in content["entries"]:
        yield line(
            joined(one["kind"], one["place"]),
            one["text"] or "",
            when=when(one["at"]),
            tag="corrected" if one["corrected"] else "",
            more=[("", joined(name_of(one["person"]), one["why"] or "", by=": "))],
        )


def remark_lines(content: Content) -> Iterator[Line]:
    """What the crew adds in its own words."""
    if said := content.get("notes", {}).get("remarks"):
        yield line("", said["text"], more=_by(said))
