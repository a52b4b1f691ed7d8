"""Headers as they are written (RFC 9110): how much of them is read, and their parts, gone over once from left to right."""

from __future__ import annotations

import re
from functools import lru_cache

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
