"""The book: one SQLite file that keeps everything written, append-only and sealed."""

from logbook.record.book import (
    DEFAULT_SEAT as DEFAULT_SEAT,
)
from logbook.record.book import (
    Book as Book,
)
from logbook.record.book import (
    Written as Written,
)
from logbook.record.book import (
    create_book as create_book,
)
from logbook.record.book import (
    open_book as open_book,
)
from logbook.record.errors import (
    BookBusy as BookBusy,
)
from logbook.record.errors import (
    BookDamaged as BookDamaged,
)
from logbook.record.errors import (
    BookError as BookError,
)
from logbook.record.errors import (
    BookExists as BookExists,
)
from logbook.record.errors import (
    BookMissing as BookMissing,
)
from logbook.record.errors import (
    BookReadOnly as BookReadOnly,
)
from logbook.record.errors import (
    DiskFull as DiskFull,
)
from logbook.record.errors import (
    FolderNotWritable as FolderNotWritable,
)
from logbook.record.errors import (
    NetworkFolder as NetworkFolder,
)
from logbook.record.errors import (
    NewerBook as NewerBook,
)
from logbook.record.errors import (
    NotABook as NotABook,
)
from logbook.record.errors import (
    WriteRefused as WriteRefused,
)
from logbook.record.read import Reader as Reader
from logbook.record.rows import (
    INSTRUMENT_FAULT as INSTRUMENT_FAULT,
)
from logbook.record.rows import (
    MACHINE_DOWN as MACHINE_DOWN,
)
from logbook.record.rows import (
    MISSING_REASONS as MISSING_REASONS,
)
from logbook.record.rows import (
    NOT_SAFE as NOT_SAFE,
)
from logbook.record.rows import (
    NOT_SAMPLED as NOT_SAMPLED,
)
from logbook.record.rows import (
    Down as Down,
)
from logbook.record.rows import (
    Draft as Draft,
)
from logbook.record.rows import (
    DraftField as DraftField,
)
from logbook.record.rows import (
    DraftHead as DraftHead,
)
from logbook.record.rows import (
    Entry as Entry,
)
from logbook.record.rows import (
    LimitRow as LimitRow,
)
from logbook.record.rows import (
    ModeChange as ModeChange,
)
from logbook.record.rows import (
    NewEntry as NewEntry,
)
from logbook.record.rows import (
    NewModeChange as NewModeChange,
)
from logbook.record.rows import (
    NewReading as NewReading,
)
from logbook.record.rows import (
    NewResponse as NewResponse,
)
from logbook.record.rows import (
    NewRow as NewRow,
)
from logbook.record.rows import (
    NewSample as NewSample,
)
from logbook.record.rows import (
    NewStatus as NewStatus,
)
from logbook.record.rows import (
    Page as Page,
)
from logbook.record.rows import (
    PageHead as PageHead,
)
from logbook.record.rows import (
    Reading as Reading,
)
from logbook.record.rows import (
    Ref as Ref,
)
from logbook.record.rows import (
    Response as Response,
)
from logbook.record.rows import (
    Revision as Revision,
)
from logbook.record.rows import (
    Sample as Sample,
)
from logbook.record.rows import (
    SavedPage as SavedPage,
)
from logbook.record.rows import (
    Series as Series,
)
from logbook.record.rows import (
    Status as Status,
)
from logbook.record.rows import (
    corrected as corrected,
)
from logbook.record.seal import short_seal as short_seal
from logbook.record.verify import (
    SealFault as SealFault,
)
from logbook.record.verify import (
    Verification as Verification,
)
from logbook.record.verify import (
    verify as verify,
)
from logbook.record.version import sqlite_version as sqlite_version
