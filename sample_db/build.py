"""Build the sample book: simulate, let the crews write, keep what they wrote."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib.resources import as_file, files
from pathlib import Path
from uuid import NAMESPACE_URL, uuid5

from logbook.plant.file import read_plant
from logbook.plant.model import Plant
from logbook.record import Book, create_book
from logbook.record.rows import Page
from sample_db.entries import log_entries
from sample_db.habits import make_sheets
from sample_db.jobs import Job, Ledger, RoundPages, event_jobs, lab_jobs
from sample_db.outages import mode_spans
from sample_db.placing import place_story
from sample_db.rota import Rota, make_rota, plant_without
from sample_db.rules import REVISION_REASON, plant_before
from sample_db.samples import make_samples
from sample_db.story import DEFAULT_DAYS, DEFAULT_END, DEFAULT_SEED
from sample_db.streams import simulate
from sample_db.timetable import make_timetable
from sample_db.verdicts import make_verdicts

Progress = Callable[[float, str], None]
CHUNK = 400
"""Pages per commit; one page is a round, a result or an event."""
PROGRESS_PAGES = 100
PLANS = {"0": "Tank 1 filling, tank 2 next.", "1": "Tank 2 filling, tank 1 next."}
LEAVE_REASON, JOIN_REASON = "left the works", "joined the crew"
MADE_WITH = "sample plant"


class BuildCancelledError(Exception):
    """The build was cancelled; the unfinished file is gone."""


@dataclass(frozen=True, slots=True)
class SampleBook:
    """What was built."""

    path: Path
    pages: int
    rows: int
    seal: str
    """Seal of the last page."""


class _Clock:
    """The clock of the book: stands at the moment of writing of the page at hand."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now


def sample_plant() -> Plant:
    """The invented plant as `plant.toml` describes it, which is how it is when the book ends."""
    with as_file(files("sample_db") / "plant.toml") as path:
        return read_plant(path)


def build_book(
    path: Path,
    *,
    seed: int = DEFAULT_SEED,
    end: datetime | None = None,
    days: int = DEFAULT_DAYS,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> SampleBook:
    """Write the sample book to `path`, which must not exist.

    `end` (aware, default `DEFAULT_END`) is when the book stops; the round then due is not yet
    written. The same seed, end and days give the same seals. `progress` is called with a fraction
    from 0 to 1 and what is being done; `cancelled` is asked often. Raises BuildCancelledError, BookError
    (`BookExists` where there is a file already); a book that was begun is removed then.
    """
    tell = progress or (lambda _fraction, _text: None)
    stop = cancelled or (lambda: False)
    end = end or DEFAULT_END
    tell(0.0, "Running the plant")
    jobs, rota = _all_jobs(seed, end, days, stop)
    tell(0.12, "Opening the book")
    clock = _Clock(rota.story.start - timedelta(days=2))
    book = create_book(
        path,
        _plant_at(rota, rota.story.start),
        clock=clock,
        person=rota.engineer,
        reason="book begun",
        effective_from=rota.story.start - timedelta(days=30),
        made_with=MADE_WITH,
        uuid=str(uuid5(NAMESPACE_URL, f"sample plant {seed} {days} {end.isoformat()}")),
    )
    try:
        with book, _collector_off():
            return _write(book, clock, jobs, rota, tell, stop)
    except BaseException:
        _remove(path)
        raise


def _all_jobs(
    seed: int, end: datetime, days: int, stop: Callable[[], bool]
) -> tuple[list[Job], Rota]:
    """Everything that was written before `end`, in the order of writing."""
    plant = sample_plant()
    story = place_story(end, days, plant.calendar)
    rota = make_rota(plant, story)
    first = story.start - timedelta(days=2)
    streams = simulate(seed, first, (story.end - first) / timedelta(days=1) + 0.1, story=story)
    _check(stop)
    table = make_timetable(plant, story)
    sheets = make_sheets(plant, streams, table, rota, seed)
    _check(stop)
    samples = make_samples(plant, streams, table.outages, rota, seed)
    verdicts = make_verdicts(plant, sheets, samples, rota, seed)
    _check(stop)
    entries = log_entries(plant, streams, rota, seed)
    jobs = [
        *RoundPages(sheets, verdicts, PLANS).jobs(rota),
        *lab_jobs(samples, verdicts),
        *event_jobs(entries, table.outages, mode_spans(story), rota),
    ]
    return sorted(job for job in jobs if job.at <= story.end), rota


def _plant_at(rota: Rota, at: datetime) -> Plant:
    """The plant as it is described at an instant: people there, limits in force."""
    revised = rota.story.limits_revised
    plant = rota.plant if revised is None or at >= revised else plant_before(rota.plant)
    return plant_without(plant, [p for p in (rota.leaver, rota.joiner) if not rota.is_here(p, at)])


def _revisions(rota: Rota) -> list[tuple[datetime, Plant | None, str]]:
    """Changes of the plant in order of time."""
    story = rota.story
    steps = (
        (story.leaves, LEAVE_REASON),
        (story.joins, JOIN_REASON),
        (story.limits_revised, REVISION_REASON),
    )
    dated = sorted((at, reason) for at, reason in steps if at is not None)
    return [
        (at, _plant_at(rota, at), reason) for at, reason in dated if story.start < at < story.end
    ]


def _write(
    book: Book,
    clock: _Clock,
    jobs: list[Job],
    rota: Rota,
    tell: Progress,
    stop: Callable[[], bool],
) -> SampleBook:
    ledger, place, pages, rows = Ledger(book.seat), 0, 0, 0
    seal = ""
    for at, plant, reason in [*_revisions(rota), (rota.story.end, None, "")]:
        until = next((i for i in range(place, len(jobs)) if jobs[i].at > at), len(jobs))
        feed = _pages(jobs, range(place, until), clock, ledger, tell, stop)
        written = book.write_many(feed, chunk=CHUNK)
        pages, rows, place = pages + written.pages, rows + written.rows, until
        seal = written.last.seal if written.last else seal
        if plant is not None:
            clock.now = at
            saved = book.revise(rota.engineer, plant, effective_from=at, reason=reason)
            seal = saved.seal if saved else seal
    tell(1.0, "Done")
    return SampleBook(book.path, pages, rows, seal)


def _pages(
    jobs: list[Job],
    places: range,
    clock: _Clock,
    ledger: Ledger,
    tell: Progress,
    stop: Callable[[], bool],
) -> Iterator[Page]:
    for place in places:
        if place % PROGRESS_PAGES == 0:
            _check(stop)
            tell(0.14 + 0.85 * place / len(jobs), f"Writing {jobs[place].at:%B %Y}")
        job = jobs[place]
        page = job.make(ledger)
        if page is not None:
            clock.now = job.at
            ledger.count(page)
            yield page


def _check(stop: Callable[[], bool]) -> None:
    if stop():
        raise BuildCancelledError("the sample book was not finished; its file is removed")


@contextmanager
def _collector_off() -> Iterator[None]:
    """Half a million rows without a cycle among them: looking for cycles only costs time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _remove(path: Path) -> None:
    for suffix in ("", "-wal", "-shm", "-journal", ".lock"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)
