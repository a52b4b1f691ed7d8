"""Who may do what: a key for one class sees nothing of another, by any address; keys are kept as digests and are counted."""

from __future__ import annotations

import ast
import itertools
import json
import logging
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from api import guard
from api.__main__ import main
from api.store import keys
from api.store.access import Rates
from api.store.keys import ADMINISTER, PLAN_CLASS, PLAN_DEPARTMENT, READ_CLASS, ROLES, all_keys, revoke_key
from tests.api.kept.keeping import Keeping
from tests.api.service import description, problem

OTHERS = b"ZZ"
"""What stands in all that is of the other class, and nowhere else."""

Captured = pytest.CaptureFixture[str]


@pytest.fixture(name="term", scope="session")
def a_planned_term(service: Keeping) -> dict[str, Any]:
    """The planned term, so that no other service need plan it."""
    term: dict[str, Any] = service.ask("GET", "/v1/terms/autumn").json()
    return term


@pytest.fixture(name="closed")
def a_service_with_keys(own: Keeping, term: dict[str, Any]) -> Keeping:
    own.put("autumn", term)
    own.put("spring", term)
    own.key(ADMINISTER)
    return own


VALUES = {
    "format": ["json", "text", "sheet", "overview", "calendar", "csv", "xlsx"],
    "class": ["ZZ9", "9B"],
    "teacher": ["ZZ Elm"],
    "week": ["1"],
    "since": ["0"],
    "after": ["aut"],
}
"""What is asked for, that of the other class among it."""


def requests(thorough: bool, names: dict[str, str]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Every method of every address with one value at a time for what it takes; or with all of them together."""
    for path, operations in description()["paths"].items():
        for method, operation in operations.items():
            named = {each["name"] for each in operation.get("parameters", []) if each["in"] == "query"}
            options = [name for name in VALUES if name in named and "/v1/terms" in path]
            if thorough:
                queries = itertools.product(*([(name, value) for value in (None, *VALUES[name])] for name in options))
            else:
                queries = iter([(), *([(name, value)] for name in options for value in VALUES[name])])  # type: ignore[assignment]
            for query in queries:
                asked = "&".join(f"{name}={value}" for name, value in query if value is not None)
                for term in ("autumn", "spring") if "{term}" in path else ("",):
                    target = path.replace("{term}", term)
                    for name, value in names.items():
                        target = target.replace(f"{{{name}}}", value)
                    yield method.upper(), f"{re.sub('{.*?}', 'x', target)}?{asked}", operation
            if method == "get" and "kept terms" in operation["tags"]:
                yield from ((other, target, operation) for other in ("HEAD", "OPTIONS", "PATCH"))


@pytest.mark.parametrize("thorough", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_a_key_for_a_class_reads_nothing_of_another(closed: Keeping, caplog: pytest.LogCaptureFixture, thorough: bool) -> None:
    asked = 0
    closed.app.state.kept.access.rates = Rates(1_000_000)
    every = closed.key(ADMINISTER)
    whole = closed.ask("GET", "/v1/terms/autumn", key=every).headers["etag"]
    calendar = closed.ask("POST", "/v1/terms/autumn/calendars", {"kind": "class", "name": "ZZ9"}, every).json()
    webhook = closed.ask("POST", "/v1/webhooks", {"address": "https://ZZ.example"}, every).json()
    names = {"calendar": calendar["calendar"], "webhook": webhook["webhook"]}
    for role in (READ_CLASS, PLAN_CLASS) if thorough else (PLAN_CLASS,):
        key = closed.key(role, "9B", terms=("autumn",))
        for method, target, operation in requests(thorough, names):
            if "kept terms" not in operation["tags"] and "requestBody" in operation:
                continue  # answers with what is sent
            accepted = {kind for each in operation["responses"].values() for kind in each.get("content", {})} if thorough else ()
            reads = method in ("GET", "HEAD")
            tags = [{"if_none_match": whole}] if reads else [{"if_match": each} for each in ("*", whole)[: 2 if thorough else 1]]
            for accept, sent in itertools.product(("*/*", *sorted(accepted)), tags):
                body: Any = {} if "requestBody" in operation else None
                response = closed.ask(method, target, body, key, accept=accept, **sent)
                asked += 1
                assert OTHERS not in response.content + str(response.headers).encode(), (method, target, accept)
                assert not reads or response.status_code != 304, "the tag of the whole term says nothing of a part"
                if "/spring" in target:
                    assert response.status_code in (400, 403, 404, 405, 406, 422), (method, target, response.text)
    assert asked > 90
    assert "ZZ" not in caplog.text
    assert len(closed.ask("GET", "/v1/terms/autumn/calendars", key=every).json()["calendars"]) == 1
    assert len(closed.ask("GET", "/v1/webhooks", key=every).json()["webhooks"]) == 1


def test_a_term_of_others_is_as_if_it_were_not_there(closed: Keeping) -> None:
    """By status, headers and words, and by how often the database is asked, which is what takes time."""
    counted: list[str] = []
    event.listen(closed.database._engine, "before_cursor_execute", lambda *given: counted.append(given[2]))
    closed.app.state.kept.access.rates = Rates(1_000_000)

    def told(method: str, path: str, key: str) -> tuple[int, str, list[tuple[str, str]], list[str]]:
        counted.clear()
        body = {} if method in ("PUT", "POST") else None
        response = closed.ask(method, path, body, key, if_match="*")
        headers = [each for each in response.headers.items() if each[0] != "x-request-id"]
        text = re.sub(r"[0-9a-f-]{36}|spring|nowhere", "", response.text)
        return response.status_code, text, headers, [each for each in counted if each.startswith("SELECT")]

    for of_terms, of_class in (("autumn", "9B"), (None, "8P")):
        for role in (READ_CLASS, PLAN_CLASS):
            key = closed.key(role, of_class, terms=(of_terms,) if of_terms else ())
            for path, operations in description()["paths"].items():
                for method in (*operations, "head", "options") if "{term}" in path else ():
                    paths = [path.replace("{term}", name).replace("{calendar}", "x") for name in ("spring", "nowhere")]
                    there, not_there = (told(method.upper(), each, key) for each in paths)
                    assert there == not_there and there[0] in (403, 404, 405, 415), (method, path, there)


def test_its_own_class_it_does_read(closed: Keeping) -> None:
    key = closed.key(READ_CLASS, "9B")
    plan = closed.ask("GET", "/v1/terms/autumn/plan", key=key)
    assert sorted(row["lesson"] for row in plan.json()["lessons"]) == ["floods", "quiz", "source", "source-task"]
    sheet = closed.ask("GET", "/v1/terms/autumn/plan", key=key, accept="text/html").text
    assert "Why rivers flood" in sheet and "Watch the back row" not in sheet
    assert [each["classes"] for each in closed.ask("GET", "/v1/terms", key=key).json()["terms"]] == [["9B"], ["9B"]]
    assert closed.ask("GET", "/v1/terms/autumn/changes", key=key).json()["changes"][0]["moved"]
    other = closed.key(READ_CLASS, "8P")
    assert closed.ask("GET", "/v1/terms", key=other).json()["terms"] == []
    problem(closed.ask("GET", "/v1/terms/autumn/plan", key=other), 404)


def test_a_class_is_planned_without_the_others(closed: Keeping) -> None:
    key = closed.key(PLAN_CLASS, "9B", name="Oak's")
    before = closed.ask("GET", "/v1/terms/autumn/plan", key=key)
    rows = before.json()["lessons"]
    whole = closed.ask("GET", "/v1/terms/autumn", key=closed.key(ADMINISTER)).json()
    others = [row for row in whole["plan"]["lessons"] if row["class"] == "ZZ9"]
    # Their first lessons lie before the day that it then is, and nobody has said yet that they took place.
    told = [{**{name: rows[0][name] for name in ("class", "unit", "lesson")}, "what": "lost"}]
    told += [{**{name: row[name] for name in ("class", "unit", "lesson")}, "what": "delivered"} for row in rows[1:2]]
    assert min(row["date"] for row in others) < rows[1]["date"]
    foreign = {"happened": [{**{name: others[0][name] for name in ("class", "unit", "lesson")}, "what": "delivered"}]}
    refused = closed.ask("POST", "/v1/terms/autumn/weeks", foreign, key, if_match=before.headers["etag"])
    assert "9B alone" in problem(refused, 403)["detail"]
    done = closed.ask("POST", "/v1/terms/autumn/weeks?seconds=20", {"happened": told}, key, if_match=before.headers["etag"])
    assert done.json()["done"] == "planned again" and {each["class"] for each in done.json()["changed"]} == {"9B"}
    assert OTHERS not in done.content, "not even the name of a what-if that cannot come any more"
    after = closed.ask("GET", "/v1/terms/autumn", key=closed.key(ADMINISTER)).json()
    assert [row for row in after["plan"]["lessons"] if row["class"] == "ZZ9"] == others
    assert {entry["class"] for entry in after["scenario"]["record"]} == {"9B"}
    assert after["earlier"][0]["plan"]["lessons"][-1] == {
        key: value for key, value in others[-1].items() if value not in (None, [], False)
    }
    # The plan can be shown all the same, and its next tag is that of its own rows.
    shown = closed.ask("GET", "/v1/terms/autumn/plan", key=key)
    assert shown.headers["etag"] == done.headers["etag"] and shown.json()["lessons"] == done.json()["lessons"]
    assert closed.ask("GET", "/v1/terms/autumn/plan", key=closed.key(ADMINISTER), accept="text/html").text.startswith("<!DOCTYPE")
    # Another class's change leaves the tag of this one as it is.
    elm = closed.key(PLAN_CLASS, "ZZ9")
    theirs = [{**{name: others[0][name] for name in ("class", "unit", "lesson")}, "what": "delivered"}]
    assert closed.ask("POST", "/v1/terms/autumn/weeks", {"happened": theirs}, elm, if_match="*").json()["done"] == "planned again"
    assert closed.ask("GET", "/v1/terms/autumn/plan", key=key).headers["etag"] == done.headers["etag"]
    log = closed.ask("GET", "/v1/terms/autumn/changes", key=key).json()["changes"]
    assert log[-1]["by"] == "Oak's" and "From source" not in json.dumps(log)


@pytest.mark.parametrize("change", ["closed", "gone", "elsewhere"])
def test_what_does_not_fit_any_more_is_told_without_another_class(closed: Keeping, term: dict[str, Any], change: str) -> None:
    """Another class's plan does not fit what was set up since: neither a form nor a week quotes it."""
    whole = json.loads(json.dumps(term))
    first, second = (next(row for row in whole["plan"]["lessons"] if row["lesson"] == each) for each in ("zzarch", "zzspit"))
    if change == "closed":
        whole["scenario"]["closures"].append({"name": "ZZ shut", "on": first["date"], "classes": ["ZZ9"]})
    elif change == "gone":
        lessons = whole["scenario"]["units"][1]["lessons"]
        lessons[:] = [each for each in lessons if each["id"] != first["lesson"]]
    else:
        first["date"] = second["date"]
    assert closed.ask("PUT", "/v1/terms/autumn", whole, closed.key(ADMINISTER), if_match="*").status_code == 200
    key = closed.key(PLAN_CLASS, "9B")
    for form in ("sheet", "calendar", "csv", "xlsx"):
        refused = closed.ask("GET", f"/v1/terms/autumn/plan?format={form}", key=key)
        assert "plan it again" in problem(refused, 422)["detail"] and OTHERS not in refused.content
    mine = {"class": "9B", "unit": "rivers", "what": "delivered"}
    told = {"happened": [{**mine, "lesson": "floods"}, {**mine, "lesson": "source"}]}
    week = closed.ask("POST", "/v1/terms/autumn/weeks?seconds=20", told, key, if_match="*")
    assert OTHERS not in week.content and b"zz" not in week.content, week.text
    told["happened"][0]["period"] = 9
    refused = closed.ask("POST", "/v1/terms/autumn/weeks?seconds=20", told, key, if_match="*")
    assert problem(refused, 422)["problems"][0]["pointer"] == "/happened/0/period"


def test_a_role_may_what_the_ones_before_may_and_more(closed: Keeping) -> None:
    may = {
        ("GET", "/v1/terms/autumn/plan"): READ_CLASS,
        ("GET", "/v1/terms"): READ_CLASS,
        ("POST", "/v1/terms/autumn/weeks"): PLAN_CLASS,
        ("GET", "/v1/terms/autumn"): PLAN_DEPARTMENT,
        ("PUT", "/v1/terms/summer"): PLAN_DEPARTMENT,
        ("POST", "/v1/terms/autumn/undo"): PLAN_DEPARTMENT,
        ("GET", "/v1/terms/autumn/calendars"): PLAN_DEPARTMENT,
        ("DELETE", "/v1/terms/autumn"): PLAN_DEPARTMENT,
    }
    for role in ROLES:
        key = closed.key(role, *(["9B"] if role in keys.OF_CLASSES else []))
        for (method, path), least in may.items():
            if ROLES.index(role) < ROLES.index(least):
                body = {} if method in ("PUT", "POST") else None
                assert problem(closed.ask(method, path, body, key, if_match="*"), 403)["type"] == "/v1/problems/not-allowed"
            elif method == "GET":
                assert closed.ask(method, path, key=key).status_code == 200


def test_where_there_are_keys_nobody_comes_in_without(closed: Keeping) -> None:
    for key in ("", "x", "sequencer-00000000-x", keys.MARK, "sequencer--"):
        refused = closed.ask("GET", "/v1/terms", key=key)
        assert problem(refused, 401)["type"] == "/v1/problems/no-key" and refused.headers["www-authenticate"] == "Bearer"
    assert problem(closed.ask("POST", "/v1/sequences", {}), 401)
    assert closed.ask("GET", "/healthz").status_code == 200 and closed.ask("GET", "/").status_code == 200
    key = closed.key(READ_CLASS, "9B", name="page")
    assert closed.ask("GET", "/v1/formats", key=key).status_code == 200
    problem(closed.ask("GET", "/v1/terms", key=key[:-1] + ("A" if key[-1] != "A" else "B")), 401)
    revoke_key(closed.database, key.split("-")[1])
    problem(closed.ask("GET", "/v1/terms", key=key), 401)
    assert {each["name"]: each["revoked"] is not None for each in all_keys(closed.database)} == {"a key": False, "page": True}


def test_keys_of_the_settings_open_nothing_that_is_kept(tmp_path: Path) -> None:
    service = Keeping(tmp_path / "terms.db", keys="one")
    assert problem(service.ask("GET", "/v1/terms"), 401)
    assert service.ask("GET", "/v1/terms", key="one").status_code == 200, "as long as the store has no keys"
    own = service.key(ADMINISTER)
    assert service.ask("GET", "/v1/terms", key=own).status_code == 200
    assert service.ask("GET", "/v1/formats", key="one").status_code == 200
    assert "store's own keys" in problem(service.ask("GET", "/v1/terms", key="one"), 403)["detail"]
    service.database.close()


def test_a_key_is_used_so_often_and_no_more(tmp_path: Path) -> None:
    service = Keeping(tmp_path / "terms.db", uses_a_minute=3)
    key, other = service.key(READ_CLASS, "9B"), service.key(READ_CLASS, "9B")
    answers = [service.ask("GET", "/v1/terms", key=key) for _ in range(4)]
    assert [each.status_code for each in answers] == [200, 200, 200, 429]
    assert problem(answers[3], 429)["type"] == "/v1/problems/too-often" and 1 <= int(answers[3].headers["retry-after"]) <= 20
    assert service.ask("GET", "/v1/terms", key=other).status_code == 200
    service.database.close()


def test_a_secret_is_kept_nowhere(closed: Keeping, caplog: pytest.LogCaptureFixture) -> None:
    for name in ("api", "sequencer", "sqlalchemy"):
        caplog.set_level(logging.DEBUG, name)
    key = closed.key(ADMINISTER, name="head")
    made = closed.ask("POST", "/v1/terms/autumn/calendars", {"kind": "class", "name": "9B"}, key)
    secret = made.json()["address"].removeprefix("/v1/calendars/").removesuffix(".ics")
    answers = [closed.ask("GET", path, key=key) for path in ("/v1/terms", "/v1/terms/autumn/changes", "/nothing")]
    answers += [closed.ask("GET", "/v1/terms", key=key + "x"), closed.ask("GET", made.json()["address"] + "x", key=key)]
    answers += [closed.ask("GET", "/v1/terms/autumn/calendars", key=key), closed.ask("GET", "/")]
    kept = b"".join(path.read_bytes() for path in closed.file.parent.iterdir())
    told = kept + caplog.text.encode() + b"".join(each.content + str(each.headers).encode() for each in answers)
    for each in (key.split("-", 2)[2], secret):
        assert len(each) >= 43 and each.encode() not in told
    with closing(sqlite3.connect(closed.file)) as connection:
        assert {len(digest) for (digest,) in connection.execute("SELECT digest FROM access_key")} == {64}


def test_digests_are_compared_in_constant_time() -> None:
    """Wherever a digest is looked at, ``compare_digest`` looks."""
    for file in (Path(keys.__file__), Path(guard.__file__)):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Compare):
                looked_at = {ast.unparse(each) for each in (node.left, *node.comparators)}
                assert not [each for each in looked_at if re.search(r"_digest\(|\['digest'\]|^(secret|brought)$", each)], (
                    looked_at
                )
    assert "hmac.compare_digest(_digest(secret)" in Path(keys.__file__).read_text(encoding="utf-8")


def test_keys_are_made_listed_and_revoked_by_command(tmp_path: Path, capsys: Captured) -> None:
    store = ["--store", str(tmp_path / "terms.db")]
    assert main(["keys", "make", "wall display", "--class", "9B", "--term", "autumn", *store]) == 0
    key, told = capsys.readouterr().out.splitlines()
    public = key.split("-")[1]
    assert key.startswith("sequencer-") and public in told
    assert main(["keys", "list", *store]) == 0
    listed = capsys.readouterr().out
    assert f"{public}  wall display: read a class of 9B in autumn" in listed and "last used never" in listed and key not in listed
    assert main(["keys", "revoke", public, *store]) == 0
    assert main(["keys", "revoke", public, *store]) == 2
    assert main(["keys", "make", "all", "--role", "plan-a-class", *store]) == 2
    assert "Name the classes" in capsys.readouterr().err
    assert main(["--store", str(tmp_path / "other.db"), "--host", "0.0.0.0"]) == 2
    assert "make one (python -m api keys make" in capsys.readouterr().err
