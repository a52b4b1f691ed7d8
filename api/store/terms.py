"""The terms of a store: each a document with a version, and a line in the log for every version.

A version's number is never given twice to terms of one name, also when one was deleted and begun again; the entity tag has a
digest beside it, so that a store that was restored does not take another document for the one that a client knows.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from sqlalchemy import Connection, delete, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from api.store.database import Database, now
from api.store.hooks import put_notices
from api.store.kept_work import Content
from api.store.store_tables import CHANGE, TERM

PUT, WEEK, UNDONE, DELETED, IMPORTED = "put", "week", "undone", "deleted", "imported"
"""What is done to a term, as its log says it."""


@dataclass(frozen=True)
class KeptTerm:
    """A term as it is kept."""

    id: str
    version: int
    digest: str
    document: str = field(repr=False)
    title: str | None
    parts: dict[str, str]
    made: str
    changed: str

    @property
    def classes(self) -> tuple[str, ...]:
        """Its classes."""
        return tuple(self.parts)

    def tag(self, classes: tuple[str, ...] | None = None) -> str:
        """Its entity tag, in quotes; or that of the part of some of its classes, which another class leaves as it is."""
        if classes is None:
            return f'"{self.version}-{self.digest[:16]}"'
        seen = json.dumps([self.id, self.made, *((each, self.parts[each]) for each in classes)])
        return f'"part-{hashlib.sha256(seen.encode()).hexdigest()[:24]}"'


@dataclass(frozen=True)
class Author:
    """Who makes a change: a key, or nobody where none is asked for."""

    id: str | None = None
    name: str | None = None


class Overtaken(Exception):
    """Another change came first; nothing was changed."""


def read_term(database: Database, name: str) -> KeptTerm | None:
    """A term; None where there is none of that name."""
    with database.reading() as connection:
        row = connection.execute(select(TERM).where(TERM.c.id == name)).mappings().first()
    return _kept({**row}) if row is not None else None


def listed(
    database: Database, names: Iterable[str] | None, after: str, most: int, sees: Callable[[KeptTerm], bool]
) -> list[KeptTerm]:
    """Terms in the order of their names, without their documents; of some names only, where they are stated, and those seen."""
    columns = [each for each in TERM.c if each.name != "document"]
    asked = select(*columns).where(TERM.c.id > after).order_by(TERM.c.id)
    if names is not None:
        asked = asked.where(TERM.c.id.in_(list(names)))
    with database.reading() as connection:
        kept = (_kept({**row, "document": ""}) for row in connection.execute(asked).mappings())
        return list(islice(filter(sees, kept), most))


def keep(database: Database, name: str, before: int | None, content: Content, author: Author, what: str) -> KeptTerm:
    """Keep a document as the next version of a term; ``before`` is the version that it changes, None where there is none.

    Raises
    ------
    Overtaken
        When there is another version by now.
    """
    with database.writing() as connection:
        known = connection.execute(select(func.max(CHANGE.c.version)).where(CHANGE.c.term == name)).scalar() or 0
        at, digest = now(), hashlib.sha256(content.document.encode()).hexdigest()
        kept = {
            "version": known + 1,
            "digest": digest,
            "document": content.document,
            "title": content.title,
            "parts": json.dumps(content.parts),
            "changed": at,
        }
        try:
            if before is None:
                connection.execute(insert(TERM).values(id=name, made=at, **kept))
            else:
                changed = update(TERM).where(TERM.c.id == name, TERM.c.version == before).values(**kept)
                if connection.execute(changed).rowcount != 1:
                    raise Overtaken
            _log(connection, name, known + 1, at, author, what, content.moved)
        except IntegrityError:
            raise Overtaken from None
        row = connection.execute(select(TERM).where(TERM.c.id == name)).mappings().one()
    return _kept({**row})


def forget(database: Database, name: str, version: int, author: Author) -> None:
    """Delete a term for good, with what its log says of lessons; that it was there, and when it was changed, stays in the log.

    Raises
    ------
    Overtaken
        When there is another version by now.
    """
    with database.writing() as connection:
        if connection.execute(delete(TERM).where(TERM.c.id == name, TERM.c.version == version)).rowcount != 1:
            raise Overtaken
        emptied(connection, name, author)


def emptied(connection: Connection, name: str, author: Author) -> None:
    """Take what is said of lessons out of the log of a term that is deleted, and log that it was."""
    known = connection.execute(select(func.max(CHANGE.c.version)).where(CHANGE.c.term == name)).scalar() or 0
    connection.execute(update(CHANGE).where(CHANGE.c.term == name).values(moved="[]"))
    _log(connection, name, known + 1, now(), author, DELETED, ())


def changes(database: Database, name: str, since: int, most: int) -> list[dict[str, Any]]:
    """What was changed in a term after a version, in order: its version, when, by which key, what was done and moved."""
    own = CHANGE.c
    asked = select(own.version, own.at, own.key_name.label("by"), own.what, own.moved)
    asked = asked.where(own.term == name, own.version > since).order_by(own.version).limit(most)
    with database.reading() as connection:
        rows = connection.execute(asked).mappings().all()
    return [{**row, "moved": json.loads(row["moved"])} for row in rows]


def _log(
    connection: Connection,
    name: str,
    version: int,
    at: str,
    author: Author,
    what: str,
    moved: tuple[dict[str, Any], ...],
) -> None:
    told = json.dumps(moved, separators=(",", ":"))
    connection.execute(
        insert(CHANGE).values(term=name, version=version, at=at, key_id=author.id, key_name=author.name, what=what, moved=told)
    )
    put_notices(connection, name, {"term": name, "version": version, "at": at, "what": what, "moved": list(moved)})


def _kept(row: Mapping[str, Any]) -> KeptTerm:
    return KeptTerm(**{**row, "parts": json.loads(row["parts"])})
