"""Headers (RFC 9110): how a body is written, what the client takes, how long it waits, and what is allowed of that."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any, Literal

from starlette.requests import Request

from api.errors import NotAcceptable, UnsupportedMedia, UnusableOption
from api.requests import OPTIONS, AroundOptions, CheckOptions
from api.settings import Settings
from sequencer import FORMATS, SolveSettings, format_named
from sequencer.workers.pool import Allowance
from sequencer.workers.refusals import TooMuch

JSON_TYPE, YAML_TYPE, SCHEMA_TYPE = "application/json", "application/yaml", "application/schema+json"
EVENTS_TYPE = "text/event-stream"
XLSX_TYPE = format_named("xlsx").media_type

BOOK_FORMS = {"json": JSON_TYPE, "xlsx": XLSX_TYPE}
"""The media type of each form of a term."""

SEQUENCE_FORMS = {each.name: each.media_type for each in FORMATS}
"""The media type of each form of a sequence."""

FORM_TYPES = {
    "json": JSON_TYPE,
    "text": "text/plain",
    "yaml": YAML_TYPE,
    "notice": "text/html",
    "notice-text": "text/plain",
    "notice-json": JSON_TYPE,
}
"""The media type of each form of what is neither a sequence nor surrounds one."""

APPLIED = "preference_applied"
"""Where a request keeps what becomes its answer's ``Preference-Applied``."""

ALLOWANCE = "allowance"
"""Where it keeps what may be spent on it."""

LANGUAGES: dict[str, Literal["yaml", "json"]] = {
    JSON_TYPE: "json",
    YAML_TYPE: "yaml",
    "application/x-yaml": "yaml",
    "text/yaml": "yaml",
    "text/x-yaml": "yaml",
}
"""Media types of bodies that are read, the two registered ones first; the others are older names of YAML."""

_TAKEN = {"Accept": f"{JSON_TYPE}, {YAML_TYPE}"}


VARY = {"Vary": "Accept"}
AS_IT_IS = {
    **VARY,
    "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'",
    "X-Content-Type-Options": "nosniff",
}
"""Headers of an answer of several forms: a browser takes a sheet for what it says it is, and runs and loads nothing."""


def language_of(request: Request) -> Literal["yaml", "json"]:
    """The language in which the body says it is written; where it does not, or that is not read here, it is refused."""
    require_known_coding(request)
    named, parameters = _content_type(request)
    language = LANGUAGES.get(named)
    if language is None:
        raise UnsupportedMedia(f"The body's Content-Type must be {JSON_TYPE} or {YAML_TYPE}.", _TAKEN)
    if parameters.get("charset", "utf-8").lower() not in ("utf-8", "utf8"):
        raise UnsupportedMedia("The body must be UTF-8.", _TAKEN)
    return language


def is_workbook(request: Request) -> bool:
    """Whether the body says that it is a workbook."""
    return _content_type(request)[0] == XLSX_TYPE


def require_known_coding(request: Request) -> None:
    """Check that the body is not compressed in a way that is not read here."""
    coding = request.headers.get("content-encoding", "identity").strip().lower()
    if coding not in ("identity", "gzip", "x-gzip"):
        raise UnsupportedMedia("The body must be sent as it is, or compressed with gzip.", {"Accept-Encoding": "gzip, identity"})


def _content_type(request: Request) -> tuple[str, dict[str, str]]:
    return media_type_of(request.headers.get("content-type", ""))


def require_accepted(request: Request, media_type: str) -> None:
    """Check that the client takes an answer of a media type."""
    accept = ",".join(request.headers.getlist("accept"))
    if accept.strip() and not accepts(accept, media_type):
        raise NotAcceptable(f"The answer is {media_type}, which the request's Accept does not take.")


def accepts(accept: str, media_type: str) -> bool:
    """Whether an ``Accept`` header takes a media type."""
    return weight_of(accept, media_type) > 0


def wants_events(request: Request, asked: str | None, others: Iterable[str] | None = None) -> bool:
    """Whether a client would rather have its answer as a stream of events than in another form, a sequence's by default."""
    others = others or SEQUENCE_FORMS.values()
    accept = ",".join(request.headers.getlist("accept"))
    wanted = weights_of(accept).get(EVENTS_TYPE, 0.0) if asked in (None, "json") else 0.0
    return wanted > 0 and wanted >= max(weight_of(accept, each) for each in others)


def chosen_of(request: Request, asked: str | None, forms: Iterable[str], beside: tuple[str, ...] = ()) -> str:
    """The same as ``chosen_form`` of some of ``FORM_TYPES``."""
    return chosen_form(request, asked, {form: FORM_TYPES[form] for form in forms}, beside)


def chosen_form(request: Request, asked: str | None, there: Mapping[str, str], beside: tuple[str, ...] = ()) -> str:
    """The form in which a client takes an answer: the one it names, or else the one that its ``Accept`` prefers.

    Of the forms that there are, by name, the first is preferred among those alike; ``beside`` are media types that have no name.
    """
    accept = ",".join(request.headers.getlist("accept")).strip() or "*/*"
    named = [name for name in there if asked in (None, name)]
    if not named:
        raise UnusableOption(f"The option format must be given once, one of {', '.join(there)}.")
    weights = [weight_of(accept, there[name]) for name in named]
    if not any(weights):
        there_are = ", ".join(dict.fromkeys([*there.values(), *beside]))
        raise NotAcceptable(
            f"The answer can be {there_are}; the request's Accept takes none of these."
            if asked is None
            else f"The format {asked} is {there[asked]}, which the request's Accept does not take; there are {there_are}."
        )
    return named[weights.index(max(weights))]


def require_once(request: Request, several: tuple[str, ...] = ()) -> None:
    """Refuse options that are given more than once, but for those that may be."""
    for name in OPTIONS:
        if len(request.query_params.getlist(name)) > 1 and name not in several:
            raise UnusableOption(f"The option {name} {OPTIONS[name]}.")


def search_allowed(request: Request, options: AroundOptions | CheckOptions, **more: Any) -> SolveSettings:
    """What a solve gets: the time and the searches at once that its options say, as far as the server allows."""
    seconds = seconds_allowed(request, options.seconds)
    settings: Settings = request.app.state.settings
    workers, most = options.workers, max(settings.workers, settings.most_workers)
    if workers is not None and workers > most:
        raise TooMuch("workers", most, f"The option workers is more than {most}, the most that this server allows.")
    return SolveSettings(seconds, getattr(options, "seed", 0), settings.workers if workers is None else workers, **more)


def seconds_allowed(request: Request, seconds: float | None) -> float:
    """Time that a solve gets: what the option ``seconds`` says, or else ``Prefer: wait`` (RFC 7240), as the server allows.

    A preference, and the usual time, are cut to what is allowed. All that is done for the request has no more than that.
    """
    settings: Settings = request.app.state.settings
    # The first preference counts; one that cannot be met is ignored, as the RFC asks.
    wait = wait_of(",".join(request.headers.getlist("prefer")))
    if seconds is not None:
        allowed, most = seconds, settings.most_seconds
        if seconds > most:
            raise TooMuch("seconds", most, f"The option seconds is more than {most:g}, the most that this server allows.")
    elif wait is None:
        allowed = settings.allowed(None)
    else:
        allowed = settings.allowed(float(wait))
        if allowed >= 1:
            setattr(request.state, APPLIED, f"wait={int(allowed)}")
    setattr(request.state, ALLOWANCE, Allowance(allowed, settings.grace))
    return allowed


# -- headers as they are written, gone over once from left to right ----------------------------------------------------

MOST_HEAD = 16_384
"""Bytes of the whole head of a request: its first line and its headers."""

MOST_MEDIA_TYPE = 256
"""Characters of the media type of a body, its parameters included."""

_TOKEN = r"[!#$%&'*+.^_`|~0-9A-Za-z-]+"
_TYPE = re.compile(rf"{_TOKEN}/{_TOKEN}[ \t]*")
_PARAMETER = re.compile(rf';[ \t]*(?:({_TOKEN})=({_TOKEN}|"(?:[^"\\]|\\.)*"))?[ \t]*')
_QUOTED = re.compile(r"\\(.)")


def head_length(method: str, target: bytes, headers: list[tuple[bytes, bytes]]) -> int:
    """Bytes of the head of a request, as it was sent or nearly so: blanks around what is stated are not known any more."""
    return len(method) + len(target) + len(" HTTP/1.1\r\n\r\n ") + sum(len(name) + len(value) + 4 for name, value in headers)


def media_type_of(written: str) -> tuple[str, dict[str, str]]:
    """A media type in small letters, and its parameters; nothing where it is longer than allowed or is none."""
    text = written.strip(" \t")
    begun = _TYPE.match(text)
    if begun is None or len(text) > MOST_MEDIA_TYPE:
        return "", {}
    parameters: dict[str, str] = {}
    at = begun.end()
    while at < len(text):
        found = _PARAMETER.match(text, at)
        if found is None:
            return "", {}
        if found[1]:
            value = _QUOTED.sub(r"\1", found[2][1:-1]) if found[2].startswith('"') else found[2]
            parameters.setdefault(found[1].lower(), value)
        at = found.end()
    return begun[0].strip().lower(), parameters


@lru_cache(maxsize=32)
def weights_of(accept: str) -> dict[str, float]:
    """How much an ``Accept`` header wants each range of media types that it names, 0 to 1."""
    weights: dict[str, float] = {}
    for part in accept.split(","):
        named, _, parameters = part.partition(";")
        named = named.strip().lower()
        if named:
            weights.setdefault(named, _weight(parameters) if parameters else 1.0)
    return weights


def weight_of(accept: str, media_type: str) -> float:
    """How much an ``Accept`` header wants a media type, 0 to 1: the range that describes it most closely decides."""
    weights = weights_of(accept)
    ranges = (media_type, f"{media_type.partition('/')[0]}/*", "*/*")
    return next((weights[each] for each in ranges if each in weights), 0.0)


def _weight(parameters: str) -> float:
    for parameter in parameters.lower().split(";"):
        name, _, value = parameter.strip().partition("=")
        if name == "q":
            try:
                weight = float(value)
            except ValueError:
                return 1.0
            return min(weight, 1.0) if weight > 0 else 0.0
    return 1.0


def wait_of(prefer: str) -> int | None:
    """The seconds that a ``Prefer`` header says (RFC 7240); None where its first ``wait`` cannot be met, or there is none."""
    for part in prefer.split(","):
        name, _, value = part.partition(";")[0].partition("=")
        if name.strip().lower() == "wait":
            value = value.strip().strip('"')
            return int(value) if value.isascii() and value.isdecimal() and len(value) <= 9 and int(value) > 0 else None
    return None
