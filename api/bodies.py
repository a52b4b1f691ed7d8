"""Reading a request's body: no more of it than is allowed, for no longer than is allowed, and as a document."""

from __future__ import annotations

import asyncio
from typing import Literal

from starlette.requests import Request

from api.errors import BodyTooLarge, BodyTooSlow
from api.media import language_of
from api.settings import Settings


async def read_body(request: Request, settings: Settings) -> tuple[bytes, Literal["yaml", "json"]]:
    """The body and its language.

    Raises
    ------
    UnsupportedMedia, BodyTooLarge, BodyTooSlow
    """
    language = language_of(request)
    length = request.headers.get("content-length", "")
    if length.isdecimal() and (len(length) > 15 or int(length) > settings.body_bytes):
        raise _too_large(settings)
    try:
        async with asyncio.timeout(settings.body_seconds):
            return await _collected(request, settings), language
    except TimeoutError:
        # What is left of it would be taken for the next request.
        message = f"The body did not arrive within {settings.body_seconds:g} seconds."
        raise BodyTooSlow(message, {"Connection": "close"}) from None


async def _collected(request: Request, settings: Settings) -> bytes:
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > settings.body_bytes:
            raise _too_large(settings)
    return bytes(body)


def _too_large(settings: Settings) -> BodyTooLarge:
    return BodyTooLarge(f"The body is larger than {settings.body_bytes:,} bytes, which is the most that is read.")


async def until_gone(request: Request) -> None:
    """Return when the client goes away; the body must have been read."""
    while (await request.receive())["type"] != "http.disconnect":
        pass
