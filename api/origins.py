"""Which pages of other origins may read answers: none, unless their origins are listed (Fetch standard, section 3.2)."""

from __future__ import annotations

import re

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import Scope

from api.settings import BadSetting, Settings

_ORIGIN = re.compile(r"https?://[A-Za-z0-9.-]+(:[0-9]{1,5})?|https?://\[[0-9A-Fa-f:.]+\](:[0-9]{1,5})?")

_SHOWN = "Allow, Preference-Applied, Retry-After, X-Request-Id"
_MAY_SEND = {
    "Access-Control-Allow-Methods": "DELETE, GET, HEAD, POST",
    "Access-Control-Allow-Headers": "Accept, Authorization, Content-Encoding, Content-Type, Prefer",
    "Access-Control-Max-Age": "600",
}


def read_origins(settings: Settings) -> frozenset[str]:
    """The origins that the settings list.

    Raises
    ------
    BadSetting
        When one is no origin; all of them at once cannot be listed.
    """
    origins = [origin.strip() for origin in settings.origins.split(",") if origin.strip()]
    if not all(_ORIGIN.fullmatch(origin) for origin in origins):
        raise BadSetting("SEQUENCER_ORIGINS must be origins such as https://planner.example:8443, with commas between them")
    return frozenset(origin.lower() for origin in origins)


class Origins:
    """What pages of other origins are told. Keys are sent by those who hold them, never by a browser of itself, so no answer
    allows credentials.

    Parameters
    ----------
    origins
        As ``read_origins`` returns them.
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
