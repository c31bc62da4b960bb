"""Limits in force: by time and operating mode, as they were revised."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import numpy.typing as npt

from logbook.assess.judge_arrays import BoolArray, Bounds
from logbook.plant.model import NO_LIMITS, NORMAL_MODE, Limits

TimeArray = npt.NDArray[np.int64]
IndexArray = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class LimitSet:
    """Limits of a point in a mode from `effective_from` (aware) on; None: withdrawn."""

    mode: str
    effective_from: datetime
    limits: Limits | None


@dataclass(frozen=True, slots=True)
class _Track:
    """Revisions of one mode: from `starts[k]` (epoch s) on, set number `sets[k]`, -1 for none."""

    starts: TimeArray
    sets: IndexArray

    def at(self, times: TimeArray) -> IndexArray:
        place = np.searchsorted(self.starts, times, side="right") - 1
        if not self.starts.size:
            return np.full(times.shape, -1, dtype=np.intp)
        found: IndexArray = np.where(place < 0, -1, self.sets[place])
        return found


class LimitHistory:
    """All limit sets of one point, and which of them is in force at a time in a mode.

    A mode without limits of its own at that time has those of the normal mode. Before the
    first set there are none. Of sets with the same start the last given holds.
    """

    def __init__(self, sets: Iterable[LimitSet]) -> None:
        self.sets = tuple(sorted(sets, key=lambda one: one.effective_from))
        numbered = list(enumerate(self.sets))
        modes = {one.mode for one in self.sets} | {NORMAL_MODE}
        self._tracks = {m: _track([(k, s) for k, s in numbered if s.mode == m]) for m in modes}
        # The last entry, index -1, stands for "no limits".
        self._table = Bounds.stacked([*(s.limits or NO_LIMITS for s in self.sets), NO_LIMITS])

    @property
    def modes(self) -> frozenset[str]:
        """Modes that have, or once had, limits of their own."""
        return frozenset(self._tracks)

    def at(self, instant: datetime, mode: str = NORMAL_MODE) -> Limits:
        """Limits in force at an aware instant in a mode; `NO_LIMITS` before the first."""
        place = self._set_at(instant, mode)
        if place < 0:
            place = self._set_at(instant, NORMAL_MODE)
        return self.sets[place].limits or NO_LIMITS if place >= 0 else NO_LIMITS

    def in_force(self, times: TimeArray, modes: str | Sequence[str] = NORMAL_MODE) -> Bounds:
        """Limits in force at `times` (epoch s, shape (n,)) as `Bounds` of shape (n,).

        `modes` is the mode at all times or one for each.
        """
        times = np.asarray(times, dtype=np.int64)
        place = self._tracks[NORMAL_MODE].at(times)
        for mode, here in self._own_modes(times, modes):
            track = self._tracks[mode].at(times[here])
            place[here] = np.where(track < 0, place[here], track)
        return self._table.take(place)

    def _own_modes(
        self, times: TimeArray, modes: str | Sequence[str]
    ) -> list[tuple[str, BoolArray]]:
        own = self._tracks.keys() - {NORMAL_MODE}
        if isinstance(modes, str):
            return [(modes, np.ones(times.shape, dtype=np.bool_))] if modes in own else []
        named = np.asarray(modes)
        return [(mode, np.asarray(named == mode)) for mode in own]

    def _set_at(self, instant: datetime, mode: str) -> int:
        track = self._tracks.get(mode)
        if track is None:
            return -1
        place = bisect_right(track.starts, instant.timestamp()) - 1
        return int(track.sets[place]) if place >= 0 else -1


def modes_at(times: TimeArray, changes: Sequence[tuple[datetime, str]]) -> npt.NDArray[np.str_]:
    """Mode in force at `times` (epoch s, shape (n,)): the last of `changes` at or before.

    `changes` are in order of time; the normal mode holds before the first.
    """
    starts = np.array([at.timestamp() for at, _ in changes], dtype=np.float64)
    names = np.array([NORMAL_MODE, *(mode for _, mode in changes)])
    found: npt.NDArray[np.str_] = names[np.searchsorted(starts, times, side="right")]
    return found


def _track(numbered: list[tuple[int, LimitSet]]) -> _Track:
    starts = np.array([s.effective_from.timestamp() for _, s in numbered], dtype=np.float64)
    sets = [-1 if s.limits is None else k for k, s in numbered]
    # Times are whole seconds: a set that starts within a second holds from the next one on.
    return _Track(np.ceil(starts).astype(np.int64), np.array(sets, dtype=np.intp))
