"""The book: one SQLite file that keeps everything written, append-only and sealed."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from logbook.record.book import DEFAULT_SEAT, Book, Written, create_book, open_book
from logbook.record.errors import (
    BookBusy,
    BookDamaged,
    BookError,
    BookExists,
    BookMissing,
    BookReadOnly,
    DiskFull,
    FolderNotWritable,
    NetworkFolder,
    NewerBook,
    NotABook,
    WriteRefused,
)
from logbook.record.links import Ref
from logbook.record.read import Reader
from logbook.record.read_corrections import Correction
from logbook.record.read_rounds import RoundNumbers, WrittenPage
from logbook.record.rows import (
    INSTRUMENT_FAULT,
    MACHINE_DOWN,
    MISSING_REASONS,
    NOT_SAFE,
    NOT_SAMPLED,
    Down,
    Draft,
    DraftField,
    DraftHead,
    Entry,
    LimitRow,
    Lines,
    ModeChange,
    NewEntry,
    NewModeChange,
    NewReading,
    NewResponse,
    NewRow,
    NewSample,
    NewStatus,
    Page,
    PageHead,
    Reading,
    Response,
    Revision,
    Sample,
    SavedPage,
    Series,
    Status,
    corrected,
)
from logbook.record.seal import short_seal
from logbook.record.version import sqlite_version

if TYPE_CHECKING:
    from logbook.record.rows_handover import (
        Change,
        Document,
        DocumentHead,
        HandoverCheck,
        NewDocument,
        NewHandoverCheck,
        NewHandoverNote,
        NewSignature,
        Note,
        Signature,
    )
    from logbook.record.rows_journal import (
        AccessEvent,
        Credential,
        Found,
        Instruction,
        ItemEvent,
        NewAccess,
        NewAcknowledgement,
        NewCredential,
        NewInstruction,
        NewInstructionEnd,
        NewItemEvent,
        NewOpenItem,
        NewSafetyEvent,
        NewSafetyState,
        OpenItem,
        SafetyEvent,
        SafetyState,
    )
    from logbook.record.verifying import SealFault, Verification, verify

__all__ = [
    "DEFAULT_SEAT",
    "INSTRUMENT_FAULT",
    "MACHINE_DOWN",
    "MISSING_REASONS",
    "NOT_SAFE",
    "NOT_SAMPLED",
    "AccessEvent",
    "Book",
    "BookBusy",
    "BookDamaged",
    "BookError",
    "BookExists",
    "BookMissing",
    "BookReadOnly",
    "Change",
    "Correction",
    "Credential",
    "DiskFull",
    "Document",
    "DocumentHead",
    "Down",
    "Draft",
    "DraftField",
    "DraftHead",
    "Entry",
    "FolderNotWritable",
    "Found",
    "HandoverCheck",
    "Instruction",
    "ItemEvent",
    "LimitRow",
    "Lines",
    "ModeChange",
    "NetworkFolder",
    "NewAccess",
    "NewAcknowledgement",
    "NewCredential",
    "NewDocument",
    "NewEntry",
    "NewHandoverCheck",
    "NewHandoverNote",
    "NewInstruction",
    "NewInstructionEnd",
    "NewItemEvent",
    "NewModeChange",
    "NewOpenItem",
    "NewReading",
    "NewResponse",
    "NewRow",
    "NewSafetyEvent",
    "NewSafetyState",
    "NewSample",
    "NewSignature",
    "NewStatus",
    "NewerBook",
    "NotABook",
    "Note",
    "OpenItem",
    "Page",
    "PageHead",
    "Reader",
    "Reading",
    "Ref",
    "Response",
    "Revision",
    "RoundNumbers",
    "SafetyEvent",
    "SafetyState",
    "Sample",
    "SavedPage",
    "SealFault",
    "Series",
    "Signature",
    "Status",
    "Verification",
    "WriteRefused",
    "Written",
    "WrittenPage",
    "corrected",
    "create_book",
    "open_book",
    "short_seal",
    "sqlite_version",
    "verify",
]

_LATER = (
    "logbook.record.rows_journal",
    "logbook.record.rows_handover",
    "logbook.record.verifying",
)


def __getattr__(name: str) -> object:
    """Load what opening a book and writing a round do not need when it is first asked for."""
    if name in __all__:
        for home in _LATER:
            module = import_module(home)
            if name in vars(module):
                return getattr(module, name)
    raise AttributeError(f"module 'logbook.record' has no attribute {name!r}")
