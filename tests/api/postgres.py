"""A server of PostgreSQL of its own for a run: begun in a temporary folder, ended with it; by a user that is not root."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import mkdtemp

BINARIES = next(iter(sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)), None)
"""Where Debian puts them."""

USER = "postgres"


def is_there() -> bool:
    """Whether a server can be begun here."""
    if BINARIES is None:
        return False
    if os.geteuid():
        return True
    with suppress(KeyError):
        return bool(pwd.getpwnam(USER))
    return False


class Cluster:
    """A server that runs, or was ended."""

    def __init__(self, folder: Path, port: int) -> None:
        self.folder, self.port = folder, port
        self.address = f"postgresql://{USER}@127.0.0.1:{port}/postgres"

    def start(self) -> None:
        """Begin, and wait until it answers; also after it was killed."""
        options = (
            f"-c port={self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={self.folder} -c max_connections=60"
        )
        _run("pg_ctl", "-D", str(self.folder / "data"), "-w", "-t", "60", "-l", str(self.folder / "log"), "-o", options, "start")

    def start_again(self) -> bool:
        """Begin where it has ended, and say whether it had."""
        with suppress(subprocess.CalledProcessError):
            _run("pg_ctl", "-D", str(self.folder / "data"), "status")
            return False
        self.start()
        return True

    def stop(self) -> None:
        """End in order."""
        with suppress(subprocess.CalledProcessError):
            _run("pg_ctl", "-D", str(self.folder / "data"), "-m", "immediate", "stop")

    def kill(self) -> None:
        """End it and all that it has begun at once, as a loss of power would."""
        pid = int((self.folder / "data" / "postmaster.pid").read_text().split()[0])
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        for each in (pid, *map(int, children)):
            with suppress(ProcessLookupError):
                os.kill(each, signal.SIGKILL)
        while any(Path(f"/proc/{each}").exists() for each in (pid, *children)):
            time.sleep(0.02)
        (self.folder / "data" / "postmaster.pid").unlink(missing_ok=True)


@contextmanager
def cluster(within: Path | None = None, log_within: Path | None = None) -> Iterator[Cluster]:
    """A server in a folder of its own; its log of changes, which grows in steps of 1 MB, may lie elsewhere."""
    folder = Path(mkdtemp(prefix="cluster-", dir=within))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    try:
        if not os.geteuid():
            shutil.chown(folder, USER)
        options = ["-U", USER, "-A", "trust", "-E", "UTF8", "--locale=C", "--wal-segsize=1"]
        options += ["-X", str(log_within / "log")] if log_within is not None else []
        _run("initdb", "-D", str(folder / "data"), *options)
        found = Cluster(folder, port)
        found.start()
        try:
            yield found
        finally:
            found.stop()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _run(program: str, *arguments: str) -> None:
    assert BINARIES is not None
    as_user = [] if os.geteuid() else ["runuser", "-u", USER, "--"]
    command = [*as_user, str(BINARIES / program), *arguments]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, cwd="/tmp")
