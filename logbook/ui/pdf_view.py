"""The printed form in a window: the very bytes that are stored and hashed, shown, printed, saved."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from queue import Queue

from PySide6.QtCore import QCoreApplication, QObject, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QImage, QKeySequence, QPageLayout, QPageSize, QPainter, QPixmap, QShortcut
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from logbook.record import BookError
from logbook.report.errors import ReportError
from logbook.report.files import write_pdf
from logbook.ui.loads import told
from logbook.ui.work import Job, Progress

ZOOMS = (0.5, 0.67, 0.8, 1.0, 1.25, 1.5, 2.0, 3.0)
BASE_DPI = 96.0
PRINT_DPI = 300
"""Dots per inch of the pages handed to a printer; finer ones only make the job slow."""
POINTS_PER_INCH = 72.0
GAP = 14

AskPrinter = Callable[[QPrinter, QWidget], bool]
AskFile = Callable[[QWidget, str], str]


class PdfPages:
    """The pages of a PDF as images. Raises ReportError for bytes that are none."""

    def __init__(self, data: bytes) -> None:
        """Open the PDF; the bytes are kept as they are."""
        import pypdfium2

        self.data = data
        try:
            self._document = pypdfium2.PdfDocument(data)
        except pypdfium2.PdfiumError as error:
            raise ReportError(
                f"The printed form cannot be shown ({error}); make it anew."
            ) from error
        self.sizes: tuple[tuple[float, float], ...] = tuple(
            self._document.get_page_size(k) for k in range(len(self._document))
        )

    def __len__(self) -> int:
        return len(self.sizes)

    def image(self, index: int, dpi: float) -> QImage:
        """A page drawn at a resolution."""
        page = self._document[index]
        bitmap = page.render(scale=dpi / POINTS_PER_INCH, rev_byteorder=True, prefer_bgrx=True)
        raw = bytes(bitmap.buffer)
        drawn = QImage(
            raw, bitmap.width, bitmap.height, bitmap.stride, QImage.Format.Format_RGBX8888
        ).copy()
        bitmap.close()
        page.close()
        return drawn

    def text(self, index: int) -> str:
        """The text of a page, as a reader would copy it."""
        page = self._document[index]
        text_page = page.get_textpage()
        found: str = text_page.get_text_bounded()
        text_page.close()
        page.close()
        return found

    def close(self) -> None:
        """Let go of the document."""
        self._document.close()


class PageStack(QWidget):
    """The pages one below the other; a page is drawn when it comes into view."""

    def __init__(self, pages: PdfPages) -> None:
        """All pages at their natural size."""
        super().__init__()
        self.pages = pages
        self.zoom = 1.0
        self._drawn: dict[int, QPixmap] = {}
        self._resize()

    def set_zoom(self, zoom: float) -> None:
        """Show the pages larger or smaller; 1 is 96 dots per inch."""
        if zoom != self.zoom:
            self.zoom = zoom
            self._drawn.clear()
            self._resize()
            self.update()

    def boxes(self) -> list[QRectF]:
        """Where each page stands."""
        found, top = [], float(GAP)
        width = self._width()
        for wide, tall in self.pages.sizes:
            box = QSize(self._px(wide), self._px(tall))
            found.append(QRectF((width - box.width()) / 2, top, box.width(), box.height()))
            top += box.height() + GAP
        return found

    def page_at(self, y: float) -> int:
        """The page, counted from 0, that stands at a height."""
        for index, box in enumerate(self.boxes()):
            if y <= box.bottom() + GAP:
                return index
        return max(0, len(self.pages) - 1)

    def _px(self, points: float) -> int:
        return round(points / POINTS_PER_INCH * BASE_DPI * self.zoom)

    def _width(self) -> int:
        return max([self.width(), *(self._px(wide) + 2 * GAP for wide, _ in self.pages.sizes)])

    def _resize(self) -> None:
        tall = sum(self._px(height) + GAP for _, height in self.pages.sizes) + GAP
        wide = max((self._px(width) + 2 * GAP for width, _ in self.pages.sizes), default=0)
        self.setMinimumSize(wide, tall)
        self.resize(max(wide, self.width()), tall)

    def paintEvent(self, event: object) -> None:
        """Draw the pages that are seen."""
        painter = QPainter(self)
        seen = QRectF(self.visibleRegion().boundingRect())
        for index, box in enumerate(self.boxes()):
            if box.intersects(seen):
                painter.drawPixmap(box.topLeft(), self._pixmap(index))
            else:
                self._drawn.pop(index, None)
        painter.end()

    def _pixmap(self, index: int) -> QPixmap:
        if index not in self._drawn:
            ratio = self.devicePixelRatioF()
            made = QPixmap.fromImage(self.pages.image(index, BASE_DPI * self.zoom * ratio))
            made.setDevicePixelRatio(ratio)
            self._drawn[index] = made
        return self._drawn[index]


class PdfDialog(QDialog):
    """Shows a PDF; prints it through the system's printer dialog and saves the same bytes."""

    def __init__(self, data: bytes, title: str, parent: QWidget | None = None) -> None:
        """A dialog on the bytes of a PDF. Raises ReportError for bytes that are none."""
        super().__init__(parent)
        self.data = data
        self.ask_printer: AskPrinter = _ask_printer
        self.ask_file: AskFile = _ask_file
        self.setWindowTitle(title)
        self.resize(960, 820)
        self.stack = PageStack(PdfPages(data))
        self._area = QScrollArea()
        self._area.setWidget(self.stack)
        self._area.setWidgetResizable(True)
        self._area.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self._printing: Printing | None = None
        self.told = QLabel()
        self.told.setTextFormat(Qt.TextFormat.PlainText)
        self.told.setWordWrap(True)
        self._page = QLabel()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 10, 12, 10)
        layout.addLayout(self._bar())
        layout.addWidget(self._area, 1)
        layout.addWidget(self.told)
        self.told.hide()
        self._area.verticalScrollBar().valueChanged.connect(self._tell_page)
        self._keys()
        self._tell_page()

    def _bar(self) -> QHBoxLayout:
        bar = QHBoxLayout()
        bar.setSpacing(8)
        self.print_button = _button("&Print…", self.print_out)
        self.save_button = _button("&Save as PDF…", self.save)
        bar.addWidget(self.print_button)
        bar.addWidget(self.save_button)
        self.stop_button = _button("S&top printing", self.stop_printing)
        self.stop_button.hide()
        bar.addWidget(self.stop_button)
        bar.addStretch(1)
        bar.addWidget(self._page)
        bar.addStretch(1)
        bar.addWidget(_button("Smaller", self.smaller))
        bar.addWidget(_button("Larger", self.larger))
        bar.addWidget(_button("&Close", self.accept))
        return bar

    def _keys(self) -> None:
        keys: Sequence[tuple[QKeySequence.StandardKey, Callable[[], None]]] = (
            (QKeySequence.StandardKey.Print, self.print_out),
            (QKeySequence.StandardKey.Save, self.save),
            (QKeySequence.StandardKey.ZoomIn, self.larger),
            (QKeySequence.StandardKey.ZoomOut, self.smaller),
        )
        for key, deed in keys:
            QShortcut(QKeySequence(key), self).activated.connect(deed)

    def larger(self) -> None:
        """Show the pages one step larger."""
        self.zoom_by(1)

    def smaller(self) -> None:
        """Show the pages one step smaller."""
        self.zoom_by(-1)

    def zoom_by(self, step: int) -> None:
        """One step larger or smaller."""
        place = min(range(len(ZOOMS)), key=lambda k: abs(ZOOMS[k] - self.stack.zoom)) + step
        self.stack.set_zoom(ZOOMS[min(max(place, 0), len(ZOOMS) - 1)])
        self._tell_page()

    def print_out(self) -> None:
        """Ask for a printer and print all pages or those chosen; says what went wrong."""
        printer = new_printer(self.stack.pages, self.windowTitle())
        if self._printing is not None and self._printing.is_running:
            return
        if not self.ask_printer(printer, self):
            return
        if not printer.isValid():
            self._say(_printer_failed(printer).message, is_fault=True)
            return
        self._printer = printer  # it must live as long as it is drawn on
        self._printing = Printing(self.stack.pages, printer, self)
        self._printing.progressed.connect(self._on_page)
        self._printing.ended.connect(self._on_printed)
        self._show_printing(True)
        self._printing.start()

    def _on_page(self, done: int, count: int) -> None:
        self._say(f"Printing: {done} of {count} pages…")

    def _on_printed(self, count: int, fault: str) -> None:
        self._show_printing(False)
        told = f"{count} page{'s' if count != 1 else ''} handed to the printer."
        self._say(fault or told, is_fault=bool(fault))

    def _show_printing(self, is_printing: bool) -> None:
        self.print_button.setEnabled(not is_printing)
        self.stop_button.setVisible(is_printing)

    def stop_printing(self) -> None:
        """Give up what is being printed."""
        if self._printing is not None:
            self._printing.cancel()

    def done(self, result: int) -> None:
        """Close; what is still being printed is given up."""
        if self._printing is not None:
            self._printing.stop()
        super().done(result)

    def save(self) -> None:
        """Ask for a file and write the bytes that are shown into it."""
        name = self.ask_file(self, f"{_file_name(self.windowTitle())}.pdf")
        if not name:
            return
        try:
            write_pdf(Path(name), self.data)
        except BookError as error:
            self._say(error.message, is_fault=True)
        else:
            self._say(f"Saved as {name}.")

    def _say(self, text: str, *, is_fault: bool = False) -> None:
        self.told.setText(text)
        self.told.setProperty("role", "fault" if is_fault else "")
        self.told.style().unpolish(self.told)
        self.told.style().polish(self.told)
        self.told.show()

    def _tell_page(self) -> None:
        middle = self._area.verticalScrollBar().value() + self._area.viewport().height() / 2
        number = self.stack.page_at(middle) + 1
        self._page.setText(f"page {number} of {len(self.stack.pages)}")


def new_printer(pages: PdfPages, title: str) -> QPrinter:
    """A printer set up for the first page's paper, without margins of its own."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setDocName(title)
    printer.setFullPage(True)
    wide, tall = pages.sizes[0]
    size = QPageSize(QSize(round(wide), round(tall)), "", QPageSize.SizeMatchPolicy.FuzzyMatch)
    printer.setPageSize(size)
    way = QPageLayout.Orientation.Landscape if wide > tall else QPageLayout.Orientation.Portrait
    printer.setPageOrientation(way)
    printer.setFromTo(0, 0)
    return printer


class Printing(QObject):
    """Draws pages on a printer beside the window, one after the other.

    The library that makes images of pages is not made for two threads, and the preview uses it:
    so the window makes the image of a page when the printer's thread wants the next one.
    """

    progressed = Signal(int, int)
    """So many pages of so many are handed over."""
    ended = Signal(int, str)
    """How many pages were handed over, and what went wrong; nothing where all went well."""

    def __init__(self, pages: PdfPages, printer: QPrinter, parent: QObject | None = None) -> None:
        """Nothing is printed yet; `start` begins."""
        super().__init__(parent)
        self._pages, self._printer = pages, printer
        first = max(printer.fromPage(), 1)
        last = min(printer.toPage() or len(pages), len(pages))
        self._wanted = range(first - 1, last)
        self._images: Queue[QImage | None] = Queue()
        self._done, self._given_up = 0, False
        self._job: Job | None = None

    @property
    def is_running(self) -> bool:
        """True between `start` and `ended`."""
        return self._job is not None

    def start(self) -> None:
        """Begin; a printer that cannot take anything is told by `ended`."""
        printer, count, images = self._printer, len(self._wanted), self._images

        def task(progress: Progress, cancelled: Callable[[], bool]) -> None:
            _print_all(printer, count, images, progress, cancelled)

        app = QCoreApplication.instance()
        assert app is not None
        job = self._job = Job(task, app)
        job.progressed.connect(self._on_page)
        job.failed.connect(self._on_failed)
        job.succeeded.connect(self._on_succeeded)
        job.finished.connect(job.deleteLater)
        self._hand_next()
        job.start()

    def cancel(self) -> None:
        """Give up after the page now drawn; the printer throws away what it has, where it can."""
        if self._job is not None:
            self._given_up = True
            self._job.cancel()
            self._images.put(None)

    def stop(self) -> None:
        """Give up and wait for it."""
        if self._job is not None:
            self.cancel()
            self._job.wait()

    def _hand_next(self) -> None:
        if self._done < len(self._wanted) and not self._given_up:
            dpi = min(PRINT_DPI, self._printer.resolution())
            self._images.put(self._pages.image(self._wanted[self._done], dpi))

    def _on_page(self, _fraction: float, _text: str) -> None:
        self._done += 1
        self._hand_next()
        self.progressed.emit(self._done, len(self._wanted))

    def _on_failed(self, fault: Exception) -> None:
        self._job = None
        self.ended.emit(self._done, told(fault))

    def _on_succeeded(self, _: object) -> None:
        self._job = None
        self.ended.emit(self._done, "Printing was given up." if self._given_up else "")


def _print_all(
    printer: QPrinter,
    count: int,
    images: Queue[QImage | None],
    progress: Progress,
    cancelled: Callable[[], bool],
) -> None:
    """In the printer's thread: draw each image as it comes. Raises ReportError."""
    painter = QPainter()
    if not painter.begin(printer):
        raise _printer_failed(printer)
    try:
        for index in range(count):
            image = images.get()
            if image is None or cancelled():
                printer.abort()
                return
            if index and not printer.newPage():
                raise _printer_failed(printer)
            _draw(painter, image, printer)
            progress((index + 1) / count, "")
    finally:
        ended = painter.end()
    if not ended or printer.printerState() is QPrinter.PrinterState.Error:
        raise _printer_failed(printer)


def _draw(painter: QPainter, image: QImage, printer: QPrinter) -> None:
    paper = QRectF(printer.pageLayout().fullRectPixels(printer.resolution()))
    paper.moveTo(0, 0)
    part = min(paper.width() / image.width(), paper.height() / image.height())
    box = QRectF(0, 0, image.width() * part, image.height() * part)
    box.moveCenter(paper.center())
    painter.drawImage(box, image)


def _printer_failed(printer: QPrinter) -> ReportError:
    name = printer.printerName() or "file"
    return ReportError(
        f"The printer ({name}) did not take the pages; see that it is on and reachable, "
        "or save the PDF and print it elsewhere."
    )


def _ask_printer(printer: QPrinter, parent: QWidget) -> bool:
    dialog = QPrintDialog(printer, parent)
    dialog.setOption(QPrintDialog.PrintDialogOption.PrintPageRange)
    return dialog.exec() == QDialog.DialogCode.Accepted


def _ask_file(parent: QWidget, name: str) -> str:
    return QFileDialog.getSaveFileName(parent, "Save as PDF", name, "PDF (*.pdf)")[0]


def _file_name(title: str) -> str:
    """A title as the name of a file: what a file system might refuse is left out."""
    kept = "".join(c if c.isalnum() or c in " -_." else " " for c in title)
    return " ".join(kept.split()) or "logbook"


def _button(text: str, deed: Callable[[], object]) -> QPushButton:
    made = QPushButton(text)
    made.setAutoDefault(False)
    made.clicked.connect(deed)
    return made
