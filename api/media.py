"""Media types: how a body is written (RFC 8259, RFC 9512), and what the client takes (RFC 9110, section 12.5.1)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from starlette.requests import Request

from api.errors import NotAcceptable, TooMuch, UnsupportedMedia, UnusableOption
from api.headers import media_type_of, wait_of, weight_of, weights_of
from api.jobs import Allowance
from api.messages import OPTIONS
from api.settings import Settings
from sequencer import FORMATS, Format, format_named

JSON_TYPE, YAML_TYPE, SCHEMA_TYPE = "application/json", "application/yaml", "application/schema+json"
EVENTS_TYPE = "text/event-stream"
XLSX_TYPE = format_named("xlsx").media_type

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
    """The language in which the body says it is written.

    Raises
    ------
    UnsupportedMedia
        When it does not say, or it is a language, character set or content coding that is not read here.
    """
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
    """Check that the body is not compressed in a way that is not read here.

    Raises
    ------
    UnsupportedMedia
    """
    coding = request.headers.get("content-encoding", "identity").strip().lower()
    if coding not in ("identity", "gzip", "x-gzip"):
        raise UnsupportedMedia("The body must be sent as it is, or compressed with gzip.", {"Accept-Encoding": "gzip, identity"})


def _content_type(request: Request) -> tuple[str, dict[str, str]]:
    return media_type_of(request.headers.get("content-type", ""))


def require_accepted(request: Request, media_type: str) -> None:
    """Check that the client takes an answer of a media type.

    Raises
    ------
    NotAcceptable
        When its ``Accept`` rules that type out.
    """
    accept = ",".join(request.headers.getlist("accept"))
    if accept.strip() and not accepts(accept, media_type):
        raise NotAcceptable(f"The answer is {media_type}, which the request's Accept does not take.")


def accepts(accept: str, media_type: str) -> bool:
    """Whether an ``Accept`` header takes a media type."""
    return weight_of(accept, media_type) > 0


def wants_events(request: Request, asked: str | None, others: Iterable[str] | None = None) -> bool:
    """Whether a client would rather have its answer as a stream of events than in any other form.

    Parameters
    ----------
    others
        The media types of the other forms; those of a sequence unless given.
    """
    others = others or [each.media_type for each in FORMATS]
    accept = ",".join(request.headers.getlist("accept"))
    wanted = weights_of(accept).get(EVENTS_TYPE, 0.0) if asked in (None, "json") else 0.0
    return wanted > 0 and wanted >= max(weight_of(accept, each) for each in others)


def chosen_format(request: Request, asked: str | None) -> Format:
    """The form in which a client takes an answer: the one it names, or else the one that its ``Accept`` prefers.

    Raises
    ------
    UnusableOption
        When there is no form of the name asked for.
    NotAcceptable
        When ``Accept`` takes none, or not the one asked for; it lists what there is.
    """
    return format_named(chosen_form(request, asked, [(each.name, each.media_type) for each in FORMATS], (EVENTS_TYPE,)))


def chosen_of(request: Request, asked: str | None, forms: Sequence[str], beside: tuple[str, ...] = ()) -> str:
    """The same of some of ``FORM_TYPES``, the first of which is preferred; ``beside`` are media types that have no name.

    Raises
    ------
    UnusableOption, NotAcceptable
    """
    return chosen_form(request, asked, [(form, FORM_TYPES[form]) for form in forms], beside)


def chosen_form(request: Request, asked: str | None, there: Sequence[tuple[str, str]], beside: tuple[str, ...] = ()) -> str:
    """The same of other forms, each given as its name and media type; ``beside`` are media types that have no name.

    Raises
    ------
    UnusableOption, NotAcceptable
    """
    accept = ",".join(request.headers.getlist("accept")).strip() or "*/*"
    named = [(name, media_type) for name, media_type in there if asked in (None, name)]
    if not named:
        raise UnusableOption(f"The option format must be given once, one of {', '.join(name for name, _ in there)}.")
    weights = [weight_of(accept, media_type) for _, media_type in named]
    if not any(weights):
        there_are = ", ".join(dict.fromkeys([*(media_type for _, media_type in there), *beside]))
        raise NotAcceptable(
            f"The answer can be {there_are}; the request's Accept takes none of these."
            if asked is None
            else f"The format {asked} is {named[0][1]}, which the request's Accept does not take; there are {there_are}."
        )
    return named[weights.index(max(weights))][0]


def require_once(request: Request, several: tuple[str, ...] = ()) -> None:
    """Refuse options that are given more than once, but for those that may be.

    Raises
    ------
    UnusableOption
    """
    for name in OPTIONS:
        if len(request.query_params.getlist(name)) > 1 and name not in several:
            raise UnusableOption(f"The option {name} {OPTIONS[name]}.")


def workers_allowed(settings: Settings, workers: int | None) -> int:
    """Searches that a solve gets: what the option ``workers`` says, or else the usual number.

    Raises
    ------
    TooMuch
    """
    most = max(settings.workers, settings.most_workers)
    if workers is not None and workers > most:
        raise TooMuch("workers", most, f"The option workers is more than {most}, the most that this server allows.")
    return settings.workers if workers is None else workers


def seconds_allowed(request: Request, settings: Settings, seconds: float | None) -> float:
    """Time that a solve gets: what the option ``seconds`` says, or else ``Prefer: wait`` (RFC 7240), as the server allows.

    A preference, and the usual time, are cut to what is allowed. All that is done for the request has no more than that.

    Raises
    ------
    TooMuch
        When the option says more than is allowed.
    """
    allowed = _allowed(request, settings, seconds)
    setattr(request.state, ALLOWANCE, Allowance(allowed, settings.grace))
    return allowed


def _allowed(request: Request, settings: Settings, seconds: float | None) -> float:
    if seconds is not None:
        most = settings.most_seconds
        if seconds > most:
            raise TooMuch("seconds", most, f"The option seconds is more than {most:g}, the most that this server allows.")
        return seconds
    # The first one counts; a preference that cannot be met is ignored, as the RFC asks.
    wait = wait_of(",".join(request.headers.getlist("prefer")))
    if wait is None:
        return settings.allowed(None)
    allowed = settings.allowed(float(wait))
    if allowed >= 1:
        setattr(request.state, APPLIED, f"wait={int(allowed)}")
    return allowed
