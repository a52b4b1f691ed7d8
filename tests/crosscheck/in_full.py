"""What a failure says, written out only where something fails: writing a scenario out takes longer than to judge it."""

from __future__ import annotations

from typing import Any

import yaml


class InFull:
    """Some words, and a scenario as it would stand in a file."""

    def __init__(self, words: object, data: Any, *more: object) -> None:
        self.parts, self.data = (words, *more), data

    def __repr__(self) -> str:
        written = yaml.safe_dump(self.data, sort_keys=False, default_flow_style=None, width=120)
        return "\n".join([*map(str, self.parts), written])
