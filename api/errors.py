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

UNUSABLE_INPUT = "/openapi.json#/components/schemas/UnusableInputProblem"
"""The one problem type of our own; the address describes it. All others are ``about:blank``: the status says it all."""

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


class NotAcceptable(ApiError):
    """The client takes none of the media types there are."""


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


class ClientGone(ApiError):
    """The client went away before its answer was ready; nobody reads what is sent."""


STATUS: dict[type[Exception], int] = {
    UnusableOption: 400,
    UnusableSettings: 400,
    RequestValidationError: 400,  # only options are left to the framework to read
    ClientDisconnect: 400,
    ClientGone: 400,
    NotAcceptable: 406,
    NothingToShow: 406,  # there is an answer, but not in a form that the client takes
    BodyTooSlow: 408,
    BodyTooLarge: 413,
    UnsupportedMedia: 415,
    UnusableInput: 422,
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


def problem_response(status: int, detail: str, headers: Mapping[str, str] | None = None, **members: Any) -> Response:
    """A problem document as the answer; members replace the usual ones of their names and add to them."""
    body = {"type": "about:blank", "title": title_of(status), "status": status, "detail": detail, **members}
    # ASCII only, so that no character of a key that was sent can make this fail.
    return Response(json.dumps(body, allow_nan=False), status, dict(headers or {}), PROBLEM_TYPE)


async def _respond(_request: Request, error: Exception) -> Response:
    if isinstance(error, HTTPException):
        return _from_framework(error)
    status = next(STATUS[kind] for kind in type(error).__mro__ if kind in STATUS)
    match error:
        case UnusableInput():
            return _unusable_input(status, error)
        case RequestValidationError():
            return problem_response(status, _option_texts(error))
        case UnusableSettings():
            return problem_response(status, " ".join(f"{message[:1].upper()}{message[1:]}." for message in error.problems))
        case ApiError():
            return problem_response(status, str(error), error.headers)
        case NothingToShow():
            return problem_response(status, f"{error}.")
        case ClientDisconnect():
            return problem_response(status, "The client went away.")
        case RefereeDisagrees():
            _log.error("the referee disagrees with the solver", exc_info=error)
            return problem_response(status, "The referee rejects what the solver found: a defect of this program.")
    # The framework logs it.
    return problem_response(status, "Something went wrong here: a defect of this program, not of the request.")


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


def _unusable_input(status: int, error: UnusableInput) -> Response:
    count = len(error.problems)
    first = error.problems[0].text()
    detail = f"{first}." if count == 1 else f"{count} problems; the first: {first}."
    members = {"type": UNUSABLE_INPUT, "title": "Unusable input", "problems": [_problem_json(each) for each in error.problems]}
    return problem_response(status, detail, None, **members)


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
