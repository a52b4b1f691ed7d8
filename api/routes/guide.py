"""The guide, to read in a browser: pages that run nothing and load nothing from elsewhere."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from api.errors import NothingHere
from api.guide_pages import guide_list, guide_page
from api.media import require_accepted

router = APIRouter(include_in_schema=False)

POLICY = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
}


@router.get("/guide")
async def topics(request: Request) -> Response:
    """The list of topics."""
    require_accepted(request, "text/html")
    return HTMLResponse(guide_list(), headers=POLICY)


@router.get("/guide/{topic}")
def page(request: Request, topic: str) -> Response:
    """One topic."""
    require_accepted(request, "text/html")
    found = guide_page(topic)
    if found is None:
        raise NothingHere("The guide has no such topic; /guide lists those there are.")
    return HTMLResponse(found, headers=POLICY)
