"""The tables of a store, and the numbered statements that make them: of each store those are run that it has not seen yet.

Every statement is of the SQL that SQLite and PostgreSQL share. Times are texts of UTC; lists are texts of JSON. One that has been
published is never changed: what comes later is a further entry of ``MIGRATIONS``.
"""

from __future__ import annotations

from sqlalchemy import TableClause, column, table

MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        """CREATE TABLE term (
            id VARCHAR(64) PRIMARY KEY, version BIGINT NOT NULL, digest TEXT NOT NULL, document TEXT NOT NULL, title TEXT,
            parts TEXT NOT NULL, made TEXT NOT NULL, changed TEXT NOT NULL)""",
        """CREATE TABLE change (
            term VARCHAR(64) NOT NULL, version BIGINT NOT NULL, at TEXT NOT NULL, key_id TEXT, key_name TEXT, what TEXT NOT NULL,
            moved TEXT NOT NULL, PRIMARY KEY (term, version))""",
        """CREATE TABLE access_key (
            id TEXT PRIMARY KEY, name TEXT NOT NULL, digest TEXT NOT NULL, role TEXT NOT NULL, terms TEXT NOT NULL,
            classes TEXT NOT NULL, made TEXT NOT NULL, used TEXT, revoked TEXT)""",
        """CREATE TABLE calendar (
            id TEXT PRIMARY KEY, digest TEXT NOT NULL UNIQUE, term VARCHAR(64) NOT NULL REFERENCES term (id) ON DELETE CASCADE,
            kind TEXT NOT NULL, name TEXT NOT NULL, made TEXT NOT NULL, sent TEXT, sent_version BIGINT, sent_at TEXT)""",
        """CREATE TABLE webhook (
            id TEXT PRIMARY KEY, address TEXT NOT NULL, secret TEXT NOT NULL, terms TEXT NOT NULL, made TEXT NOT NULL,
            given_up TEXT)""",
        """CREATE TABLE delivery (
            id TEXT PRIMARY KEY, webhook TEXT NOT NULL REFERENCES webhook (id) ON DELETE CASCADE, term VARCHAR(64) NOT NULL,
            version BIGINT NOT NULL, body TEXT NOT NULL, tries INTEGER NOT NULL, due TEXT, state TEXT NOT NULL, answer TEXT)""",
        "CREATE INDEX delivery_due ON delivery (state, due)",
    ),
)
"""Of each migration its statements."""


def _table(name: str, columns: str) -> TableClause:
    return table(name, *map(column, columns.split()))


TERM = _table("term", "id version digest document title parts made changed")
CHANGE = _table("change", "term version at key_id key_name what moved")
KEY = _table("access_key", "id name digest role terms classes made used revoked")
CALENDAR = _table("calendar", "id digest term kind name made sent sent_version sent_at")
WEBHOOK = _table("webhook", "id address secret terms made given_up")
DELIVERY = _table("delivery", "id webhook term version body tries due state answer")

TABLES = (TERM, CHANGE, KEY, CALENDAR, WEBHOOK, DELIVERY)
"""All of them, each after those that it refers to."""
