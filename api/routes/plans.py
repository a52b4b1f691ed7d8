"""A scenario and a sequence made for it in; the same sequence in any form out."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import JSONResponse, Response

from api.bodies import received, worked
from api.media import AS_IT_IS, VARY, chosen_format
from api.messages import SEVERAL, ShowOptions, answer_body
from api.openapi import EXAMPLE_SCENARIO, EXAMPLE_SEQUENCE, example_of, in_forms, problems, request_body
from sequencer import FORMATS, Shown, StopSignal, answer_json, as_planned, check_shown, load_check, written

router = APIRouter(tags=["scenarios"])

EXAMPLE = example_of(scenario=EXAMPLE_SCENARIO, sequence=EXAMPLE_SEQUENCE)


@router.post(
    "/v1/plans",
    summary="Show a plan made before as it is",
    openapi_extra=request_body("Check", "A scenario, and a sequence: an answer, or its `lessons`.", EXAMPLE),
    responses={
        200: in_forms("The plan; as JSON its aims have no bounds.", "Answer", [each.media_type for each in FORMATS]),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def show_plan(request: Request, options: Annotated[ShowOptions, Query()]) -> Response:
    """Show a plan as it is, in the form that `format` names or `Accept` prefers; nothing better is looked for.

    So a sheet, a calendar and a table can be had of one and the same sequence. The referee judges it: a plan that breaks a
    rule is refused.
    """
    form = chosen_format(request, options.format)
    readings = request.app.state.readings
    body, language = await received(request, readings, None, SEVERAL)
    shown = Shown(tuple(options.class_), tuple(options.teacher), None, options.copy_)

    def work(_: StopSignal) -> Response:
        scenario, sequence = load_check(body, "", language)
        check_shown(scenario, form.name, shown)
        plan = as_planned(scenario, sequence)
        if form.name == "json":
            return JSONResponse(answer_body(answer_json(plan), 0.0), headers=VARY)
        return Response(written(plan, form.name, shown), media_type=form.content_type, headers=AS_IT_IS)

    response: Response = await worked(request, readings, work)
    return response
