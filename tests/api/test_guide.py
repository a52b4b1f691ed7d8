"""The guide in a browser: every topic as a page without scripts that loads nothing from elsewhere."""

from __future__ import annotations

import re
from functools import cache
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest

from api.guard import OPEN_TO_ALL
from api.settings import Settings
from sequencer import GUIDE, guide_text
from tests.api.browser import fits, opened, serving
from tests.api.service import ask, problem

if TYPE_CHECKING:
    from playwright.sync_api import Browser

LOADED = ("page/sign.svg", "page/page.css", "page/guide.css")
ADDRESSES = ("/guide", *(f"/guide/{topic.name}" for topic in GUIDE))


class Read(HTMLParser):
    """Tags with their attributes, and text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.said = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.said += data


@cache
def read(address: str) -> Read:
    """A page that is there."""
    response = ask("GET", address)
    assert response.status_code == 200, address
    return Read(response.text)


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_page_runs_nothing_and_loads_only_parts_of_the_front(address: str) -> None:
    response = ask("GET", address)
    assert response.status_code == 200 and response.headers["content-type"] == "text/html; charset=utf-8"
    policy = dict(part.strip().split(" ", 1) for part in response.headers["content-security-policy"].split(";"))
    assert policy["default-src"] == policy["form-action"] == policy["frame-ancestors"] == "'none'"
    assert set(policy["style-src"].split()) == {"'self'"} and "script-src" not in policy
    tags = Read(response.text).tags
    assert not [tag for tag, attributes in tags if tag in ("script", "img", "iframe", "form", "style") or "style" in attributes]
    up = "../" if address.count("/") == 2 else ""
    assert {attributes["href"] for tag, attributes in tags if tag == "link"} == {f"{up}{part}" for part in LOADED}


def test_its_parts_are_there_and_a_page_is_html_only() -> None:
    assert all(ask("GET", f"/{part}").status_code == 200 for part in LOADED)
    for address in ("/guide", "/guide/start"):
        assert (ask("HEAD", address).status_code, ask("HEAD", address).content) == (200, b"")
        problem(ask("GET", address, accept="application/json"), 406)


@pytest.mark.parametrize("address", ADDRESSES)
def test_its_links_lead_to_pages_and_headings_that_are_there(address: str) -> None:
    for tag, attributes in read(address).tags:
        if tag != "a":
            continue
        link, _, part = (attributes["href"] or "").partition("#")
        where = {"": address, "./": "/", ".././": "/"}.get(link) or f"/guide/{link.rsplit('/', 1)[-1]}"
        assert where == "/" or not part or part in [found.get("id") for _, found in read(where).tags], link
        assert where == "/" or read(where)


@pytest.mark.parametrize("name", [topic.name for topic in GUIDE])
def test_a_page_says_what_the_file_says(name: str) -> None:
    words = re.compile(r"\w+")
    text = re.sub(r"(?m)^```.*$|^\|[ |:-]*\|$|^ *\d+\. |\]\([^)]*\)|<!--.*?-->", "", guide_text(name) or "")
    said = set(words.findall(read(f"/guide/{name}").said))
    assert set(words.findall(text)) <= said


def test_what_is_no_topic_is_not_found() -> None:
    for name in ("none", "..%2FREADME.md", "README.md"):
        problem(ask("GET", f"/guide/{name}"), 404)


def test_it_needs_no_key_and_the_front_page_links_to_it() -> None:
    assert set(ADDRESSES) <= set(OPEN_TO_ALL)
    assert ask("GET", "/guide/start", settings=Settings(keys="one")).status_code == 200
    assert '<a href="guide">' in ask("GET", "/").text.split("<footer>")[1]


def test_it_fits_a_narrow_screen_and_a_sheet_of_paper(browser: Browser) -> None:
    with serving(Settings()) as address, opened(browser, address, width=390) as page:
        for topic in GUIDE:
            page.goto(f"{address}/guide/{topic.name}")
            assert fits(page), topic.name
            page.emulate_media(media="print")
            assert page.locator("nav").is_hidden()
            assert fits(page), topic.name
            page.emulate_media(media="screen")
