"""The documented views of schema version 1, for any SQLite client.

Instants are ISO 8601 text in UTC; `taken_epoch` is the same instant as an integer. To be quick
on a book of many years, ask for a point and a span of `taken_epoch`.
"""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

# Of two rows with the same instant the one written later holds; ids of two seats do not tell.
_WRITTEN = "(SELECT written_at FROM page WHERE page.id = x.page)"


def _utc(seconds: str) -> str:
    return f"strftime('%Y-%m-%dT%H:%M:%SZ', {seconds}, 'unixepoch')"


def _in_force(columns: str, table: str, where: str) -> str:
    """The last row of `table` that took effect at or before the reading was taken."""
    return (
        f"(SELECT {columns} FROM {table} x WHERE {where} AND x.effective_from <= r.taken_at "
        f"ORDER BY x.effective_from DESC, {_WRITTEN} DESC, x.id DESC LIMIT 1)"
    )


def _down(scope: str, target: str) -> str:
    """Whether the last status of the target at or before the reading says down."""
    return (
        "coalesce((SELECT x.state = 'down' FROM status x "
        f"WHERE x.scope = '{scope}' AND x.target = {target} AND x.at <= r.taken_at "
        f"ORDER BY x.at DESC, {_WRITTEN} DESC, x.id DESC LIMIT 1), 0)"
    )


_POINT_OF = "x.kind = 'point' AND x.key = p.key AND NOT x.withdrawn"
_LIMIT_OF = "x.point = r.point AND x.mode ="
_NORMAL_LIMITS = _in_force(
    "CASE WHEN x.withdrawn THEN NULL ELSE x.id END", "limit_set", f"{_LIMIT_OF} 'normal'"
)
_MODE_LIMITS = _in_force(
    "CASE WHEN x.withdrawn THEN NULL ELSE x.id END", "limit_set", f"{_LIMIT_OF} r.mode"
)

V_READING = f"""
CREATE VIEW v_reading AS
WITH placed AS (
  SELECT r.id, r.page, r.point AS point_id, p.key AS point, r.taken_at, r.round_at,
    r.value, r.text, r.reason, r.typed, r.mode, r.late, r.sample, r.replaces,
    coalesce(
      {_in_force("x.id", "definition", _POINT_OF)},
      (SELECT x.id FROM definition x WHERE {_POINT_OF}
       ORDER BY x.effective_from, x.id LIMIT 1)) AS definition,
    coalesce({_MODE_LIMITS}, {_NORMAL_LIMITS}) AS limits
  FROM reading r JOIN point p ON p.id = r.point
  WHERE NOT EXISTS (SELECT 1 FROM reading n WHERE n.replaces = r.id)
    AND (r.value IS NOT NULL OR r.text IS NOT NULL OR r.reason IS NOT NULL)
),
judged AS (
  SELECT r.*, d.body ->> '$.name' AS name, d.body ->> '$.area' AS area,
    d.body ->> '$.equipment' AS equipment, d.body ->> '$.unit' AS unit,
    l.target, l.warning_low, l.warning_high, l.action_low, l.action_high,
    CASE
      WHEN r.reason IS NOT NULL THEN NULL
      WHEN EXISTS (SELECT 1 FROM json_each(d.body, '$.silent_modes') s WHERE s.value = r.mode)
        THEN NULL
      WHEN {_down("plant", "(SELECT plant_key FROM book)")}
        OR {_down("area", "d.body ->> '$.area'")}
        OR {_down("equipment", "d.body ->> '$.equipment'")} THEN NULL
      WHEN r.value < l.action_low THEN -2
      WHEN r.value > l.action_high THEN 2
      WHEN r.value < l.warning_low THEN -1
      WHEN r.value > l.warning_high THEN 1
      WHEN r.value IS NOT NULL THEN CASE
        WHEN coalesce(l.action_low, l.action_high, l.warning_low, l.warning_high) IS NOT NULL
        THEN 0 END
      WHEN d.body ->> '$.kind' = 'check' AND d.body ->> '$.choices[0]' IS NULL
        THEN CASE r.text WHEN 'not_done' THEN 11 WHEN 'done' THEN 0 END
      ELSE (SELECT CASE c.value ->> '$.weight' WHEN 'action' THEN 12 WHEN 'warning' THEN 11
              ELSE 0 END
            FROM json_each(d.body, '$.choices') c WHERE c.value ->> '$.key' = r.text)
    END AS code
  FROM placed r
  LEFT JOIN definition d ON d.id = r.definition
  LEFT JOIN limit_set l ON l.id = r.limits
)
SELECT j.id AS reading_id, j.point, j.name, j.area, j.equipment, j.unit,
  {_utc("j.taken_at")} AS taken_at,
  {_utc("g.written_at / 1000")} AS written_at,
  {_utc("j.round_at")} AS round_at,
  j.value, j.text, j.reason, j.typed, j.mode, j.late,
  j.replaces IS NOT NULL AS corrected, g.person,
  j.target, j.warning_low, j.warning_high, j.action_low, j.action_high,
  w.severity, w.direction, coalesce(w.word, 'not judged') AS judgement,
  j.sample, j.page, j.point_id, j.taken_at AS taken_epoch
FROM judged j
JOIN page g ON g.id = j.page
LEFT JOIN judgement w ON w.code = j.code"""

V_CORRECTION = f"""
CREATE VIEW v_correction AS
SELECT n.id AS reading_id, o.id AS replaced_id, p.key AS point,
  {_utc("o.taken_at")} AS old_taken_at, {_utc("n.taken_at")} AS new_taken_at,
  o.value AS old_value, coalesce(o.text, o.reason) AS old_text,
  n.value AS new_value, coalesce(n.text, n.reason) AS new_text,
  n.value IS NULL AND n.text IS NULL AND n.reason IS NULL AS withdrawn,
  n.why, og.person AS old_person, g.person,
  {_utc("g.written_at / 1000")} AS written_at, n.page
FROM reading n
JOIN reading o ON o.id = n.replaces
JOIN point p ON p.id = n.point
JOIN page g ON g.id = n.page
JOIN page og ON og.id = o.page"""

# A run is told by its last row, and all windows are within one point: no GROUP BY and no other
# partition, so that a condition on the point reaches down to the readings.
V_DEVIATION = """
CREATE VIEW v_deviation AS
WITH judged AS (
  SELECT point, name, area, taken_at, value, severity, direction,
    CASE WHEN severity = 0 THEN 9 ELSE direction END AS side
  FROM v_reading WHERE judgement <> 'not judged'
),
placed AS (
  SELECT *, lead(taken_at) OVER along AS next_at, side IS NOT lag(side) OVER along AS turns
  FROM judged
  WINDOW along AS (PARTITION BY point ORDER BY taken_at)
),
numbered AS (
  SELECT *, sum(turns) OVER (PARTITION BY point ORDER BY taken_at) AS run FROM placed
),
runs AS (
  SELECT point, name, area, taken_at, next_at, direction, side,
    min(taken_at) OVER whole AS started_at,
    count(*) OVER whole AS readings,
    max(severity) OVER whole AS severity,
    min(value) OVER whole AS lowest,
    max(value) OVER whole AS highest,
    row_number() OVER (PARTITION BY point, run ORDER BY taken_at DESC) AS from_end
  FROM numbered
  WINDOW whole AS (PARTITION BY point, run)
)
SELECT point, name, area, started_at, taken_at AS last_at, next_at AS ended_at, readings,
  severity, direction, CASE WHEN direction < 0 THEN lowest ELSE highest END AS worst_value,
  CASE severity WHEN 2 THEN 'action' ELSE 'warning' END ||
    CASE direction WHEN -1 THEN ' low' WHEN 1 THEN ' high' ELSE '' END AS judgement
FROM runs
WHERE side <> 9 AND from_end = 1"""

V_STATUS = f"""
CREATE VIEW v_status AS
WITH turned AS (
  SELECT s.*, g.person, g.written_at, lag(state, 1, 'up') OVER (
    PARTITION BY scope, target ORDER BY at, g.written_at, s.id) AS before
  FROM status s JOIN page g ON g.id = s.page
),
turns AS (
  SELECT t.*, lead(at) OVER (PARTITION BY scope, target ORDER BY at, written_at, id) AS next_at
  FROM turned t WHERE state <> before
)
SELECT t.scope, t.target, {_utc("t.at")} AS down_at, {_utc("t.next_at")} AS up_at,
  (t.next_at - t.at) / 3600.0 AS hours, t.reason, t.person, t.page
FROM turns t
WHERE t.state = 'down'"""

V_ENTRY = f"""
CREATE VIEW v_entry AS
SELECT e.id AS entry_id, {_utc("e.at")} AS at, {_utc("g.written_at / 1000")} AS written_at,
  e.area, e.equipment, e.kind, e.text, e.replaces IS NOT NULL AS corrected, e.why, g.person,
  e.page
FROM entry e JOIN page g ON g.id = e.page
WHERE e.text IS NOT NULL AND NOT EXISTS (SELECT 1 FROM entry n WHERE n.replaces = e.id)"""

V_PAGE = f"""
CREATE VIEW v_page AS
SELECT g.id AS page, s.name AS seat, g.person, {_utc("g.written_at / 1000")} AS written_at,
  g.kind, g.note, g.row_count,
  substr(g.seal, 1, 4) || ' ' || substr(g.seal, 5, 4) || ' ' || substr(g.seal, 9, 4)
    AS short_seal,
  g.seal
FROM page g JOIN seat s ON s.id = g.seat"""

VIEWS = (V_READING, V_CORRECTION, V_DEVIATION, V_STATUS, V_ENTRY, V_PAGE)
