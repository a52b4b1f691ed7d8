"""What each type of problem document means, at the address that the document gives as its type."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request

from api.errors import PROBLEM_TYPES, TYPES, NothingHere, title_of
from api.media import JSON_TYPE, require_accepted
from api.messages import ProblemType
from api.openapi import answered, problems, reference

router = APIRouter(tags=["service"])


@router.head(PROBLEM_TYPES + "{name}", include_in_schema=False)
@router.get(
    PROBLEM_TYPES + "{name}",
    summary="What a type of problem document means",
    responses={200: answered("The type.", reference("ProblemType")), **problems(404, 406)},
    response_model=None,
)
async def problem_type(
    request: Request, name: Annotated[str, Path(description="The last part of the type's address.")]
) -> ProblemType:
    """Say what a type of problem document means."""
    require_accepted(request, JSON_TYPE)
    for status, known, says in TYPES:
        if known == name:
            return ProblemType(type=PROBLEM_TYPES + known, title=title_of(status), status=status, says=says)
    raise NothingHere("There is no such type of problem document.")
