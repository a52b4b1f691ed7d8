"""The forms in which a sequence can be had."""

from __future__ import annotations

from fastapi import APIRouter, Request

from api.front_messages import FormEntry, FormList
from api.media import JSON_TYPE, require_accepted
from api.openapi import answered, problems, reference
from sequencer import FORMATS

router = APIRouter(tags=["scenarios"])


@router.head("/v1/formats", include_in_schema=False)
@router.get(
    "/v1/formats",
    summary="The forms in which a sequence can be had",
    responses={200: answered("The forms, by name.", reference("FormList")), **problems(406)},
    response_model=None,
)
async def formats(request: Request) -> FormList:
    """List the forms in which a sequence can be had."""
    require_accepted(request, JSON_TYPE)
    entries = [
        FormEntry(
            name=each.name, media_type=each.media_type, what=each.what, ending=each.ending, needs_sequence=each.needs_sequence
        )
        for each in FORMATS
    ]
    return FormList(formats=entries)
