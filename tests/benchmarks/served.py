"""A service started to be measured: its address, its processes and their memory, and how soon it says that it is well.

``python -m tests.benchmarks.served health PORT`` asks for that until its input ends, in a process of its own, so that nothing
holds it up; ``python -m tests.benchmarks.served threads`` serves with threads in the place of processes, for comparison.
"""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn

from api.app import create_app
from api.settings import Settings
from tests.api.service import InThisProcess
from tests.api.test_process import below

ROOT = Path(__file__).resolve().parents[2]

PATIENCE = 120.0
"""Seconds after which whatever is waited for counts as never coming."""

PAUSE = 0.02
"""Seconds between two questions after the service's health."""


class Served:
    """A running service.

    Parameters
    ----------
    process, port
        Its main process, and where it listens.
    starting
        Seconds from its start until it listened.
    log
        Descriptor of the file that it writes its log to.
    """

    def __init__(self, process: subprocess.Popen[bytes], port: int, starting: float, log: int) -> None:
        self.process = process
        self.port = port
        self.starting = starting
        self._log = log

    def log(self) -> str:
        """What it has written down so far."""
        return os.pread(self._log, 100_000_000, 0).decode()

    def processes(self) -> list[int]:
        """Numbers of all its processes."""
        return [self.process.pid, *below(self.process.pid)]

    def memory(self) -> float:
        """Megabytes that all its processes take together, what they share counted once."""
        total = 0
        for number in self.processes():
            try:
                text = Path(f"/proc/{number}/smaps_rollup").read_text(encoding="ascii")
            except OSError:
                continue
            total += sum(int(size) for size in re.findall(r"^Pss: +(\d+) kB", text, re.MULTILINE))
        return total / 1000

    def busy(self) -> tuple[int, int]:
        """How many solves run, and how many wait."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        connection.request("GET", "/healthz")
        body = json.loads(connection.getresponse().read())
        connection.close()
        return body["running"], body["waiting"]

    def processor(self) -> float:
        """Seconds of processor time that all its processes have used."""
        return sum(_ticks(number) for number in self.processes()) / os.sysconf("SC_CLK_TCK")

    def busiest(self) -> int:
        """Number of the process that uses the most of the processors at the moment."""
        before = {number: _ticks(number) for number in self.processes()}
        time.sleep(0.5)
        return max(before, key=lambda number: _ticks(number) - before[number])

    @contextmanager
    def health(self) -> Iterator[list[float]]:
        """Ask for its health all the while; the seconds that each answer took are there afterwards."""
        command = [sys.executable, "-m", "tests.benchmarks.served", "health", str(self.port)]
        found: list[float] = []
        with subprocess.Popen(command, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as asking:
            assert asking.stdout is not None
            asking.stdout.readline()
            yield found
            out, _ = asking.communicate(b"", PATIENCE)
            found += json.loads(out)


@contextmanager
def serving(threads: bool = False, descriptors: int = 0, **settings: object) -> Iterator[Served]:
    """Start a service with settings on a free port, bounded in its file descriptors where so stated, and end it afterwards."""
    environment = {**os.environ, **{f"SEQUENCER_{name.upper()}": str(value) for name, value in settings.items()}}
    environment["SEQUENCER_PORT"] = "0"
    command = ["-m", "tests.benchmarks.served", "threads"] if threads else ["-m", "api"]
    bounded = ["sh", "-c", f'ulimit -n {descriptors}; exec "$@"', "sh"] if descriptors else []
    began = time.monotonic()
    with (
        tempfile.TemporaryFile("w+") as log,
        subprocess.Popen([*bounded, sys.executable, *command], cwd=ROOT, env=environment, stdout=log, stderr=log) as process,
    ):
        try:
            yield Served(process, _port(process, log.fileno()), time.monotonic() - began, log.fileno())
            process.send_signal(signal.SIGTERM)
            process.wait(PATIENCE)
        finally:
            process.kill()


def _port(process: subprocess.Popen[bytes], log: int) -> int:
    while process.poll() is None:
        found = re.findall(rb"running on http://127\.0\.0\.1:(\d+)", os.pread(log, 100_000, 0))
        if found:
            return int(found[0])
        time.sleep(0.01)
    raise AssertionError(os.pread(log, 100_000, 0).decode())


def _ticks(number: int) -> int:
    try:
        fields = Path(f"/proc/{number}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    except OSError:
        return 0
    return int(fields[11]) + int(fields[12])


def _ask_for_health(port: int) -> None:
    ended = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), ended.set()), daemon=True).start()
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    taken: list[float] = []
    print("asking", flush=True)
    while not ended.is_set():
        began = time.monotonic()
        try:
            connection.request("GET", "/healthz")
            assert connection.getresponse().status == 200
            taken.append(time.monotonic() - began)
        except OSError:
            taken.append(PATIENCE)
        # A new connection each time, as whoever watches over a service makes.
        connection.close()
        time.sleep(PAUSE)
    print(json.dumps(taken))


if __name__ == "__main__":
    if sys.argv[1] == "health":
        _ask_for_health(int(sys.argv[2]))
    else:
        # The server itself is the same; only where it works is not.
        app = create_app(Settings.from_environment(os.environ), InThisProcess)
        uvicorn.run(app, port=0, access_log=False, timeout_graceful_shutdown=10)
