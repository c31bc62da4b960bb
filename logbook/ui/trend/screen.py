"""The Trend screen: any points over any stretch, moved over and studied."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from logbook.record import Book
from logbook.report.chart_look import PAPER, Look
from logbook.report.trend_pages import PAGES as STUDIES
from logbook.report.trend_pages import PageAsk
from logbook.report.trend_span import Span
from logbook.shift.period_text import PeriodError, parse_period
from logbook.shift.trend_study import CLOSE_LOOK, Around, Study, read_around, read_study
from logbook.shift.trend_words import length_text, span_text
from logbook.ui.loads import LoadingMark, Loads
from logbook.ui.round.foot import MessageLine, Tone
from logbook.ui.screens import Screen
from logbook.ui.session import Session
from logbook.ui.theme import Theme
from logbook.ui.trend.bar import TrendBar
from logbook.ui.trend.chart import TrendChart
from logbook.ui.trend.saving import Saving, ask_where
from logbook.ui.trend.study_view import StudyView

PAGES: tuple[tuple[str, str], ...] = (("trend", "Trend"), *STUDIES)
KEYS = (
    "←/→ move · +/- zoom · 1…9, 0 length · Shift+←/→ reading · N/P out of limits · "
    "↑/↓ point · Del drop · Ctrl+F add"
)
LEGEND = "▲▼ warning · ■ action · ◇ corrected, × before · grey: down"
SAVED_SIZE = (11.0, 6.5)
MOST = 12
"""So many points are shown at once."""
CLOSE_S = CLOSE_LOOK.total_seconds()
PAUSE_MS = 120
"""What happened is looked up when the picture has stood still for so long."""


class TrendScreen(Screen):
    """Points chosen by typing; their histories are read whole, once."""

    def __init__(
        self, book: Book, theme: Theme, session: Session, parent: QWidget | None = None
    ) -> None:
        """The screen without points; `enter` reads what is chosen."""
        super().__init__(parent)
        self.session = session
        self._book, self._theme = book, theme
        self._loads, self._around_loads = Loads(book, self), Loads(book, self)
        self._saves = Loads(book, self)
        self.keys: tuple[str, ...] = ()
        self.study: Study | None = None
        self._wanted_span: tuple[float, float] | None = None
        self.bar = TrendBar(PAGES, self)
        self.closer = StudyView(book, theme)
        self.page = "trend"
        self.other: tuple[float, float] | None = None
        self.bar.add_marks(
            LoadingMark(self._loads),
            LoadingMark(self._around_loads),
            LoadingMark(self.closer.loads, "drawing…"),
            LoadingMark(self._saves, "saving…"),
        )
        self.chart = TrendChart(theme)
        self._scroll = QScrollArea()
        self._scroll.setWidget(self.chart)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._stack = QStackedWidget()
        self._stack.addWidget(self._scroll)
        self._stack.addWidget(self.closer)
        self.limits, self.happened = _line(), _line()
        self.message = MessageLine(KEYS, self)
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._ask_around)
        self._lay_out()
        self._connect()
        self.bar.show_page("trend")

    def _lay_out(self) -> None:
        foot = self._foot = QFrame()
        foot.setProperty("role", "foot")
        lines = QVBoxLayout(foot)
        lines.setContentsMargins(12, 4, 12, 4)
        lines.setSpacing(1)
        lines.addWidget(self.limits)
        lines.addWidget(self.happened)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        for widget in (self.bar, self._stack, foot, self.message):
            layout.addWidget(widget)
        layout.setStretch(1, 1)
        self.setFocusProxy(self.chart)

    def _connect(self) -> None:
        picker, chart = self.bar.picker, self.chart
        picker.toggled.connect(self.toggle)
        picker.all_wanted.connect(self.add_all)
        picker.left.connect(self._to_chart)
        self.bar.typed.connect(self.go_to)
        self.bar.share_toggled.connect(self._on_share)
        self.bar.save.clicked.connect(self.save)
        self.bar.page_chosen.connect(self.show_page)
        self.closer.picture.moved.connect(chart.keyPressEvent)
        self.closer.failed.connect(self._on_failed)
        chart.chosen_changed.connect(self._draw_closer)
        chart.span_changed.connect(self._on_span)
        chart.cursor_changed.connect(self._on_cursor)
        chart.opened.connect(self._on_opened)
        chart.removal_wanted.connect(self.toggle)
        self.bind_keys(
            [
                ("Ctrl+F", picker.begin),
                ("Ctrl+G", self._find_period),
                ("Ctrl+U", self.bar.share.toggle),
                ("Ctrl+S", self.save),
                ("F5", self.refresh),
            ]
        )
        self.bind_pages([page for page, _ in PAGES], self._on_page_key)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._theme = theme
        self.chart.set_theme(theme)
        self.closer.set_theme(theme)

    # -- coming and going -----------------------------------------------------------------

    def enter(self) -> None:
        """Read again where something was written meanwhile; without points, ask for one."""
        self.bar.picker.offer_from(self.session.plant, self.keys)
        self.title_changed.emit("Trend")
        if not self.keys:
            QTimer.singleShot(0, self.bar.picker, self.bar.picker.begin)
        elif self.study is None or self._book.last_page().seal != self.study.seal:
            self.refresh()

    def leave(self) -> None:
        """Wait for what is still read."""
        self._pause.stop()
        self.closer.stop()
        for loads in (self._loads, self._around_loads, self._saves):
            loads.stop()

    def refresh(self) -> None:
        """Read all points anew."""
        self._read(known=None)

    # -- which page -----------------------------------------------------------------------

    def show_page(self, key: str) -> None:
        """Show the moving chart ("trend") or a closer look at the same points and stretch."""
        self.page = key
        self.bar.show_page(key)
        self._stack.setCurrentWidget(self._scroll if key == "trend" else self.closer)
        self._foot.setVisible(key == "trend")
        self.bar.share.setVisible(key == "trend")
        self.setFocusProxy(self._front)
        self._to_chart()
        self._draw_closer()

    @property
    def _front(self) -> QWidget:
        return self.chart if self.page == "trend" else self.closer

    def _on_page_key(self) -> None:
        self.show_page(self.sender().property("page"))

    def _draw_closer(self) -> None:
        if self.page != "trend" and self.study is not None and self.chart.span is not None:
            self.closer.show_page(self.page_ask)

    def page_ask(self, look: Look, size: tuple[float, float]) -> PageAsk:
        """What the page now shown asks for. Only with a study."""
        span = self.chart.span
        assert self.study is not None
        assert span is not None
        return PageAsk(
            page=self.page,
            study=self.study,
            chosen=self.chart.chosen,
            span=(max(span.start, span.first), min(span.end, span.last)),
            other=self.other,
            look=look,
            size=size,
        )

    # -- saving ---------------------------------------------------------------------------

    def save(self) -> None:
        """Ask where to, and save what is shown."""
        if self.study is None or not self.study.tracks:
            self.message.say("Add a point first; then there is something to save.", Tone.FAULT)
            return
        path = ask_where(self, self._book.path.parent, f"trend-{self.study.tracks[0].key}")
        if path is not None:
            self.save_to(path)

    def save_to(self, path: Path) -> None:
        """Save the picture (.png), a page (.pdf) or the data (.csv), beside the window."""
        assert self.study is not None
        page = self.page_ask(PAPER, SAVED_SIZE)
        saving = Saving(path, page, self.chart.around, by_unit=self.chart.by_unit)

        def write(beside: Book) -> Path:
            saving.write(beside.now())
            return path

        self._saves.ask(write, self._on_saved, self._on_failed)

    def _on_saved(self, path: Path) -> None:
        self.message.say(f"Saved as {path}.", Tone.DONE)

    # -- which points ---------------------------------------------------------------------

    def toggle(self, key: str) -> None:
        """Take a point, or drop it where it is taken."""
        if key in self.keys:
            self.show_points(tuple(one for one in self.keys if one != key))
        else:
            self.add_all([key])

    def add_all(self, keys: list[str]) -> None:
        """Take points in addition, as many as there is room for."""
        fresh = [key for key in dict.fromkeys(keys) if key not in self.keys]
        room = MOST - len(self.keys)
        if len(fresh) > room:
            self.message.say(f"{MOST} points are shown at once; drop one with Delete.", Tone.FAULT)
        if fresh[:room]:
            self.chart.chosen = fresh[0]
            self.show_points((*self.keys, *fresh[:room]))

    def show_points(self, keys: tuple[str, ...]) -> None:
        """Show these points, and no others."""
        self.keys = keys
        self.bar.picker.offer_from(self.session.plant, keys)
        self._read(known=self.study)

    def show_trend(self, point: str, at: datetime) -> None:
        """From another screen: a point's trend, the cursor on an instant."""
        self.chart.chosen = point
        self.chart.cursor_at = at.timestamp()
        if point in self.keys and self.study is not None:
            self.chart.choose(point)
            self._look_at(at.timestamp())
            return
        self._wanted_span = (at.timestamp() - 20 * 86400.0, at.timestamp() + 10 * 86400.0)
        self.show_points((point, *self.keys)[:MOST] if len(self.keys) < MOST else (point,))

    def _look_at(self, at: float) -> None:
        span = self.chart.span
        if span is not None and not span.start <= at <= span.end:
            self.chart.show_span(span.placed(at - span.length / 2, at + span.length / 2))
        self.chart.put_cursor(at)

    def _read(self, known: Study | None) -> None:
        plant = self.session.plant
        there = {point.key for point in plant.points if point.kind.is_numeric}
        keys = self.keys = tuple(key for key in self.keys if key in there)

        def read(beside: Book) -> Study:
            now = beside.now()
            held = known
            if held is not None and beside.last_page().seal != held.seal:
                held = None
            return read_study(beside, plant, keys, now, known=held)

        self._loads.ask(read, self._on_study, self._on_failed)

    def _on_study(self, study: Study) -> None:
        self.study = study
        self.message.say(LEGEND if study.tracks else "")
        self.chart.show_study(study)
        if self._wanted_span is not None and self.chart.span is not None:
            self.chart.show_span(self.chart.span.placed(*self._wanted_span))
            self._wanted_span = None
        names = ", ".join(track.name for track in study.tracks)
        self.title_changed.emit(f"Trend, {names}" if names else "Trend")
        self._draw_closer()
        self._pause.start()

    def _on_failed(self, why: str) -> None:
        self.message.say(why, Tone.FAULT)

    # -- which stretch --------------------------------------------------------------------

    def go_to(self, text: str) -> None:
        """Show a period as typed; a text that names none is told and stays."""
        if self.chart.span is None:
            self.message.say("Add a point first, then choose its period.", Tone.FAULT)
            return
        now = self._book.now()
        try:
            period = parse_period(text, self.session.plant.calendar, now)
        except PeriodError as problem:
            self.message.say(f"{str(problem)[:1].upper()}{str(problem)[1:]}.", Tone.FAULT)
            return
        self.message.say(LEGEND)
        self.bar.any.clear()
        wanted = period.start.timestamp(), period.end.timestamp()
        if self.page == "periods":
            self.other = wanted
            self._draw_closer()
        else:
            self.chart.show_span(self.chart.span.placed(*wanted))
        self._to_chart()

    def _find_period(self) -> None:
        self.bar.any.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.bar.any.selectAll()

    def _to_chart(self) -> None:
        self._front.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_span(self, span: Span) -> None:
        if self.study is not None:
            words = span_text(
                max(span.start, span.first), min(span.end, span.last), self.study.zone
            )
            self.bar.show_span(words, length_text(span.length))
        self._draw_closer()
        self._pause.start()

    def _ask_around(self) -> None:
        """What happened in the stretch and as much on either side, where it is not known yet."""
        span, known = self.chart.span, self.chart.around
        if span is None or self.study is None or not self.study.tracks:
            return
        is_known = known is not None and known.start <= span.start and span.end <= known.end
        if is_known and known is not None and (known.is_close or span.length > CLOSE_S):
            return
        side = span.length if span.length * 3 <= CLOSE_S else 0.0
        plant = self.study.plant
        start = datetime.fromtimestamp(int(span.start - side), UTC)
        end = datetime.fromtimestamp(int(span.end + side) + 1, UTC)

        def read(beside: Book) -> Around:
            found = read_around(beside, plant, start, end)
            # A stretch that reaches beyond the present holds until more is written.
            return replace(found, start=span.start - side, end=span.end + side)

        self._around_loads.ask(read, self.chart.show_around, self._on_failed)

    # -- the cursor -----------------------------------------------------------------------

    def _on_cursor(self) -> None:
        outs = {one.track.key: one for one in self.chart.read_outs()}
        chosen = outs.get(self.chart.chosen)
        limits = f"{chosen.track.name}: {chosen.limits or 'no limits'}" if chosen else ""
        if chosen is not None and chosen.place >= 0:
            limits = f"{limits} · read {chosen.when}"
        self.limits.setText(limits)
        found = self.chart.happened()
        more = f"  (and {len(found) - 1} more)" if len(found) > 1 else ""
        self.happened.setText(f"{found[0]}{more}" if found else "")
        self.happened.setToolTip("\n".join(found))

    def _on_share(self, by_unit: bool) -> None:
        self.chart.share_axes(by_unit=by_unit)
        self._to_chart()

    def _on_opened(self, key: str, at: float) -> None:
        self.field_wanted.emit(key, datetime.fromtimestamp(int(at), UTC))


def _line() -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setMinimumWidth(10)
    return label
