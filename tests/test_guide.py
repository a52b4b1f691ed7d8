"""The guide from the command line: every topic is there, comes with an installation, and its links lead somewhere."""

from __future__ import annotations

import posixpath
import re
import tomllib
from fnmatch import fnmatch
from pathlib import Path

import pytest

from sequencer import GUIDE, Topic, guide_text
from sequencer.__main__ import main

ROOT = Path(__file__).resolve().parent.parent
LONGEST = {"start": 250, "developers": 250, "measurements": 300}
"""The most lines of a page, where not 200: the first two are those that everybody reads."""


def test_without_a_topic_it_lists_them(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["guide"]) == 0
    told = capsys.readouterr().out
    assert all(f"  {topic.name} " in told and topic.says in told for topic in GUIDE)


@pytest.mark.parametrize("topic", GUIDE, ids=lambda topic: topic.name)
def test_a_topic_is_printed_as_it_is_written(topic: Topic, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["guide", topic.name]) == 0
    assert capsys.readouterr().out == (ROOT / topic.path).read_text(encoding="utf-8") == guide_text(topic.name)


def test_what_is_no_topic_is_refused_with_those_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["guide", "none"])
    told = capsys.readouterr().err
    assert ended.value.code == 2 and all(topic.name in told for topic in GUIDE)


@pytest.mark.parametrize("topic", GUIDE, ids=lambda topic: topic.name)
def test_a_page_is_short_enough_to_be_read(topic: Topic) -> None:
    assert (guide_text(topic.name) or "").count("\n") <= LONGEST.get(topic.name, 200)


def test_every_folder_with_a_page_is_a_topic() -> None:
    written = {path.relative_to(ROOT).as_posix() for room in ("sequencer", "api") for path in (ROOT / room).rglob("README.md")}
    assert written <= {topic.path for topic in GUIDE}


@pytest.mark.parametrize("topic", GUIDE, ids=lambda topic: topic.name)
def test_an_installation_brings_the_page_along(topic: Topic) -> None:
    tools = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    package, _, inside = topic.path.partition("/")
    if package in tools["package-data"]:
        assert any(fnmatch(inside, each) for each in tools["package-data"][package])
    else:
        folder = posixpath.join("share/unit-sequencer", posixpath.dirname(topic.path)).rstrip("/")
        assert topic.path in tools["data-files"][folder]


@pytest.mark.parametrize("topic", GUIDE, ids=lambda topic: topic.name)
def test_its_links_lead_to_files_and_headings_that_are_there(topic: Topic) -> None:
    text = (ROOT / topic.path).read_text(encoding="utf-8")
    for link in re.findall(r"\]\(([^)]+)\)", re.sub(r"```.*?```", "", text, flags=re.DOTALL)):
        path, _, part = link.partition("#")
        there = (ROOT / topic.path).parent / path if path else ROOT / topic.path
        assert there.exists(), link
        if part:
            heads = re.findall(r"^#+ (.*)$", there.read_text(encoding="utf-8"), re.MULTILINE)
            assert part in [re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-") for head in heads], link
