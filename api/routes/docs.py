"""A page on which the description can be read and tried out; all that it loads comes from here, so it works with no internet."""

from __future__ import annotations

from importlib.resources import files

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.errors import NothingHere
from api.media import require_accepted

router = APIRouter()

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

LIBRARY = {"swagger-ui.css": "text/css; charset=utf-8", "swagger-ui-bundle.js": "text/javascript; charset=utf-8"}
"""Files of the package that carries the library, and their media types."""


@router.head("/docs", include_in_schema=False)
@router.get("/docs", include_in_schema=False)
async def docs(request: Request) -> Response:
    """Show the description to people, who can try it out there."""
    require_accepted(request, "text/html")
    return Response(PAGE, media_type="text/html; charset=utf-8", headers=SELF_ONLY)


@router.head("/docs/{name}", include_in_schema=False)
@router.get("/docs/{name}", include_in_schema=False)
def part_of_docs(name: str) -> Response:
    """Return what the page is made of."""
    if name == "start.js":
        return Response(START, media_type=LIBRARY["swagger-ui-bundle.js"], headers=SELF_ONLY)
    if name not in LIBRARY:
        raise NothingHere("There is nothing at this address; /openapi.json lists what there is.")
    content = (files("fastapi_offline") / "static" / name).read_bytes()
    return Response(content, media_type=LIBRARY[name], headers={**SELF_ONLY, "Cache-Control": "max-age=86400"})
