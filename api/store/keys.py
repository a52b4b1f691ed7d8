"""Keys: who may do what with the terms of a store. A key is shown once, when it is made; kept is a digest of it.

Its secret is 256 random bits, so nobody can try them all, and one SHA-256 does: what makes passwords costly to try (salts, many
rounds) is for secrets that people think of. A key is found by its public part, and its digest compared in constant time.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, insert, select, update

from api.store.database import Database, now
from api.store.store_tables import KEY
from api.store.terms import Author

READ_CLASS, PLAN_CLASS, PLAN_DEPARTMENT, ADMINISTER = "read a class", "plan a class", "plan a department", "administer"

ROLES = (READ_CLASS, PLAN_CLASS, PLAN_DEPARTMENT, ADMINISTER)
"""What a key may do, each all that the one before may and more."""

OF_CLASSES = (READ_CLASS, PLAN_CLASS)
"""Roles of keys that concern some classes only."""

MARK = "sequencer"


@dataclass(frozen=True)
class Holder:
    """Whoever brings a key, or anybody where the store has none; and what it may do: for all terms or classes if none named."""

    id: str | None = None
    name: str | None = None
    role: str = ADMINISTER
    terms: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()

    @property
    def author(self) -> Author:
        """Under whose name its changes are logged."""
        return Author(self.id, self.name)

    def may(self, role: str) -> bool:
        """Whether it may do what a role may."""
        return ROLES.index(self.role) >= ROLES.index(role)

    def sees_term(self, name: str, classes: tuple[str, ...] | None = None) -> bool:
        """Whether a term, which has these classes, is its business."""
        return (not self.terms or name in self.terms) and (classes is None or not self.of_classes or bool(self.own(classes)))

    @property
    def of_classes(self) -> bool:
        """Whether it is for some classes only."""
        return self.role in OF_CLASSES

    def sees_class(self, name: str) -> bool:
        """Whether a class is its business."""
        return not self.of_classes or name in self.classes

    def own(self, classes: tuple[str, ...]) -> tuple[str, ...]:
        """Those of some classes that are its business."""
        return tuple(each for each in classes if self.sees_class(each))


ANYBODY = Holder()
"""Whoever calls, where the store has no keys."""

NOBODY = Holder(name="nobody", role=READ_CLASS)
"""Whoever may use the service, and nothing of what it keeps."""


def make_key(
    database: Database, name: str, role: str, terms: tuple[str, ...] = (), classes: tuple[str, ...] = ()
) -> tuple[str, str]:
    """Make a key, and return its public part and all of it; the latter is kept nowhere."""
    public, secret = secrets.token_hex(4), secrets.token_urlsafe(32)
    made = {"id": public, "name": name, "digest": _digest(secret), "role": role, "made": now()}
    database.change(insert(KEY).values(**made, terms=json.dumps(terms), classes=json.dumps(classes)))
    return public, f"{MARK}-{public}-{secret}"


def revoke_key(database: Database, public: str) -> bool:
    """Let a key open nothing any more, and say whether there was one that did."""
    return database.change(update(KEY).where(KEY.c.id == public, KEY.c.revoked.is_(None)).values(revoked=now())) == 1


def all_keys(database: Database) -> list[Mapping[str, Any]]:
    """What is known of every key, in the order in which they were made; no digests."""
    columns = [each for each in KEY.c if each.name != "digest"]
    with database.reading() as connection:
        rows = connection.execute(select(*columns).order_by(KEY.c.made, KEY.c.id)).mappings().all()
    return [{**row, "terms": json.loads(row["terms"]), "classes": json.loads(row["classes"])} for row in rows]


def any_key(database: Database) -> bool:
    """Whether a key was ever made: then nobody comes in without one."""
    with database.reading() as connection:
        return bool(connection.execute(select(func.count()).select_from(KEY)).scalar())


def holder_of(database: Database, brought: bytes) -> Holder | None:
    """Who holds a key that was brought; anybody where no key was ever made, None where it is not known."""
    public, secret = parts_of(brought)
    with database.reading() as connection:
        row = connection.execute(select(KEY).where(KEY.c.id == public)).mappings().first() if public else None
        if row is None and not connection.execute(select(func.count()).select_from(KEY)).scalar():
            return ANYBODY
    # One that is not there takes as long as one that is.
    known = hmac.compare_digest(_digest(secret), row["digest"] if row is not None else _digest(""))
    if row is None or not known or row["revoked"] is not None:
        return None
    return Holder(row["id"], row["name"], row["role"], tuple(json.loads(row["terms"])), tuple(json.loads(row["classes"])))


def was_used(database: Database, public: str) -> None:
    """Note that a key was used."""
    database.change(update(KEY).where(KEY.c.id == public).values(used=now()))


def parts_of(brought: bytes) -> tuple[str, str]:
    """The public and the secret part of what may be a key."""
    mark, _, rest = brought.decode("latin-1").partition("-")
    public, _, secret = rest.partition("-")
    return (public, secret) if mark == MARK else ("", "")


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("latin-1", "replace")).hexdigest()
