"""The JSON Schema of scenarios, for editors."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse

from api.media import SCHEMA_TYPE, require_accepted
from api.openapi import answered, problems
from sequencer import scenario_schema

router = APIRouter(tags=["scenarios"])


class SchemaResponse(JSONResponse):
    """A JSON Schema."""

    media_type = SCHEMA_TYPE


@router.head("/v1/scenario-schema", include_in_schema=False)
@router.get(
    "/v1/scenario-schema",
    summary="The JSON Schema of scenarios",
    response_class=SchemaResponse,
    responses={200: answered("A JSON Schema (2020-12).", {"type": "object"}, SCHEMA_TYPE), **problems(406)},
)
async def schema(request: Request) -> SchemaResponse:
    """Return the JSON Schema (2020-12) of scenarios."""
    require_accepted(request, SCHEMA_TYPE)
    return SchemaResponse(scenario_schema())
