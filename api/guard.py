"""What surrounds every request: who may ask, and by which name; headers for browsers; one line of log without content."""

from __future__ import annotations

import json
import logging
import time
import uuid
from collections.abc import Iterable
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.calls import where_raised
from api.errors import REQUEST, defect_response, problem_response
from api.hosts import is_ours
from api.keys import is_known
from api.media import APPLIED, MOST_HEAD, head_length
from api.openapi import OPEN_TO_ALL, DescribedApi
from api.origins import Origins

_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
}

_log = logging.getLogger("api.requests")


_CLOSE = {"Connection": "close"}
"""What is left of a request whose end is not certain would be taken for the next one."""


class Guard:
    """Middleware.

    Parameters
    ----------
    keys
        Digests of the keys, as ``read_keys`` returns them; none where everybody may call.
    hosts
        The names by which the service may be asked, as ``read_hosts`` returns them.
    origins
        What pages of other origins are told.
    """

    def __init__(self, app: ASGIApp, keys: Iterable[bytes], hosts: frozenset[str], origins: Origins) -> None:
        self._app = app
        self._keys = tuple(keys)
        self._hosts = hosts
        self._origins = origins

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse a request that may not be made; otherwise pass it on, and log what became of it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        began = time.monotonic()
        name = str(uuid.uuid4())
        scope.setdefault("state", {})[REQUEST] = name
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
            answer = self._refused(scope, Headers(scope=scope)) or self._app
            await answer(scope, receive, sending)
        except Exception as error:
            # Where it happened and nothing else: what an exception says may quote what was sent.
            _log.error("request %s failed: %s", name, where_raised(error))
            if not status:
                await defect_response(scope)(scope, receive, sending)
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

    def _refused(self, scope: Scope, headers: Headers) -> Response | None:
        """The answer to a request that goes no further; None to all others."""
        target = scope.get("raw_path", b"") + b"?" + scope["query_string"]
        if head_length(scope["method"], target, scope["headers"]) > MOST_HEAD:
            return problem_response(431, f"The head of the request is larger than {MOST_HEAD:,} bytes.", _CLOSE)
        if "transfer-encoding" in headers and ("content-length" in headers or scope["http_version"] == "1.0"):
            return problem_response(400, "The body must be framed by Content-Length or by Transfer-Encoding, not both.", _CLOSE)
        if not is_ours(headers.get("host", ""), self._hosts):
            return problem_response(421, "This server is not known by the name that the request states as its host.")
        if (allowed := self._origins.preflight(scope)) is not None:
            return allowed
        if self._keys and scope["path"] not in OPEN_TO_ALL:
            authorization = next((value for key, value in scope["headers"] if key == b"authorization"), b"")
            if not is_known(authorization, self._keys):
                asked = {"WWW-Authenticate": "Bearer"}
                return problem_response(401, "This server asks for a key: Authorization: Bearer and the key.", asked)
        return None


class GuardedApi(DescribedApi):
    """The application within its guard, which also surrounds what the framework does when something fails."""

    def __init__(self, keys: tuple[bytes, ...], hosts: frozenset[str], origins: frozenset[str], **settings: Any) -> None:
        super().__init__(**settings)
        self._keys = keys
        self._hosts = hosts
        self._origins = Origins(origins)

    def build_middleware_stack(self) -> ASGIApp:
        """The framework's own, within the guard."""
        return Guard(super().build_middleware_stack(), self._keys, self._hosts, self._origins)
