"""By which names the service may be asked: those of this machine for itself, and those that are listed.

A page of another site can have its own name lead to this machine (DNS rebinding), and would then read answers as its own.
"""

from __future__ import annotations

import re

from api.settings import BadSetting, Settings

LOOPBACK = frozenset({"localhost", "127.0.0.1", "[::1]"})

_NAME = re.compile(r"[a-z0-9._-]+|\[[0-9a-f:.]+\]")
_STATED = re.compile(rf"({_NAME.pattern})(?::[0-9]{{0,5}})?")


def read_hosts(settings: Settings) -> frozenset[str]:
    """The names that requests may state: the loopback's, the address listened on where it is one, and those listed.

    Raises
    ------
    BadSetting
        When one is no name.
    """
    listed = [host.strip().lower() for host in settings.hosts.split(",") if host.strip()]
    if not all(_NAME.fullmatch(host) for host in listed):
        raise BadSetting("SEQUENCER_HOSTS must be names such as planner.example, without a port, with commas between them")
    own = f"[{settings.host}]" if ":" in settings.host else settings.host
    return LOOPBACK | {own.lower()} | frozenset(listed)


def is_ours(host: str, hosts: frozenset[str]) -> bool:
    """Whether a ``Host`` header states one of the names, on whatever port."""
    found = _STATED.fullmatch(host.strip().lower())
    return found is not None and found[1] in hosts
