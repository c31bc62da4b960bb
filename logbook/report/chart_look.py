"""How charts drawn by matplotlib look: on paper, or in the window's palette."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any

from logbook.report.time_ticks import head_at, time_ticks
from logbook.report.trend_panel import value_ticks
from logbook.resources import resource_folder

Axes = Any
"""matplotlib's own types are not published for checkers."""
Figure = Any
FONT = "Inter"


@dataclass(frozen=True, slots=True)
class Look:
    """Colours as #RRGGBB; lines in the order in which they are used."""

    ground: str = "#FFFFFF"
    panel: str = "#FFFFFF"
    ink: str = "#1B2321"
    muted: str = "#55605B"
    hairline: str = "#D3D9D5"
    band: str = "#E3ECE6"
    edge: str = "#6A8275"
    stop: str = "#C9CECB"
    warning: str = "#F7BE3B"
    warning_edge: str = "#6E4A00"
    action: str = "#B4231A"
    lines: tuple[str, ...] = ("#2F3E38", "#17607D", "#7A3F8F", "#3C6B2E", "#8A4B12", "#4B57A6")

    def line(self, number: int) -> str:
        """Colour of the line of this number."""
        return self.lines[number % len(self.lines)]


PAPER = Look()
DASHES: tuple[Any, ...] = (
    "-",
    (0, (6, 2)),
    (0, (1.5, 1.8)),
    (0, (8, 2, 1.5, 2)),
    (0, (3, 3)),
    (0, (10, 3)),
)


@lru_cache(maxsize=1)
def _load_fonts() -> None:
    from matplotlib import font_manager

    for path in sorted((resource_folder() / "fonts").glob("*.otf")):
        font_manager.fontManager.addfont(str(path))


def new_figure(width: float, height: float, look: Look, *, dpi: float = 100.0) -> Figure:
    """An empty figure of so many inches."""
    from matplotlib.figure import Figure as Made

    _load_fonts()
    return Made(figsize=(width, height), dpi=dpi, facecolor=look.ground)


def drawing(look: Look) -> Any:  # noqa: ANN401 - a context manager of matplotlib's
    """Within it, what is drawn has our font and sizes."""
    from matplotlib import rc_context

    return rc_context(
        {
            "font.family": [FONT],
            "font.size": 9.0,
            "axes.edgecolor": look.hairline,
            "axes.labelcolor": look.muted,
            "axes.facecolor": look.panel,
            "axes.linewidth": 0.8,
            "text.color": look.ink,
            "xtick.color": look.muted,
            "ytick.color": look.muted,
            "xtick.major.size": 3.0,
            "ytick.major.size": 0.0,
            "pdf.fonttype": 3,
            "agg.path.chunksize": 20000,
        }
    )


def dress(axes: Axes, look: Look) -> None:
    """Hairlines behind, no box in front."""
    axes.set_axisbelow(True)
    axes.grid(visible=True, axis="y", color=look.hairline, linewidth=0.7)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def title(axes: Axes, text: str, look: Look, *, right: str = "") -> None:
    """A heading at the left over the axes, and a quiet word at the right."""
    axes.set_title(text, loc="left", fontsize=10.0, fontweight=500, color=look.ink, pad=6.0)
    if right:
        axes.set_title(right, loc="right", fontsize=9.0, color=look.muted, pad=6.0)


def value_axis(axes: Axes, low: float, high: float, inches: float) -> None:
    """Round numbers over [low, high] with no more decimals than they need."""
    ticks = value_ticks((low, high), inches * 72.0)
    axes.set_ylim(low, high)
    axes.set_yticks([value for value, _ in ticks], [text for _, text in ticks])


def time_axis(
    axes: Axes,
    start: float,
    end: float,
    zone: str,
    look: Look,
    *,
    most: int,
    with_head: bool = True,
) -> None:
    """Marks by the plant's clocks under axes over [start, end] (epoch s)."""
    ticks = time_ticks(start, end, zone, most)
    axes.set_xlim(start, end)
    texts = [f"{tick.text}\n{tick.head}" if tick.head else tick.text for tick in ticks]
    axes.set_xticks([tick.at for tick in ticks], texts)
    axes.grid(visible=True, axis="x", color=look.hairline, linewidth=0.7)
    head = head_at(ticks, start, end, zone)
    if head and with_head:
        axes.annotate(
            head, (0.0, 0.0), xycoords="axes fraction", xytext=(0, -18.5), textcoords="offset points",
            fontsize=9.0, color=look.ink, va="top",
        )  # fmt: skip


def as_png(figure: Figure, *, dpi: float = 100.0) -> bytes:
    """The figure as a PNG file."""
    target = io.BytesIO()
    figure.savefig(target, format="png", dpi=dpi, facecolor=figure.get_facecolor())
    return target.getvalue()


def as_pdf(figure: Figure, made_at: datetime, name: str) -> bytes:
    """The figure as a page of a PDF file, the same bytes for the same figure and instant."""
    target = io.BytesIO()
    meta = {"Title": name, "CreationDate": made_at, "Creator": None, "Producer": None}
    figure.savefig(target, format="pdf", metadata=meta, facecolor=figure.get_facecolor())
    return target.getvalue()
