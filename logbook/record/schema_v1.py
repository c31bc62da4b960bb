"""Tables, indexes and guards of schema version 1, as they were released.

A released version is never edited; the next version is a new module and a new migration.

Two rules shape every table of facts:

* its rows name the page they were saved with, and the page row goes in last, so that a page
  that exists is complete and sealed;
* nothing can be changed afterwards. UPDATE and DELETE are refused by triggers. `INSERT OR
  REPLACE` would delete an old row without firing a delete trigger (unless a connection asks
  for recursive triggers), so a trigger *before* INSERT refuses every id and every other unique
  key that is already there, and every row for a page that is already sealed.
"""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

TABLES = (
    """
CREATE TABLE book (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  uuid TEXT NOT NULL,
  created_at INTEGER NOT NULL,
  plant_key TEXT NOT NULL,
  time_zone TEXT NOT NULL,
  made_with TEXT NOT NULL
) STRICT""",
    """
CREATE TABLE seat (
  id INTEGER PRIMARY KEY CHECK (id BETWEEN 1 AND 8388607),
  name TEXT NOT NULL UNIQUE CHECK (trim(name) <> ''),
  created_at INTEGER NOT NULL
) STRICT""",
    """
CREATE TABLE page (
  id INTEGER PRIMARY KEY,
  seat INTEGER NOT NULL REFERENCES seat,
  person TEXT NOT NULL CHECK (trim(person) <> ''),
  written_at INTEGER NOT NULL,
  kind TEXT NOT NULL CHECK (trim(kind) <> ''),
  note TEXT NOT NULL,
  row_count INTEGER NOT NULL CHECK (row_count > 0),
  previous_seal TEXT NOT NULL,
  seal TEXT NOT NULL,
  CHECK (id >> 40 = seat)
) STRICT""",
    """
CREATE TABLE definition (
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,
  kind TEXT NOT NULL,
  key TEXT NOT NULL,
  effective_from INTEGER NOT NULL,
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  reason TEXT NOT NULL CHECK (trim(reason) <> ''),
  body TEXT,
  CHECK (id >> 40 = page >> 40),
  CHECK ((body IS NULL) = withdrawn)
) STRICT""",
    """
CREATE TABLE point (
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,
  key TEXT NOT NULL UNIQUE
) STRICT""",
    """
CREATE TABLE limit_set (
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,
  point INTEGER NOT NULL REFERENCES point,
  mode TEXT NOT NULL,
  effective_from INTEGER NOT NULL,
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  reason TEXT NOT NULL CHECK (trim(reason) <> ''),
  target REAL,
  warning_low REAL,
  warning_high REAL,
  action_low REAL,
  action_high REAL,
  plausible_low REAL,
  plausible_high REAL,
  CHECK (id >> 40 = page >> 40)
) STRICT""",
    """
CREATE TABLE sample (
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,
  taken_at INTEGER NOT NULL,
  sampling_point TEXT NOT NULL,
  label TEXT NOT NULL,
  note TEXT NOT NULL,
  CHECK (id >> 40 = page >> 40)
) STRICT""",
    """
CREATE TABLE reading (
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,
  point INTEGER NOT NULL REFERENCES point,
  taken_at INTEGER NOT NULL,
  round_at INTEGER,
  value REAL,
  text TEXT,
  typed TEXT NOT NULL,
  reason TEXT CHECK (trim(reason) <> ''),
  mode TEXT NOT NULL,
  late INTEGER NOT NULL CHECK (late IN (0, 1)),
  sample INTEGER REFERENCES sample,
  replaces INTEGER REFERENCES reading,
  why TEXT,
  CHECK (id >> 40 = page >> 40),
  CHECK ((value IS NOT NULL) + (text IS NOT NULL) + (reason IS NOT NULL)
         BETWEEN (replaces IS NULL) AND 1),
  CHECK (replaces IS NULL OR (trim(why) <> '' AND why IS NOT NULL))
) STRICT""",
    """
CREATE TABLE response (
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,
  reading INTEGER NOT NULL REFERENCES reading,
  at INTEGER NOT NULL,
  text TEXT NOT NULL CHECK (trim(text) <> ''),
  CHECK (id >> 40 = page >> 40)
) STRICT""",
    """
CREATE TABLE entry (
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,
  at INTEGER NOT NULL,
  area TEXT,
  equipment TEXT,
  kind TEXT NOT NULL CHECK (trim(kind) <> ''),
  text TEXT CHECK (trim(text) <> ''),
  replaces INTEGER REFERENCES entry,
  why TEXT,
  CHECK (id >> 40 = page >> 40),
  CHECK (text IS NOT NULL OR replaces IS NOT NULL),
  CHECK (replaces IS NULL OR (trim(why) <> '' AND why IS NOT NULL))
) STRICT""",
    """
CREATE TABLE status (
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,
  scope TEXT NOT NULL CHECK (scope IN ('plant', 'area', 'equipment')),
  target TEXT NOT NULL,
  at INTEGER NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('down', 'up')),
  reason TEXT NOT NULL CHECK (state = 'up' OR trim(reason) <> ''),
  CHECK (id >> 40 = page >> 40)
) STRICT""",
    """
CREATE TABLE mode_change (
  id INTEGER PRIMARY KEY,
  page INTEGER NOT NULL REFERENCES page DEFERRABLE INITIALLY DEFERRED,
  at INTEGER NOT NULL,
  mode TEXT NOT NULL CHECK (trim(mode) <> ''),
  reason TEXT NOT NULL,
  CHECK (id >> 40 = page >> 40)
) STRICT""",
    # A table, not words in a view: so a view works the code out once and looks the rest up.
    """
CREATE TABLE judgement (
  code INTEGER PRIMARY KEY,
  severity INTEGER NOT NULL CHECK (severity BETWEEN 0 AND 2),
  direction INTEGER NOT NULL CHECK (direction BETWEEN -1 AND 1),
  word TEXT NOT NULL
) STRICT""",
    """
CREATE TABLE draft_head (
  seat INTEGER NOT NULL REFERENCES seat,
  round_at INTEGER NOT NULL,
  taken_at INTEGER NOT NULL,
  mode TEXT NOT NULL,
  person TEXT NOT NULL,
  note TEXT NOT NULL,
  touched_at INTEGER NOT NULL,
  PRIMARY KEY (seat, round_at)
) STRICT, WITHOUT ROWID""",
    """
CREATE TABLE draft (
  seat INTEGER NOT NULL REFERENCES seat,
  round_at INTEGER NOT NULL,
  point TEXT NOT NULL,
  typed TEXT NOT NULL,
  response TEXT NOT NULL,
  reason TEXT NOT NULL,
  confirmed INTEGER NOT NULL CHECK (confirmed IN (0, 1)),
  touched_at INTEGER NOT NULL,
  PRIMARY KEY (seat, round_at, point)
) STRICT, WITHOUT ROWID""",
)

INDEXES = (
    # Value is in the index so that years of one point are read from it alone: its rows lie
    # together there, while in the table every one of them is on another disk page.
    "CREATE INDEX reading_series ON reading (point, taken_at, value)",
    "CREATE UNIQUE INDEX reading_replaces ON reading (replaces) WHERE replaces IS NOT NULL",
    "CREATE UNIQUE INDEX entry_replaces ON entry (replaces) WHERE replaces IS NOT NULL",
    "CREATE INDEX reading_sample ON reading (sample) WHERE sample IS NOT NULL",
    "CREATE INDEX definition_key ON definition (kind, key, effective_from)",
    "CREATE INDEX limit_set_point ON limit_set (point, mode, effective_from)",
    "CREATE INDEX response_reading ON response (reading)",
    "CREATE INDEX entry_at ON entry (at)",
    "CREATE INDEX status_target ON status (scope, target, at)",
    "CREATE INDEX mode_change_at ON mode_change (at)",
    "CREATE INDEX sample_taken_at ON sample (taken_at)",
    "CREATE INDEX page_written_at ON page (written_at)",
)

JUDGEMENTS = (
    (-2, 2, -1, "action low"),
    (-1, 1, -1, "warning low"),
    (0, 0, 0, "within"),
    (1, 1, 1, "warning high"),
    (2, 2, 1, "action high"),
    (11, 1, 0, "warning"),
    (12, 2, 0, "action"),
)
"""Rows of `judgement`: severity times direction for numbers; 10 and more for answers, which are
neither low nor high."""

WORDS = tuple(f"INSERT INTO judgement VALUES {row}" for row in JUDGEMENTS)

ROW_TABLES = (
    "definition",
    "entry",
    "limit_set",
    "mode_change",
    "point",
    "reading",
    "response",
    "sample",
    "status",
)
"""Tables whose rows belong to a page, in the order in which the seal takes them."""

FACT_TABLES = ("book", "judgement", "page", "seat", *ROW_TABLES)
"""Tables in which nothing may change."""

OTHER_KEYS = {
    "seat": "EXISTS (SELECT 1 FROM seat WHERE name = NEW.name)",
    "point": "EXISTS (SELECT 1 FROM point WHERE key = NEW.key)",
    "reading": "(NEW.replaces IS NOT NULL"
    " AND EXISTS (SELECT 1 FROM reading WHERE replaces = NEW.replaces))",
    "entry": "(NEW.replaces IS NOT NULL"
    " AND EXISTS (SELECT 1 FROM entry WHERE replaces = NEW.replaces))",
}
"""Unique keys besides the id: a REPLACE on one of them would delete the old row too."""


def insert_guard(table: str, other_key: str | None = None, *, key: str = "id") -> str:
    """A trigger that refuses a row whose key is there already, or for a page that is sealed."""
    tests = [f"NEW.{key} IN (SELECT {key} FROM {table})"]
    if other_key is not None:
        tests.append(other_key)
    if table not in {"book", "judgement", "page", "seat"}:
        tests.append("NEW.page IN (SELECT id FROM page)")
    said = f"{table}: this row is already in the book, or its page is sealed"
    return (
        f"CREATE TRIGGER {table}_adds_only BEFORE INSERT ON {table}\n"
        f"WHEN {' OR '.join(tests)}\n"
        f"BEGIN SELECT RAISE(ABORT, '{said}'); END"
    )


def refusal(table: str, verb: str) -> str:
    """A trigger that refuses UPDATE or DELETE."""
    return (
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table}\n"
        f"BEGIN SELECT RAISE(ABORT, '{table}: nothing written is changed or removed'); END"
    )


# An index on `page` lets a page be read back whole, and keeps the deferred foreign key cheap:
# without it SQLite would scan the whole table at every page row.
PAGE_INDEXES = tuple(f"CREATE INDEX {table}_page ON {table} (page)" for table in ROW_TABLES)

GUARDS = (
    *(
        insert_guard(table, OTHER_KEYS.get(table), key="code" if table == "judgement" else "id")
        for table in FACT_TABLES
    ),
    *(refusal(table, verb) for table in FACT_TABLES for verb in ("UPDATE", "DELETE")),
    # A correction belongs to the point it corrects.
    """
CREATE TRIGGER reading_same_point BEFORE INSERT ON reading
WHEN NEW.replaces IS NOT NULL
 AND NEW.point IS NOT (SELECT point FROM reading WHERE id = NEW.replaces)
BEGIN SELECT RAISE(ABORT, 'reading: a correction must be of the same point'); END""",
)
