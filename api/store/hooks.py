"""Webhooks: addresses that are told of each change of a term by a signed POST, tried again with growing pauses, given up visibly.

A notice is put beside the change, in its transaction, so none is lost and none told of what was not kept. It may arrive twice,
where a service ends between sending and noting that; its ``version`` says so.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import logging
import secrets
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from http.client import HTTPException
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from api.store.database import Database, now
from api.store.store_tables import DELIVERY, WEBHOOK

PAUSES = (10, 60, 300, 1800, 7200, 21600, 86400)
"""Seconds between one try and the next; after the last it is given up, about a day and a half after the first."""

SENDING_SECONDS = 10
"""How long an address may take to answer."""

LEASE_SECONDS = 60
"""How long one service keeps a notice to itself that it is sending."""

WAITING, GIVEN_UP = "waiting", "given up"

_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class HookNotice:
    """A notice that is due: to which address, and what it says."""

    id: str
    webhook: str
    address: str
    secret: str = field(repr=False)
    body: str
    tries: int


def make_webhook(database: Database, address: str, terms: tuple[str, ...]) -> tuple[str, str]:
    """Make one, and return its id and the secret by which its notices are signed."""
    public, secret = secrets.token_hex(4), secrets.token_urlsafe(32)
    made = {"id": public, "address": address, "secret": secret, "terms": json.dumps(terms), "made": now()}
    database.change(insert(WEBHOOK).values(**made))
    return public, secret


def webhooks(database: Database) -> list[dict[str, Any]]:
    """All of them without their secrets, each with how many notices wait and how the last one that failed was answered."""
    with database.reading() as connection:
        found = connection.execute(select(WEBHOOK).order_by(WEBHOOK.c.made, WEBHOOK.c.id)).mappings().all()
        notices = connection.execute(select(DELIVERY).order_by(DELIVERY.c.version)).mappings().all()
    told = []
    for each in found:
        own = [notice for notice in notices if notice["webhook"] == each["id"]]
        failed = [notice["answer"] for notice in own if notice["answer"] is not None]
        about = {name: each[name] for name in ("address", "made", "given_up")}
        about |= {"webhook": each["id"], "terms": json.loads(each["terms"]), "failed": failed[-1] if failed else None}
        told.append(about | {"waiting": sum(notice["state"] == WAITING for notice in own)})
    return told


def remove_webhook(database: Database, public: str) -> bool:
    """Tell an address nothing any more, and say whether there was one."""
    return database.change(delete(WEBHOOK).where(WEBHOOK.c.id == public)) == 1


def put_notices(connection: Connection, name: str, notice: dict[str, Any]) -> None:
    """Put a notice of a change, in its transaction, for every webhook that is told of the term and is not given up."""
    found = connection.execute(select(WEBHOOK.c.id, WEBHOOK.c.terms).where(WEBHOOK.c.given_up.is_(None))).all()
    for public, terms in found:
        if not json.loads(terms) or name in json.loads(terms):
            body = json.dumps(notice, separators=(",", ":"))
            due = {"tries": 0, "due": now(), "state": WAITING}
            row = {"id": secrets.token_hex(8), "webhook": public, "term": name, "version": notice["version"], "body": body, **due}
            connection.execute(insert(DELIVERY).values(**row))


def take_due(database: Database) -> HookNotice | None:
    """A notice that is due, which nobody else takes for a while; None where none is."""
    with database.reading() as connection:
        asked = select(DELIVERY, WEBHOOK.c.address, WEBHOOK.c.secret).join_from(
            DELIVERY, WEBHOOK, DELIVERY.c.webhook == WEBHOOK.c.id
        )
        asked = asked.where(DELIVERY.c.state == WAITING, DELIVERY.c.due <= now()).order_by(DELIVERY.c.due).limit(1)
        row = connection.execute(asked).mappings().first()
    if row is None:
        return None
    same = (DELIVERY.c.id == row["id"], DELIVERY.c.due == row["due"])
    if database.change(update(DELIVERY).where(*same).values(due=_after(LEASE_SECONDS))) != 1:
        return None
    return HookNotice(**{name: row[name] for name in ("id", "webhook", "address", "secret", "body", "tries")})


def note_outcome(database: Database, notice: HookNotice, answer: str | None) -> None:
    """Note how a notice was answered: None where it was taken, otherwise what went wrong."""
    with database.writing() as connection:
        if answer is None:
            connection.execute(delete(DELIVERY).where(DELIVERY.c.id == notice.id))
            return
        values: dict[str, Any] = {"tries": notice.tries + 1, "answer": answer}
        if notice.tries < len(PAUSES):
            values["due"] = _after(PAUSES[notice.tries])
        else:
            values |= {"due": None, "state": GIVEN_UP}
            connection.execute(update(WEBHOOK).where(WEBHOOK.c.id == notice.webhook).values(given_up=now()))
            _log.error("webhook %s is given up: %s", notice.webhook, answer)
        connection.execute(update(DELIVERY).where(DELIVERY.c.id == notice.id).values(**values))


def send_due(database: Database, post: Callable[[str, bytes, Mapping[str, str]], int]) -> bool:
    """Send a notice that is due, and say whether there was one."""
    notice = take_due(database)
    if notice is None:
        return False
    body = notice.body.encode()
    try:
        status = post(notice.address, body, signed("POST", notice.address, body, notice.webhook, notice.secret, int(time.time())))
        answer = None if 200 <= status < 300 else f"answered {status}"
    except (OSError, ValueError, HTTPException) as error:
        cause = error.reason if isinstance(error, urllib.error.URLError) else error
        answer = f"no answer ({type(cause).__name__})"
    note_outcome(database, notice, answer)
    return True


def signed(method: str, address: str, body: bytes, key: str, secret: str, created: int) -> dict[str, str]:
    """The headers of a signed message: Content-Digest (RFC 9530) and a signature by HMAC of SHA-256 (RFC 9421)."""
    headers = {
        "content-type": "application/json",
        "content-digest": f"sha-256=:{base64.b64encode(hashlib.sha256(body).digest()).decode()}:",
    }
    parts = {"@method": method, "@target-uri": address, **headers}
    stated = f'({" ".join(f"{chr(34)}{part}{chr(34)}" for part in parts)});created={created};keyid="{key}";alg="hmac-sha256"'
    signature = signature_of(parts, stated, secret.encode())
    return {**headers, "signature-input": f"notice={stated}", "signature": f"notice=:{signature}:"}


def signature_of(parts: Mapping[str, str], stated: str, secret: bytes) -> str:
    """The signature of parts of a message in base64 (RFC 9421, sections 2.5 and 3.3.3)."""
    lines = [f'"{name}": {value}' for name, value in parts.items()] + [f'"@signature-params": {stated}']
    return base64.b64encode(hmac.digest(secret, "\n".join(lines).encode(), "sha256")).decode()


def post_over_http(address: str, body: bytes, headers: Mapping[str, str]) -> int:
    """POST a body, follow nothing, and return the status."""
    request = urllib.request.Request(address, body, dict(headers), method="POST")
    try:
        with _OPENER.open(request, timeout=SENDING_SECONDS) as response:
            return int(response.status)
    except urllib.error.HTTPError as refused:
        return refused.code


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    """A redirect could lead anywhere: it counts as an answer."""

    def redirect_request(self, *_: Any) -> None:
        """Follow none."""


_OPENER = urllib.request.build_opener(_NoRedirect)


def _after(seconds: float) -> str:
    return now(seconds)
