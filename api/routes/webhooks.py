"""Webhooks: addresses that are told of each change of a kept term."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Path, Request
from starlette.responses import Response

from api.bodies import received, worked
from api.errors import NothingHere
from api.media import JSON_TYPE
from api.openapi import READ, problems, request_body
from api.routes.kept import KNOWN, asked_by, told
from api.store import kept_work as work
from api.store.access import holder_who_may
from api.store.hooks import make_webhook, remove_webhook, webhooks
from api.store.keys import ADMINISTER
from api.store.messages import WebhookAsked, WebhookList, WebhookMade
from api.work import in_json

router = APIRouter(tags=["kept terms"])


@router.post(
    "/v1/webhooks",
    summary="Have an address told of changes",
    status_code=201,
    openapi_extra=request_body(WebhookAsked, "The address, and of which terms it is told."),
    responses={
        201: {"description": "Its secret, which is told this once.", "model": WebhookMade},
        **READ,
        **problems(403, 429, 507),
    },
)
async def make(request: Request) -> Response:
    """Have an address told of each change by a POST of it as `…/changes` lists it, with the `term`, signed as RFC 9421 says.

    The signature is an HMAC of SHA-256 over method, address, `Content-Type` and `Content-Digest` (RFC 9530), by the secret.
    What is not answered with 2xx is sent again after ever longer pauses, up to a day, and then given up, which the list shows.
    """
    asked_by(request, ADMINISTER)
    state = request.app.state
    asked = await worked(request, state.readings, partial(work.webhook_asked, await received(request, state.readings)))
    public, secret = await state.store.run(make_webhook, state.store, asked.address, tuple(asked.terms))
    answer = in_json(WebhookMade(webhook=public, secret=secret, **asked.model_dump()).model_dump())
    return Response(answer.text, 201, {"Cache-Control": "no-store"}, JSON_TYPE)


@router.get(
    "/v1/webhooks",
    summary="The addresses that are told of changes",
    openapi_extra=KNOWN,
    responses={
        200: {"description": "The webhooks, without their secrets.", "model": WebhookList},
        304: {"description": "They are as the client has them."},
        **problems(403, 406, 429, 500, 503),
    },
)
async def listed(request: Request) -> Response:
    """List the webhooks: how many notices wait, how the last that failed was answered, and which are given up."""
    asked_by(request, ADMINISTER)
    store = request.app.state.store
    found = {"webhooks": await store.run(webhooks, store)}
    return told(request, in_json(WebhookList.model_validate(found).model_dump()))


@router.delete(
    "/v1/webhooks/{webhook}",
    summary="Tell an address nothing any more",
    status_code=204,
    responses={204: {"description": "It is told nothing any more."}, **problems(403, 404, 429, 500, 503, 507)},
    response_class=Response,
)
async def remove(request: Request, webhook: Annotated[str, Path(description="Its id, as the list has it.")]) -> Response:
    """Tell an address nothing any more; notices that wait are dropped."""
    holder_who_may(request, ADMINISTER)
    store = request.app.state.store
    if not await store.run(remove_webhook, store, webhook):
        raise NothingHere("There is no such webhook.")
    return Response(status_code=204)
