"""The service as people run it: a process of its own, called over a socket."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

import httpx

from tests.api.service import JSON, PATIENCE, SCENARIOS


class Service:
    """A running service."""

    def __init__(self, process: subprocess.Popen[str], port: int) -> None:
        self.process = process
        self.port = port
        self.client = httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=PATIENCE)

    def busy(self) -> tuple[int, int]:
        """Return how many solves run and wait."""
        body = self.client.get("/healthz").json()
        assert body["status"] == "ok"
        return body["running"], body["waiting"]

    def post_and_stay(self, body: bytes, accept: str = JSON) -> socket.socket:
        """Post a scenario as JSON over a connection that the test holds."""
        connection = socket.create_connection(("127.0.0.1", self.port), timeout=PATIENCE)
        head = (
            f"POST /v1/sequences?seconds=3000 HTTP/1.1\r\nHost: localhost\r\nAccept: {accept}\r\n"
            f"Content-Type: {JSON}\r\nContent-Length: {len(body)}\r\n\r\n"
        )
        connection.sendall(head.encode() + body)
        return connection


@contextmanager
def started(log_file: Path, **settings: str) -> Iterator[Service]:
    """Start a service with settings of its own on a free port of this machine only."""
    environment = {**os.environ, **{f"SEQUENCER_{name}": value for name, value in settings.items()}}
    command = [sys.executable, "-m", "api", "--port", "0"]
    with (
        log_file.open("w+", encoding="utf-8") as log,
        subprocess.Popen(command, cwd=SCENARIOS.parent, env=environment, stdout=log, stderr=log, text=True) as process,
    ):
        try:
            service = Service(process, _port(process, log))
            with service.client:
                yield service
        finally:
            process.kill()


def _port(process: subprocess.Popen[str], log: IO[str]) -> int:
    found: list[str] = []

    def listens() -> bool:
        log.seek(0)
        text = log.read()
        assert process.poll() is None, text
        found.extend(re.findall(r"running on http://127\.0\.0\.1:(\d+)", text))
        return bool(found)

    until(listens)
    return int(found[0])


def until(condition: Callable[[], bool]) -> None:
    """Wait until a condition holds."""
    give_up = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < give_up, "it does not come true"
        time.sleep(0.05)


def below(parent: int) -> list[int]:
    """Return the numbers of a process's children, and theirs."""
    found = []
    for status in Path("/proc").glob("[0-9]*/status"):
        with suppress(OSError):
            if f"\nPPid:\t{parent}\n" in status.read_text(encoding="utf-8"):
                number = int(status.parent.name)
                found += [number, *below(number)]
    return found
