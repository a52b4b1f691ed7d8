"""The demo scenarios."""

from __future__ import annotations

import asyncio
from typing import Annotated

from fastapi import APIRouter, Path, Request
from starlette.responses import Response

from api.demos import demos
from api.errors import NothingHere
from api.front_messages import DemoEntry, DemoList
from api.media import JSON_TYPE, YAML_TYPE, require_accepted
from api.openapi import answered, problems, reference

router = APIRouter(tags=["scenarios"])


@router.head("/v1/demos", include_in_schema=False)
@router.get(
    "/v1/demos",
    summary="The demo scenarios",
    responses={200: answered("Their names and what they show.", reference("DemoList")), **problems(406)},
    response_model=None,
)
async def listed(request: Request) -> DemoList:
    """List the demo scenarios."""
    require_accepted(request, JSON_TYPE)
    return DemoList(
        demos=[DemoEntry(name=each.name, title=each.title, says=each.says) for each in await asyncio.to_thread(demos)]
    )


@router.head("/v1/demos/{name}", include_in_schema=False)
@router.get(
    "/v1/demos/{name}",
    summary="A demo scenario",
    responses={
        200: {
            "description": "The scenario, as `/v1/sequences` takes it.",
            "content": {YAML_TYPE: {"schema": reference("Scenario")}},
        },
        **problems(404, 406),
    },
    response_class=Response,
)
async def demo(
    request: Request, name: Annotated[str, Path(description="The name of the demo, as `/v1/demos` lists it.")]
) -> Response:
    """Return a demo scenario with its comments."""
    require_accepted(request, YAML_TYPE)
    for each in await asyncio.to_thread(demos):
        if each.name == name:
            return Response(each.text, media_type=YAML_TYPE)
    raise NothingHere("There is no such demo scenario; /v1/demos lists those there are.")
