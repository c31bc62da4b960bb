"""The tables of the present schema, all versions together."""

from __future__ import annotations

from logbook.record import schema_v1, schema_v2

ROW_TABLES = tuple(sorted(schema_v1.ROW_TABLES + schema_v2.ROW_TABLES))
"""Tables whose rows belong to a page, in the order in which the seal takes them."""

FACT_TABLES = tuple(sorted(schema_v1.FACT_TABLES + schema_v2.ROW_TABLES))
"""Tables in which nothing may change."""
