"""The pages for people, and their parts: one that greets whoever opens the service in a browser, one that shows the description.

They are no part of the API's contract, so the description leaves them out. All that they load comes from here, so they work with
no internet.
"""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.errors import NothingHere
from api.media import require_accepted
from sequencer import GUIDE

router = APIRouter(include_in_schema=False)

# -- the page at the front ---------------------------------------------------------------------------------------------

_FOLDER, _FRONT = files("api") / "front", "page.html"

PARTS = tuple(sorted(f"/page/{each.name}" for each in _FOLDER.iterdir() if each.name != _FRONT and not each.name.startswith(".")))
"""Addresses of the page's parts: style, scripts, its sign, and the empty page that a sheet is put into."""

_NOTHING_ELSE = "base-uri 'none'; form-action 'none'"

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; frame-src 'self'; "
    f"{_NOTHING_ELSE}; frame-ancestors 'none'"
)
"""The page runs and loads its own parts only, and speaks to this server only."""

SHEET_POLICY = f"default-src 'none'; style-src 'unsafe-inline'; {_NOTHING_ELSE}; frame-ancestors 'self'"
"""The empty page that a printed sheet is put into takes the sheet's own style, and can run nothing."""

_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}


@cache
def _part(name: str) -> tuple[bytes, str]:
    """The file of that name, and a tag that changes with it."""
    content = (_FOLDER / name).read_bytes()
    return content, f'"{hashlib.sha256(content).hexdigest()[:32]}"'


@router.get("/")
async def front(request: Request) -> Response:
    """The page."""
    require_accepted(request, "text/html")
    return _sent(request, _FRONT, {"Content-Security-Policy": POLICY})


async def _part_of_front(request: Request) -> Response:
    name = request.url.path.rsplit("/", 1)[1]
    if not name.endswith(".html"):
        return _sent(request, name, {})
    return _sent(request, name, {"Content-Security-Policy": SHEET_POLICY, "X-Frame-Options": "SAMEORIGIN"})


for _address in PARTS:
    router.add_api_route(_address, _part_of_front)


def _sent(request: Request, name: str, headers: dict[str, str]) -> Response:
    """A file, unless the browser has it as it is: it asks each time, so that a new version is never mixed with an old one."""
    content, tag = _part(name)
    stated = {**headers, "ETag": tag, "Cache-Control": "no-cache"}
    if tag in (each.strip().removeprefix("W/") for each in request.headers.get("if-none-match", "").split(",")):
        return Response(status_code=304, headers=stated)
    return Response(content, media_type=_TYPES[name[name.rindex(".") :]], headers=stated)


# -- the page of the description ---------------------------------------------------------------------------------------

PAGE = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Unit sequencer: the API</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="docs/swagger-ui.css">
<script src="docs/swagger-ui-bundle.js" defer></script>
<script src="docs/start.js" defer></script>
</head>
<body><main id="docs"></main></body>
</html>
"""

START = """\
// The description is asked for first, so that a server which asks for a key can be given one.
async function start(key) {
  const response = await fetch("openapi.json", {headers: key ? {Authorization: `Bearer ${key}`} : {}});
  if (response.status === 401) {
    const given = window.prompt("This server asks for a key.");
    if (given) await start(given.trim());
    return;
  }
  const ui = SwaggerUIBundle({
    spec: await response.json(),
    dom_id: "#docs",
    deepLinking: true,
    validatorUrl: null,
    docExpansion: "list",
    defaultModelsExpandDepth: 0,
    onComplete: () => { if (key) ui.preauthorizeApiKey("key", key); },
  });
}
start("");
"""

SELF_ONLY = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; connect-src 'self'; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
}
"""A browser loads nothing from elsewhere, whatever the library holds."""

LIBRARY = {"swagger-ui.css": _TYPES[".css"], "swagger-ui-bundle.js": _TYPES[".js"]}
"""Files of the package that carries the library, and their media types."""


@router.get("/docs")
async def docs(request: Request) -> Response:
    """Show the description to people, who can try it out there."""
    require_accepted(request, "text/html")
    return Response(PAGE, media_type=_TYPES[".html"], headers=SELF_ONLY)


@router.get("/docs/{name}")
def part_of_docs(name: str) -> Response:
    """Return what the page is made of."""
    if name == "start.js":
        return Response(START, media_type=LIBRARY["swagger-ui-bundle.js"], headers=SELF_ONLY)
    if name not in LIBRARY:
        raise NothingHere("There is nothing at this address; /openapi.json lists what there is.")
    content = (files("fastapi_offline") / "static" / name).read_bytes()
    return Response(content, media_type=LIBRARY[name], headers={**SELF_ONLY, "Cache-Control": "max-age=86400"})


_DOCS = ("/docs", "/docs/start.js", *(f"/docs/{name}" for name in LIBRARY))
_GUIDE = ("/guide", *(f"/guide/{topic.name}" for topic in GUIDE))

OPEN_TO_ALL = ("/healthz", *_DOCS, *_GUIDE, "/", *PARTS)
"""Addresses that ask for no key: whoever watches over the service need not hold one, and a browser brings none to a page."""

BY_SECRET = "/v1/calendars/"
"""Where addresses that cannot be guessed begin; they are keys themselves."""
