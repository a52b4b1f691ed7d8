"""Copies of a store: a backup and its restoring, an export as files and its import; and what is deleted once it is old."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import delete, func, insert, select

from api.store.database import Database, written
from api.store.store_tables import MIGRATIONS, TABLES, TERM
from api.store.terms import Author, emptied

_PG = "A store in PostgreSQL is copied by its own tools (pg_dump, pg_restore), or by export and import."

FORM = 1


class BadCopy(Exception):
    """A copy that cannot be used, or made."""


def backup(database: Database, file: Path) -> None:
    """Copy a store of SQLite as it is at one moment; whoever writes meanwhile need not wait.

    Raises
    ------
    BadCopy
        When there is such a file already, or the store is no file.
    """
    if not database.sqlite:
        raise BadCopy(_PG)
    if file.exists():
        raise BadCopy(f"{file} is there already; name another one.")
    unready = file.with_name(file.name + ".part")
    unready.unlink(missing_ok=True)
    with contextlib.closing(sqlite3.connect(unready)) as copy:
        source = database.raw()
        try:
            source.driver_connection.backup(copy)
        finally:
            source.close()
        copy.execute("PRAGMA journal_mode = DELETE")
        _check(copy, file)
    unready.rename(file)


def restore(database: Database, file: Path) -> None:
    """Put a backup in the place of all that is in a store of SQLite.

    Raises
    ------
    BadCopy
        When the file is no whole backup; then the store is as it was.
    """
    if not database.sqlite:
        raise BadCopy(_PG)
    if not file.is_file():
        raise BadCopy(f"There is no file {file}.")
    with contextlib.closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)) as copy:
        _check(copy, file)
        target = database.raw()
        try:
            copy.backup(target.driver_connection)
        finally:
            target.close()


def _check(copy: sqlite3.Connection, file: Path) -> None:
    try:
        whole = copy.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        number = copy.execute("SELECT max(number) FROM migration").fetchone()[0]
    except sqlite3.DatabaseError:
        whole, number = False, 0
    if not whole or not number:
        raise BadCopy(f"{file} is no whole copy of a store.")
    if number > len(MIGRATIONS):
        raise BadCopy(f"{file} is of a newer version of this program.")


def exported(database: Database, folder: Path) -> int:
    """Write everything into a folder: each term as its file, all else in one; return how many terms there are.

    Raises
    ------
    BadCopy
        When the folder holds something already.
    """
    terms = folder / "terms"
    if folder.exists() and any(folder.iterdir()):
        raise BadCopy(f"{folder} holds something already; name another folder.")
    terms.mkdir(parents=True, exist_ok=True)
    rest: dict[str, Any] = {"store": FORM}
    # One transaction: all of it is of one moment.
    with database.reading() as connection:
        for each in TABLES:
            rows = [{**row} for row in connection.execute(select(each).order_by(*list(each.c)[:2])).mappings()]
            if each is TERM:
                for row in rows:
                    (terms / f"{row['id']}.json").write_text(row.pop("document"), encoding="utf-8")
            rest[each.name] = rows
    (folder / "store.json").write_text(json.dumps(rest, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return len(rest[TERM.name])


def imported(database: Database, folder: Path) -> int:
    """Read what was exported into a store that is empty; return how many terms there are.

    Raises
    ------
    BadCopy
        When the folder holds no export, or the store holds something.
    """
    try:
        rest = json.loads((folder / "store.json").read_text(encoding="utf-8"))
        if rest["store"] != FORM:
            raise BadCopy(f"{folder} is of a newer version of this program.")
        for row in rest[TERM.name]:
            row["document"] = (folder / "terms" / f"{row['id']}.json").read_text(encoding="utf-8")
        found = {each.name: rest[each.name] for each in TABLES}
    except (FileNotFoundError, KeyError, TypeError, ValueError):
        raise BadCopy(f"{folder} holds no whole export of a store.") from None
    with database.writing() as connection:
        if any(connection.execute(select(func.count()).select_from(each)).scalar() for each in TABLES):
            raise BadCopy("The store is not empty: import goes into a new one.")
        for each in TABLES:
            if found[each.name]:
                connection.execute(insert(each), found[each.name])
    return len(found[TERM.name])


def forgotten(database: Database, before: datetime, author: Author) -> list[str]:
    """Delete for good the terms that were changed last before a moment; return their names."""
    with database.writing() as connection:
        old = select(TERM.c.id).where(TERM.c.changed < written(before)).order_by(TERM.c.id)
        names = list(connection.execute(old).scalars())
        for name in names:
            connection.execute(delete(TERM).where(TERM.c.id == name))
            emptied(connection, name, author)
    return names
