"""A handover's PDF against a bare Typst compile of a document of the same pages.

The bare document holds the same texts, tables and drawn lines, written out in Typst markup: no
data to read, nothing to measure, no marks. Each side runs in a fresh process, since the typesetter
keeps what it has set before; what is timed is the work itself, without loading Python.
"""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FONTS = """
import json, sys, time
import typst
from logbook.report.glyphs import own_fonts
fonts = own_fonts()
"""

OURS = (
    FONTS
    + """
from datetime import datetime, timezone
from logbook.report.handover import handover_pdf
from logbook.report.readings import Extras, PointExtra
given = json.load(open(sys.argv[1], encoding="utf-8"))
one = given["extras"]
extras = Extras(
    {key: PointExtra(**point) for key, point in one["points"].items()},
    {int(key): at for key, at in one["times"].items()}, one["days"], one["areas_of"],
)
at = datetime(2026, 3, 3, tzinfo=timezone.utc)
begun = time.process_time()
pdf = handover_pdf(given["snapshot"], printed_at=at, extras=extras)
print(time.process_time() - begun)
open(sys.argv[2], "wb").write(pdf)
"""
)

BARE = (
    FONTS
    + """
source = open(sys.argv[1], "rb").read()
begun = time.process_time()
pdf = typst.compile(source, font_paths=fonts, pdf_standards="a-2b", pdf_tags=False)
print(time.process_time() - begun)
open(sys.argv[2], "wb").write(pdf)
"""
)


@dataclass(frozen=True)
class PdfRatio:
    """Median CPU seconds of both sides, and their pages."""

    bare: float
    ours: float
    bare_pages: int
    our_pages: int

    @property
    def ratio(self) -> float:
        """Ours over the bare one."""
        return self.ours / self.bare

    def __str__(self) -> str:
        """Say it on one line."""
        return (
            f"ours {self.ours:.3f} s for {self.our_pages} pages, bare {self.bare:.3f} s for "
            f"{self.bare_pages} pages, ratio {self.ratio:.2f}"
        )


def compare(snapshot: Mapping[str, Any], extras: Mapping[str, Any], runs: int = 5) -> PdfRatio:
    """Typeset a handover and the bare document of its pages `runs` times, in turns."""
    import pypdfium2

    with tempfile.TemporaryDirectory() as folder:
        given, plain = Path(folder, "given.json"), Path(folder, "bare.typ")
        ours, bare = Path(folder, "ours.pdf"), Path(folder, "bare.pdf")
        given.write_text(json.dumps({"snapshot": snapshot, "extras": extras}), "utf-8")
        plain.write_text(bare_source(snapshot, extras), "utf-8")
        times = [(_run(BARE, plain, bare), _run(OURS, given, ours)) for _ in range(runs)]
        pages = [len(pypdfium2.PdfDocument(path.read_bytes())) for path in (bare, ours)]
    slow, fast = zip(*times, strict=True)
    return PdfRatio(statistics.median(slow), statistics.median(fast), pages[0], pages[1])


def _run(code: str, given: Path, out: Path) -> float:
    command = [sys.executable, "-c", code, str(given), str(out)]
    return float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def bare_source(snapshot: Mapping[str, Any], extras: Mapping[str, Any]) -> str:
    """The same texts, tables and lines as plain Typst markup, page breaks where ours are."""
    from datetime import UTC, datetime

    from logbook.report.handover import document
    from logbook.report.readings import Extras, PointExtra

    points = {key: PointExtra(**one) for key, one in extras["points"].items()}
    found = Extras(points, {}, extras["days"], extras["areas_of"])
    made = document(snapshot, found, datetime(2026, 3, 3, tzinfo=UTC))
    return "\n".join(_written(made))


def _written(made: Mapping[str, Any]) -> Iterator[str]:
    yield '#set text(font: "Inter", size: 7.6pt)'
    yield '#set page(paper: "a4", margin: 11mm, footer: context [page #counter(page).display()])'
    yield "#set table(stroke: (x, y) => (bottom: 0.3pt + gray), inset: (x: 0.7mm, y: 0.7mm))"
    yield f"= {_text(made['head']['title'])} {_text(made['head']['span'])}"
    yield " ".join(_text(one["figure"]) for one in made["tiles"])
    for lane in made["lanes"]["lanes"]:
        yield f"{_text(lane['name'])} #box(width: 150mm, height: 3mm, stroke: 0.3pt)[{_bars(lane)}]\n"
    for one in (*made["matters"], *made["next"]):
        yield f"- {_text(one['when'])} *{_text(one['head'])}* {_text(one['text'])}"
    yield "#pagebreak()"
    for part in made["parts"]:
        yield f"== {part['no']} {_text(part['title'])}"
        for one in part["lines"]:
            below = " ".join(_text(more["text"]) for more in one["more"])
            yield f"- {_text(one['when'])} *{_text(one['head'])}* {_text(one['text'])} {below}"
    for area in made["readings"]["areas"]:
        yield f"== {_text(area['name'])}"
        for block in area["blocks"]:
            yield from _block(block, made["readings"]["chunks"][0]["labels"])
        yield _text(", ".join(area["left"]))


def _bars(lane: Mapping[str, Any]) -> str:
    return "".join(
        f"#place(dx: {150 * one['left']:.2f}mm, rect(width: {150 * (one['right'] - one['left']):.2f}"
        "mm, height: 2mm, fill: orange))"
        for one in lane["items"]
    )


def _block(block: Mapping[str, Any], labels: Sequence[str]) -> Iterator[str]:
    """A block of rows as one table, a block of machines as pairs of tables side by side."""
    if "rows" in block:
        yield "#" + _table(block["rows"], labels, limits=True)
        return
    columns = block["columns"]
    for k in range(0, len(columns), 2):
        tables = ", ".join(_table(one["rows"], labels, limits=False) for one in columns[k : k + 2])
        yield f"#grid(columns: (1fr, 1fr), column-gutter: 4mm, {tables})"


def _table(rows: Sequence[Mapping[str, Any]], labels: Sequence[str], *, limits: bool) -> str:
    rounds = len(labels)
    edges = 5 if limits else 0
    heads = "[], " + ", ".join(f"[{label}]" for label in (*labels, *[""] * edges, "", ""))
    cells = []
    for row in rows:
        cells.append(f"[{_text(row['name'])} {_text(row.get('unit', ''))}]")
        cells += [f"[{_text(cell['text']) if cell else ''}]" for cell in row["cells"]]
        if limits:
            cells += [f"[{_text(edge)}]" for edge in (row["edges"] or [""] * 5)]
        cells += [_line(row["spark"]), f"[{_text(row['word'])}]"]
    wide = "12.4mm" if limits else "1fr"
    widths = f"(1fr, ..({wide},) * {rounds}, ..(7.1mm,) * {edges}, 17mm, 13mm)"
    return f"text(size: 6.4pt, table(columns: {widths}, table.header({heads}), {', '.join(cells)}))"


def _line(spark: Mapping[str, Any] | None) -> str:
    if not spark or len(spark["line"]) < 2:
        return "[]"
    places = [f"({40 * x:.1f}pt, {7 * (1 - y):.1f}pt)" for x, y in spark["line"]]
    steps = ", ".join(f"curve.line({place})" for place in places[1:])
    return f"box(height: 2.5mm, curve(stroke: 0.5pt, curve.move({places[0]}), {steps}))"


def _text(text: str) -> str:
    """A text as markup that prints as itself."""
    return f"#{json.dumps(text, ensure_ascii=False)};" if text else ""


def main() -> None:
    """Print the ratio for the shift before in a book named on the command line."""
    from dataclasses import asdict

    from logbook.clock import open_by_its_clock
    from logbook.plant.calendar import previous_shift, shift_at
    from logbook.report.extras import extras_of
    from logbook.report.make import handover_document

    with open_by_its_clock(Path(sys.argv[1]), writable=False) as book:
        now = book.now()
        calendar = book.plant_at(now).calendar
        snapshot = handover_document(book, previous_shift(calendar, shift_at(calendar, now)))
        extras = asdict(extras_of(book, snapshot["content"]))
    print(compare(snapshot, extras))


if __name__ == "__main__":
    main()
