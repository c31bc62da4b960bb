"""Work in a process of its own, for what would hold the window up even from another thread.

Loading the properties of steam and humid air takes a second or two in which Python does nothing
else, in no thread. So the arithmetic of the Balance screen is done in a second process: it gets
the path of the book and an instant, and gives back plain data.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")

log = logging.getLogger(__name__)


class EndedError(ValueError):
    """The second process has ended before it answered."""


class Aside:
    """One second process, started with the first question; call it from any thread."""

    def __init__(self) -> None:
        """Nothing is started yet."""
        self._pool: ProcessPoolExecutor | None = None
        self._lock = threading.Lock()
        self._is_closed = False

    def run(self, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Return what `work` (a function of a module) returns there; its errors come back too.

        A process that died is started once more. Raises EndedError after `close`, and where it
        died twice.
        """
        for _ in range(2):
            try:
                return self._started().submit(work, *args, **kwargs).result()
            except BrokenProcessPool:
                if self._is_closed:
                    break
                log.info("the second process has ended; it is started again", exc_info=True)
                self._drop()
        msg = "The second process that works the accounts out has ended; try again."
        raise EndedError(msg)

    def close(self) -> None:
        """End the process at once; what is still asked of it is given up."""
        self._is_closed = True
        pool = self._drop()
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)

    def _started(self) -> ProcessPoolExecutor:
        with self._lock:
            if self._is_closed:
                msg = "The window is closing."
                raise EndedError(msg)
            if self._pool is None:
                # Not forked: the window's threads and its connection to the display stay here.
                self._pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"))
            return self._pool

    def _drop(self) -> ProcessPoolExecutor | None:
        with self._lock:
            pool, self._pool = self._pool, None
        for process in list((getattr(pool, "_processes", None) or {}).values()):
            process.terminate()
        return pool
