"""The documented views that schema version 2 adds. Instants are ISO 8601 text in UTC."""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations


def _utc(seconds: str) -> str:
    return f"strftime('%Y-%m-%dT%H:%M:%SZ', {seconds}, 'unixepoch')"


_WRITTEN = f"g.person, {_utc('g.written_at / 1000')} AS written_at, x.page"

V_RESPONSE = f"""
CREATE VIEW v_response AS
SELECT x.id AS response_id, x.reading AS reading_id, p.key AS point, {_utc("x.at")} AS at, x.text,
  {_WRITTEN}
FROM response x JOIN reading r ON r.id = x.reading JOIN point p ON p.id = r.point
JOIN page g ON g.id = x.page"""

V_ACCESS = f"""
CREATE VIEW v_access AS
SELECT x.id AS access_id, x.person AS about, {_utc("x.at")} AS at, x.kind, x.detail, {_WRITTEN}
FROM access x JOIN page g ON g.id = x.page"""

V_ITEM_EVENT = f"""
CREATE VIEW v_item_event AS
SELECT x.id AS event_id, x.item AS item_id, {_utc("x.at")} AS at, x.kind, x.text, {_WRITTEN}
FROM item_event x JOIN page g ON g.id = x.page"""

# Of events at the same instant the one written later holds.
V_OPEN_ITEM = f"""
CREATE VIEW v_open_item AS
WITH turned AS (
  SELECT e.item, e.kind, e.at, e.text, g.person, row_number() OVER (
    PARTITION BY e.item ORDER BY e.at DESC, g.written_at DESC, e.id DESC) AS from_last
  FROM item_event e JOIN page g ON g.id = e.page
  WHERE e.kind <> 'update'
)
SELECT x.id AS item_id, {_utc("x.at")} AS at, x.text, x.area, x.equipment, x.owner,
  {_utc("x.due_at")} AS due_at,
  CASE WHEN t.kind = 'close' THEN 'closed' ELSE 'open' END AS state,
  CASE WHEN t.kind = 'close' THEN {_utc("t.at")} END AS closed_at,
  CASE WHEN t.kind = 'close' THEN t.person END AS closed_by,
  CASE WHEN t.kind = 'close' THEN t.text END AS closing,
  (SELECT count(*) FROM item_event e WHERE e.item = x.id) AS events,
  x.reading AS reading_id, x.entry AS entry_id, {_WRITTEN}
FROM open_item x JOIN page g ON g.id = x.page
LEFT JOIN turned t ON t.item = x.id AND t.from_last = 1"""

V_SAFETY = f"""
CREATE VIEW v_safety AS
SELECT x.id AS state_id, {_utc("x.at")} AS at, x.kind, x.what, x.area, x.equipment,
  x.authorised_by,
  {
    _utc('''coalesce((SELECT e.until_at FROM safety_event e JOIN page n ON n.id = e.page
    WHERE e.state = x.id AND e.kind = 'extend'
    ORDER BY e.at DESC, n.written_at DESC, e.id DESC LIMIT 1), x.until_at)''')
} AS until_at,
  {_utc("c.at")} AS cleared_at, cg.person AS cleared_by, c.text AS clearing, {_WRITTEN}
FROM safety_state x JOIN page g ON g.id = x.page
LEFT JOIN safety_event c ON c.state = x.id AND c.kind = 'clear'
LEFT JOIN page cg ON cg.id = c.page"""

V_INSTRUCTION = f"""
CREATE VIEW v_instruction AS
SELECT x.id AS instruction_id, {_utc("x.valid_from")} AS valid_from,
  {_utc("min(coalesce(x.valid_to, e.at), coalesce(e.at, x.valid_to))")} AS valid_to,
  x.text, x.area, e.reason AS end_reason,
  (SELECT count(DISTINCT ag.person) FROM acknowledgement a JOIN page ag ON ag.id = a.page
   WHERE a.instruction = x.id) AS acknowledged, {_WRITTEN}
FROM instruction x JOIN page g ON g.id = x.page
LEFT JOIN instruction_end e ON e.instruction = x.id"""

V_ACKNOWLEDGEMENT = f"""
CREATE VIEW v_acknowledgement AS
SELECT x.id AS acknowledgement_id, x.instruction AS instruction_id, {_utc("x.at")} AS at, {_WRITTEN}
FROM acknowledgement x JOIN page g ON g.id = x.page"""

V_HANDOVER_NOTE = f"""
CREATE VIEW v_handover_note AS
SELECT note_id, shift_date, shift_key, part, text, person, written_at, page FROM (
  SELECT x.id AS note_id, x.shift_date, x.shift_key, x.part, x.text, {_WRITTEN}, row_number() OVER (
    PARTITION BY x.shift_date, x.shift_key, x.part
    ORDER BY g.written_at DESC, x.id DESC) AS from_last
  FROM handover_note x JOIN page g ON g.id = x.page)
WHERE from_last = 1"""

V_HANDOVER_CHECK = f"""
CREATE VIEW v_handover_check AS
SELECT x.id AS check_id, x.shift_date, x.shift_key, x.subject, x.answer, x.text, {_WRITTEN}
FROM handover_check x JOIN page g ON g.id = x.page"""

V_DOCUMENT = f"""
CREATE VIEW v_document AS
SELECT x.id AS document_id, x.kind, x.shift_date, x.shift_key, x.snapshot_sha256, x.pdf_sha256,
  {_WRITTEN}
FROM document x JOIN page g ON g.id = x.page"""

V_SIGNATURE = f"""
CREATE VIEW v_signature AS
SELECT x.id AS signature_id, x.shift_date, x.shift_key, x.role, {_utc("x.at")} AS at, x.meaning,
  x.document AS document_id, x.content_hash, {_WRITTEN}
FROM signature x JOIN page g ON g.id = x.page"""

VIEWS = (
    V_RESPONSE,
    V_ACCESS,
    V_ITEM_EVENT,
    V_OPEN_ITEM,
    V_SAFETY,
    V_INSTRUCTION,
    V_ACKNOWLEDGEMENT,
    V_HANDOVER_NOTE,
    V_HANDOVER_CHECK,
    V_DOCUMENT,
    V_SIGNATURE,
)
