"""What schema version 2 adds: crews, open items, safety states, handover, signatures, search.

A released version is never edited; the next version is a new module and a new migration. The two
rules of `schema_v1` hold for every table of facts here as well.

`words` is an index for searching and no fact: its rows are copies of texts that stand, sealed, in
the tables of facts, put there in the same transaction. `verify` compares the two. It is the writer
that fills it and no trigger: SQLite 3.40, for one, lets no trigger write to such a table in a connection
that does not trust the schema, and ours do not.
"""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

from logbook.record.schema_v1 import insert_guard, refusal

_HEAD = """
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,"""
_TAIL = """
  CHECK (id >> 40 = page >> 40)
) STRICT"""
_SHIFT = """
  shift_date TEXT NOT NULL CHECK (shift_date IS date(shift_date)),
  shift_key TEXT NOT NULL CHECK (trim(shift_key) <> ''),"""

_BODIES = {
    "credential": """
  person TEXT NOT NULL CHECK (trim(person) <> ''),
  kind TEXT NOT NULL CHECK (kind IN ('pin', 'password')),
  hash TEXT NOT NULL CHECK (trim(hash) <> ''),""",
    "access": """
  person TEXT NOT NULL CHECK (trim(person) <> ''),
  at INTEGER NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('wrong', 'locked', 'signed_on', 'signed_off', 'changed')),
  detail TEXT NOT NULL,""",
    "open_item": """
  at INTEGER NOT NULL,
  text TEXT NOT NULL CHECK (trim(text) <> ''),
  area TEXT,
  equipment TEXT,
  owner TEXT,
  due_at INTEGER,
  reading INTEGER REFERENCES reading,
  entry INTEGER REFERENCES entry,""",
    "item_event": """
  item INTEGER NOT NULL REFERENCES open_item,
  at INTEGER NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('update', 'close', 'reopen')),
  text TEXT NOT NULL CHECK (trim(text) <> ''),""",
    "instruction": """
  valid_from INTEGER NOT NULL,
  valid_to INTEGER CHECK (valid_to > valid_from),
  text TEXT NOT NULL CHECK (trim(text) <> ''),
  area TEXT,""",
    "instruction_end": """
  instruction INTEGER NOT NULL UNIQUE REFERENCES instruction,
  at INTEGER NOT NULL,
  reason TEXT NOT NULL CHECK (trim(reason) <> ''),""",
    "acknowledgement": """
  instruction INTEGER NOT NULL REFERENCES instruction,
  at INTEGER NOT NULL,""",
    "safety_state": """
  at INTEGER NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('bypass', 'permit', 'isolation', 'override', 'other')),
  what TEXT NOT NULL CHECK (trim(what) <> ''),
  area TEXT,
  equipment TEXT,
  authorised_by TEXT NOT NULL,
  until_at INTEGER CHECK (until_at > at),""",
    "safety_event": """
  state INTEGER NOT NULL REFERENCES safety_state,
  at INTEGER NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('clear', 'extend')),
  text TEXT NOT NULL CHECK (trim(text) <> ''),
  until_at INTEGER CHECK (until_at > at),
  CHECK (kind = 'extend' OR until_at IS NULL),
  CHECK (kind = 'clear' OR until_at IS NOT NULL),""",
    "handover_note": f"""{_SHIFT}
  part TEXT NOT NULL CHECK (part IN ('remarks', 'next_shift', 'no_safety', 'no_next')),
  text TEXT NOT NULL,""",
    "handover_check": f"""{_SHIFT}
  subject TEXT NOT NULL CHECK (trim(subject) <> ''),
  answer TEXT NOT NULL CHECK (answer IN ('read', 'asked', 'accepted')),
  text TEXT NOT NULL CHECK (answer <> 'asked' OR trim(text) <> ''),""",
    # The printed form stands last: what is asked of a document without it never reads past it.
    "document": f"""
  kind TEXT NOT NULL CHECK (kind IN ('handover', 'review')),{_SHIFT}
  snapshot_sha256 TEXT NOT NULL CHECK (length(snapshot_sha256) = 64),
  pdf_sha256 TEXT NOT NULL CHECK (length(pdf_sha256) = 64),
  snapshot TEXT NOT NULL CHECK (snapshot <> ''),
  pdf BLOB NOT NULL CHECK (length(pdf) > 0),""",
    "signature": f"""{_SHIFT}
  role TEXT NOT NULL CHECK (role IN ('outgoing', 'incoming', 'review')),
  at INTEGER NOT NULL,
  meaning TEXT NOT NULL CHECK (trim(meaning) <> ''),
  document INTEGER REFERENCES document,
  content_hash TEXT NOT NULL CHECK (trim(content_hash) <> ''),
  UNIQUE (shift_date, shift_key, role),""",
}

ROW_TABLES = tuple(sorted(_BODIES))
"""Tables whose rows belong to a page."""

TABLES = tuple(f"\nCREATE TABLE {t} ({_HEAD}{body}{_TAIL}" for t, body in _BODIES.items())

INDEXES = (
    "CREATE INDEX credential_person ON credential (person)",
    "CREATE INDEX access_person ON access (person, at)",
    "CREATE INDEX access_at ON access (at)",
    "CREATE INDEX open_item_at ON open_item (at)",
    "CREATE INDEX item_event_item ON item_event (item, at)",
    "CREATE INDEX item_event_at ON item_event (at)",
    "CREATE INDEX instruction_valid_from ON instruction (valid_from)",
    "CREATE INDEX acknowledgement_instruction ON acknowledgement (instruction, at)",
    "CREATE INDEX safety_state_at ON safety_state (at)",
    "CREATE INDEX safety_event_state ON safety_event (state, at)",
    "CREATE INDEX safety_event_at ON safety_event (at)",
    "CREATE INDEX handover_note_shift ON handover_note (shift_date, shift_key)",
    "CREATE INDEX handover_check_shift ON handover_check (shift_date, shift_key)",
    "CREATE INDEX document_shift ON document (shift_date, shift_key)",
    # Tables of version 1, for what is asked from now on.
    "CREATE INDEX response_at ON response (at)",
    "CREATE INDEX status_at ON status (at)",
    *(f"CREATE INDEX {table}_page ON {table} (page)" for table in ROW_TABLES),
)

_OTHER_KEYS = {
    "instruction_end": "EXISTS (SELECT 1 FROM instruction_end WHERE instruction = NEW.instruction)",
    "signature": "EXISTS (SELECT 1 FROM signature WHERE shift_date = NEW.shift_date"
    " AND shift_key = NEW.shift_key AND role = NEW.role)",
}
"""Unique keys besides the id: a REPLACE on one of them would delete the old row too."""

GUARDS = (
    *(insert_guard(table, _OTHER_KEYS.get(table)) for table in ROW_TABLES),
    *(refusal(table, verb) for table in ROW_TABLES for verb in ("UPDATE", "DELETE")),
    # Nobody takes over from themselves.
    """
CREATE TRIGGER page_two_signers BEFORE INSERT ON page
WHEN EXISTS (
  SELECT 1 FROM signature a
  JOIN signature b ON b.shift_date = a.shift_date AND b.shift_key = a.shift_key
  JOIN page g ON g.id = b.page
  WHERE a.page = NEW.id AND g.person = NEW.person
    AND a.role IN ('outgoing', 'incoming') AND b.role IN ('outgoing', 'incoming')
    AND a.role <> b.role)
 OR (SELECT count(*) <> count(DISTINCT shift_date || ' ' || shift_key) FROM signature
     WHERE page = NEW.id AND role IN ('outgoing', 'incoming'))
BEGIN SELECT RAISE(ABORT, 'signature: nobody takes over a shift from themselves'); END""",
)

# ---------------------------------------------------------------- search


def _of(parent: str, link: str) -> tuple[str, str]:
    """Area and machine of the row that x belongs to."""
    query = f"(SELECT o.{{}} FROM {parent} o WHERE o.id = x.{link})"
    return query.format("area"), query.format("equipment")


_NONE = ("NULL", "NULL")
_OWN = ("x.area", "x.equipment")
_NOTED_AT = "(SELECT g.written_at / 1000 FROM page g WHERE g.id = x.page)"

WORDS_OF: dict[str, tuple[str, str, tuple[str, str], str]] = {
    "entry": ("entry", "x.at", _OWN, "x.text"),
    "response": ("response", "x.at", _NONE, "x.text"),  # its point tells the area
    "open item": ("open_item", "x.at", _OWN, "x.text"),
    "item event": ("item_event", "x.at", _of("open_item", "item"), "x.text"),
    "instruction": ("instruction", "x.valid_from", ("x.area", "NULL"), "x.text"),
    "instruction end": (
        "instruction_end",
        "x.at",
        (_of("instruction", "instruction")[0], "NULL"),
        "x.reason",
    ),
    "safety state": (
        "safety_state",
        "x.at",
        _OWN,
        "x.what || iif(x.authorised_by = '', '', ' · ' || x.authorised_by)",
    ),
    "safety event": ("safety_event", "x.at", _of("safety_state", "state"), "x.text"),
    "downtime": (
        "status",
        "x.at",
        (
            "CASE x.scope WHEN 'area' THEN x.target END",
            "CASE x.scope WHEN 'equipment' THEN x.target END",
        ),
        "x.reason",
    ),
    "sample": (
        "sample",
        "x.taken_at",
        _NONE,
        "x.label || ' · ' || x.sampling_point || iif(x.note = '', '', ' · ' || x.note)",
    ),
    "note": ("handover_note", _NOTED_AT, _NONE, "x.text"),
    "question": ("handover_check", _NOTED_AT, _NONE, "x.text"),
    "page note": ("page", "x.written_at / 1000", _NONE, "x.note"),
}
"""Kind of thing found to its table, instant, (area, machine) and text; x is a row of the table."""


def words_of(kind: str) -> str:
    """A query for what the search index holds of one kind; x is a row of its table."""
    table, at, (area, equipment), text = WORDS_OF[kind]
    page = "x.id" if table == "page" else "x.page"
    return (
        f"SELECT '{kind}' AS kind, x.id AS row, {at} AS at, {area} AS area,"
        f" {equipment} AS equipment, {page} AS page, {text} AS text FROM {table} x WHERE trim({text}) <> ''"
    )


V_TEXT = "\nCREATE VIEW v_text AS\n" + "\nUNION ALL\n".join(words_of(kind) for kind in WORDS_OF)

_INTO_WORDS = "INSERT INTO words (kind, row, at, area, equipment, page, text) "

FILL_WORDS = f"{_INTO_WORDS}SELECT kind, row, at, area, equipment, page, text FROM v_text"

INDEX_PAGE: dict[str, list[str]] = {}
"""Table to the statements that put the words of its rows of one page into the index."""
for _kind, (_table, *_) in WORDS_OF.items():
    _page = "x.id" if _table == "page" else "x.page"
    INDEX_PAGE.setdefault(_table, []).append(f"{_INTO_WORDS}{words_of(_kind)} AND {_page} = ?")

SEARCH = (
    V_TEXT,
    # Diacritics are taken off, so that words typed on a keyboard without them are found as well.
    """
CREATE VIRTUAL TABLE words USING fts5 (
  kind UNINDEXED, row UNINDEXED, at UNINDEXED, area UNINDEXED, equipment UNINDEXED,
  page UNINDEXED, text, tokenize = "unicode61 remove_diacritics 2", prefix = '2 3'
)""",
    FILL_WORDS,
)
