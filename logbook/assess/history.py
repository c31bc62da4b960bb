"""Limits in force: by time and operating mode, as they were revised."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from operator import attrgetter

import numpy as np
import numpy.typing as npt

from logbook.assess.judge_arrays import BoolArray, Bounds, FloatArray
from logbook.plant.model import NO_LIMITS, NORMAL_MODE, Limits

TimeArray = npt.NDArray[np.int64]
IndexArray = npt.NDArray[np.intp]
Modes = str | Sequence[str] | npt.NDArray[np.str_]
"""The mode at all times, or one for each."""
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_SECOND = timedelta(seconds=1)
_EFFECTIVE_FROM = attrgetter("effective_from")


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
        self.sets = tuple(sorted(sets, key=_EFFECTIVE_FROM))
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

    def in_force(self, times: TimeArray, modes: Modes = NORMAL_MODE) -> Bounds:
        """Limits in force at `times` (epoch s, shape (n,)) as `Bounds` of shape (n,).

        `modes` is the mode at all times or one for each.
        """
        times = np.asarray(times, dtype=np.int64)
        place = self._tracks[NORMAL_MODE].at(times)
        for mode, here in self._own_modes(times, modes):
            track = self._tracks[mode].at(times[here])
            place[here] = np.where(track < 0, place[here], track)
        return self._table.take(place)

    def _own_modes(self, times: TimeArray, modes: Modes) -> list[tuple[str, BoolArray]]:
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


class LimitTable:
    """The limit sets of many points, and which is in force at many times at once.

    Says the same as the `LimitHistory` of each point. A set has a place in `limits`; the last
    place, -1, stands for "no limits".
    """

    def __init__(self, of_points: Sequence[Iterable[LimitSet]]) -> None:
        """`of_points[k]`: the sets of point number k, in any order."""
        numbered = [
            (owner, one)
            for owner, sets in enumerate(of_points)
            for one in sorted(sets, key=_EFFECTIVE_FROM)
        ]
        self.limits = (*(one.limits or NO_LIMITS for _, one in numbered), NO_LIMITS)
        self._bounds = Bounds.stacked(self.limits)
        starts = [(one.effective_from - _EPOCH) / _SECOND for _, one in numbered]
        self._starts = np.ceil(starts)  # see `_track`
        self._owners = np.array([owner for owner, _ in numbered], dtype=np.intp)
        self._withdrawn = np.array([one.limits is None for _, one in numbered], dtype=np.bool_)
        of_mode: dict[str, list[int]] = {NORMAL_MODE: []}
        for k, (_, one) in enumerate(numbered):
            of_mode.setdefault(one.mode, []).append(k)
        self._of_mode = {mode: np.array(k, dtype=np.intp) for mode, k in of_mode.items()}

    def judging(
        self, lengths: IndexArray, times: TimeArray, changes: Sequence[tuple[datetime, str]]
    ) -> tuple[IndexArray, Bounds]:
        """Places and limits in force at `times` (epoch s), shape (n,), of points end to end.

        The first `lengths[0]` times are those of point number 0, and so on. `changes` of the mode
        are as for `modes_at`.
        """
        points = np.arange(lengths.size)
        first, last = (int(times.min()), int(times.max())) if times.size else (0, 0)
        if not changes and not np.any((self._starts > first) & (self._starts <= last)):
            # Nothing begins to hold in between: what holds first holds for all of a point's times.
            places = self.in_force(points, np.full(points.shape, first, dtype=np.int64))
            return np.repeat(places, lengths), self._bounds.take(places).repeated(lengths)
        modes = modes_at(times, changes) if changes else NORMAL_MODE
        places = self.in_force(np.repeat(points, lengths), times, modes)
        return places, self._bounds.take(places)

    def in_force(
        self,
        owners: IndexArray,
        times: TimeArray,
        modes: str | npt.NDArray[np.str_] = NORMAL_MODE,
    ) -> IndexArray:
        """Places, shape (n,), of the limits of points `owners` in force at `times` (epoch s).

        `modes` is the mode at all times or one for each.
        """
        if not times.size:
            return np.empty(0, dtype=np.intp)
        first, last = int(times.min()), int(times.max())
        width = last - first + 3
        # Points lie end to end on one line of time: sets before the first time or behind the
        # last one are moved up to it, so that each point needs only this width.
        starts = self._owners * width + np.clip(self._starts, first - 1, last + 1) - first
        at = owners * width + (times - first)
        found = self._found(NORMAL_MODE, owners, starts, at)
        for mode in self._of_mode.keys() - {NORMAL_MODE}:
            here = np.flatnonzero(np.broadcast_to(np.asarray(modes) == mode, at.shape))
            if here.size:
                own = self._found(mode, owners[here], starts, at[here])
                found[here] = np.where(own < 0, found[here], own)
        return found

    def _found(
        self, mode: str, owners: IndexArray, starts: FloatArray, at: TimeArray
    ) -> IndexArray:
        sets = self._of_mode[mode]
        if not sets.size:
            return np.full(at.shape, -1, dtype=np.intp)
        order = np.searchsorted(starts[sets], at, side="right") - 1
        place = sets[order]  # for order -1 any set; it does not count
        held = (order >= 0) & (self._owners[place] == owners) & ~self._withdrawn[place]
        return np.where(held, place, -1)


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
