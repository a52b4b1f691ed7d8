"""A backup is of one moment, also under load; an export of one store is the same in another; what is deleted is gone."""

from __future__ import annotations

import asyncio
import sqlite3
import threading
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event, update

from api.__main__ import main
from api.examples import SCENARIO
from api.store import keeping as keeping_module
from api.store.copies import BadCopy, backup, exported, imported, restore
from api.store.database import Database
from api.store.hooks import make_webhook
from api.store.refusals import StoreAway
from api.store.store_tables import TERM
from api.store.terms import Author, Content, keep, listed, read_term
from sequencer import parse_document
from tests.api.kept.keeping import TWO_CLASSES, Keeping
from tests.api.service import PATIENCE, client_of, problem

NOBODY = Author()
SHORT = parse_document(SCENARIO)[0]
Captured = pytest.CaptureFixture[str]


def put(database: Database, name: str, text: str, before: int | None = None) -> int:
    """Keep a document without a service."""
    return keep(database, name, before, Content(text, None, {"9B": text}), NOBODY, "put").version


def test_a_backup_under_load_is_of_one_moment(own: Keeping, tmp_path: Path) -> None:
    database = own.database
    stop, count = threading.Event(), [0]

    def change() -> None:
        """Each version of a changes before that of b; so b is never ahead."""
        before: dict[str, int | None] = {"a": None, "b": None}
        while not stop.is_set():
            count[0] += 1
            for name in before:
                before[name] = put(database, name, f'"{count[0]} {"x" * 2000}"', before[name])

    writer = threading.Thread(target=change)
    writer.start()
    try:
        for number in range(4):
            seen = count[0]
            while count[0] < seen + 5:
                stop.wait(0.01)
            backup(database, tmp_path / f"copy-{number}.db")
    finally:
        stop.set()
        writer.join()
    moments = []
    for number in range(4):
        copy = Database(str(tmp_path / f"copy-{number}.db"))
        copy.open()
        a, b = read_term(copy, "a"), read_term(copy, "b")
        assert a is not None and b is not None and a.version - b.version in (0, 1)
        moments.append(a.version)
        copy.close()
    assert moments == sorted(set(moments)) and moments[-1] < count[0] + 1
    restore(database, tmp_path / "copy-1.db")
    restored = read_term(database, "a")
    assert restored is not None and restored.version == moments[1]
    assert own.ask("GET", "/v1/terms/a").headers["etag"] == restored.tag(), "the service goes on with it"
    (tmp_path / "spoilt.db").write_bytes((tmp_path / "copy-0.db").read_bytes()[:5000])
    for name in ("spoilt.db", "missing.db"):
        with pytest.raises(BadCopy):
            restore(database, tmp_path / name)
    with pytest.raises(BadCopy, match="there already"):
        backup(database, tmp_path / "copy-0.db")
    assert read_term(database, "a") == restored


def test_an_export_is_the_same_in_another_store(own: Keeping, tmp_path: Path) -> None:
    own.put("autumn")
    own.ask("POST", "/v1/terms/autumn/calendars", {"kind": "class", "name": "9B"})
    make_webhook(own.database, "https://pages.example", ("autumn",))
    own.ask("PUT", "/v1/terms/autumn", {**parse_document(TWO_CLASSES)[0], "title": "Flüsse"}, if_match="*")
    key = own.key("administer")
    assert exported(own.database, tmp_path / "one") == 1
    other = Database(str(tmp_path / "other.db"))
    other.open()
    assert imported(other, tmp_path / "one") == 1
    exported(other, tmp_path / "two")
    files = sorted(path.relative_to(tmp_path / "one") for path in (tmp_path / "one").rglob("*") if path.is_file())
    assert [str(each) for each in files] == ["store.json", "terms/autumn.json"]
    for each in files:
        assert (tmp_path / "one" / each).read_bytes() == (tmp_path / "two" / each).read_bytes()
    assert key.split("-", 2)[2] not in (tmp_path / "one" / "store.json").read_text(encoding="utf-8")
    with pytest.raises(BadCopy, match="not empty"):
        imported(other, tmp_path / "one")
    with pytest.raises(BadCopy, match="holds something"):
        exported(other, tmp_path / "two")
    other.close()
    (tmp_path / "one" / "terms" / "autumn.json").unlink()
    empty = Database(str(tmp_path / "empty.db"))
    empty.open()
    with pytest.raises(BadCopy, match="no whole export"):
        imported(empty, tmp_path / "one")
    assert listed(empty, None, "", 9, lambda _: True) == []
    empty.close()


def test_a_term_is_kept_and_forgotten_by_command(tmp_path: Path, capsys: Captured) -> None:
    scenario = tmp_path / "two.yaml"
    scenario.write_text(TWO_CLASSES, encoding="utf-8")
    store = ["--store", str(tmp_path / "terms.db")]
    assert main(["keep", "autumn", str(scenario), "--seconds", "20", *store]) == 0
    told = capsys.readouterr().out
    assert told.count("/v1/calendars/") == 5 and "Planned: 7 lessons" in told
    assert main(["backup", str(tmp_path / "copy.db"), *store]) == 0
    assert main(["forget", "--days", "1", *store]) == 0
    assert "Deleted for good: none." in capsys.readouterr().out
    with closing(sqlite3.connect(tmp_path / "terms.db")) as connection, connection:
        old = (datetime.now(UTC) - timedelta(days=3)).isoformat(timespec="seconds").replace("+00:00", "Z")
        connection.execute("UPDATE term SET changed = ?", (old,))
    assert main(["forget", "--days", "1", *store]) == 0
    assert "Deleted for good: autumn." in capsys.readouterr().out
    with closing(sqlite3.connect(tmp_path / "terms.db")) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    assert b"Why rivers flood" not in (tmp_path / "terms.db").read_bytes()
    assert main(["restore", str(tmp_path / "copy.db"), *store]) == 0
    assert main(["forget", "--term", "autumn", *store]) == 0
    assert main(["forget", "--term", "autumn", *store]) == 2
    assert main(["keys", "list"]) == 2
    assert "Name the store" in capsys.readouterr().err


def test_a_running_service_deletes_what_is_old(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Also what gets old while it runs, and after a failure that nobody foresaw."""
    monkeypatch.setattr(keeping_module, "FORGET_SECONDS", 0.05)
    monkeypatch.setattr(keeping_module, "FAILED_SECONDS", 0.05)
    real, fails = keeping_module.forgotten, iter([RuntimeError("secret"), StoreAway.now("gone")])

    def now_and_then(*arguments: Any) -> list[str]:
        for failure in fails:
            raise failure
        return real(*arguments)

    monkeypatch.setattr(keeping_module, "forgotten", now_and_then)
    service = Keeping(tmp_path / "terms.db", forget_days=30)
    service.put("autumn")
    service.put("spring")

    def gets_old(name: str) -> None:
        with service.database.writing() as connection:
            connection.execute(update(TERM).where(TERM.c.id == name).values(changed="2026-01-01T00:00:00Z"))

    async def life() -> None:
        async with client_of(service.app) as client, asyncio.timeout(PATIENCE):
            for name in ("autumn", "summer"):
                gets_old(name)
                while (await client.get(f"/v1/terms/{name}")).status_code != 404:
                    await asyncio.sleep(0.02)
                await client.put("/v1/terms/summer", json=SHORT, headers={"if-none-match": "*"})
            assert (await client.get("/v1/terms/spring")).status_code == 200
            changes = (await client.get("/v1/terms/spring/changes")).json()["changes"]
            assert [each["what"] for each in changes] == ["put"]

    asyncio.run(life())
    assert "what is done meanwhile failed: " in caplog.text and "secret" not in caplog.text and "gone" in caplog.text


def test_a_store_that_does_not_answer_is_told(own: Keeping) -> None:
    own.put("autumn")
    own.file.rename(own.file.with_suffix(".away"))
    own.database._engine.dispose()
    own.file.mkdir()
    refused = own.ask("GET", "/v1/terms/autumn")
    assert problem(refused, 503)["type"] == "/v1/problems/busy" and refused.headers["retry-after"] == "5"
    assert own.ask("GET", "/healthz").status_code == 200
    own.file.rmdir()
    own.file.with_suffix(".away").rename(own.file)
    assert own.ask("GET", "/v1/terms/autumn").status_code == 200


def test_where_there_is_no_room_nothing_is_changed(own: Keeping) -> None:
    tag = own.put("autumn")

    def bounded(connection: Any, *_: Any) -> None:
        connection.execute("PRAGMA max_page_count = 1")

    event.listen(own.database._engine, "checkout", bounded)
    large = parse_document(TWO_CLASSES)[0]
    large["units"][0]["lessons"][0]["notes"] = ["x" * 150] * 40
    refused = own.ask("PUT", "/v1/terms/autumn", large, if_match=tag)
    assert problem(refused, 507)["type"] == "/v1/problems/store-full"
    assert own.ask("GET", "/v1/terms/autumn").headers["etag"] == tag
