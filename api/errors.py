"""One table: exception class -> status code; and how each becomes an RFC 9457 problem document."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.responses import Response
from starlette.routing import Match
from starlette.types import Scope

from api.requests import OPTIONS, Closed
from api.store import refusals as kept
from sequencer import BeyondLimit, NothingToShow, RefereeDisagrees, UnusableInput, UnusableSettings
from sequencer.workers.refusals import UNEXPECTED, ClientGone, Defect, NotDone, PoolFull, ShuttingDown, TooMuch, WorkerDied

PROBLEM_TYPE = "application/problem+json"

PROBLEM_TYPES = "/v1/problems/"

KINDS: dict[int, tuple[str, str]] = {
    400: (
        "unusable-option",
        "An option in the query string, or how the body is coded or framed, cannot be used; `detail` says which and why.",
    ),
    401: ("no-key", "This server asks for a key: `Authorization: Bearer` and a key that it knows."),
    404: ("nothing-here", "There is nothing at this address; /openapi.json lists what there is."),
    405: ("other-method", "This address does not take that method; `Allow` lists those it takes."),
    406: (
        "not-acceptable",
        "The answer cannot be had in a form that the request's `Accept` takes; `detail` lists those there are.",
    ),
    415: ("unsupported-media", "The body is of a media type, character set or coding that is not read; `detail` says what is."),
    421: (
        "other-host",
        "This server is not known by the name that the request states as its host; its setting `SEQUENCER_HOSTS` lists others.",
    ),
    422: (
        "unusable-input",
        "The document cannot be used; `problems` lists everything wrong with it, in its order (at most 500).",
    ),
    431: ("head-too-large", "The first line and the headers of the request are larger together than this server reads."),
    500: (
        "defect",
        "A defect of this program. Nothing is wrong with the request. `instance` names it, and so does the server's log.",
    ),
    503: (
        "busy",
        "The server has as much to do as it takes, or is ending, or the store of its terms does not answer; where it says so, "
        "try again after `Retry-After`.",
    ),
    **kept.KINDS,
}
"""What can go wrong, limits apart: the last part of the problem type's address, and what that address says."""

LIMITS: dict[str, tuple[int, str, str]] = {
    "body_bytes": (413, "body-too-large", "The body, compressed or not, is larger than this server reads."),
    "head_seconds": (408, "head-too-slow", "The head of a request did not arrive within the time that this server waits."),
    "body_seconds": (408, "body-too-slow", "The body did not arrive within the time that this server waits."),
    "classes": (413, "too-many-classes", "The scenario has more classes than this server takes: send them apart."),
    "lessons": (
        413,
        "too-many-lessons",
        "There are more lessons over all classes or all units, those that patterns make included, than are taken.",
    ),
    "slots": (
        413,
        "too-many-slots",
        "The classes meet in more periods between them than are taken: send a shorter term.",
    ),
    "what_ifs": (
        413,
        "too-many-what-ifs",
        "The scenario has more what-ifs than are taken: send some in another request.",
    ),
    "depth": (413, "too-deep", "The body has more lists and mappings inside one another than this server reads."),
    "seconds": (400, "too-many-seconds", "More time is asked for than this server allows a solve."),
    "reading_seconds": (
        413,
        "too-long-to-read",
        "The body takes longer to read and to check, or the sequence to judge, than this server gives to one.",
    ),
    "memory": (413, "too-much-memory", "Working on the request takes more memory than this server gives to one."),
    "grace": (
        503,
        "worker-overran",
        "The process that worked on this request had not ended some time after the seconds allowed, or did not answer any "
        "more, and was ended. Only this request failed.",
    ),
    "workers": (400, "too-many-workers", "More searches at once are asked for than this server allows a solve."),
}
"""What is limited: the status of a request beyond it, and the last part and the meaning of its problem type's address."""

ASKED_FOR = {"seconds": "seconds", "workers": "workers", "grace": "seconds"}
"""Limits of what an option of the query string asks for, and that option; the others are of bodies and of the work on them."""

DIED = (
    500,
    "worker-died",
    "The process that worked on this request ended before it had done. Only this request failed; it may be sent again.",
)
"""The same of the one failure of that status that need not be a defect of this program."""

TYPES = (*((status, name, says) for status, (name, says) in KINDS.items()), *LIMITS.values(), DIED)
"""Every type of problem: its status, the last part of its address, and what it means."""

_SETTINGS = {
    name: f"SEQUENCER_{name if name.startswith(('body', 'head', 'grace')) else f'most_{name}'}".upper() for name in LIMITS
}
"""The variable that sets each limit."""

REQUEST = "request"
"""Where a request keeps its name."""

_log = logging.getLogger(__name__)


class ProblemDocument(BaseModel):
    """A problem document (RFC 9457)."""

    type: str = Field(description="Address that says what this type of problem means.")
    title: str = Field(description="Name of the status.")
    status: int = Field(description="Status of the response.")
    detail: str = Field(description="What happened this time, in a sentence.")
    instance: str | None = Field(None, description="Names the request, as `X-Request-Id` and the server's log do; of a defect.")
    limit: str | None = Field(None, description="The limit that the request goes beyond; only there.")
    most: float | None = Field(None, description="Its value.")
    setting: str | None = Field(None, description="The variable in the server's environment that sets it.")
    current: str | None = Field(None, description="Entity tag of what is kept now, where it is not what the request says.")
    changes: list[dict[str, Any]] | None = Field(
        None, description="What was changed there since, as `/v1/terms/{term}/changes` lists it."
    )


class InputProblem(Closed):
    """One thing that is wrong with a document, and where."""

    where: str = Field(description="Path for people, such as units[2].lessons[0].length; empty for the whole document.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    line: int | None = Field(description="Line in the body, from 1.")
    column: int | None = Field(description="Column in that line, from 1.")
    message: str = Field(description="What is wrong there.")
    text: str = Field(description="Place and message in one line, as the command line prints them.")


class UnusableInputProblem(ProblemDocument):
    """A document that cannot be used: every problem found, in the order of the document (at most 500)."""

    problems: list[InputProblem] = Field(description="Everything that is wrong, in the order of the document.")


class ProblemType(Closed):
    """What a type of problem document means."""

    type: str = Field(description="Its address, as problem documents give it.")
    title: str = Field(description="Name of the status.")
    status: int = Field(description="Status that it comes with.")
    says: str = Field(description="What it means, and what to do about it.")


class UnusableOption(NotDone):
    """An option in the query string that cannot be used."""


class NothingHere(NotDone):
    """There is nothing at an address."""


class NotAcceptable(NotDone):
    """The client takes none of the media types there are."""


class BadCoding(NotDone):
    """The body is not in the coding that it says."""


class UnsupportedMedia(NotDone):
    """The body is of a media type or coding that is not read here."""


STATUS: dict[type[Exception], int] = {
    UnusableOption: 400,
    UnusableSettings: 400,
    RequestValidationError: 400,  # only options are left to the framework to read
    ClientDisconnect: 400,
    ClientGone: 400,
    BadCoding: 400,
    NothingHere: 404,
    NotAcceptable: 406,
    NothingToShow: 406,  # there is an answer, but not in a form that the client takes
    TooMuch: 413,  # some limits have another, by the table of limits
    BeyondLimit: 413,
    UnsupportedMedia: 415,
    UnusableInput: 422,
    Defect: 500,
    WorkerDied: 500,
    RefereeDisagrees: 500,
    PoolFull: 503,
    ShuttingDown: 503,
    **kept.STATUS,
    Exception: 500,
}
"""What each exception means to the client; ``HTTPException`` (unknown address, wrong method) brings its own status."""

_TITLES = {413: "Content Too Large", 422: "Unprocessable Content"}
"""Names of RFC 9110 that Python does not use yet."""


def install_error_handlers(app: FastAPI) -> None:
    """Answer every exception with a problem document."""
    for error in (*STATUS, HTTPException):
        app.add_exception_handler(error, _respond)


def title_of(status: int) -> str:
    """The name of a status, as RFC 9110 has it."""
    return _TITLES.get(status) or HTTPStatus(status).phrase


def problem_body(status: int, detail: str, **members: Any) -> dict[str, Any]:
    """A problem document."""
    return {"type": type_of(status), "title": title_of(status), "status": status, "detail": detail, **members}


def limit_body(limit: str, most: float, detail: str) -> dict[str, Any]:
    """The problem document of a request that goes beyond a limit."""
    status, name, _ = LIMITS[limit]
    body = problem_body(status, detail, limit=limit, most=most, setting=_SETTINGS[limit])
    return {**body, "type": f"{PROBLEM_TYPES}{name}"}


def type_of(status: int) -> str:
    """The address that says what a kind of problem means; ``about:blank`` where the status says it all."""
    return f"{PROBLEM_TYPES}{KINDS[status][0]}" if status in KINDS else "about:blank"


def problem_response(status: int, detail: str, headers: Mapping[str, str] | None = None) -> Response:
    """A problem document as the answer."""
    return _response(problem_body(status, detail), headers)


def defect_response(scope: Scope) -> Response:
    """The answer to a request that met a defect of ours."""
    return _response(problem_body(500, UNEXPECTED, **named(scope)))


def named(scope: Scope) -> dict[str, str]:
    """What names a request in the problem document of a defect: as the server's log and ``X-Request-Id`` do."""
    name = scope.get("state", {}).get(REQUEST)
    return {"instance": f"urn:uuid:{name}"} if name else {}


def problem_of(error: Exception, scope: Scope) -> tuple[int, dict[str, Any]]:
    """The status and the problem document of anything that was raised by a request."""
    if isinstance(error, TooMuch | BeyondLimit):
        body = limit_body(error.limit, error.most, _detail(error))
        return body["status"], body
    status = next(STATUS[kind] for kind in type(error).__mro__ if kind in STATUS)
    body = problem_body(status, _detail(error), **_members(error), **(named(scope) if status == 500 else {}))
    return status, {**body, "type": f"{PROBLEM_TYPES}{DIED[1]}"} if isinstance(error, WorkerDied) else body


def _response(body: dict[str, Any], headers: Mapping[str, str] | None = None) -> Response:
    # ASCII only, so that no character of a key that was sent can make this fail.
    return Response(json.dumps(body, allow_nan=False), body["status"], dict(headers or {}), PROBLEM_TYPE)


async def _respond(request: Request, error: Exception) -> Response:
    if isinstance(error, HTTPException):
        return _from_framework(error, request)
    return _response(problem_of(error, request.scope)[1], error.headers if isinstance(error, NotDone) else None)


def _detail(error: Exception) -> str:
    match error:
        case UnusableInput():
            count, first = len(error.problems), error.problems[0].text()
            return f"{first}." if count == 1 else f"{count} problems; the first: {first}."
        case RequestValidationError():
            return _option_texts(error)
        case UnusableSettings():
            return " ".join(f"{message[:1].upper()}{message[1:]}." for message in error.problems)
        case NotDone():
            return str(error)
        case BeyondLimit():
            return f"{error.message[:1].upper()}{error.message[1:]}."
        case NothingToShow():
            return f"{error}."
        case ClientDisconnect():
            return "The client went away."
        case RefereeDisagrees():
            _log.error("the referee disagrees with the solver", exc_info=error)
            return "The referee rejects what the solver found: a defect of this program."
    return UNEXPECTED


def _members(error: Exception) -> dict[str, Any]:
    if isinstance(error, kept.TermChanged):
        return {"current": error.current, "changes": error.changes}
    if not isinstance(error, UnusableInput):
        return {}
    problems = [
        InputProblem(
            where=each.where,
            pointer=each.pointer,
            line=each.line or None,
            column=each.column or None,
            message=each.message,
            text=each.text(),
        )
        for each in error.problems
    ]
    return {"problems": [each.model_dump() for each in problems]}


def _from_framework(error: HTTPException, request: Request) -> Response:
    headers = dict(error.headers or {})
    detail = title_of(error.status_code) + "."
    if error.status_code == 404:
        detail = "There is nothing at this address; /openapi.json lists what there is."
    if error.status_code == 405 and "Allow" in headers:
        # The framework names the methods of one route; an address may have several.
        routes = (
            inner
            for route in request.app.routes
            for inner in getattr(getattr(route, "original_router", route), "routes", [route])
        )
        named = (route.methods or () for route in routes if route.matches(request.scope)[0] is not Match.NONE)
        methods = {method for each in named for method in each}
        # Every address that takes GET takes HEAD, by a route that the framework does not look at here.
        headers["Allow"] = ", ".join(sorted(methods | ({"HEAD"} if "GET" in methods else set())))
        detail = f"This address takes {headers['Allow']}."
    return problem_response(error.status_code, detail, headers)


def _option_texts(error: RequestValidationError) -> str:
    """What is wrong with the query string, without quoting it."""
    wrong = [(str(each["loc"][-1]), each["type"]) for each in error.errors()]
    names = {name for name, kind in wrong if kind != "extra_forbidden"}
    known = [f"The option {name} {OPTIONS[name]}." for name in OPTIONS if name in names]
    if any(kind == "extra_forbidden" or name not in OPTIONS for name, kind in wrong):
        known.append(f"There is an option that is none of those known here: {', '.join(OPTIONS)}.")
    return " ".join(known)
