"""Runs of a service that keeps terms, by name: ``python -m tests.api.store_load load``, ``kill`` or ``full``; ``--postgresql``.

``load``: 20 writers and 50 readers at once. Each change counts one further than what it read, so a lost update shows in the last
count; each document says its count twice, so a torn read shows. ``kill``: the service, or the database, is killed at random
moments while a change is being made; then the term is what the last answered change said, or what the one being made said.
``full``: the disk is full while changes are made; the store is as it was, and goes on when there is room again.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import random
import secrets
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, closing, contextmanager, nullcontext, suppress
from functools import partial
from multiprocessing.queues import Queue
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import httpx

from api.examples import SCENARIO
from sequencer import parse_document
from tests.api.live import Service, started
from tests.api.postgres import Cluster, cluster

TERMS = 6
WRITERS, READERS = 20, 50
AT_ONCE = 4
"""Terms that are changed side by side while something is killed."""

SETTINGS = {"USES_A_MINUTE": "1000000", "WAITING": "20", "SECONDS": "1"}


def document(count: int, size: int = 0, by: str = "") -> dict[str, Any]:
    """A scenario that says its count twice, who wrote it, and as much besides as is wanted.

    A PUT of what is kept just so changes nothing: two writers must not send the same.
    """
    data: dict[str, Any] = parse_document(SCENARIO)[0]
    data["units"][0]["lessons"][0]["notes"] = [f"count {count}", f"by {by}", *(secrets.token_hex(95) for _ in range(size))]
    return {**data, "title": f"count {count}"}


def count_of(term: dict[str, Any]) -> int:
    """The count of a term that was read."""
    scenario = term["scenario"]
    title, notes = scenario["title"], scenario["units"][0]["lessons"][0]["notes"]
    note = notes if isinstance(notes, str) else notes[0]
    assert title == note, f"a torn read: {title}, {note}"
    return int(title.split()[1])


class Tally:
    """What became of the requests of a run."""

    def __init__(self) -> None:
        self.statuses: Counter[tuple[str, int]] = Counter()
        self.kept: Counter[str] = Counter()
        self.wrong: list[str] = []
        self.health: list[float] = []
        self._lock = threading.Lock()

    def add(self, what: str, status: int) -> None:
        with self._lock:
            self.statuses[what, status] += 1

    def watched(self, work: Callable[..., None], *arguments: Any) -> None:
        """Do something in a thread, whose failure counts."""
        try:
            work(*arguments)
        except Exception as error:
            self.wrong.append(f"{type(error).__name__}: {error}")

    def one_more(self, term: str) -> None:
        with self._lock:
            self.kept[term] += 1


def writes(address: str, number: int, tally: Tally, until: float) -> None:
    """Read a term, count one further, and put it under the condition that nobody else did."""
    chance = random.Random(number)
    with httpx.Client(base_url=address, timeout=60) as client:
        while time.monotonic() < until:
            term = f"term-{chance.randrange(TERMS)}"
            read = client.get(f"/v1/terms/{term}")
            tally.add("read", read.status_code)
            if read.status_code != 200:
                continue
            count = count_of(read.json())
            tag = read.headers["etag"]
            body = json.dumps(document(count + 1, by=f"{number}"))
            answer = client.put(f"/v1/terms/{term}", content=body, headers=_headers(tag))
            tally.add("put", answer.status_code)
            if answer.status_code == 200:
                tally.one_more(term)
            elif answer.status_code == 412:
                told = answer.json()
                if not told["changes"] or told["current"] == tag:
                    tally.wrong.append(f"a 412 that no change of another explains: {told}")
            time.sleep(chance.random() * 0.2)


def reads(address: str, number: int, tally: Tally, until: float) -> None:
    """Read terms and the list of them, with what is known already."""
    chance = random.Random(1000 + number)
    known: dict[str, str] = {}
    seen: dict[str, int] = {}
    with httpx.Client(base_url=address, timeout=60) as client:
        while time.monotonic() < until:
            term = f"term-{chance.randrange(TERMS)}"
            path = chance.choice((f"/v1/terms/{term}", f"/v1/terms/{term}", "/v1/terms", f"/v1/terms/{term}/changes?limit=5"))
            answer = client.get(path, headers={"if-none-match": known[path]} if path in known else {})
            tally.add("read", answer.status_code)
            if answer.status_code == 200:
                known[path] = answer.headers["etag"]
                if path == f"/v1/terms/{term}":
                    count = count_of(answer.json())
                    if count < seen.get(term, 0):
                        tally.wrong.append(f"{term} went back from {seen[term]} to {count}")
                    seen[term] = count
            time.sleep(chance.random() * 0.3)


def looks_after(address: str, seconds: float, found: Queue[list[tuple[int, float]]]) -> None:
    """Ask whether the service runs, 20 times a second; in a process of its own, so that only the service is measured."""
    told = []
    until = time.monotonic() + seconds
    with httpx.Client(base_url=address, timeout=60) as client:
        while time.monotonic() < until:
            began = time.monotonic()
            status = client.get("/healthz").status_code
            told.append((status, time.monotonic() - began))
            time.sleep(0.05)
    found.put(told)


def load(store: str, services: int, seconds: float) -> bool:
    """Writers and readers at once."""
    tally = Tally()
    with TemporaryDirectory() as folder, ExitStack() as stack:
        address = store or str(Path(folder) / "terms.db")
        running = [stack.enter_context(started(Path(folder) / f"log-{n}", STORE=address, **SETTINGS)) for n in range(services)]
        bases = [f"http://127.0.0.1:{each.port}" for each in running]
        for number in range(TERMS):
            kept = running[0].client.put(f"/v1/terms/term-{number}", content=json.dumps(document(0)), headers=_headers(None))
            assert kept.status_code in (200, 201), kept.text
        until = time.monotonic() + seconds
        tasks: list[tuple[Any, ...]] = [(writes, bases[n % services], n, tally, until) for n in range(WRITERS)]
        tasks += [(reads, bases[n % services], n, tally, until) for n in range(READERS)]
        threads = [threading.Thread(target=tally.watched, args=each) for each in tasks]
        spawned = multiprocessing.get_context("spawn")
        found: Queue[list[tuple[int, float]]] = spawned.Queue()
        for base in bases:
            spawned.Process(target=looks_after, args=(base, seconds, found), daemon=True).start()
        for each in threads:
            each.start()
        for each in threads:
            each.join()
        for status, took in (told for _ in bases for told in found.get(timeout=60)):
            tally.add("health", status)
            tally.health.append(took)
        for number in range(TERMS):
            term = f"term-{number}"
            count = count_of(running[0].client.get(f"/v1/terms/{term}").json())
            if count != tally.kept[term]:
                tally.wrong.append(f"{term}: {tally.kept[term]} changes were answered, {count} are there")
    asked = {key: number for key, number in tally.statuses.items() if key[0] != "health"}
    total = sum(asked.values())
    away = sum(number for (_, status), number in asked.items() if status == 503)
    failed = sum(number for (_, status), number in tally.statuses.items() if status >= 500 and status != 503)
    health = sorted(tally.health)
    p99 = health[int(len(health) * 0.99)] * 1000
    print(f"{total} requests in {seconds:g} s: {dict(sorted(asked.items()))}")
    other = 100 * (total - away) / total
    print(f"{sum(tally.kept.values())} changes kept, {other:.2f}% answered other than 503, {failed} other 5xx")
    print(f"/healthz: {len(health)} times, median {health[len(health) // 2] * 1000:.1f} ms, p99 {p99:.1f} ms")
    print(*tally.wrong[:10], sep="\n")
    return not tally.wrong and not failed and away <= total * 0.05


# -- killing -----------------------------------------------------------------------------------------------------------


@contextmanager
def killable(folder: Path, number: int, store: str) -> Iterator[Service]:
    """A service that may be killed at any moment."""
    with started(folder / f"log-{number}", STORE=store, RUNNING="1", **SETTINGS) as service:
        yield service


def kill(store: str, server: Cluster | None, times: int) -> bool:
    """Kill the service, or four times of five the database, while terms are being changed side by side."""
    terms = [_Killed(f"term-{number}") for number in range(AT_ONCE)]
    with TemporaryDirectory() as folder:
        address = store or str(Path(folder) / "terms.db")
        number = 0
        while number < times:
            with killable(Path(folder), number, address) as service:
                _look(terms, service, number)
                alive = True
                while alive and number < times:
                    at_database = server is not None and number % 5 != 4
                    number += 1
                    ends = server.kill if at_database and server is not None else partial(_end, service)
                    for each in terms:
                        # What is started needs a while for the first one.
                        each.change_until_ended(service, 0)
                    moment = random.random()
                    threads: list[threading.Thread] = [threading.Timer(moment, ends)]
                    threads += [threading.Thread(target=each.change_until_ended, args=(service, moment + 5)) for each in terms]
                    for thread in threads:
                        thread.start()
                    for thread in threads:
                        thread.join()
                    if at_database and server is not None:
                        server.start()
                        _look(terms, service, number)
                    else:
                        alive = False
            if number % 10 == 0 or number == times:
                torn, kept = (sum(getattr(each, name) for each in terms) for name in ("torn_off", "answered"))
                print(f"{number} killed, {torn} changes of {AT_ONCE} terms not answered, {kept} kept", flush=True)
        with killable(Path(folder), times, address) as service:
            _look(terms, service, times)
        wrong = [problem for each in terms for problem in each.wrong] + _spoilt(address)
    print(*(wrong[:5] or ["nothing wrong"]), sep="\n")
    return not wrong


def _look(terms: list[_Killed], service: Service, number: int) -> None:
    for each in terms:
        each.look(service, number)


def _spoilt(address: str) -> list[str]:
    """What SQLite itself finds wrong with a file."""
    if "://" in address:
        return []
    with closing(sqlite3.connect(address)) as connection:
        found = connection.execute("PRAGMA integrity_check").fetchall()
    return [] if found == [("ok",)] else [f"the file is spoilt: {found[:3]}"]


class _Killed:
    """What is known of a term whose service, or database, is killed again and again."""

    def __init__(self, name: str) -> None:
        self.answered = self.making = self.torn_off = 0
        self.wrong: list[str] = []
        self._path = f"/v1/terms/{name}"
        self._tag: str | None = None

    def change_until_ended(self, service: Service, seconds: float) -> None:
        """Make a change, and more of them for so long, until one is not answered, since what it needs was ended meanwhile."""
        until = time.monotonic() + seconds
        while True:
            self.making = self.answered + 1
            body = json.dumps(document(self.making))
            try:
                put = service.client.put(self._path, content=body, headers=_headers(self._tag))
            except httpx.HTTPError:
                self.torn_off += 1
                break
            if put.status_code in (200, 201):
                self._tag, self.answered = put.headers["etag"], self.making
                if time.monotonic() < until:
                    continue
            elif put.status_code in (503, 507):
                self.torn_off += 1
            else:
                self.wrong.append(f"{put.status_code}: {put.text[:200]}")
            break

    def look(self, service: Service, number: int) -> None:
        """See what is there, and that the log tells of each of its versions once."""
        for _ in range(60):
            read = service.client.get(self._path)
            if read.status_code != 503:
                break
            time.sleep(0.25)
        if read.status_code == 404 and not self.answered:
            return
        if read.status_code != 200:
            self.wrong.append(f"after kill {number}: {read.status_code} {read.text[:200]}")
            return
        count, tag = count_of(read.json()), read.headers["etag"]
        if count not in (self.answered, self.making):
            self.wrong.append(f"kill {number}: {self.answered} was answered, {self.making} being made, {count} is there")
        version = _version(tag)
        since = min(version, _version(self._tag)) - 1
        told = service.client.get(f"{self._path}/changes?since={since}&limit=500").json()["changes"]
        if [each["version"] for each in told] != list(range(since + 1, version + 1)):
            self.wrong.append(f"kill {number}: version {version} is there, the log tells of {told}")
        self._tag, self.answered = tag, count


def _version(tag: str | None) -> int:
    return int(tag[1:].partition("-")[0]) if tag is not None else 1


def _end(service: Service) -> None:
    with suppress(ProcessLookupError):
        service.process.send_signal(signal.SIGKILL)


def kill_writers(store: str, times: int) -> bool:
    """Kill processes that do nothing but keep one version after another, with no service before the store."""
    wrong: list[str] = []
    with TemporaryDirectory() as folder:
        address = store or str(Path(folder) / "terms.db")
        answered = 0
        for number in range(times):
            command = [sys.executable, "-m", "tests.api.store_load", "write", "--store", address]
            with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as writer:
                assert writer.stdout is not None
                first = writer.stdout.readline()
                if int(first) not in (answered, answered + 1):
                    wrong.append(f"kill {number}: {answered} was answered, {first.strip()} is there")
                time.sleep(random.random() * 0.3)
                writer.kill()
                answered = max([int(first), *(int(line) for line in writer.stdout.read().split("\n")[:-1])])
        wrong += _spoilt(address)
    print(f"{times} writers killed, {answered} versions kept", *(wrong[:5] or ["nothing wrong"]), sep="\n")
    return not wrong


def write(store: str) -> None:
    """Say which version is there, then keep one after another, saying each when it is kept."""
    from api.store.database import Database
    from api.store.terms import Author, Content, keep, read_term

    database = Database(store)
    database.open()
    kept = read_term(database, "one")
    count = int(json.loads(kept.document)["count"]) if kept is not None else 0
    print(count, flush=True)
    while True:
        text = json.dumps({"count": count + 1, "as much as a term": "x" * 50_000})
        kept = keep(database, "one", kept.version if kept is not None else None, Content(text, None, {}), Author(), "put")
        count += 1
        print(count, flush=True)


# -- a full disk -------------------------------------------------------------------------------------------------------


def full(postgresql: bool) -> bool:
    """Put ever more on a small disk, then make room; with PostgreSQL on one that holds all, then on one of its log alone."""
    if not postgresql:
        return _full("3m", lambda disk: nullcontext())
    return all([_full("100m", cluster), _full("8m", lambda disk: cluster(None, disk))])


def _full(size: str, server_on: Callable[[Path], AbstractContextManager[Cluster | None]]) -> bool:
    with TemporaryDirectory() as folder, ExitStack() as stack:
        Path(folder).chmod(0o755)
        disk = Path(folder) / "disk"
        disk.mkdir()
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(disk)], check=True)
        stack.callback(subprocess.run, ["umount", "-l", str(disk)], check=False)
        return _filled(disk, Path(folder) / "log", stack.enter_context(server_on(disk)))


def _filled(disk: Path, log: Path, server: Cluster | None) -> bool:
    with started(log, STORE=server.address if server is not None else str(disk / "terms.db"), **SETTINGS) as service:

        def put(name: str, data: dict[str, Any], tag: str | None = None) -> httpx.Response:
            return service.client.put(f"/v1/terms/{name}", content=json.dumps(data), headers=_headers(tag))

        small = _Killed("small")
        small.change_until_ended(service, 0)
        fillers = [disk / "filler", disk / "more"]
        fillers[0].write_bytes(bytes(shutil.disk_usage(disk).free - 1_500_000))
        refused: Counter[int] = Counter()
        kept = {}
        while refused.total() < 30:
            name = f"term-{len(kept):03}"
            answer = put(name, document(1, size=150))
            if answer.status_code == 201:
                kept[name] = answer.headers["etag"]
            else:
                refused[answer.status_code] += 1
                assert answer.headers["content-type"] == "application/problem+json", answer.text
        # Changes that need no more room than is there need some in the log of changes.
        fillers[1].write_bytes(bytes(shutil.disk_usage(disk).free))
        small.change_until_ended(service, 60)
        healthy = service.client.get("/healthz").status_code == 200
        for each in fillers:
            each.unlink()
        ended = server is not None and server.start_again()
        small.look(service, 1)
        after = put("after", document(1, size=150)).status_code
        intact = all(service.client.get(f"/v1/terms/{name}").headers.get("etag") == tag for name, tag in kept.items())
        there = [each["term"] for each in service.client.get("/v1/terms?limit=500").json()["terms"]]
    intact = intact and there == sorted([*kept, "after", "small"])
    print(f"{len(kept)} terms kept, refused {dict(refused)}; then {small.answered} small changes until one was not kept")
    print(f"{'the' if ended else 'no'} server ended; healthy {healthy}, with room again {after}, intact {intact}")
    print(*small.wrong, sep="\n")
    return set(refused) <= {503, 507} and intact and healthy and after == 201 and not small.wrong


def _headers(tag: str | None) -> dict[str, str]:
    condition = {"if-match": tag} if tag is not None else {"if-none-match": "*"}
    return {"content-type": "application/json", **condition}


def main() -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m tests.api.store_load", description=__doc__)
    parser.add_argument("what", choices=("load", "kill", "kill-writers", "full", "write"))
    parser.add_argument("--store", default="", help="of write")
    parser.add_argument("--seconds", type=float, default=120.0, help="of load")
    parser.add_argument("--times", type=int, default=100, help="how often is killed")
    parser.add_argument("--postgresql", action="store_true", help="on PostgreSQL, with two services under load")
    options = parser.parse_args()
    os.environ.pop("SEQUENCER_STORE", None)
    if options.what == "full":
        return 0 if full(options.postgresql) else 1
    if options.what == "write":
        write(options.store)
    with ExitStack() as stack:
        server = stack.enter_context(cluster()) if options.postgresql else None
        store = server.address if server is not None else ""
        if options.what == "load":
            return 0 if load(store, 2 if server is not None else 1, options.seconds) else 1
        if options.what == "kill-writers":
            return 0 if kill_writers(store, options.times) else 1
        return 0 if kill(store, server, options.times) else 1


if __name__ == "__main__":
    sys.exit(main())
