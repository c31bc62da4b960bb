"""How wrong tries of a person are slowed down, and when the person is locked out for a time.

The book keeps every try, so a restart of the program forgets none. What counts are the wrong
tries since the last right one, however long ago: the third is followed by a wait of 1 s, each
further one by twice as much, and from the eighth on by 15 minutes each, so that nobody gets more
than about a hundred tries a day (NIST SP 800-63B asks for at most 100 in a row before more is
done; the doubling wait is one of the OWASP Authentication cheat sheet). A new PIN given by
somebody else ends it.

Waits are measured by a clock that nobody can set. The book's clock is asked only for how much of
a wait is left when the program first sees it, and never for more than the whole wait: setting the
PC's clock back makes no wait longer than it is, setting it forward ends none while the program
runs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

FREE_TRIES = 2
LOCK_AT = 8
LOCK_SECONDS = 900.0

WRONG = "wrong"
CLEARS = frozenset({"signed_on", "changed"})
"""A right secret was given, or a new one was set."""


@dataclass(frozen=True, slots=True)
class Try:
    """What bears on the throttle: a row of the book, its seat, its instant, what it was."""

    id: int
    seat: int
    at: datetime
    kind: str


@dataclass(frozen=True, slots=True)
class Standing:
    """Wrong tries in a row, and the last of them."""

    count: int = 0
    last: Try | None = None


def wait_after(count: int) -> float:
    """Seconds to wait after so many wrong tries in a row."""
    if count <= FREE_TRIES:
        return 0.0
    if count >= LOCK_AT:
        return LOCK_SECONDS
    return float(2 ** (count - FREE_TRIES - 1))


def standing_of(tries: Iterable[Try]) -> Standing:
    """Wrong tries that no right one has followed.

    Of one seat the rows' ids tell what followed what, whatever its clock did; of another seat
    only the instants can.
    """
    rows = list(tries)
    cleared = _Cleared.by(row for row in rows if row.kind in CLEARS)
    wrong = [row for row in rows if row.kind == WRONG and not cleared.covers(row)]
    if not wrong:
        return Standing()
    last_of_seat = {row.seat: row for row in sorted(wrong, key=lambda row: row.id)}
    return Standing(len(wrong), max(last_of_seat.values(), key=lambda row: (row.at, row.id)))


@dataclass(frozen=True, slots=True)
class _Cleared:
    """By seat, the last id and the last instant of the right tries."""

    ids: dict[int, int]
    instants: dict[int, datetime]

    @classmethod
    def by(cls, rights: Iterable[Try]) -> _Cleared:
        ids: dict[int, int] = {}
        instants: dict[int, datetime] = {}
        for right in rights:
            ids[right.seat] = max(right.id, ids.get(right.seat, right.id))
            instants[right.seat] = max(right.at, instants.get(right.seat, right.at))
        return cls(ids, instants)

    def covers(self, wrong: Try) -> bool:
        if self.ids.get(wrong.seat, -1) > wrong.id:
            return True
        others = (at for seat, at in self.instants.items() if seat != wrong.seat)
        return any(at >= wrong.at for at in others)


@dataclass(frozen=True, slots=True)
class _Seen:
    """A wait: the wrong try that earned it, and what was left of it at a reading of the clock."""

    last: Try
    since: float
    left: float


class Throttle:
    """Tells how long each person must wait; `monotonic` gives seconds that only ever rise."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._seen: dict[str, _Seen] = {}

    def left(self, person: str, standing: Standing, now: datetime) -> float:
        """Seconds until the person's next try; 0 where it may come at once."""
        if standing.last is None:
            self._seen.pop(person, None)
            return 0.0
        seen = self._seen.get(person)
        if seen is None or seen.last != standing.last:
            whole = wait_after(standing.count)
            elapsed = (now - standing.last.at).total_seconds()
            left = min(max(whole - elapsed, 0.0), whole)
            seen = self._seen[person] = _Seen(standing.last, self._monotonic(), left)
        return max(seen.left - (self._monotonic() - seen.since), 0.0)


def wait_words(seconds: float) -> str:
    """A wait as people say it, never too short: "3 s", "15 min"."""
    whole = int(-(-seconds // 1))
    return f"{whole} s" if whole < 120 else f"{-(-whole // 60)} min"
