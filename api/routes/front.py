"""The page that greets a person who opens the service in a browser, and its parts.

They are no part of the API's contract, so the description leaves them out.
"""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.front_parts import PAGE, PARTS, part
from api.media import require_accepted

router = APIRouter(include_in_schema=False)

_NOTHING_ELSE = "base-uri 'none'; form-action 'none'"

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; frame-src 'self'; "
    f"{_NOTHING_ELSE}; frame-ancestors 'none'"
)
"""The page runs and loads its own parts only, and speaks to this server only."""

SHEET_POLICY = f"default-src 'none'; style-src 'unsafe-inline'; {_NOTHING_ELSE}; frame-ancestors 'self'"
"""The empty page that a printed sheet is put into takes the sheet's own style, and can run nothing."""


@router.head("/")
@router.get("/")
async def page(request: Request) -> Response:
    """The page."""
    require_accepted(request, "text/html")
    return _sent(request, PAGE, {"Content-Security-Policy": POLICY})


async def _part(request: Request) -> Response:
    name = request.url.path.rsplit("/", 1)[1]
    if not name.endswith(".html"):
        return _sent(request, name, {})
    return _sent(request, name, {"Content-Security-Policy": SHEET_POLICY, "X-Frame-Options": "SAMEORIGIN"})


for _address in PARTS:
    router.add_api_route(_address, _part, methods=["GET", "HEAD"])


def _sent(request: Request, name: str, headers: dict[str, str]) -> Response:
    """A file, unless the browser has it as it is: it asks each time, so that a new version is never mixed with an old one."""
    found = part(name)
    stated = {**headers, "ETag": found.tag, "Cache-Control": "no-cache"}
    if found.tag in (each.strip().removeprefix("W/") for each in request.headers.get("if-none-match", "").split(",")):
        return Response(status_code=304, headers=stated)
    return Response(found.content, media_type=found.media_type, headers=stated)
