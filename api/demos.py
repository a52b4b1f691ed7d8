"""The demo scenarios: where they lie, and what each says of itself."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from sequencer import shipped

_TITLE = re.compile(r"^title: *(.+?) *$", re.MULTILINE)
_COMMENT = re.compile(r"^#(?! yaml-language-server) ?(.*)$")
_FIRST_PART = re.compile(r"[.;](?=\s|$)")


@dataclass(frozen=True)
class Demo:
    """A demo scenario: the name of its file without the ending, its title, the first sentence on why it exists, all of it."""

    name: str
    title: str
    says: str
    text: bytes


@cache
def demos() -> tuple[Demo, ...]:
    """Every demo scenario, in the order of their names; none where the files were not brought along."""
    return tuple(_demo(path) for path in shipped("scenarios/*.yaml"))


def _demo(path: Path) -> Demo:
    text = path.read_bytes()
    lines = text.decode("utf-8").splitlines()
    opening = lines[: next((number for number, line in enumerate(lines) if not line.startswith("#")), len(lines))]
    said = " ".join(match[1] for line in opening if (match := _COMMENT.match(line)))
    title = _TITLE.search(text.decode("utf-8"))
    return Demo(path.stem, title[1] if title else path.stem, _FIRST_PART.split(said)[0] + ".", text)
