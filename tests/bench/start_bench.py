"""Start to usable window, against a bare window of the same binding."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

ENVIRONMENT = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
ENVIRONMENT.pop("PYTHONDONTWRITEBYTECODE", None)  # an installed program has its bytecode

BARE = """
from PySide6.QtWidgets import QApplication, QMainWindow
app = QApplication([])
window = QMainWindow()
window.resize(1280, 800)
window.show()
while not window.windowHandle().isExposed():
    app.processEvents()
app.processEvents()
"""

OURS = """
import sys
from pathlib import Path
from logbook.ui.app import Shell, make_application
app = make_application()
shell = Shell(app)
told = shell.open(Path(sys.argv[1]))
assert not told, told
while not shell.window.windowHandle().isExposed():
    app.processEvents()
app.processEvents()
assert shell.window.round.sheet.current
"""


def seconds(code: str, *arguments: str) -> float:
    """Wall-clock seconds of a fresh process that runs `code`."""
    begun = time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", code + "\nimport os\nos._exit(0)\n", *arguments],
        check=True,
        env=ENVIRONMENT,
    )
    return time.perf_counter() - begun


def start_ratio(book: Path, runs: int = 9) -> tuple[float, float]:
    """Median seconds of a bare window and of ours on `book`, in turns in one run."""
    seconds(BARE), seconds(OURS, str(book))  # the first start fills the disk cache
    bare, ours = [], []
    for _ in range(runs):
        bare.append(seconds(BARE))
        ours.append(seconds(OURS, str(book)))
    return statistics.median(bare), statistics.median(ours)
