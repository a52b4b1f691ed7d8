"""The one place where text leaves for a terminal, a pipe or a log: nothing that anybody typed acts on it."""

from __future__ import annotations

import contextlib
import os
import re
import sys
from collections.abc import Iterable
from io import TextIOWrapper
from typing import TextIO

# Control characters, line ends that only some readers count as such, and what turns the direction of writing round.
_ACTING = r"\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069"
_IN_TEXT, _IN_LINE = re.compile(f"[{_ACTING}]"), re.compile(f"[\n{_ACTING}]")


def visible(text: str) -> str:
    """A text of one line in which characters that would act on a terminal, or end the line, are shown: ``\\x1b``, ``\\u202e``."""
    return _IN_LINE.sub(_shown, text)


def visible_lines(text: str) -> str:
    """A text of several lines in which such characters are shown; only the ends of its lines stay as they are."""
    return _IN_TEXT.sub(_shown, text)


def visible_json(text: str) -> str:
    """JSON that says the same, with such characters written as its escapes."""
    return _IN_TEXT.sub(lambda mark: f"\\u{ord(mark[0]):04x}", text)


def _shown(mark: re.Match[str]) -> str:
    named = {"\n": "\\n", "\r": "\\r", "\t": "\\t"}.get(mark[0])
    number = ord(mark[0])
    return named or (f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}")


def put_text(text: str) -> None:
    """Write text for people to standard output."""
    _put(visible_lines(text), sys.stdout, "standard output")


def put_data(content: str | bytes) -> None:
    """Write a format for programs to standard output, as it is; to a terminal, as text that shows what is in it."""
    if isinstance(content, str) and output_is_terminal():
        content = visible_lines(content)
    _put(content, sys.stdout, "standard output")


def tell(lines: Iterable[str]) -> None:
    """Tell on the error stream what goes with a result and is no part of it, each in one line."""
    with contextlib.suppress(OSError):  # there is nobody left to tell
        _put("".join(f"{visible(line)}\n" for line in lines), sys.stderr, "the error stream")


def tell_over(line: str) -> None:
    """Write a line on the terminal of the error stream over the one that stands there."""
    with contextlib.suppress(OSError):
        _put(f"\r\x1b[K{visible(line)}", sys.stderr, "the error stream")


def output_is_terminal() -> bool:
    """Whether standard output is a terminal."""
    return sys.stdout is not None and sys.stdout.isatty()


def errors_are_on_a_terminal() -> bool:
    """Whether the error stream is a terminal."""
    return sys.stderr is not None and sys.stderr.isatty()


def open_streams() -> None:
    """See that there are standard streams, and that a character which they lack ends nothing.

    What was closed by the shell leads nowhere from now on: else the next file opened would take its place.
    """
    while (number := os.open(os.devnull, os.O_RDWR)) <= 2:
        if number > 0:
            setattr(sys, ("stdout", "stderr")[number - 1], os.fdopen(number, "w", encoding="utf-8"))
    os.close(number)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a character shows another, and the answer is not lost


def _put(content: str | bytes, stream: TextIO | None, name: str) -> None:
    if stream is None or not content:
        return
    try:
        if isinstance(content, bytes):
            stream.flush()
            stream.buffer.write(content)
            stream.buffer.flush()
        else:
            stream.write(content)
        stream.flush()
    except BrokenPipeError:
        _lead_nowhere(stream)
    except OSError as error:
        _lead_nowhere(stream)
        raise OSError(error.errno, f"cannot be written: {error.strerror}", name) from error


def _lead_nowhere(stream: TextIO) -> None:
    """What is still to be written to a stream that takes nothing more is dropped, at the end of the program too."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
