"""The same store in PostgreSQL, begun for these tests: a term's life, several services on one database, an export across."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from api.examples import SCENARIO
from api.settings import BadSetting
from api.store.copies import BadCopy, backup, exported, imported
from api.store.database import Database
from api.store.keys import all_keys
from sequencer import parse_document
from tests.api.kept.keeping import Keeping
from tests.api.kept.test_calendars_kept import test_who_subscribes_holds_the_plan_over_four_plans as over_four_plans
from tests.api.kept.test_terms_kept import test_terms_are_listed_page_by_page as page_by_page
from tests.api.kept.test_terms_kept import test_what_was_changed_in_between_is_told as told_in_between
from tests.api.postgres import Cluster, cluster, is_there
from tests.api.service import problem

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not is_there(), reason="no PostgreSQL is installed")]

SHORT = parse_document(SCENARIO)[0]


@pytest.fixture(name="server", scope="module")
def a_server() -> Iterator[Cluster]:
    pytest.importorskip("psycopg", reason="psycopg is not installed")
    with cluster() as server:
        yield server


@pytest.fixture(name="services")
def two_services(server: Cluster) -> Iterator[tuple[Keeping, Keeping]]:
    both = Keeping(server.address), Keeping(server.address)
    yield both
    with both[0].database.writing() as connection:
        connection.exec_driver_sql("TRUNCATE term, change, access_key, calendar, webhook, delivery CASCADE")
    for each in both:
        each.database.close()


Services = tuple[Keeping, Keeping]


@pytest.mark.parametrize("life", [told_in_between, page_by_page, over_four_plans])
def test_it_keeps_terms_as_a_file_does(services: Services, life: object) -> None:
    life(services[0])  # type: ignore[operator]


def test_what_one_service_keeps_the_other_has(services: Services) -> None:
    one, other = services
    tag = one.put("autumn", SHORT)
    assert other.ask("GET", "/v1/terms/autumn").headers["etag"] == tag
    changed = other.ask("PUT", "/v1/terms/autumn", {**SHORT, "title": "Another"}, if_match=tag)
    assert problem(one.ask("DELETE", "/v1/terms/autumn", if_match=tag), 412)["current"] == changed.headers["etag"]
    key = one.key("administer")
    problem(other.ask("GET", "/v1/terms"), 401)
    assert other.ask("GET", "/v1/terms", key=key).status_code == 200


def test_of_many_changes_of_one_version_one_is_kept(services: Services) -> None:
    tag = services[0].put("autumn", SHORT)

    def change(number: int) -> int:
        return services[number % 2].ask("PUT", "/v1/terms/autumn", {**SHORT, "title": f"{number}"}, if_match=tag).status_code

    with ThreadPoolExecutor(8) as threads:
        answers = sorted(threads.map(change, range(8)))
    assert answers == [200] + [412] * 7
    assert [each["version"] for each in services[0].ask("GET", "/v1/terms/autumn/changes").json()["changes"]] == [1, 2]


def test_several_may_make_the_tables_at_once(server: Cluster) -> None:
    database = Database(server.address)
    with database.writing() as connection:
        connection.exec_driver_sql(
            "DROP TABLE IF EXISTS migration, term, change, access_key, calendar, webhook, delivery CASCADE"
        )
    database.close()

    def opened(_: int) -> bool:
        own = Database(server.address)
        own.open()
        own.close()
        return True

    with ThreadPoolExecutor(6) as threads:
        assert all(threads.map(opened, range(6)))


def test_an_export_goes_from_one_kind_of_store_to_the_other(services: Services, own: Keeping, tmp_path: Path) -> None:
    own.put("autumn")
    own.key("administer")
    exported(own.database, tmp_path / "one")
    assert imported(services[0].database, tmp_path / "one") == 1
    exported(services[0].database, tmp_path / "two")
    for name in ("store.json", "terms/autumn.json"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    assert len(all_keys(services[0].database)) == 1
    with pytest.raises(BadCopy, match="pg_dump"):
        backup(services[0].database, tmp_path / "copy.db")


def test_a_server_that_is_away_is_told() -> None:
    with pytest.raises(BadSetting, match="cannot be opened"):
        Database("postgresql://postgres@127.0.0.1:9/postgres").open()
