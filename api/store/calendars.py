"""Calendars to subscribe to: each has an address that cannot be guessed, and the store keeps what was sent last from it.

So an event keeps its identity over all plans, its SEQUENCE rises with each change that somebody was sent, and what falls away is
sent as cancelled. Of the address a digest is kept, as of keys.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import delete, insert, select, update
from sqlalchemy.exc import IntegrityError

from api.routes.pages import BY_SECRET
from api.store.database import Database, now
from api.store.store_tables import CALENDAR

ENDING = ".ics"


@dataclass(frozen=True)
class Subscription:
    """A calendar to subscribe to, and what was sent from it last: the text, of which version of the term."""

    id: str
    term: str
    kind: str
    name: str
    made: str
    sent: str | None = field(repr=False)
    sent_version: int | None
    sent_at: str | None


def make_calendar(database: Database, term: str, kind: str, name: str) -> tuple[str, str] | None:
    """Make one, and return its id and its address, which is kept nowhere; None where the term is not there any more."""
    public, secret = secrets.token_hex(4), secrets.token_urlsafe(32)
    made = {"id": public, "digest": _digest(secret), "term": term, "kind": kind, "name": name, "made": now()}
    try:
        database.change(insert(CALENDAR).values(**made))
    except IntegrityError:
        return None
    return public, f"{BY_SECRET}{secret}{ENDING}"


def calendars_of(database: Database, term: str) -> list[Mapping[str, Any]]:
    """The calendars of a term, without their addresses, as they are answered."""
    own = CALENDAR.c
    columns = (own.id.label("calendar"), own.kind, own.name, own.made, own.sent_at.label("sent"))
    with database.reading() as connection:
        asked = select(*columns).where(CALENDAR.c.term == term).order_by(CALENDAR.c.made, CALENDAR.c.id)
        return [{**row} for row in connection.execute(asked).mappings()]


def revoke_calendar(database: Database, term: str, public: str) -> bool:
    """Let an address lead nowhere any more, and say whether there was one."""
    return database.change(delete(CALENDAR).where(CALENDAR.c.term == term, CALENDAR.c.id == public)) == 1


def subscription(database: Database, secret: str) -> Subscription | None:
    """The calendar of an address; None where there is none."""
    with database.reading() as connection:
        row = connection.execute(select(CALENDAR).where(CALENDAR.c.digest == _digest(secret))).mappings().first()
    return Subscription(**{key: value for key, value in row.items() if key != "digest"}) if row is not None else None


def was_sent(database: Database, before: Subscription, text: str, version: int) -> bool:
    """Keep what is sent now, unless something else was sent meanwhile; say whether it is kept."""
    same = CALENDAR.c.sent_version.is_not_distinct_from(before.sent_version)
    kept = {"sent": text, "sent_version": version, "sent_at": now()}
    return database.change(update(CALENDAR).where(CALENDAR.c.id == before.id, same).values(**kept)) == 1


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
