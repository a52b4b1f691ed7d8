"""Terms are put, read, planned by the week, undone and deleted, each under a condition that names what is changed."""

from __future__ import annotations

import ast
import sqlite3
from contextlib import closing

import pytest

from api.examples import SCENARIO
from api.media import XLSX_TYPE
from api.routes.imports import _EXAMPLES
from api.settings import BadSetting
from api.store.database import Database
from api.store.store_tables import MIGRATIONS, TABLES
from sequencer import parse_document
from tests.api.kept.keeping import Keeping
from tests.api.service import ask, problem
from tests.house import modules

SHORT = parse_document(SCENARIO)[0]


def test_without_a_store_nothing_of_it_is_there() -> None:
    problem(ask("GET", "/v1/terms/autumn"), 404)
    assert ask("GET", "/v1/terms").headers["allow"] == "POST"
    for path in ("/v1/terms/autumn/plan", "/v1/webhooks", "/v1/calendars/x.ics"):
        problem(ask("GET", path), 404)


def test_without_a_store_nothing_of_it_is_loaded() -> None:
    """What is imported at the head of modules, from the service and the command line on, leads to no library of the store."""
    known = modules()
    reached, ahead = set(), ["api.__main__", "api.app", "sequencer.__main__"]
    while ahead:
        module = ahead.pop()
        if module in reached or module not in known:
            continue
        reached.add(module)
        for node in ast.parse(known[module].read_text(encoding="utf-8")).body:
            if isinstance(node, ast.Import):
                ahead += [alias.name for alias in node.names]
                found = {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module is not None:
                ahead += [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
                found = {node.module.split(".")[0]}
            else:
                continue
            assert not found & {"sqlalchemy", "psycopg", "recurring_ical_events"}, module
    assert len(reached) > 300 and "api.store.messages" in reached and "api.store.database" not in reached


def test_a_change_must_say_what_it_changes(service: Keeping) -> None:
    for method, path in (("PUT", ""), ("DELETE", ""), ("POST", "/weeks"), ("POST", "/undo")):
        body = SHORT if method == "PUT" else {}
        refused = problem(service.ask(method, f"/v1/terms/autumn{path}", body), 428)
        assert refused["type"] == "/v1/problems/no-condition"


def test_a_term_lives(own: Keeping) -> None:
    first = own.put("autumn", SHORT)
    assert own.ask("PUT", "/v1/terms/autumn", SHORT, if_none_match="*").headers["etag"] == first, "sent again it changes nothing"
    done = own.ask("POST", "/v1/terms/autumn/weeks?on=2026-11-01", {}, if_match=first)
    assert done.json()["done"] == "planned"
    planned = done.headers["etag"]
    told = [{"class": "9B", "unit": "rivers", "lesson": "source", "what": "delivered"}]
    again = own.ask("POST", "/v1/terms/autumn/weeks?on=2026-11-02", {"happened": told}, if_match=planned).json()
    assert again["done"] == "planned again" and next(row["what"] for row in again["term"]["plan"]["lessons"]) == "delivered"
    kept = own.ask("GET", "/v1/terms/autumn")
    assert kept.json() == again["term"]
    assert own.ask("GET", "/v1/terms/autumn", if_none_match=kept.headers["etag"]).status_code == 304
    undone = own.ask("POST", "/v1/terms/autumn/undo", if_match=kept.headers["etag"])
    assert undone.json()["done"] == "undone"
    changes = own.ask("GET", "/v1/terms/autumn/changes?since=1").json()["changes"]
    assert [(each["version"], each["what"], each["by"]) for each in changes] == [
        (2, "week", None), (3, "week", None), (4, "undone", None),
    ]  # fmt: skip
    assert {move["lesson"] for move in changes[0]["moved"]} == {"source", "source-task", "quiz"}
    gone = own.ask("DELETE", "/v1/terms/autumn", if_match=undone.headers["etag"])
    assert gone.status_code == 204
    problem(own.ask("GET", "/v1/terms/autumn"), 404)
    assert own.put("autumn", SHORT).startswith('"6-'), "no version is given twice"
    with closing(sqlite3.connect(own.file)) as connection:
        assert not connection.execute("SELECT * FROM change WHERE moved LIKE '%source%' AND version < 6").fetchall()


def test_what_was_changed_in_between_is_told(own: Keeping) -> None:
    seen = own.put("autumn", SHORT)
    changed = own.ask("PUT", "/v1/terms/autumn", {**SHORT, "title": "Another"}, if_match=seen)
    assert changed.status_code == 200
    late = own.ask("PUT", "/v1/terms/autumn", {**SHORT, "title": "A third"}, if_match=seen)
    refused = problem(late, 412)
    assert refused["current"] == changed.headers["etag"] == late.headers["etag"]
    assert [(each["version"], each["what"]) for each in refused["changes"]] == [(2, "put")]
    assert problem(own.ask("PUT", "/v1/terms/autumn", {**SHORT, "title": "A third"}, if_none_match="*"), 412)["current"]
    assert problem(own.ask("PUT", "/v1/terms/spring", SHORT, if_match=seen), 412)["current"] is None
    assert own.ask("GET", "/v1/terms/autumn").json()["scenario"]["title"] == "Another"
    weak = problem(own.ask("DELETE", "/v1/terms/autumn", if_match=f"W/{refused['current']}"), 412)
    assert weak["detail"].startswith("The term is not")


def test_what_cannot_be_used_changes_nothing(service: Keeping) -> None:
    kept = service.ask("GET", "/v1/terms/autumn")
    tag = kept.headers["etag"]
    unknown = {"happened": [{"class": "9B", "unit": "rivers", "lesson": "estuary", "what": "delivered"}]}
    refused = problem(service.ask("POST", "/v1/terms/autumn/weeks", unknown, if_match=tag), 422)
    assert [each["pointer"] for each in refused["problems"]] == ["/happened/0"]
    beyond = {"happened": [{"class": "9B", "unit": "rivers", "lesson": "source", "what": "delivered", "period": 9}]}
    refused = problem(service.ask("POST", "/v1/terms/autumn/weeks", beyond, if_match=tag), 422)
    assert [each["pointer"] for each in refused["problems"]] == ["/happened/0/period"]
    assert service.ask("GET", "/v1/terms/autumn").headers["etag"] == tag
    assert problem(service.ask("PUT", "/v1/terms/-x", SHORT, if_none_match="*"), 400)["detail"].startswith("A term's name")


def test_a_plan_is_had_in_every_form(service: Keeping) -> None:
    forms = {
        "application/json": b"{",
        "text/html": b"<!DOCTYPE",
        "text/calendar": b"BEGIN",
        "text/csv": b"class",
        XLSX_TYPE: b"PK",
    }
    for accept, begin in forms.items():
        plan = service.ask("GET", "/v1/terms/autumn/plan", accept=accept)
        assert plan.status_code == 200 and plan.content.startswith(begin), accept
        known = service.ask("GET", "/v1/terms/autumn/plan", accept=accept, if_none_match=plan.headers["etag"])
        assert known.status_code == 304 and not known.content
    book = service.ask("GET", "/v1/terms/autumn", accept=XLSX_TYPE)
    assert book.content.startswith(b"PK") and book.headers["etag"].endswith('-xlsx"')
    sheet = service.ask("GET", "/v1/terms/autumn/plan?class=9B&copy=true", accept="text/html").text
    assert "9B" in sheet and "ZZ9" not in sheet


def test_a_book_is_kept_as_the_term_that_it_holds(own: Keeping, service: Keeping) -> None:
    book = service.ask("GET", "/v1/terms/autumn", accept=XLSX_TYPE).content
    kept = own.ask("PUT", "/v1/terms/autumn", book, if_none_match="*", content_type=XLSX_TYPE)
    assert kept.status_code == 201 and kept.json()["plan"] == service.ask("GET", "/v1/terms/autumn").json()["plan"]


def test_terms_are_listed_page_by_page(own: Keeping) -> None:
    for name in ("b", "a", "c"):
        own.put(name, SHORT)
    found, path = [], "/v1/terms?limit=2"
    while path:
        page = own.ask("GET", path).json()
        found.append([each["term"] for each in page["terms"]])
        path = page["next"]
    assert found == [["a", "b"], ["c"]]
    listed = own.ask("GET", "/v1/terms")
    assert listed.json()["terms"][0]["tag"] == own.ask("GET", "/v1/terms/a").headers["etag"]
    assert own.ask("GET", "/v1/terms", if_none_match=listed.headers["etag"]).status_code == 304
    assert service_allows(own, "/v1/terms/a") == "DELETE, GET, HEAD, PUT"


def service_allows(own: Keeping, path: str) -> str:
    return own.ask("PATCH", path).headers["allow"]


def test_what_another_program_knows_is_told_and_then_kept(own: Keeping) -> None:
    tag = own.put("autumn", SHORT)
    table = "kind,name,first,class,weekday,period\nclosure,Snow,2026-11-03,,,\nlesson,,,9B,Wed,4\n"
    told = own.ask("POST", "/v1/terms/autumn/imports", table, content_type="text/csv").json()
    assert told["kept"] is False and told["changed"] == ["closures", "classes"]
    assert [each["line"] for each in told["understood"]] == [2, 3]
    assert own.ask("GET", "/v1/terms/autumn").headers["etag"] == tag
    problem(own.ask("POST", "/v1/terms/autumn/imports?keep=true", table, content_type="text/csv"), 428)
    kept = own.ask("POST", "/v1/terms/autumn/imports?keep=true", table, content_type="text/csv", if_match=tag)
    assert kept.json()["kept"] is True
    after = own.ask("GET", "/v1/terms/autumn")
    assert after.headers["etag"] == kept.headers["etag"] and after.json()["scenario"]["closures"] == [
        {"name": "Snow", "on": "2026-11-03"}
    ]
    again = own.ask("POST", "/v1/terms/autumn/imports?keep=true", table, content_type="text/csv", if_match=kept.headers["etag"])
    assert again.json()["changed"] == [] and again.headers["etag"] == kept.headers["etag"]
    calendar = _EXAMPLES["text/calendar"].replace("UID:1\n", "")
    refused = problem(own.ask("POST", "/v1/terms/autumn/imports", calendar, content_type="text/calendar"), 422)
    assert [each["line"] for each in refused["problems"]] == [4]
    problem(own.ask("POST", "/v1/terms/autumn/imports", "x", content_type="text/plain"), 415)


def test_a_change_that_comes_second_is_worked_out_in_vain(own: Keeping, monkeypatch: pytest.MonkeyPatch) -> None:
    """Between a search and its keeping another change comes: nothing of the search is kept."""
    tag = own.put("autumn", SHORT)
    from api.store import terms

    real = terms.keep

    def late(*arguments: object) -> object:
        monkeypatch.setattr("api.routes.kept.keep", real)
        other = own.ask("PUT", "/v1/terms/autumn", {**SHORT, "title": "Another"}, if_match=tag)
        assert other.status_code == 200
        return real(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr("api.routes.kept.keep", late)
    refused = problem(own.ask("POST", "/v1/terms/autumn/weeks", {}, if_match=tag), 412)
    assert [each["what"] for each in refused["changes"]] == ["put"]
    assert own.ask("GET", "/v1/terms/autumn").json()["plan"] is None


def test_the_tables_are_those_that_the_statements_make(own: Keeping) -> None:
    with closing(sqlite3.connect(own.file)) as connection:
        for each in TABLES:
            made = {row[1] for row in connection.execute(f"PRAGMA table_info({each.name})")}
            assert made == {column.name for column in each.c}
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert connection.execute("SELECT number FROM migration").fetchall() == [(len(MIGRATIONS),)]
        connection.execute("INSERT INTO migration VALUES (?, 'later')", (len(MIGRATIONS) + 1,))
        connection.commit()
    with pytest.raises(BadSetting, match="newer version"):
        Database(str(own.file)).open()


def test_a_store_that_cannot_be_opened_is_told() -> None:
    for address in ("/nowhere/terms.db", "mysql://localhost/terms", "postgresql://"):
        with pytest.raises(BadSetting, match="store"):
            Database(address).open()
