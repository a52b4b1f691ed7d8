"""One table: exception class -> status code; and how each becomes an RFC 9457 problem document."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.responses import Response

from api.messages import OPTIONS
from sequencer import NothingToShow, Problem, RefereeDisagrees, UnusableInput, UnusableSettings

PROBLEM_TYPE = "application/problem+json"

PROBLEM_TYPES = "/v1/problems/"

KINDS: dict[int, tuple[str, str]] = {
    400: (
        "unusable-option",
        "An option in the query string, or the coding of the body, cannot be used; `detail` says which, and what it must be.",
    ),
    401: ("no-key", "This server asks for a key: `Authorization: Bearer` and a key that it knows."),
    404: ("nothing-here", "There is nothing at this address; /openapi.json lists what there is."),
    405: ("other-method", "This address does not take that method; `Allow` lists those it takes."),
    406: (
        "not-acceptable",
        "The answer cannot be had in a form that the request's `Accept` takes; `detail` lists those there are.",
    ),
    408: ("body-too-slow", "The body did not arrive within the time that this server waits."),
    413: ("body-too-large", "The body, or what it describes, is larger than this server takes; `detail` names the limit."),
    415: ("unsupported-media", "The body is of a media type, character set or coding that is not read; `detail` says what is."),
    422: (
        "unusable-input",
        "The document cannot be used; `problems` lists everything wrong with it, in its order (at most 500).",
    ),
    500: ("defect", "A defect of this program. Nothing is wrong with the request."),
    503: ("busy", "The server has as much to do as it takes, or is ending; where it says so, try again after `Retry-After`."),
}
"""What can go wrong: the last part of the problem type's address, and what that address says."""

DIED = (
    "worker-died",
    "The process that worked on this request ended before it had done. Only this request failed; it may be sent again.",
)
"""The same of the one failure of status 500 that need not be a defect of this program."""

_log = logging.getLogger(__name__)


class ApiError(Exception):
    """Base of what only goes wrong over HTTP.

    Parameters
    ----------
    detail
        What happened, in a sentence; never quotes what was sent.
    headers
        Headers of the answer.
    """

    def __init__(self, detail: str, headers: Mapping[str, str] | None = None) -> None:
        super().__init__(detail)
        self.headers = dict(headers or {})


class UnusableOption(ApiError):
    """An option in the query string that cannot be used."""


class NothingHere(ApiError):
    """There is nothing at an address."""


class NotAcceptable(ApiError):
    """The client takes none of the media types there are."""


class BadCoding(ApiError):
    """The body is not in the coding that it says."""


class NoKey(ApiError):
    """The request brings no key that this server knows."""


class BodyTooSlow(ApiError):
    """The body did not arrive in time."""


class BodyTooLarge(ApiError):
    """The body is larger than this server reads."""


class UnsupportedMedia(ApiError):
    """The body is of a media type or coding that is not read here."""


class PoolFull(ApiError):
    """As many jobs run and wait as may."""


class ShuttingDown(ApiError):
    """The server is ending."""


class OutOfMemory(ApiError):
    """What is asked for takes more memory than a request may."""

    @classmethod
    def over(cls, megabytes: int) -> OutOfMemory:
        """More than so many megabytes."""
        return cls(f"Working on this takes more than {megabytes:,} MB of memory, which is the most that a request may take.")


class Defect(ApiError):
    """A defect of this program."""


class WorkerDied(ApiError):
    """The process that worked on a request ended before it had done."""

    @classmethod
    def alone(cls) -> WorkerDied:
        """The one sentence there is to say of it."""
        return cls("The process that worked on this request ended before it had done. Only this request failed; send it again.")


class ClientGone(ApiError):
    """The client went away before its answer was ready; nobody reads what is sent."""


STATUS: dict[type[Exception], int] = {
    UnusableOption: 400,
    UnusableSettings: 400,
    RequestValidationError: 400,  # only options are left to the framework to read
    ClientDisconnect: 400,
    ClientGone: 400,
    BadCoding: 400,
    NoKey: 401,
    NothingHere: 404,
    NotAcceptable: 406,
    NothingToShow: 406,  # there is an answer, but not in a form that the client takes
    BodyTooSlow: 408,
    BodyTooLarge: 413,
    UnsupportedMedia: 415,
    UnusableInput: 422,
    OutOfMemory: 413,
    Defect: 500,
    WorkerDied: 500,
    RefereeDisagrees: 500,
    PoolFull: 503,
    ShuttingDown: 503,
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


def type_of(status: int) -> str:
    """The address that says what a kind of problem means; ``about:blank`` where the status says it all."""
    return f"{PROBLEM_TYPES}{KINDS[status][0]}" if status in KINDS else "about:blank"


def problem_response(status: int, detail: str, headers: Mapping[str, str] | None = None) -> Response:
    """A problem document as the answer."""
    return _response(problem_body(status, detail), headers)


def problem_of(error: Exception) -> tuple[int, dict[str, Any]]:
    """The status and the problem document of anything that was raised."""
    status = next(STATUS[kind] for kind in type(error).__mro__ if kind in STATUS)
    own = {"type": f"{PROBLEM_TYPES}{DIED[0]}"} if isinstance(error, WorkerDied) else {}
    return status, problem_body(status, _detail(error), **own, **_members(error))


def _response(body: dict[str, Any], headers: Mapping[str, str] | None = None) -> Response:
    # ASCII only, so that no character of a key that was sent can make this fail.
    return Response(json.dumps(body, allow_nan=False), body["status"], dict(headers or {}), PROBLEM_TYPE)


async def _respond(_request: Request, error: Exception) -> Response:
    if isinstance(error, HTTPException):
        return _from_framework(error)
    return _response(problem_of(error)[1], error.headers if isinstance(error, ApiError) else None)


def _detail(error: Exception) -> str:
    match error:
        case UnusableInput():
            count, first = len(error.problems), error.problems[0].text()
            return f"{first}." if count == 1 else f"{count} problems; the first: {first}."
        case RequestValidationError():
            return _option_texts(error)
        case UnusableSettings():
            return " ".join(f"{message[:1].upper()}{message[1:]}." for message in error.problems)
        case ApiError():
            return str(error)
        case NothingToShow():
            return f"{error}."
        case ClientDisconnect():
            return "The client went away."
        case RefereeDisagrees():
            _log.error("the referee disagrees with the solver", exc_info=error)
            return "The referee rejects what the solver found: a defect of this program."
    # The framework logs it.
    return "Something went wrong here: a defect of this program, not of the request."


def _members(error: Exception) -> dict[str, Any]:
    return {"problems": [_problem_json(each) for each in error.problems]} if isinstance(error, UnusableInput) else {}


def _from_framework(error: HTTPException) -> Response:
    headers = dict(error.headers or {})
    detail = title_of(error.status_code) + "."
    if error.status_code == 404:
        detail = "There is nothing at this address; /openapi.json lists what there is."
    if error.status_code == 405 and "Allow" in headers:
        # Every address that takes GET takes HEAD, by a route that the framework does not look at here.
        methods = {method.strip() for method in headers["Allow"].split(",")}
        headers["Allow"] = ", ".join(sorted(methods | ({"HEAD"} if "GET" in methods else set())))
        detail = f"This address takes {headers['Allow']}."
    return problem_response(error.status_code, detail, headers)


def _problem_json(problem: Problem) -> dict[str, Any]:
    return {
        "where": problem.where,
        "pointer": problem.pointer,
        "line": problem.line or None,
        "column": problem.column or None,
        "message": problem.message,
        "text": problem.text(),
    }


def _option_texts(error: RequestValidationError) -> str:
    """What is wrong with the query string, without quoting it."""
    wrong = [(str(each["loc"][-1]), each["type"]) for each in error.errors()]
    names = {name for name, kind in wrong if kind != "extra_forbidden"}
    known = [f"The option {name} {OPTIONS[name]}." for name in OPTIONS if name in names]
    if any(kind == "extra_forbidden" or name not in OPTIONS for name, kind in wrong):
        known.append(f"There is an option that is none of those known here: {', '.join(OPTIONS)}.")
    return " ".join(known)
