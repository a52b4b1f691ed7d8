"""Entity tags and the conditions that name them (RFC 9110, section 13): on every change of what is kept, and on every read."""

from __future__ import annotations

import re
from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from api.store.refusals import NoCondition

_TAG = re.compile(r'(W/)?("[\x21\x23-\x7e\x80-\xff]*")')


def tags_in(header: str) -> list[tuple[bool, str]]:
    """The entity tags that a header lists, each with whether it is a weak one."""
    return [(bool(found[1]), found[2]) for found in _TAG.finditer(header)]


class Condition:
    """What a change says of what it changes: ``If-Match`` with tags, or ``If-None-Match: *`` where there is to be none yet.

    Raises
    ------
    NoCondition
        When it says nothing.
    """

    def __init__(self, request: Request) -> None:
        self._match = ",".join(request.headers.getlist("if-match")).strip()
        self.is_new = request.headers.get("if-none-match", "").strip() == "*"
        if not self._match and not self.is_new:
            raise NoCondition(
                "A change must say what it changes: If-Match with the entity tag of what was read, or If-None-Match: * for a new "
                "one."
            )

    def holds(self, tag: str | None) -> bool:
        """Whether it is true of what is there with a tag; None where nothing is there."""
        if self._match:
            named = self._match == "*" or (False, tag) in tags_in(self._match)
            if tag is None or not named:
                return False
        return tag is None if self.is_new else True

    @property
    def version(self) -> int:
        """The version that the client has seen, so far as its tag says so; 0 where it does not."""
        found = re.search(r'"(\d{1,15})-', self._match)
        return int(found[1]) if found else 0


def sent_unless_known(request: Request, tag: str, response: Response, headers: Mapping[str, str] | None = None) -> Response:
    """An answer with its entity tag; or 304 where the client says that it has it."""
    stated = {"ETag": tag, "Cache-Control": "private, no-cache", **(headers or {})}
    if is_known(request, tag):
        vary = {"Vary": response.headers["vary"]} if "vary" in response.headers else {}
        return Response(status_code=304, headers={**vary, **stated})
    response.headers.update(stated)
    return response


def is_known(request: Request, tag: str) -> bool:
    """Whether ``If-None-Match`` says that the client has what has this tag."""
    header = ",".join(request.headers.getlist("if-none-match"))
    return header.strip() == "*" or any(each == tag for _, each in tags_in(header))
