"""From nothing to a calendar that is subscribed to: the two commands of the guide as they are printed, and a foreign client."""

from __future__ import annotations

import os
import re
import shlex
import socket
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path

import httpx
import pytest

from sequencer import guide_text
from tests.api.kept.test_calendars_kept import by_icalendar, planned
from tests.api.live import until
from tests.api.postgres import cluster, is_there
from tests.api.service import SCENARIOS

SYNC = """\
[general]
status_path = "status"
[pair plan]
a = "service"
b = "kept"
collections = null
conflict_resolution = "a wins"
[storage service]
type = "http"
url = "{}"
[storage kept]
"""
IN_A_FOLDER = """\
type = "filesystem"
path = "calendar"
fileext = ".ics"
"""
ON_A_SERVER = """\
type = "caldav"
url = "{}"
username = "oak"
password = "oak"
"""


def the_two_commands() -> list[str]:
    """What the guide's page on kept terms prints first."""
    found = re.search(r"```sh\n(.*?)```", guide_text("store") or "", re.DOTALL)
    assert found is not None
    return [line.partition("#")[0].strip() for line in found[1].splitlines()]


def free_port() -> int:
    """A port of this machine on which nobody listens."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        return int(free.getsockname()[1])


@contextmanager
def after_two_commands(folder: Path, store: str) -> Iterator[str]:
    """Run them in a folder, and give the address that the first printed for a calendar, which the second serves."""
    keeps, serves = (line.replace("terms.db", store) for line in the_two_commands())
    (folder / "scenarios").symlink_to(SCENARIOS)
    port = free_port()
    found = {"PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}", "PYTHONPATH": str(SCENARIOS.parent)}
    environment = {**os.environ, **found, "SEQUENCER_PORT": f"{port}"}
    told = subprocess.run(keeps, shell=True, cwd=folder, env=environment, check=True, capture_output=True, text=True).stdout
    (address,) = re.findall(r"class 10G: (\S+)", told)
    said = folder / "log"
    with said.open("w") as log, subprocess.Popen(shlex.split(serves), cwd=folder, env=environment, stderr=log) as served:
        try:
            until(lambda: served.poll() is not None or "running on" in said.read_text())
            assert served.poll() is None, said.read_text()
            yield address
        finally:
            served.terminate()


def holds_what_is_planned(address: str, fetched: Callable[[], Iterable[str]]) -> None:
    """Whoever fetches a calendar holds the plan, and what becomes of it: 31 events, each once, cancelled where undone."""

    def held() -> list[tuple[date, str]]:
        events = [each for text in fetched() for each in by_icalendar(text)]
        assert len(events) == len({uid for uid, *_ in events}) == 31
        left = [(day, title) for _, _, status, title, day in events if status != "CANCELLED"]
        return sorted((day, re.sub(r" \((live|set work)\)$", "", title)) for day, title in left)

    term = httpx.URL(address).join("/v1/terms/autumn")
    kept = httpx.get(term)
    plan = planned(kept.json(), "10G")
    assert len(plan) == 31 and held() == plan
    assert httpx.post(f"{term}/undo", headers={"if-match": kept.headers["etag"]}).status_code == 200
    assert held() == []


def is_subscribed_to(folder: Path, store: str, kept_in: str, texts: Callable[[], Iterable[str]]) -> None:
    """A program that keeps calendars in step with addresses holds the plan, and what becomes of it."""
    pytest.importorskip("vdirsyncer", reason="vdirsyncer is not installed")
    with after_two_commands(folder, store) as address:
        (folder / "config").write_text(SYNC.format(address) + kept_in)

        def run(command: str) -> None:
            subprocess.run([sys.executable, "-m", "vdirsyncer", "-c", "config", command], cwd=folder, check=True)

        def synchronised() -> Iterable[str]:
            run("sync")
            return texts()

        run("discover")
        holds_what_is_planned(address, synchronised)


def in_a_folder(folder: Path, store: str) -> None:
    """What is subscribed to is kept as files."""
    calendar = folder / "calendar"
    calendar.mkdir()
    is_subscribed_to(folder, store, IN_A_FOLDER, lambda: (file.read_text(encoding="utf-8") for file in calendar.iterdir()))


def test_two_commands_lead_to_a_calendar(tmp_path: Path) -> None:
    """Read with a foreign library."""
    with after_two_commands(tmp_path, "terms.db") as address:
        holds_what_is_planned(address, lambda: [httpx.get(address).text])


@pytest.mark.slow
def test_a_foreign_program_subscribes_to_it(tmp_path: Path) -> None:
    in_a_folder(tmp_path, "terms.db")


@pytest.mark.slow
@pytest.mark.skipif(not is_there(), reason="no PostgreSQL is installed")
def test_so_they_do_with_postgresql(tmp_path: Path) -> None:
    pytest.importorskip("psycopg", reason="psycopg is not installed")
    with cluster() as server:
        in_a_folder(tmp_path, server.address)


@pytest.mark.slow
def test_a_calendar_server_takes_it_and_its_client_reads_it(tmp_path: Path) -> None:
    pytest.importorskip("radicale", reason="radicale is not installed")
    caldav = pytest.importorskip("caldav", reason="caldav is not installed")
    address = f"http://127.0.0.1:{free_port()}/"
    command = [sys.executable, "-m", "radicale", "--server-hosts", address[7:-1], "--auth-type", "none"]
    with subprocess.Popen([*command, "--storage-filesystem-folder", str(tmp_path / "server")]) as server:
        try:
            until(lambda: already_answers(address))
            client = caldav.DAVClient(url=address, username="oak", password="oak")
            calendar = client.principal().make_calendar(name="plan")
            kept_in = ON_A_SERVER.format(calendar.url)
            is_subscribed_to(tmp_path, "terms.db", kept_in, lambda: [event.data for event in calendar.events()])
        finally:
            server.terminate()


def already_answers(address: str) -> bool:
    with suppress(httpx.TransportError):
        httpx.get(address)
        return True
    return False
