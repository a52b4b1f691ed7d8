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


class Hand:
    """Somebody at mouse and keyboard, whose clicks and keystrokes are counted; what is pasted counts as one keystroke."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.clicks = 0
        self.keys = 0

    def click(self, role: str, name: str, exact: bool = False) -> None:
        """Click what is shown under a name."""
        shown = self.page.get_by_role(role, name=name, exact=exact)  # type: ignore[arg-type]
        shown.locator("visible=true").first.click()
        self.clicks += 1

    def choose(self, name: str, value: str) -> None:
        """Choose one of several: a click opens the list, another takes the entry."""
        self.page.get_by_role("combobox", name=name).locator("visible=true").first.select_option(value)
        self.clicks += 2

    def write(self, name: str, text: str) -> None:
        """Click a field and type into it."""
        self.page.get_by_label(name, exact=True).locator("visible=true").first.click()
        self.page.keyboard.type(text)
        self.clicks += 1
        self.keys += len(text)

    def press(self, key: str) -> None:
        """Press one key."""
        self.page.keyboard.press(key)
        self.keys += 1

    def paste(self, name: str, text: str) -> None:
        """Click a field and paste a text into it."""
        self.page.get_by_label(name).locator("visible=true").first.click()
        self.page.keyboard.insert_text(text)
        self.clicks += 1
        self.keys += 1


def look(page: Page, name: str) -> None:
    """Find nothing wrong with a state of the page: by axe-core, in width, and with the names that a screen reader is given.

    Where the environment names a folder under ``PAGE_PICTURES``, a picture of it is kept there.
    """
    if folder := os.environ.get("PAGE_PICTURES"):
        page.screenshot(path=f"{folder}/{page.viewport_size['width'] if page.viewport_size else 0}-{name}.png", full_page=True)
    from axe_playwright_python.base import AXE_FILE_PATH

    if page.evaluate("() => !window.axe"):
        page.evaluate(AXE_FILE_PATH.read_text(encoding="utf-8"))
    # What is in order is not told, nor sent: it would be most of the work.
    violations = page.evaluate("async () => (await axe.run(document, {iframes: false, resultTypes: ['violations']})).violations")
    wrong = [f"{each['id']}: {node['html']}" for each in violations for node in each["nodes"]]
    assert wrong == [], (name, wrong)
    assert nameless(page) == [], name
    assert fits(page), name
