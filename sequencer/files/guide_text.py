"""The guide: the README of the project and those of its folders, as a copy holds them or an installation brought them along."""

from __future__ import annotations

from dataclasses import dataclass
from fnmatch import fnmatch
from functools import cache
from importlib.metadata import PackageNotFoundError, files
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]

_SHARED = "share/unit-sequencer/"
"""Where an installation has what lies in no package."""


@dataclass(frozen=True)
class Topic:
    """One page of the guide: what it is asked for by, what it is about in a line, and its file from the top of the project."""

    name: str
    says: str
    path: str


GUIDE = (
    Topic("start", "the job, the commands, a week in the life of a plan, the language and the page in short", "README.md"),
    Topic("language", "everything that a scenario can say", "sequencer/scenario/README.md"),
    Topic("rules", "what each rule and each aim means exactly", "sequencer/rules/README.md"),
    Topic("questions", "explanations, what-ifs, openings, alternatives, plans made again", "sequencer/questions/README.md"),
    Topic("next-term", "last year's scenario on this year's calendar, and the next term", "sequencer/next_term/README.md"),
    Topic("lists", "what to prepare by when, starters, coverage, assessments", "sequencer/questions/lists/README.md"),
    Topic(
        "outlines", "what is done in each lesson, minute by minute, and content cut into lessons", "sequencer/outlines/README.md"
    ),
    Topic("files", "workbooks, sheets, calendars, tables, and plans read back", "sequencer/files/README.md"),
    Topic("batch", "many scenarios at once", "sequencer/workers/README.md"),
    Topic("service", "the JSON API: addresses, settings, limits, what protects it", "api/README.md"),
    Topic("store", "terms that are kept for a school: keys, calendars to subscribe to, copies", "api/store/README.md"),
    Topic("solver", "the model, the search, and why they are as they are", "sequencer/solver/README.md"),
    Topic("periods", "the programme that steps through the periods of a long class", "sequencer/solver/chain/README.md"),
    Topic("prices", "classes that share rules, planned class by class under prices", "sequencer/solver/prices/README.md"),
    Topic("developers", "for whoever changes the program", "DEVELOPERS.md"),
    Topic("tests", "what the tests are held against", "tests/README.md"),
    Topic("measurements", "what was measured, and when", "tests/benchmarks/README.md"),
)


def shipped(pattern: str) -> list[Path]:
    """The files of the project whose path from its top fits, wherever they are here; none where they were not brought along."""
    if (_ROOT / "DEVELOPERS.md").is_file():
        return sorted(_ROOT.glob(pattern))
    try:
        listed = files("unit-sequencer") or ()
    except PackageNotFoundError:
        return []
    return sorted(Path(str(each.locate())) for each in listed if fnmatch(each.as_posix().rpartition(_SHARED)[2], pattern))


@cache
def guide_text(name: str) -> str | None:
    """A page of the guide as it is written, in Markdown; none where there is no such page."""
    path = next((each.path for each in GUIDE if each.name == name), None)
    found = shipped(path) if path is not None else []
    return found[0].read_text(encoding="utf-8") if found else None
