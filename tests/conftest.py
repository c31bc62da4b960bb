"""What every test gets: a place of its own, a clock it can set, and guards against loose ends."""

from __future__ import annotations

import gc
import logging
import os
import re
import sys
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import settings

# No deadline: a slow machine is no fault of the code. The check that decides whether a change
# may join draws the same examples each time; whoever works here draws new ones.
settings.register_profile("house", deadline=None, print_blob=True)
settings.register_profile("ci", settings.get_profile("house"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "house")

# Before Qt is loaded: no window on the screen of whoever runs the tests.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

HARMLESS_LOGGERS = {"matplotlib.font_manager"}
"""Loggers that speak once on a machine (building a font cache), not about us."""


class FakeClock:
    """A settable clock: calling it gives an aware UTC instant that only the test moves."""

    def __init__(self, start: datetime) -> None:
        self._now = start

    def __call__(self) -> datetime:
        """Tell the instant it shows, as the program's own clock would."""
        return self._now

    @property
    def now(self) -> datetime:
        """The instant it shows."""
        return self._now

    def set(self, instant: datetime) -> datetime:
        """Show `instant`, which must carry a time zone; return it in UTC."""
        if instant.tzinfo is None:
            msg = f"a naive instant cannot be shown: {instant!r}"
            raise ValueError(msg)
        self._now = instant.astimezone(UTC)
        return self._now

    def advance(self, by: timedelta | None = None, **parts: float) -> datetime:
        """Move by a timedelta, or by its parts: `advance(hours=2)`; return the new instant."""
        self._now += by if by is not None else timedelta(**parts)
        return self._now


@pytest.fixture
def clock() -> FakeClock:
    """A clock that starts on a Monday at 06:00 UTC and stands still until moved."""
    return FakeClock(datetime(2026, 3, 2, 6, 0, tzinfo=UTC))


@pytest.fixture(scope="session")
def repo_root() -> Path:
    """The folder that holds pyproject.toml."""
    return Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def sample_book_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole sample book, 400 days, built once in a run; tests that write take a copy."""
    from sample_db import build_book

    path = tmp_path_factory.mktemp("sample") / "sample.book"
    build_book(path)
    return path


@pytest.fixture(autouse=True)
def _own_settings(
    request: pytest.FixtureRequest,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """Settings, caches and recent files go to a folder that this test alone has."""
    own = tmp_path_factory.getbasetemp() / "settings" / f"{abs(hash(request.node.nodeid)):x}"
    for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(own / name.removeprefix("XDG_").lower()))
    for name in ("APPDATA", "LOCALAPPDATA"):
        if name in os.environ:
            monkeypatch.setenv(name, str(own / name.lower()))


@pytest.fixture(autouse=True)
def _no_stray_log(request: pytest.FixtureRequest, caplog: pytest.LogCaptureFixture) -> Iterator:
    """Fail on log records at WARNING or above, but those announced with `expects_log`."""
    yield
    records = [r for phase in ("setup", "call") for r in caplog.get_records(phase)]
    said = [
        f"{r.levelname} {r.name}: {r.getMessage()}"
        for r in records
        if r.levelno >= logging.WARNING and r.name not in HARMLESS_LOGGERS
    ]
    wanted = [p for mark in request.node.iter_markers("expects_log") for p in mark.args]
    stray = [line for line in said if not any(re.search(p, line) for p in wanted)]
    missing = [p for p in wanted if not any(re.search(p, line) for line in said)]
    assert not stray, "unexpected log records:\n" + "\n".join(stray)
    assert not missing, f"expected log records that never came: {missing}"


def _live(*kinds: type) -> list:
    """All living Python objects of some Qt classes whose C++ side still exists."""
    from shiboken6 import isValid

    # By type(): isinstance would wake lazy proxies of other libraries.
    found = [o for o in gc.get_objects() if issubclass(type(o), kinds)]
    return [o for o in found if isValid(o)]


def _loose_ends() -> dict[str, dict[int, str]]:
    """Top-level widgets, running timers and running threads by kind, then by identity."""
    from PySide6.QtCore import QEvent, QThread, QTimer
    from PySide6.QtWidgets import QApplication

    app = QApplication.instance()
    if app is None:
        return {}
    app.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    live = _live(QTimer, QThread)
    timers = [o for o in live if isinstance(o, QTimer) and o.isActive() and o.parent() is None]
    threads = [o for o in live if isinstance(o, QThread) and o.isRunning() and o != app.thread()]
    return {
        "top-level widget": {id(w): repr(w) for w in app.topLevelWidgets()},
        "running timer without a parent": {id(t): repr(t) for t in timers},
        "running QThread": {id(t): repr(t) for t in threads},
        "running thread": {id(t): repr(t) for t in threading.enumerate() if not t.daemon},
    }


def _left_over(before: dict[str, dict[int, str]]) -> list[str]:
    """What lives now and did not before, in words."""
    return [
        f"{kind}: {text}"
        for kind, found in _loose_ends().items()
        for key, text in found.items()
        if key not in before.get(kind, {})
    ]


@pytest.fixture(autouse=True)
def _no_loose_ends(request: pytest.FixtureRequest) -> Iterator:
    """A test that uses Qt leaves no top-level widget, timer or thread behind."""
    if not {"qtbot", "qapp"} & set(request.fixturenames) or "PySide6.QtWidgets" not in sys.modules:
        yield
        return
    before = _loose_ends()
    yield
    if _left_over(before):
        gc.collect()  # a cycle that only awaits collection is no leak
    left = _left_over(before)
    assert not left, "left behind by this test:\n" + "\n".join(left)
