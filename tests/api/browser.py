"""The page in a real browser: an installed Chromium, driven as a person would, by what stands on the screen and by keys."""

from __future__ import annotations

import os
import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import uvicorn

from api.app import create_app
from api.settings import Settings
from tests.api.service import PATIENCE

if TYPE_CHECKING:
    from playwright.sync_api import Browser, ConsoleMessage, Page

CHROMIUM = next((found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None)

_FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

PATIENT = 1000 * PATIENCE


@contextmanager
def serving(settings: Settings) -> Iterator[str]:
    """A service on a free port of this machine only, and its address."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        server = uvicorn.Server(uvicorn.Config(create_app(settings), log_level="error", access_log=False, ws="none"))
        thread = threading.Thread(target=server.run, args=([listening],))
        thread.start()
        try:
            yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join()


@contextmanager
def browsing() -> Iterator[Browser]:
    """A browser without a window."""
    from playwright.sync_api import sync_playwright

    # The browser's own sandbox does not work for the superuser.
    flags = [*_FLAGS, *(["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else [])]
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=flags)
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def opened(browser: Browser, address: str, width: int = 1280) -> Iterator[Page]:
    """The page, freshly opened; afterwards nothing may have failed in it, and nothing may have been asked of another place."""
    context = browser.new_context(viewport={"width": width, "height": 900}, locale="en-GB", reduced_motion="reduce")
    page = context.new_page()
    page.set_default_timeout(PATIENT)
    wrong: list[str] = []
    asked: list[str] = []

    def heard(said: ConsoleMessage) -> None:
        # What the server refuses, or does not answer, is said by the browser too: that is no failure of the page.
        if said.type == "error" and not said.text.startswith("Failed to load resource"):
            wrong.append(said.text)

    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", heard)
    page.on("request", lambda request: asked.append(request.url))
    try:
        page.goto(address)
        yield page
        assert wrong == []
        assert [each for each in asked if not each.startswith((f"{address}/", "blob:", "about:"))] == []
    finally:
        context.close()


def focused(page: Page) -> str:
    """The id of what has the focus, or what it is called where it has none."""
    said: str = page.evaluate("""() => {
        const at = document.activeElement;
        return at.id || at.textContent.trim() || at.tagName;
    }""")
    return said


def tab_to(page: Page, wanted: str, most: int = 40) -> list[str]:
    """Press Tab until something has the focus; every stop on the way is seen, and shows that it has it."""
    stops = []
    for _ in range(most):
        page.keyboard.press("Tab")
        stops.append(focused(page))
        if stops[-1] != "BODY":
            page.wait_for_function("""() => {
                const style = getComputedStyle(document.activeElement);
                return style.outlineStyle === "solid" && style.outlineWidth === "3px";
            }""")
            assert page.evaluate("document.activeElement.getClientRects().length > 0"), stops[-1]
        if stops[-1] == wanted:
            return stops
    raise AssertionError(f"{wanted} is not reached: {stops}")


def fits(page: Page) -> bool:
    """Whether nothing sticks out sideways, so that nobody has to scroll in two directions."""
    return bool(page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"))


def nameless(page: Page) -> list[str]:
    """What can be used or reached and is not called anything by the browser's own account of it to a screen reader."""
    session = page.context.new_cdp_session(page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    used = ("button", "checkbox", "combobox", "Date", "Iframe", "link", "progressbar", "region", "table", "textbox")
    shown = [each for each in nodes if not each["ignored"] and each["role"]["value"] in used]
    assert len(shown) > 5
    return [f"{each['role']['value']} {each['nodeId']}" for each in shown if not each["name"]["value"].strip()]
