"""One service with a planned term of two classes, for the tests that change nothing that another one looks at."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.api.kept.keeping import Keeping, keeping


@pytest.fixture(name="service", scope="session")
def the_service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Keeping]:
    with keeping(tmp_path_factory.mktemp("store")) as service:
        tag = service.put("autumn")
        done = service.ask("POST", "/v1/terms/autumn/weeks?on=2026-11-01&seconds=20", {}, if_match=tag)
        assert done.json()["done"] == "planned"
        yield service


@pytest.fixture(name="own")
def a_service_of_its_own(tmp_path: Path) -> Iterator[Keeping]:
    with keeping(tmp_path) as service:
        yield service
