"""A whole term on the page, driven in Chromium from nothing: a first plan, three Fridays, a what-if, an undo, the next term.

Skipped where no Chromium is installed (Debian's package is ``chromium``) or playwright is not.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.api.browser import CHROMIUM, Hand, look, opened

pytest.importorskip("playwright", reason="playwright is not installed")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed")

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Browser, Page

LESSONS = """\
Waves that build and destroy
Weathering and mass movement
Headlands and bays (hard)
A labelled cliff sketch (practice)
Longshore drift (hard)
Drift on a map (practice)
What we know so far (quiz)
Beach profiles
Walls or sand?
Let the sea in?
Coasts in the news (optional)
Writing about a coast
Coasts test
Test talked through (feedback)
"""
"""Fourteen lessons; one of them does not say that it is a test."""

NEXT = "Rivers:\nFrom source to mouth\nMeanders (hard)\nA map of a meander (practice)\n"

CELLS = (
    "week A, Mon period 2", "week A, Tue period 3", "week A, Wed period 1", "week A, Fri period 4",
    "week B, Mon period 1", "week B, Wed period 2", "week B, Thu period 5",
)  # fmt: skip


def first_plan(hand: Hand) -> None:
    """One class, fourteen pasted lessons, two remote weeks with two live lessons each, a bank holiday; planned and printed."""
    page = hand.page
    page.evaluate("() => { window.printed = 0; window.print = () => { window.printed += 1; }; }")
    # The same date in whatever order the browser asks for day and month.
    hand.write("First day", "05052027")
    hand.write("Last day", "07072027")
    hand.choose("The timetable", "A")
    hand.write("Country or part of it, for bank holidays", "England")
    hand.press("Tab")
    hand.click("button", "Take it off")
    for week in ("17 May", "7 Jun"):
        hand.choose(f"How lessons are taught in the week of {week}", "remote")
        hand.choose(f"Live lessons of each class in the week of {week}", "2")
    hand.write("Its name", "9B")
    for cell in CELLS:
        hand.click("checkbox", cell)
    hand.paste("Its lessons, one to a line", LESSONS)
    page.get_by_text("Understood: 13 lessons; 2 lines need a look.").first.wait_for()
    look(page, "begin")
    hand.click("button", "Yes, line 13: Coasts test (test)")
    page.get_by_text("Understood: 14 lessons.").first.wait_for()
    hand.click("button", "Make the plan")
    page.locator("#aims-list tr").first.wait_for()


def plan_rows(page: Page) -> list[str]:
    return [row.replace("\t", " ") for row in page.locator("#plan tbody tr").all_inner_texts()]


def plan_again(hand: Hand, name: str) -> str:
    """Plan the rest again, and take what moves; return what is said of it."""
    hand.click("button", "Plan the rest again")
    hand.page.locator("#moves").wait_for()
    said = hand.page.locator("#moves").inner_text()
    look(hand.page, name)
    hand.click("button", "Take this plan")
    hand.page.locator("#moves").wait_for(state="hidden")
    return said


def kept(page: Page) -> Any:
    """What saving hands over."""
    with page.expect_download() as coming:
        page.get_by_role("button", name="Save", exact=True).click()
    return coming.value


@pytest.mark.parametrize("width", [1280, pytest.param(390, marks=pytest.mark.slow)])
def test_a_term_from_nothing_to_the_next(
    browser: Browser, address: str, width: int, record_property: Callable[[str, object], None]
) -> None:
    with opened(browser, address, width) as page:
        page.evaluate("() => { window.showSaveFilePicker = undefined; }")
        hand = Hand(page)
        look(page, "empty")
        first_plan(hand)
        assert page.locator("#verdict").inner_text().startswith("Proven best")
        rows = plan_rows(page)
        assert "Mon 31 May: Spring Bank Holiday" in "\n".join(rows)
        for remote in ("17 May", "7 Jun"):
            start = next(place for place, row in enumerate(rows) if f"from {remote}" in row)
            week = rows[start + 1 :][: next((at for at, row in enumerate(rows[start + 1 :]) if row.startswith("Week")), None)]
            assert sum("· live" in row for row in week) >= 2
        hand.click("button", "Print the sheets")
        page.locator("#sheet-box").wait_for()
        assert "Headlands and bays" in page.frame_locator("#sheet").locator("body").inner_text()
        print(f"at {width} px, up to the printed plan: {hand.clicks} clicks, {hand.keys} keys")
        record_property("clicks and keys up to the printed plan", (hand.clicks, hand.keys))
        assert hand.clicks <= 60 and hand.keys <= 80
        look(page, "term")

        # The first Friday: on Wednesday nothing took place.
        hand.click("link", "This week")
        page.get_by_label("or nothing took place on").select_option("2027-05-05")
        hand.click("button", "Everything else was taught")
        look(page, "week")
        hand.click("button", "Print this week")
        assert page.evaluate("() => window.printed") == 1
        said = plan_again(hand, "moves")
        assert "Waves that build and destroy" in said and "move" in said

        # The second: a lesson was begun and not finished.
        hand.click("button", "The week after")
        page.get_by_role("combobox", name="What happened to").first.select_option("part-taught")
        hand.click("button", "Everything else was taught")
        assert "(rest)" in plan_again(hand, "moves-part-taught")

        # The third: the test is moved, and held on its new day.
        hand.click("link", "The term")
        hand.click("button", "Coasts test", exact=True)
        look(page, "lesson")
        hand.click("button", "Put it on Wed 16 Jun, period 1")
        page.locator("#tried").wait_for()
        look(page, "tried")
        hand.click("button", "Hold it there and plan the rest again")
        page.locator("#moves").wait_for()
        hand.click("button", "Take this plan")
        page.get_by_text("held there").first.wait_for()
        assert any("Wed 16 Jun" in row and "Coasts test" in row for row in plan_rows(page))

        # What if a day of June is closed? It is compared, and taken over; then not, after all.
        hand.click("link", "What if")
        page.locator("#could-first").fill("2027-05-26")
        hand.click("button", "Add it to the list")
        page.locator("#could-what").select_option("remote")
        page.locator("#could-first").fill("2027-06-28")
        page.locator("#could-last").fill("2027-07-02")
        hand.click("button", "Add it to the list")
        page.locator("#until").fill("2027-05-21")
        look(page, "what-if")
        hand.click("button", "Compare")
        page.wait_for_function("() => document.activeElement.id === 'compared-head'")
        assert "Closed Wed 26 May" in page.locator("#compared-names").inner_text()
        look(page, "compared")
        hand.click("button", "Take over: Closed Wed 26 May")
        page.locator("#moves").wait_for()
        hand.click("button", "Take this plan")
        page.get_by_text("Wed 26 May: Closed Wed 26 May").first.wait_for()
        hand.click("button", "Undo: take over Closed Wed 26 May")
        page.get_by_text("Wed 26 May: Closed Wed 26 May").first.wait_for(state="detached")

        # The next term is begun, with what is left over and new lessons.
        hand.click("link", "Next term")
        page.locator("#next-first").fill("2027-09-06")
        page.locator("#next-last").fill("2027-10-22")
        hand.click("button", "See what comes along")
        page.locator("#rolled").wait_for()
        hand.paste("New lessons of 9B, one to a line", NEXT)
        page.get_by_text("Understood: 3 lessons.").first.wait_for()
        look(page, "next")
        saved = kept(page)
        assert saved.suggested_filename.endswith(".xlsx")
        hand.click("button", "Make the plan of the next term")
        page.get_by_role("button", name="From source to mouth").wait_for()
        assert page.locator("#called").inner_text() == "9B: 6 Sep to 22 Oct 2027"
        weeks = [row for row in plan_rows(page) if row.startswith("Week")]
        assert weeks[0].startswith("Week 1 ") and weeks[0].endswith("from 6 Sep")
        look(page, "next-term")


def test_where_no_plan_exists_ways_out_are_taken_over_and_put_back(browser: Browser, address: str) -> None:
    with opened(browser, address) as page:
        hand = Hand(page)
        page.locator("summary", has_text="Or begin with").click()
        page.locator("#demo-take:enabled").wait_for()
        page.get_by_label("An example").select_option("no-sequence")
        look(page, "other-ways")
        hand.click("button", "Use this example")
        page.locator("#no-plan").wait_for()
        page.get_by_text("Each was tried, and gives a plan by itself.").first.wait_for()
        assert page.locator("#no-plan-why li").count() >= 2
        look(page, "no-plan")
        planned = page.get_by_role("button", name="Plan with what was taken over")
        assert planned.is_disabled()
        hand.click("button", "Take it over")
        assert planned.is_enabled()
        hand.click("button", "Put it back")
        assert planned.is_disabled()
        hand.click("button", "Take it over")
        planned.click()
        page.locator("#aims-list tr").first.wait_for()
        assert "best" in page.locator("#verdict").inner_text()
        hand.click("button", "Undo: the first plan")
        page.locator("#begin").wait_for()


def test_a_lesson_says_where_else_it_could_lie_and_is_held(browser: Browser, address: str) -> None:
    with opened(browser, address) as page:
        hand = Hand(page)
        use_example(page, "small")
        page.get_by_role("button", name="Land use in a town").click()
        assert page.evaluate("() => document.activeElement.id") == "lesson-head"
        hand.click("button", "Why there, and where else?")
        page.get_by_text("other periods").first.wait_for()
        assert "cannot be: " in page.locator("#places").inner_text()
        look(page, "elsewhere")
        hand.click("button", "Hold it there")
        assert page.get_by_role("button", name="Let it move again").get_attribute("aria-pressed") == "true"
        hand.click("button", "Back to the plan")
        assert "held there" in page.locator("#plan").inner_text()
        hand.click("button", "Undo: hold Land use in a town")
        assert "held there" not in page.locator("#plan").inner_text()


def use_example(page: Page, name: str) -> None:
    page.locator("summary", has_text="Or begin with").click()
    page.locator("#demo-take:enabled").wait_for()
    page.get_by_label("An example").select_option(name)
    page.get_by_role("button", name="Use this example").click()
    page.locator("#aims-list tr").first.wait_for()


def test_a_term_is_written_in_place_and_opened_again(browser: Browser, address: str, tmp_path: Path) -> None:
    with opened(browser, address) as page:
        page.evaluate("""() => {
            window.written = [];
            const writing = {write: async (blob) => window.written.push(await blob.text()), close: async () => {}};
            window.showSaveFilePicker = async () => ({name: "autumn.json", createWritable: async () => writing});
        }""")
        use_example(page, "small")
        asked: list[str] = []
        page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
        page.close(run_before_unload=True)
        page.wait_for_timeout(300)
        assert asked == ["beforeunload"]
        page.get_by_role("button", name="Save", exact=True).click()
        page.get_by_text("Saved as autumn.").first.wait_for()
        page.get_by_role("button", name="Save", exact=True).click()
        page.wait_for_function("() => window.written.length === 2")
        term = json.loads(page.evaluate("() => window.written[1]"))
        assert term["scenario"]["title"].startswith("8P") and len(term["plan"]["lessons"]) == 8
        (tmp_path / "autumn.json").write_text(json.dumps(term), encoding="utf-8")
    with opened(browser, address) as page:
        page.locator("summary", has_text="Or begin with").click()
        page.set_input_files("#file", tmp_path / "autumn.json")
        page.locator("#week-list tr").first.wait_for()
        assert "8P" in page.locator("#called").inner_text()
        page.get_by_role("link", name="The term").click()
        assert "as it stands" in page.locator("#verdict").inner_text()
