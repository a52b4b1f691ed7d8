"""Every environment variable, with its default, in one class."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from sequencer import Limits

PREFIX = "SEQUENCER_"


class BadSetting(ValueError):
    """An environment variable that cannot be used."""


def _half_the_cores() -> int:
    """Half the cores this process may use, rounded up: a solve keeps more than one busy."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return (cores + 1) // 2


def _text(says: str, default: str = "", **more: Any) -> Any:
    return field(default=default, metadata={"says": says}, **more)


def _setting(default: Any, least: float, most: float, says: str) -> Any:
    described = {"least": least, "most": most, "says": says}
    if callable(default):
        return field(default_factory=default, metadata=described)
    return field(default=default, metadata=described)


@dataclass(frozen=True)
class Settings:
    """How the service runs. Each field is set by the variable of its name in capitals after ``SEQUENCER_``."""

    host: str = _text("address to listen on", "127.0.0.1")
    port: int = _setting(8000, 0, 65535, "port to listen on; 0 takes a free one")
    # The reader of documents takes no more than this either.
    body_bytes: int = _setting(2_000_000, 1, 2_000_000, "largest body")
    arriving_bytes: int = _setting(64_000_000, 1, 10**12, "bytes of bodies that are arriving at once, all together")
    body_seconds: float = _setting(30.0, 0.001, 3600, "time in which a body must have arrived")
    seconds: float = _setting(30.0, 0.001, 86400, "time a solve is allowed when the request does not say")
    most_seconds: float = _setting(120.0, 0.001, 86400, "time a solve is allowed at most")
    grace: float = _setting(2.0, 0.05, 3600, "time beyond that after which what works on a request is ended")
    most_reading_seconds: float = _setting(10.0, 0.05, 3600, "time in which a body is read and checked, or a sequence judged")
    workers: int = _setting(3, 1, 64, "the solver's searches in each solve; answers depend on it")
    most_workers: int = _setting(8, 1, 64, "searches that a request may ask for, or the usual number if that is more")
    most_classes: int = _setting(100, 1, 500, "most classes of a scenario")
    most_lessons: int = _setting(5_000, 1, 20_000, "most lessons over all classes and over all units, made ones included")
    most_slots: int = _setting(20_000, 1, 1_000_000, "most periods in which classes meet, over all of them")
    most_what_ifs: int = _setting(20, 0, 20, "most what-ifs of a scenario")
    most_depth: int = _setting(30, 1, 50, "most lists and mappings inside one another in a body")
    most_memory: int = _setting(
        2000, 250, 1_000_000, "megabytes of memory that the process of one solve takes, about 150 of them for the program"
    )
    running: int = _setting(
        _half_the_cores, 1, 256, "solves that run at once, each in a process of its own; unless set, half the cores, rounded up"
    )
    waiting: int = _setting(4, 0, 1000, "solves that may wait for their turn; beyond it requests are turned away")
    retry_after: int = _setting(10, 0, 86400, "seconds after which those turned away are told to try again")
    keys: str = _text("keys, with commas between them, one of which every request must bring", repr=False)
    keys_file: str = _text("file of keys, one a line, instead of or beside those")
    origins: str = _text("origins whose pages may read answers, such as https://planner.example, with commas between them")
    heartbeat: float = _setting(5.0, 0.01, 3600, "seconds of silence after which a stream of events sends a comment")
    hosts: str = _text("names by which it may be asked, beside those of this machine for itself, with commas between them")
    head_seconds: float = _setting(10.0, 0.1, 3600, "time in which a connection must have sent the head of its next request")
    taking_seconds: float = _setting(30.0, 0.1, 3600, "time in which a client must take more of an answer that waits for it")
    connections: int = _setting(
        500, 8, 65535, "connections at once; beyond it the one that has kept the service waiting the longest is ended"
    )
    store: str = _text("where terms are kept: a file, made when missing, or postgresql://…; nothing is kept unless set")
    uses_a_minute: int = _setting(600, 1, 1_000_000, "how often a key of the store may be used in a minute, and at once")
    forget_days: int = _setting(0, 0, 36500, "days after its last change on which a kept term is deleted for good; never where 0")

    @classmethod
    def from_environment(cls, environment: Mapping[str, str]) -> Settings:
        """Settings as the environment states them.

        Raises
        ------
        BadSetting
            When a variable is not a number, or lies outside its range.
        """
        stated: dict[str, Any] = {}
        for about in fields(cls):
            name = PREFIX + about.name.upper()
            text = environment.get(name, "").strip()
            if not text and name in environment and about.name in ("keys", "keys_file"):
                # A secret that was not filled in must not open the service to everybody.
                raise BadSetting(f"{name} is set but empty; leave it out where everybody may call")
            if text:
                stated[about.name] = text if about.type == "str" else _number(name, text, about.type == "int", **about.metadata)
        return cls(**stated)

    @property
    def limits(self) -> Limits:
        """How much of everything a body may hold."""
        return Limits(self.most_classes, self.most_lessons, self.most_slots, self.most_what_ifs, self.most_depth)

    def allowed(self, seconds: float | None) -> float:
        """Time that a solve gets when a request asks for so much (None when it does not say)."""
        return min(self.seconds if seconds is None else seconds, self.most_seconds)


def _number(name: str, text: str, whole: bool, least: float, most: float, says: str) -> float:
    kind = "whole number" if whole else "number"
    try:
        value = int(text) if whole else float(text)
    except ValueError:
        raise BadSetting(f"{name} must be a {kind} (got {text[:40]!r})") from None
    if not least <= value <= most:
        raise BadSetting(f"{name} ({says}) must be a {kind} from {least:g} to {most:g} (got {text[:40]!r})")
    return value


def variables() -> str:
    """The variables with their defaults, one a line, for people."""
    lines = []
    for about in fields(Settings):
        default = getattr(Settings(), about.name)
        lines.append(f"  {PREFIX + about.name.upper():<32}{about.metadata['says']} (default {default})")
    return "\n".join(lines)
