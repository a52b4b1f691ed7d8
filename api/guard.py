"""What surrounds every request: who may ask, and by which name; headers for browsers; one line of log without content."""

from __future__ import annotations

import hashlib
import hmac
import json
import logging
import os
import re
import time
import uuid
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.errors import REQUEST, defect_response, problem_of, problem_response
from api.media import APPLIED, MOST_HEAD, head_length
from api.openapi import DescribedApi
from api.routes.pages import BY_SECRET, OPEN_TO_ALL
from api.settings import BadSetting, Settings
from sequencer.workers.refusals import NotDone
from sequencer.workers.serving import where_raised

if TYPE_CHECKING:
    from api.store.access import Access

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
    """Middleware, which surrounds also what the framework does when something fails."""

    def __init__(self, settings: Settings, access: Access | None = None) -> None:
        """``access`` looks up the keys of a store, where there is one."""
        self.app: ASGIApp
        self._access = access
        self._keys = read_keys(settings)
        self._hosts = read_hosts(settings)
        self._origins = Origins(read_origins(settings))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse a request that may not be made; otherwise pass it on, and log what became of it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        began = time.monotonic()
        name = str(uuid.uuid4())
        scope.setdefault("state", {})[REQUEST] = name
        # Every address that takes GET takes HEAD: whoever sends the answer leaves its body out.
        asked = {**scope, "method": "GET"} if scope["method"] == "HEAD" else scope
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
            answer = self._refused(scope, Headers(scope=scope)) or await self._unknown(scope) or self.app
            await answer(asked, receive, sending)
        except Exception as error:
            # Where it happened and nothing else: what an exception says may quote what was sent.
            _log.error("request %s failed: %s", name, where_raised(error))
            if not status:
                await defect_response(scope)(scope, receive, sending)
        finally:
            facts = {
                "request": name,
                "method": scope["method"] if scope["method"] in ("GET", "HEAD", "POST", "PUT", "DELETE") else "other",
                # As it is described: what stands in an unknown address is the caller's business.
                "path": getattr(asked.get("route"), "path", None),
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
        return None

    async def _unknown(self, scope: Scope) -> Response | None:
        """The answer to a request that brings no key that is known, where one is asked for; None to all others."""
        if scope["path"] in OPEN_TO_ALL or scope["path"].startswith(BY_SECRET):
            return None
        authorization = next((value for key, value in scope["headers"] if key == b"authorization"), b"")
        known = not self._keys or is_known(authorization, self._keys)
        if self._access is not None:
            try:
                known = await self._access.lets_in(scope, authorization, known, bool(self._keys))
            except NotDone as refused:
                status, body = problem_of(refused, scope)
                return problem_response(status, body["detail"], refused.headers)
        if known:
            return None
        return problem_response(
            401, "This server asks for a key: Authorization: Bearer and the key.", {"WWW-Authenticate": "Bearer"}
        )


class GuardedApi(DescribedApi):
    """The application within its guard."""

    def __init__(self, guard: Guard, **settings: Any) -> None:
        super().__init__(**settings)
        self._guard = guard

    def build_middleware_stack(self) -> ASGIApp:
        """The framework's own, within the guard."""
        self._guard.app = super().build_middleware_stack()
        return self._guard


# -- the keys that requests bring: read once, kept as digests, compared as the bytes that they are ---------------------

_MARK = b"\xef\xbb\xbf"
"""What some editors put before a text in UTF-8."""


def read_keys(settings: Settings) -> tuple[bytes, ...]:
    """Digests of the keys that the settings name; where keys are asked for and none can be read, nothing is served."""
    keys = [key.strip() for key in os.fsencode(settings.keys).split(b",")]
    if settings.keys and not any(keys):
        raise BadSetting("SEQUENCER_KEYS holds no key")
    if settings.keys_file:
        try:
            lines = Path(settings.keys_file).read_bytes().removeprefix(_MARK).splitlines()
        except (OSError, ValueError):
            raise BadSetting("SEQUENCER_KEYS_FILE cannot be read") from None
        found = [line.strip() for line in lines if line.strip() and not line.lstrip().startswith(b"#")]
        if not found:
            raise BadSetting("SEQUENCER_KEYS_FILE holds no key")
        keys += found
    return tuple(_digest(key) for key in keys if key)


def is_known(authorization: bytes, keys: tuple[bytes, ...]) -> bool:
    """Whether an ``Authorization`` header brings one of the keys whose digests these are."""
    scheme, _, key = authorization.partition(b" ")
    digest = _digest(key.strip())
    # Every key is compared, each in constant time, so that the time taken says nothing about any.
    matches = [hmac.compare_digest(digest, each) for each in keys]
    return scheme.lower() == b"bearer" and any(matches)


def _digest(key: bytes) -> bytes:
    return hashlib.sha256(key).digest()


# -- by which names the service may be asked ---------------------------------------------------------------------------
# A page of another site can have its own name lead to this machine (DNS rebinding), and would then read answers as its own.

LOOPBACK = frozenset({"localhost", "127.0.0.1", "[::1]"})

_NAME = re.compile(r"[a-z0-9._-]+|\[[0-9a-f:.]+\]")
_STATED = re.compile(rf"({_NAME.pattern})(?::[0-9]{{0,5}})?")


def read_hosts(settings: Settings) -> frozenset[str]:
    """The names that requests may state: the loopback's, the address listened on where it is one, and those listed."""
    listed = [host.strip().lower() for host in settings.hosts.split(",") if host.strip()]
    if not all(_NAME.fullmatch(host) for host in listed):
        raise BadSetting("SEQUENCER_HOSTS must be names such as planner.example, without a port, with commas between them")
    own = f"[{settings.host}]" if ":" in settings.host else settings.host
    return LOOPBACK | {own.lower()} | frozenset(listed)


def is_ours(host: str, hosts: frozenset[str]) -> bool:
    """Whether a ``Host`` header states one of the names, on whatever port."""
    found = _STATED.fullmatch(host.strip().lower())
    return found is not None and found[1] in hosts


# -- which pages of other origins may read answers: none, unless they are listed (Fetch standard, section 3.2) ---------

_ORIGIN = re.compile(r"https?://[A-Za-z0-9.-]+(:[0-9]{1,5})?|https?://\[[0-9A-Fa-f:.]+\](:[0-9]{1,5})?")

_SHOWN = "Allow, Content-Location, ETag, Location, Preference-Applied, Retry-After, X-Request-Id"
_MAY_SEND = {
    "Access-Control-Allow-Methods": "DELETE, GET, HEAD, POST, PUT",
    "Access-Control-Allow-Headers": "Accept, Authorization, Content-Encoding, Content-Type, If-Match, If-None-Match, Prefer",
    "Access-Control-Max-Age": "600",
}


def read_origins(settings: Settings) -> frozenset[str]:
    """The origins that the settings list; all of them at once cannot be listed."""
    origins = [origin.strip() for origin in settings.origins.split(",") if origin.strip()]
    if not all(_ORIGIN.fullmatch(origin) for origin in origins):
        raise BadSetting("SEQUENCER_ORIGINS must be origins such as https://planner.example:8443, with commas between them")
    return frozenset(origin.lower() for origin in origins)


class Origins:
    """What pages of other origins are told. Keys are sent by those who hold them, never by a browser of itself, so no answer
    allows credentials.
    """

    def __init__(self, origins: frozenset[str]) -> None:
        self._origins = origins

    def add_to(self, headers: MutableHeaders, scope: Scope) -> None:
        """Say on an answer whether the page that asks may read it."""
        if not self._origins:
            return
        headers.add_vary_header("Origin")
        if (origin := self._listed(scope)) is not None:
            headers["Access-Control-Allow-Origin"] = origin
            headers["Access-Control-Expose-Headers"] = _SHOWN

    def preflight(self, scope: Scope) -> Response | None:
        """The answer to a browser that asks beforehand what a page of a listed origin may send; None to any other request."""
        asks = scope["method"] == "OPTIONS" and "access-control-request-method" in Headers(scope=scope)
        return Response(status_code=204, headers=_MAY_SEND) if asks and self._listed(scope) is not None else None

    def _listed(self, scope: Scope) -> str | None:
        origin = Headers(scope=scope).get("origin", "")
        return origin if origin.lower() in self._origins else None
