"""Saving what the Trend screen shows: a picture, a page, or the data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from logbook.exchange.trend_csv import trend_csv
from logbook.report.files import write_pdf
from logbook.report.trend_files import page_file, trend_file
from logbook.report.trend_pages import PageAsk
from logbook.shift.trend_study import Around

KINDS = "Picture (*.png);;Page (*.pdf);;Data (*.csv)"
SUFFIXES = {"Picture": ".png", "Page": ".pdf", "Data": ".csv"}


def ask_where(parent: QWidget, folder: Path, name: str) -> Path | None:
    """The file that a person names, with the ending of the kind they chose; None: none."""
    chosen, kind = QFileDialog.getSaveFileName(
        parent, "Save the trend", str(folder / f"{name}.png"), KINDS
    )
    if not chosen:
        return None
    path = Path(chosen)
    if path.suffix.lower() in SUFFIXES.values():
        return path
    return path.with_name(path.name + SUFFIXES.get(kind.partition(" ")[0], ".png"))


@dataclass(frozen=True, slots=True)
class Saving:
    """What is to be saved where; plain data, to be written in another thread."""

    path: Path
    page: PageAsk
    around: Around | None
    by_unit: bool

    def write(self, now: datetime) -> None:
        """Write the file, whole or not at all. Raises ReportError."""
        ask = self.page
        if self.path.suffix.lower() == ".csv":
            data = trend_csv(ask.study, *ask.span).encode("utf-8-sig")
        elif ask.page == "trend":
            data = trend_file(
                self.path, ask.study, ask.span, now, around=self.around, by_unit=self.by_unit
            )
        else:
            data = page_file(self.path, ask, now)
        write_pdf(self.path, data)
