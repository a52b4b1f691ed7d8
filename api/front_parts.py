"""The page at the front and its parts, as they lie in the package."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

PAGE = "page.html"

TYPES = {
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}

_FOLDER = files("api") / "front"

PARTS = tuple(sorted(f"/page/{each.name}" for each in _FOLDER.iterdir() if each.name != PAGE and not each.name.startswith(".")))
"""Addresses of the page's parts: style, scripts, its sign, and the empty page that a sheet is put into."""


@dataclass(frozen=True)
class Part:
    """A file of the page, its media type, and a tag that changes with it."""

    content: bytes
    media_type: str
    tag: str


@cache
def part(name: str) -> Part:
    """The file of that name, which must be one of them."""
    content = (_FOLDER / name).read_bytes()
    return Part(content, TYPES[name[name.rindex(".") :]], f'"{hashlib.sha256(content).hexdigest()[:32]}"')
