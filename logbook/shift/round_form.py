"""One round being filled in: what is typed, how it is judged, and what a save will write.

No Qt and no SQL: the Round screen shows a `RoundForm`, `logbook.shift.round_book` fills
it from the book and writes it back, and tests drive it directly.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from logbook.assess.limits import Judgement, Severity
from logbook.plant.model import NO_LIMITS, Limits, Plant, Point, PointKind
from logbook.record import DraftField
from logbook.shift.answer import EMPTY, Entry, Question, judge_answer, read_entry
from logbook.shift.derive import Deriver

MISSING_REASONS: Mapping[str, str] = {
    "not_sampled": "not sampled",
    "machine_down": "machine down",
    "instrument_fault": "instrument fault",
    "not_safe": "not safe to take",
}
"""Key kept in the book and words shown, in the order of their number keys."""


@dataclass(frozen=True, slots=True)
class LastReading:
    """The reading before this round: number or answer key, and when it was true."""

    taken_at: datetime
    value: float | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True)
class SavedReading:
    """What the book already holds for this round."""

    id: int
    value: float | None
    text: str | None
    reason: str | None
    typed: str
    person: str
    written_at: datetime
    late: bool = False
    was: str = ""
    """What stood there before it was corrected, in words; empty where it never was."""

    @property
    def corrected(self) -> bool:
        """True where it stands in the place of an earlier reading."""
        return bool(self.was)


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field as shown: the point, what bears on it, and what stands in it."""

    point: Point
    limits: Limits = NO_LIMITS
    last: LastReading | None = None
    saved: SavedReading | None = None
    due: bool = True
    told: str = ""
    """What the empty field says where it is not due, such as "once a shift, read 06:00"."""
    off_duty: str = ""
    """Why the book says that it is neither due nor judged, in words; empty where it is."""
    stopped: str = ""
    """The state of its machine, where that means that it does not run."""
    carried: str = ""
    """Of a machine's state: the answer read before this round that still stops the machine."""
    taken_back: int | None = None
    """The row with which its reading was taken back; a new one stands in its place."""
    entry: Entry = EMPTY

    @property
    def not_due(self) -> str:
        """Why it cannot be due, in words; empty where it can be read."""
        return self.off_duty or self.stopped

    @property
    def judgement(self) -> Judgement:
        """How what stands in the field is judged."""
        return self.entry.judgement

    @property
    def is_done(self) -> bool:
        """True where a value or a reason stands, saved or typed."""
        return self.saved is not None or self.entry.is_taken

    @property
    def wants_response(self) -> bool:
        """True where an action limit is passed by what is typed and not yet saved."""
        return (
            self.saved is None
            and self.entry.is_taken
            and self.judgement.severity is Severity.ACTION
            and self.point.kind.is_typed
        )

    @property
    def response(self) -> str:
        """What a save writes beside the reading: nothing where the value is within limits."""
        told = self.saved is None and self.entry.is_taken and self.judgement.is_out
        return self.entry.response.strip() if told and self.point.kind.is_typed else ""


@dataclass(frozen=True, slots=True)
class AreaProgress:
    """How far a round is in one area and what is wrong in it."""

    due: int
    done: int
    missing: int
    warnings: int
    actions: int
    unsettled: int
    unanswered: int
    down: str = ""

    @property
    def is_complete(self) -> bool:
        """True where every due field has a value or a reason and nothing is unsettled."""
        return self.done >= self.due and self.unsettled == 0


@dataclass(frozen=True, slots=True)
class _Step:
    """One undoable change: the entries before it."""

    before: Mapping[str, Entry]


@dataclass(slots=True)
class RoundForm:
    """A round at `taken_at`; mutable, but every field in it is a frozen `Field`.

    `round_at` is the round it counts for, None for readings outside the rounds.
    """

    plant: Plant
    taken_at: datetime
    round_at: datetime | None
    mode: str
    fields: dict[str, Field]
    counters_before: Mapping[str, LastReading] = field(default_factory=dict)
    pairs_before: Mapping[str, Mapping[str, LastReading]] = field(default_factory=dict)
    """For a quotient of two counters that were not last read together: when they were."""
    note: str = ""
    _undo: list[_Step] = field(default_factory=list)
    _redo: list[dict[str, Entry]] = field(default_factory=list)
    _merging: str | None = None
    _of_area: dict[str, list[str]] = field(default_factory=dict)
    _deriver: Deriver = field(init=False)

    def __post_init__(self) -> None:
        """Work out the computed points of what the book already holds."""
        for key, shown in self.fields.items():
            self._of_area.setdefault(shown.point.area, []).append(key)
        self._deriver = Deriver.of(self.plant)
        self._stop_machines(list(self.fields))
        self._derive(self._deriver.all_outputs)

    # -- typing ---------------------------------------------------------------------------

    def type(self, key: str, typed: str) -> frozenset[str]:
        """Put `typed` into a field. Returns the keys that changed, computed ones included."""
        entry = self._read(key, typed, replace(self.fields[key].entry, confirmed=False))
        return self._change({key: entry}, merges=True)

    def confirm(self, key: str) -> frozenset[str]:
        """Take an implausible value as typed. Does nothing where nothing is asked."""
        entry = self.fields[key].entry
        if entry.question is None or not entry.question.can_confirm:
            return frozenset()
        confirmed = self._read(key, entry.typed, replace(entry, confirmed=True))
        return self._change({key: confirmed})

    def give_reason(self, key: str, reason: str) -> frozenset[str]:
        """Record why a reading cannot be taken; `reason` is a key of MISSING_REASONS or words."""
        if not reason.strip():
            raise ValueError("a reason for a missing reading cannot be blank")
        return self._change({key: Entry(reason=reason.strip())})

    def clear(self, key: str) -> frozenset[str]:
        """Empty a field."""
        return self._change({key: EMPTY})

    def respond(self, key: str, text: str) -> frozenset[str]:
        """Write what was done about a deviation."""
        entry = replace(self.fields[key].entry, response=text)
        return self._change({key: entry}, merges=True, slot=f"{key}/response")

    def fill(self, texts: Mapping[str, str]) -> frozenset[str]:
        """Put several texts in at once (a pasted block); one undo takes all of them back."""
        entries = {key: self._read(key, text, EMPTY) for key, text in texts.items()}
        return self._change(entries)

    def settle(self) -> None:
        """Close the current run of typing, so that the next key starts a new undo step."""
        self._merging = None

    def undo(self) -> frozenset[str]:
        """Take the last change back."""
        if not self._undo:
            return frozenset()
        step = self._undo.pop()
        self._redo.append({key: self.fields[key].entry for key in step.before})
        self._merging = None
        return self._put(step.before)

    def redo(self) -> frozenset[str]:
        """Make the last undone change again."""
        if not self._redo:
            return frozenset()
        after = self._redo.pop()
        before = {key: self.fields[key].entry for key in after}
        self._undo.append(_Step(before))
        self._merging = None
        return self._put(after)

    @property
    def can_undo(self) -> bool:
        """True where a change can be taken back."""
        return bool(self._undo)

    @property
    def can_redo(self) -> bool:
        """True where an undone change can be made again."""
        return bool(self._redo)

    # -- asking ---------------------------------------------------------------------------

    def is_open(self, key: str) -> bool:
        """True where the field can be typed in: typed kind, not saved, not silenced."""
        shown = self.fields[key]
        return shown.point.kind.is_typed and shown.saved is None and not shown.not_due

    def holds(self, key: str) -> bool:
        """True where a field may hold something unsaved, if only while its machine stands."""
        shown = self.fields[key]
        return shown.point.kind.is_typed and shown.saved is None and not shown.off_duty

    def progress(self, area: str) -> AreaProgress:
        """How far the round is in `area`."""
        fields = [self.fields[key] for key in self._of_area.get(area, ())]
        typed = [f for f in fields if f.point.kind.is_typed and not f.not_due]
        severities = [f.judgement.severity for f in fields if not f.not_due]
        reasons = {f.not_due for f in fields if f.not_due and f.point.kind.is_typed}
        return AreaProgress(
            due=sum(f.due for f in typed),
            done=sum(f.due and f.is_done for f in typed),
            missing=sum(_is_missing(f) for f in typed),
            warnings=severities.count(Severity.WARNING),
            actions=severities.count(Severity.ACTION),
            unsettled=sum(f.entry.question is not None and f.saved is None for f in typed),
            unanswered=sum(f.wants_response and not f.entry.response.strip() for f in typed),
            down=next(iter(reasons)) if fields and not typed and len(reasons) == 1 else "",
        )

    def unsettled(self) -> list[str]:
        """Keys of open fields whose text could not be taken yet, in form order."""
        return [
            key
            for key, shown in self.fields.items()
            if shown.entry.question is not None and self.is_open(key)
        ]

    def open_keys(self) -> list[str]:
        """Keys of due fields still without value or reason, in form order."""
        return [
            key
            for key, shown in self.fields.items()
            if shown.due and self.is_open(key) and not shown.is_done
        ]

    def taken(self) -> list[Field]:
        """Fields that a save will write, in form order."""
        return [
            shown
            for key, shown in self.fields.items()
            if self.is_open(key) and shown.entry.is_taken
        ]

    @property
    def has_entries(self) -> bool:
        """True where something typed is not saved yet."""
        return any(
            shown.saved is None and shown.entry != EMPTY and shown.point.kind.is_typed
            for shown in self.fields.values()
        )

    # -- the draft ------------------------------------------------------------------------

    def restore(self, drafts: Iterable[DraftField]) -> frozenset[str]:
        """Put a kept draft back; fields that can no longer be typed in are left out."""
        found: dict[str, Entry] = {}
        for draft in drafts:
            if draft.point not in self.fields or not self.holds(draft.point):
                continue
            if draft.reason:
                found[draft.point] = Entry(reason=draft.reason, response=draft.response)
                continue
            base = Entry(confirmed=draft.confirmed, response=draft.response)
            found[draft.point] = self._read(draft.point, draft.typed, base)
        return self._put(found)

    # -- inside ---------------------------------------------------------------------------

    def _read(self, key: str, typed: str, base: Entry) -> Entry:
        shown = self.fields[key]
        return read_entry(
            shown.point,
            shown.limits,
            typed,
            base,
            last=shown.last.value if shown.last else None,
            decimal_comma=self.plant.settings.decimal_comma,
        )

    def _change(
        self, entries: Mapping[str, Entry], *, merges: bool = False, slot: str | None = None
    ) -> frozenset[str]:
        entries = {k: e for k, e in entries.items() if self.is_open(k)}
        before = {k: self.fields[k].entry for k in entries if self.fields[k].entry != entries[k]}
        if not before:
            return frozenset()
        slot = slot or next(iter(entries))
        if not (merges and self._merging == slot):
            self._undo.append(_Step(before))
        self._merging = slot if merges else None
        self._redo.clear()
        if all(self._undo[-1].before.get(k) == e for k, e in entries.items()):
            # Typed back to what stood there: a step that undoes nothing would only puzzle.
            self._undo.pop()
            self._merging = None
        return self._put(entries)

    def _put(self, entries: Mapping[str, Entry]) -> frozenset[str]:
        for key, entry in entries.items():
            self.fields[key] = replace(self.fields[key], entry=entry)
        changed = frozenset(entries) | self._stop_machines(entries)
        return changed | self._derive(self._deriver.outputs_of(changed))

    def _stop_machines(self, keys: Iterable[str]) -> frozenset[str]:
        """Follow machine states among `keys`: a machine that stands is not read."""
        points = (self.fields[key].point for key in keys)
        machines = {p.equipment for p in points if p.kind is PointKind.STATE} - {None}
        stops = {machine: self._stop_of(machine) for machine in machines}
        changed = set()
        for key, shown in self.fields.items():
            machine, is_state = shown.point.equipment, shown.point.kind is PointKind.STATE
            if is_state or machine not in stops or shown.saved is not None:
                continue
            if shown.stopped != stops[machine]:
                self.fields[key] = replace(shown, stopped=stops[machine])
                changed.add(key)
        return frozenset(changed)

    def _stop_of(self, machine: str | None) -> str:
        """Why a machine stands by any of its states, in words; empty where it runs."""
        for shown in self.fields.values():
            if shown.point.kind is not PointKind.STATE or shown.point.equipment != machine:
                continue
            answer = shown.saved.text if shown.saved else (shown.entry.text or shown.carried)
            choice = shown.point.choice(answer) if answer else None
            if choice is not None and choice.means_down:
                return choice.name.lower()
        return ""

    def _derive(self, outputs: Sequence[str]) -> frozenset[str]:
        """Recompute the computed points in `outputs`; returns those that changed."""
        changed = set()
        for key in outputs:
            shown = self.fields[key]
            value = self._deriver.value(key, self._number_of, self._before_of)
            limits = NO_LIMITS if shown.not_due else shown.limits
            entry = judge_answer(shown.point, limits, value)
            if entry != shown.entry:
                self.fields[key] = replace(shown, entry=entry)
                changed.add(key)
        return frozenset(changed)

    def _number_of(self, key: str) -> float | None:
        shown = self.fields.get(key)
        if shown is None or shown.not_due:
            return None
        if shown.saved is not None:
            return shown.saved.value
        return shown.entry.value if shown.entry.is_taken else None

    def _before_of(self, key: str, counter: str) -> tuple[float, float] | None:
        """Last counter value and hours since, or None."""
        last = self.pairs_before.get(key, self.counters_before).get(counter)
        if last is None or last.value is None:
            return None
        return last.value, (self.taken_at - last.taken_at).total_seconds() / 3600


def _is_missing(shown: Field) -> bool:
    if shown.saved is not None:
        return shown.saved.reason is not None
    return shown.entry.reason is not None


def describe_reason(reason: str) -> str:
    """The words for a missing reading's reason."""
    return MISSING_REASONS.get(reason, reason)


__all__ = [
    "MISSING_REASONS",
    "AreaProgress",
    "Field",
    "LastReading",
    "PointKind",
    "Question",
    "RoundForm",
    "SavedReading",
    "describe_reason",
]
