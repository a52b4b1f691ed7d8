"""A browser, and a service for it, shared by the tests of a module; without a browser such tests are skipped."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from api.settings import Settings
from tests.api.browser import CHROMIUM, browsing, serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(name="browser", scope="module")
def the_browser() -> Iterator[Browser]:
    pytest.importorskip("playwright", reason="playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("no Chromium is installed")
    with browsing() as browser:
        yield browser


@pytest.fixture(name="address", scope="module")
def the_address() -> Iterator[str]:
    with serving(Settings(running=1)) as address:
        yield address
