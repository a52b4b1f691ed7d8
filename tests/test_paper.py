"""Sheets laid out by a browser, a small sample: ``python -m tests.paper`` looks at those of every demo."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from sequencer import Asked, Shown, around_written, written
from tests.api.browser import CHROMIUM, browsing
from tests.builders import a_class, assessment, practice, scenario, solved, teach
from tests.paper import LEAST_LINES, faults_of, printed

pytest.importorskip("playwright")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium")

if TYPE_CHECKING:
    from playwright.sync_api import Page


@pytest.fixture(scope="module", name="paper")
def the_paper() -> Iterator[Page]:
    """A page of a browser to lay sheets out on."""
    with browsing() as browser:
        yield browser.new_page()


@pytest.fixture(scope="module", name="sheets")
def the_sheets() -> list[str]:
    """Two classes with long titles, a test, notes, bell times and a holiday."""
    lessons = [teach("a", title="How a river makes its valley and what the valley makes of the river", load=4)]
    lessons += [
        practice("p", "a", title="Three maps"),
        assessment("t", title="Test", requires="a", notes=["Bring maps.\nBring pens."]),
    ]
    lessons += [teach(f"l{number}", title=f"Lesson {number} of rivers, coasts and settlements", load=2) for number in range(9)]
    answer = solved(
        scenario(
            lessons,
            weeks=8,
            classes=[a_class("9A", "Mon 1, Thu 1", teacher="Ms Oak"), a_class("9B", "Tue 2, Fri 2", teacher="Ms Oak")],
            title="Rivers",
            holidays=[{"name": "Half term", "first": "2026-11-23", "last": "2026-11-27"}],
            periods=[{"number": 1, "starts": "08:45", "ends": "09:45"}, {"number": 2, "starts": "09:45", "ends": "10:45"}],
        )
    )
    return [str(written(answer, name)) for name in ("sheet", "overview")]


def test_nothing_meets_breaks_or_is_cut_off(paper: Page, sheets: list[str]) -> None:
    assert [fault for sheet in sheets for fault in faults_of(paper, sheet)] == []


def test_a_long_title_of_a_test_meets_nothing_on_a_phone(paper: Page) -> None:
    title = "Should the road through the valley be built, and who is to decide that? A decision with three maps and two letters"
    answer = solved(scenario([assessment("t", title=title)], per_week="Thu 1"))
    assert list(faults_of(paper, str(around_written(answer, "assessments", "sheet", Asked())))) == []


def test_what_is_wrong_is_seen(paper: Page, sheets: list[str]) -> None:
    """A phone with the layout of paper, lines on one another, a box over its text."""
    sheet = sheets[0]
    for spoilt, fault in (
        (sheet.replace("(max-width: 150mm)", "(max-width: 1mm)"), r"screen: \w+ is broken"),
        (sheet.replace("</style>", "td.lesson { line-height: .3 }</style>"), r"print: \w+ meets "),
        (
            sheet.replace("</style>", ".tick .box { margin-left: -20mm }</style>"),
            r"print: .*the box  meets |print: the box .* meets ",
        ),
        (sheet.replace("</style>", ".tick { position: relative; left: 60mm }</style>"), r"print: .* is cut off"),
    ):
        found = list(faults_of(paper, spoilt))
        assert any(re.match(fault, each) for each in found), (fault, found[:5])


def test_no_page_holds_a_line_or_two(paper: Page, sheets: list[str], tmp_path: Path) -> None:
    for sheet in sheets:
        lines = printed(paper, sheet, tmp_path / "sheet.pdf")
        assert all(count >= LEAST_LINES for count in lines[:-1]), lines


@pytest.mark.parametrize(("per_week", "lessons"), [("Mon 1, Tue 1, Wed 1, Thu 1", 36), ("Mon 1", 42)])
def test_what_stands_beneath_a_term_has_the_last_weeks_with_it(paper: Page, per_week: str, lessons: int, tmp_path: Path) -> None:
    """The last week is the last that fits its page, but for what stands beneath it: how good the plan is, and a caution."""
    away = [{"name": "Snow", "first": "2026-11-02", "last": "2026-11-03", "taught": "live"}]
    weeks = lessons // (per_week.count(",") + 1) + 1
    answer = solved(
        scenario([teach(f"l{n}", load=2) for n in range(lessons)], per_week=per_week, weeks=weeks, remote_spells=away)
    )
    lines = printed(paper, str(written(answer, "sheet", Shown(classes=("9B",)))), tmp_path / "sheet.pdf")
    assert len(lines) > 1 and min(lines) >= LEAST_LINES, lines
