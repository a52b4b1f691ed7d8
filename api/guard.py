"""What surrounds every request: a key where keys are asked for, headers for browsers, one line of log without content."""

from __future__ import annotations

import hashlib
import hmac
import json
import logging
import time
import uuid
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.errors import problem_response
from api.media import APPLIED
from api.openapi import OPEN_TO_ALL, DescribedApi
from api.origins import Origins
from api.settings import BadSetting, Settings

_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
}

_log = logging.getLogger("api.requests")


def read_keys(settings: Settings) -> tuple[bytes, ...]:
    """Digests of the keys that the settings name.

    Raises
    ------
    BadSetting
        When the file of keys cannot be read or holds none.
    """
    keys = [key.strip() for key in settings.keys.split(",")]
    if settings.keys_file:
        try:
            lines = Path(settings.keys_file).read_text(encoding="utf-8").splitlines()
        except (OSError, UnicodeDecodeError):
            raise BadSetting("SEQUENCER_KEYS_FILE cannot be read") from None
        found = [line.strip() for line in lines if line.strip() and not line.startswith("#")]
        if not found:
            raise BadSetting("SEQUENCER_KEYS_FILE holds no key")
        keys += found
    return tuple(_digest(key.encode()) for key in keys if key)


class Guard:
    """Middleware.

    Parameters
    ----------
    keys
        Digests of the keys, as ``read_keys`` returns them; none where everybody may call.
    origins
        What pages of other origins are told.
    """

    def __init__(self, app: ASGIApp, keys: Iterable[bytes], origins: Origins) -> None:
        self._app = app
        self._keys = tuple(keys)
        self._origins = origins

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse a request without a key; otherwise pass it on, and log what became of it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        began = time.monotonic()
        name = uuid.uuid4().hex
        status, sent = 0, 0

        async def sending(message: Message) -> None:
            nonlocal status, sent
            if message["type"] == "http.response.start":
                status = message["status"]
                headers = MutableHeaders(scope=message)
                headers["X-Request-Id"] = name
                if status == 200 and (applied := scope.get("state", {}).get(APPLIED)):
                    headers["Preference-Applied"] = applied
                self._origins.add_to(headers, scope)
                for key, value in _HEADERS.items():
                    headers.setdefault(key, value)
            else:
                sent += len(message.get("body", b""))
            await send(message)

        try:
            if (allowed := self._origins.preflight(scope)) is not None:
                await allowed(scope, receive, sending)
            elif self._keys and scope["path"] not in OPEN_TO_ALL and not self._knows(Headers(scope=scope)):
                refusal = problem_response(
                    401, "This server asks for a key: Authorization: Bearer and the key.", {"WWW-Authenticate": "Bearer"}
                )
                await refusal(scope, receive, sending)
            else:
                await self._app(scope, receive, sending)
        finally:
            facts = {
                "request": name,
                "method": scope["method"] if scope["method"] in ("GET", "HEAD", "POST", "DELETE") else "other",
                # As it is described: what stands in an unknown address is the caller's business.
                "path": getattr(scope.get("route"), "path", None),
                "status": status,
                "bytes": sent,
                "seconds": round(time.monotonic() - began, 3),
            }
            _log.info("%s", json.dumps(facts))

    def _knows(self, headers: Headers) -> bool:
        scheme, _, token = headers.get("authorization", "").partition(" ")
        digest = _digest(token.strip().encode())
        # Every key is compared, each in constant time, so that the time taken says nothing about any.
        matches = [hmac.compare_digest(digest, key) for key in self._keys]
        return scheme.lower() == "bearer" and any(matches)


class GuardedApi(DescribedApi):
    """The application within its guard, which also surrounds what the framework does when something fails."""

    def __init__(self, keys: tuple[bytes, ...], origins: frozenset[str], **settings: Any) -> None:
        super().__init__(**settings)
        self._keys = keys
        self._origins = Origins(origins)

    def build_middleware_stack(self) -> ASGIApp:
        """The framework's own, within the guard."""
        return Guard(super().build_middleware_stack(), self._keys, self._origins)


def _digest(key: bytes) -> bytes:
    return hashlib.sha256(key).digest()
