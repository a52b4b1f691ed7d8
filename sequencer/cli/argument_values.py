"""What arguments of the command line may be, and where what the parser says is told."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from sequencer.files.terminal import put_text, tell
from sequencer.scenario.documents import LANGUAGES

MOST_SECONDS = 86400
"""A day."""


class Parser(argparse.ArgumentParser):
    """Says what it says in the one place where text leaves."""

    def _print_message(self, message: str, file: object = None) -> None:
        if file is sys.stdout:
            put_text(message)
        else:
            tell(message.splitlines())


def seconds(text: str) -> float:
    """Time allowed, in seconds."""
    with suppress(ValueError):
        if 0 < float(text) <= MOST_SECONDS:
            return float(text)
    raise argparse.ArgumentTypeError(f"must be a number of seconds, more than 0 and at most {MOST_SECONDS}")


def whole(least: int, most: int) -> Callable[[str], int]:
    """What reads a whole number between two."""

    def read(text: str) -> int:
        with suppress(ValueError):
            if least <= int(text) <= most:
                return int(text)
        raise argparse.ArgumentTypeError(f"must be a whole number from {least} to {most}")

    return read


def any_file(text: str) -> Path | None:
    """A file to write; none for ``-``, which stands for standard output."""
    return None if text == "-" else Path(text)


def scenario_file(text: str) -> Path | None:
    """A scenario to write, in one of its forms; none for ``-``."""
    return Path(text) if Path(text).suffix.lower() in (".xlsx", ".json") else yaml_file(text)


def yaml_file(text: str) -> Path | None:
    """A file of YAML to write; none for ``-``."""
    if text == "-":
        return None
    if LANGUAGES.get(Path(text).suffix.lower()) != "yaml":
        raise argparse.ArgumentTypeError("must end in .yaml or .yml, since it is written as YAML")
    return Path(text)
