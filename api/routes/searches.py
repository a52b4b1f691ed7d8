"""A streamed search that is told to stop."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request
from starlette.responses import Response

from api.errors import NothingHere
from api.openapi import problems
from api.searches import ADDRESS

router = APIRouter(tags=["scenarios"])


@router.delete(
    ADDRESS + "{name}",
    summary="Stop a streamed search",
    status_code=204,
    responses={204: {"description": "It was told to stop."}, **problems(404)},
    response_class=Response,
)
async def stop(request: Request, name: Annotated[str, Path(description="The name that the event `begun` told.")]) -> Response:
    """Stop a search whose answer is streamed: its stream goes on to the answer with the best that was found.

    The address is the one that the event `begun` told. Where there is none of that name (any more, or on this server where
    several share the work), nothing happens; a client can always leave instead.
    """
    if not request.app.state.searches.stop(name):
        raise NothingHere("There is no such search: it is over, or was begun elsewhere.")
    return Response(status_code=204)
