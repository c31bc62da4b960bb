"""A plant as nodes and streams: what flows from where to where.

>>> mill = Network(
...     nodes=(Node("press", "Press"),),
...     streams=(
...         Stream("seed", "Seed", None, "press"),
...         Stream("oil", "Oil", "press", None),
...         Stream("cake", "Cake", "press", None),
...     ),
... )
>>> mill.incidence.tolist()
[[1.0, -1.0, -1.0]]
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt


class NetworkError(ValueError):
    """A network that cannot be meant; `faults` has one sentence for each thing wrong."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Node:
    """A part of the plant in which nothing is made, lost or stored over the period."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class Stream:
    """What flows from one node to another; None is outside the plant.

    `contents` are the components that can be in it, of which the rest up to the whole is not
    balanced by itself. `closed`: there is no rest, they add up to the whole.
    """

    key: str
    name: str
    source: str | None
    target: str | None
    contents: tuple[str, ...] = ()
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Network:
    """Nodes and streams, checked when made.

    Raises:
        NetworkError: naming every fault.
    """

    nodes: tuple[Node, ...]
    streams: tuple[Stream, ...]
    components: tuple[str, ...] = field(init=False, repr=False, compare=False)
    """Components of all streams, in order of first mention."""

    def __post_init__(self) -> None:
        """Refuse what cannot be meant."""
        faults = tuple(self._faults())
        if faults:
            raise NetworkError(faults)
        parts = tuple(dict.fromkeys(c for stream in self.streams for c in stream.contents))
        object.__setattr__(self, "components", parts)

    @property
    def incidence(self) -> npt.NDArray[np.float64]:
        """(nodes, streams): +1 where a stream enters a node, -1 where it leaves."""
        row = {node.key: k for k, node in enumerate(self.nodes)}
        found = np.zeros((len(self.nodes), len(self.streams)))
        for column, stream in enumerate(self.streams):
            if stream.target is not None:
                found[row[stream.target], column] = 1.0
            if stream.source is not None:
                found[row[stream.source], column] = -1.0
        return found

    def place(self, stream: str) -> int:
        """Index of the stream with this key; KeyError if there is none."""
        for k, one in enumerate(self.streams):
            if one.key == stream:
                return k
        msg = f"the network has no stream {stream!r}"
        raise KeyError(msg)

    def vector(self, values: Mapping[str, float]) -> npt.NDArray[np.float64]:
        """Values by stream key as an array in the order of the streams, NaN where none is given.

        Raises:
            KeyError: for a key that is no stream's.
        """
        found = np.full(len(self.streams), np.nan)
        for key, value in values.items():
            found[self.place(key)] = value
        return found

    def _faults(self) -> Iterator[str]:
        if not self.nodes or not self.streams:
            yield "a network needs at least one node and one stream"
        yield from _twice("node", [node.key for node in self.nodes])
        yield from _twice("stream", [stream.key for stream in self.streams])
        known = {node.key for node in self.nodes}
        for stream in self.streams:
            yield from _stream_faults(stream, known)
        for node in self.nodes:
            if not any(stream.target == node.key for stream in self.streams):
                yield f"nothing flows into node {node.key!r}: give it a stream that ends there"
            if not any(stream.source == node.key for stream in self.streams):
                yield f"nothing flows out of node {node.key!r}: give it a stream that starts there"


def _twice(kind: str, keys: list[str]) -> Iterator[str]:
    for key, count in Counter(keys).items():
        if count > 1:
            yield f"{kind} {key!r} is there {count} times: each needs a key of its own"


def _stream_faults(stream: Stream, known: set[str]) -> Iterator[str]:
    for end, where in (("starts", stream.source), ("ends", stream.target)):
        if where is not None and where not in known:
            yield f"stream {stream.key!r} {end} at {where!r}, which is no node"
    if stream.source == stream.target:
        yield f"stream {stream.key!r} starts and ends at the same place: it balances nothing"
    if len(set(stream.contents)) < len(stream.contents):
        yield f"stream {stream.key!r} names a component twice"
    if stream.closed and not stream.contents:
        yield f"stream {stream.key!r} is closed but has no components"
