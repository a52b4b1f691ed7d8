"""The page driven in Chromium: examples, a file and a workbook with problems, a closure, the keyboard, a key, narrow screens.

Skipped where no Chromium is installed (Debian's package is ``chromium``) or playwright is not.
"""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import openpyxl
import pytest

from api.settings import Settings
from sequencer import (
    FORMATS,
    SolveSettings,
    UnusableInput,
    answer_json,
    compare,
    comparison_json,
    load_comparison,
    load_scenario,
    parse_document,
    read_scenario,
    scenario_contents,
    solve,
    write_blank,
)
from tests.api.browser import CHROMIUM, browsing, fits, focused, nameless, opened, serving, tab_to
from tests.api.service import SCENARIOS, SMALL

pytest.importorskip("playwright", reason="playwright is not installed")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed")

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Route

DEMOS = sorted(path.stem for path in SCENARIOS.glob("*.yaml"))
QUICK = ("no-sequence", "small")

WRONG = SMALL.replace(b"last: 2026-11-20", b"last: 2026-11-31").replace(b"load: 2", b"load: 0", 1)


@pytest.fixture(name="browser", scope="module")
def the_browser() -> Iterator[Browser]:
    with browsing() as browser:
        yield browser


@pytest.fixture(name="address", scope="module")
def the_address() -> Iterator[str]:
    with serving(Settings(running=1)) as address:
        yield address


@pytest.fixture(name="page")
def the_page(browser: Browser, address: str) -> Iterator[Page]:
    with opened(browser, address) as page:
        yield page


def choose(page: Page, demo: str) -> None:
    page.locator("#demo-take:enabled").wait_for()
    page.get_by_label("An example").select_option(demo)
    page.get_by_role("button", name="Use this example").click()
    page.get_by_text("Read without a problem").wait_for()


def find(page: Page, seconds: int = 60) -> None:
    page.get_by_label("Look for at most").select_option(str(seconds))
    page.get_by_role("button", name="Find the best sequence").click()
    page.locator("#plan").wait_for(timeout=1000 * (3 * seconds + 60))
    page.locator("#take li").first.wait_for()


def lesson_rows(page: Page) -> list[str]:
    return [row for row in page.locator("#lessons tbody tr:not(.week)").all_inner_texts() if "spare" not in row]


@pytest.mark.parametrize("demo", [name if name in QUICK else pytest.param(name, marks=pytest.mark.slow) for name in DEMOS])
def test_an_example_from_choosing_it_to_every_form_of_it(page: Page, demo: str) -> None:
    scenario = read_scenario(SCENARIOS / f"{demo}.yaml")
    choose(page, demo)
    assert page.locator("#read-head").inner_text() == scenario.title
    find(page)
    offered = page.locator("#take button")
    if demo == "no-sequence":
        assert "No sequence exists" in page.locator("#verdict").inner_text()
        assert "line 37" in (page.locator("#why").text_content() or "")
        assert [each.inner_text() for each in offered.all()] == ["JSON", "Text"]
        with page.expect_download() as coming:
            offered.last.click()
        assert "No sequence exists" in Path(coming.value.path()).read_text(encoding="utf-8")
        assert page.locator("#closure").is_hidden()
        return
    assert page.locator("#verdict").inner_text().startswith(("Proven best", "Best found"))
    files = {}
    for button in offered.all():
        with page.expect_download() as coming:
            button.click()
        files[coming.value.suggested_filename] = Path(coming.value.path()).read_bytes()
    assert len(files) == len(FORMATS) == len({name.rsplit(".")[-1] for name in files}) + 1  # two of them are HTML
    answer = json.loads(files[f"{demo}.json"])
    assert files[f"{demo}.ics"].count(b"BEGIN:VEVENT") == len(answer["lessons"])
    assert {each.id for each in scenario.classes} <= set(openpyxl.load_workbook(io.BytesIO(files[f"{demo}.xlsx"])).sheetnames)
    aims = [cells.split("\t")[:2] for cells in page.locator("#aims-list tr").all_inner_texts()]
    assert [(name.lower(), int(value)) for name, value in aims] == [(each["aim"], each["value"]) for each in answer["aims"]]
    for each in scenario.classes:
        if len(scenario.classes) > 1:
            page.get_by_label("Class", exact=True).select_option(each.id)
        titles = [lesson["title"] for lesson in answer["lessons"] if lesson["class"] == each.id]
        rows = lesson_rows(page)
        assert len(rows) == len(titles)
        assert all(title in row for title, row in zip(titles, rows, strict=True))
    page.get_by_role("button", name="Show the sheet").click()
    page.get_by_role("button", name="Print the sheet").wait_for()
    assert "Week 1" in page.frame_locator("#sheet").locator("body").inner_text()


def test_the_sheet_keeps_its_own_style_and_runs_nothing(page: Page) -> None:
    choose(page, "small")
    find(page)
    page.get_by_role("button", name="Show the sheet").click()
    page.get_by_role("button", name="Print the sheet").wait_for()
    table = page.frame_locator("#sheet").locator("table").first
    assert table.evaluate("each => getComputedStyle(each).borderCollapse") == "collapse"
    assert "allow-scripts" not in (page.locator("#sheet").get_attribute("sandbox") or "")
    page.get_by_role("button", name="Hide the sheet").click()
    assert page.locator("#sheet").is_hidden()


def test_a_file_with_problems_names_their_lines(page: Page) -> None:
    page.set_input_files("#file", {"name": "bad.yaml", "mimeType": "", "buffer": WRONG})
    page.locator("#wrong").wait_for()
    with pytest.raises(UnusableInput) as unusable:
        load_scenario(WRONG)
    expected = [f"line {each.line}, column {each.column}\t{each.where} {each.message}" for each in unusable.value.problems]
    assert len(expected) == 2
    assert page.locator("#wrong-list tr").all_inner_texts() == expected
    assert focused(page) == "wrong-head"
    assert page.locator("#search").is_hidden()
    # Put right and chosen again, under the same name.
    page.set_input_files("#file", {"name": "bad.yaml", "mimeType": "", "buffer": SMALL})
    page.locator("#search").wait_for()
    assert page.locator("#wrong").is_hidden()


def test_a_workbook_with_problems_names_their_cells_and_one_without_is_planned(page: Page, tmp_path: Path) -> None:
    path = tmp_path / "autumn.xlsx"
    write_blank(path, scenario_contents(read_scenario(SCENARIOS / "small.yaml")))
    book = openpyxl.load_workbook(path)
    book["Term"]["B3"] = "soon"
    book.save(tmp_path / "bad.xlsx")
    page.set_input_files("#file", tmp_path / "bad.xlsx")
    page.locator("#wrong").wait_for()
    ((place, said),) = (row.split("\t") for row in page.locator("#wrong-list tr").all_inner_texts())
    assert place == "sheet Term, cell B3" and said.startswith("must be a date")
    page.set_input_files("#file", path)
    page.locator("#search").wait_for()
    find(page)
    best = answer_json(solve(read_scenario(SCENARIOS / "small.yaml"), SolveSettings(60)))
    assert len(lesson_rows(page)) == len(best["lessons"])
    assert page.locator("#verdict").inner_text().startswith("Proven best")


def test_what_is_no_scenario_is_refused_in_words(page: Page) -> None:
    page.set_input_files("#file", {"name": "photo.png", "mimeType": "image/png", "buffer": b"png"})
    page.locator("#wrong").wait_for()
    assert "must end in .yaml, .json or .xlsx" in page.locator("#wrong-says").inner_text()
    # Dropped on the page it goes the same way.
    dropped = page.evaluate_handle("""() => {
        const all = new DataTransfer();
        all.items.add(new File(["no: 1"], "x.yml"));
        return all;
    }""")
    page.dispatch_event("#drop", "drop", {"dataTransfer": dropped})
    page.get_by_text("things to put right").or_(page.get_by_text("thing to put right")).wait_for()
    assert page.locator("#wrong-head").inner_text().startswith("x.yml")


def test_a_closure_is_put_beside_the_plan(page: Page) -> None:
    choose(page, "small")
    find(page)
    page.get_by_role("button", name="Compare").click()
    assert page.locator("#closed-wrong").inner_text() == "Say which day is closed."
    assert focused(page) == "closed-first"
    page.get_by_label("First day closed").fill("2026-11-09")
    page.get_by_role("button", name="Compare").click()
    page.locator("#compared").wait_for()
    assert focused(page) == "compared-head"
    assert page.locator("#compared-head").inner_text() == "Closed Mon 9 Nov 2026"

    change = {"change": "add closure", "closure": {"name": "Closed", "on": "2026-11-09"}}
    body = {"scenario": parse_document(SMALL)[0], "what_ifs": [{"name": "closed", "changes": [change]}]}
    closed = comparison_json(compare(load_comparison(json.dumps(body)), SolveSettings(60), close=True))["what_ifs"][0]
    rows = dict(row.split("\t", 1) for row in page.locator("#compared-list tr").all_inner_texts())
    assert rows["Sequence"] == "proven best\tproven best"
    assert rows["Lessons moved"] == f"–\t{closed['moved']}"
    assert rows["Periods lost"] == f"–\t{sum(len(each['lost']) for each in closed['periods'])}"
    assert {aim["aim"]: f"{aim['base_value']}\t{aim['value']}" for aim in closed["aims"]}.items() <= {
        name.lower(): values for name, values in rows.items()
    }.items()
    assert page.locator("#moves tbody tr").count() == closed["moved"] == 2
    assert page.locator("#compared-base").inner_text() == "As planned"
    assert page.locator("#compared-anew").is_hidden()
    assert page.locator("#compared-says").inner_text() == "2 lessons move; no plan moves fewer."


def test_a_comparison_with_another_plan_than_the_one_shown_says_so(page: Page) -> None:
    """A comparison searches for itself, and where time is short it may come to less than the plan on the page."""

    def worse(route: Route) -> None:
        found = route.fetch().json()
        found["base"]["aims"][-1]["value"] += 1
        route.fulfill(json=found)

    choose(page, "small")
    find(page)
    page.route("**/v1/comparisons*", worse)
    page.get_by_label("First day closed").fill("2026-11-09")
    page.get_by_role("button", name="Compare").click()
    page.locator("#compared").wait_for()
    assert page.locator("#compared-base").inner_text() == "Open"
    assert page.locator("#compared-anew").is_visible()


def test_a_server_that_is_gone_or_busy_is_said_in_words(page: Page) -> None:
    choose(page, "small")
    page.route("**/v1/sequences*", lambda route: route.abort())
    page.get_by_role("button", name="Find the best sequence").click()
    page.get_by_role("heading", name="The server does not answer").wait_for()
    assert focused(page) == "failed-head"
    busy = {"title": "Service Unavailable", "status": 503, "detail": "As many requests as this server takes are being worked on."}
    page.unroute("**/v1/sequences*")
    page.route("**/v1/sequences*", lambda route: route.fulfill(status=503, json=busy, headers={"Retry-After": "10"}))
    page.get_by_role("button", name="Find the best sequence").click()
    page.get_by_role("heading", name="The server is busy").wait_for()
    assert page.locator("#failed-says").inner_text().endswith("Try again in 10 seconds.")


def test_a_closure_that_leaves_no_sequence_says_why(page: Page) -> None:
    choose(page, "small")
    find(page)
    page.get_by_label("First day closed").fill("2026-11-12")
    page.get_by_role("button", name="Compare").click()
    page.locator("#compared").wait_for()
    assert page.locator("#compared-says").inner_text() == "With this closure no sequence exists."
    assert "no class meets on Thu 12 Nov 2026" in (page.locator("#moves").text_content() or "")
    # Tue 10 Nov is closed already.
    page.get_by_label("First day closed").fill("2026-11-10")
    page.get_by_role("button", name="Compare").click()
    page.locator("#compared-head", has_text="Tue 10 Nov 2026").wait_for()
    assert page.locator("#compared-says").inner_text() == "No period is lost: the classes do not meet then as it is."
    # Dates that close nothing are refused at once.
    for first, last, said, amiss in (
        ("2026-11-12", "2026-11-10", "The last day comes before the first.", "closed-last"),
        ("2027-11-12", "", "That is outside the term, Mon 2 Nov 2026 to Fri 20 Nov 2026.", "closed-first"),
    ):
        page.get_by_label("First day closed").fill(first)
        page.get_by_label("Last day closed").fill(last)
        page.get_by_role("button", name="Compare").click()
        assert page.locator("#closed-wrong").inner_text() == said
        assert page.locator("#compared").is_hidden()
        assert focused(page) == amiss
        assert page.locator("[aria-invalid=true]").get_attribute("id") == amiss


def test_a_search_that_is_stopped_keeps_its_best(page: Page) -> None:
    choose(page, "six-classes")
    page.get_by_label("Look for at most").select_option("120")
    page.get_by_role("button", name="Find the best sequence").click()
    page.locator("#aims-list td.count", has_text="0").first.wait_for()
    assert focused(page) == "stop"
    page.keyboard.press("Enter")
    page.locator("#plan").wait_for()
    assert page.locator("#verdict").inner_text().startswith("Stopped by hand.")
    assert len(lesson_rows(page)) > 0
    # A search is given up when another scenario is chosen, and the next one begins as usual.
    page.get_by_role("button", name="Find the best sequence").click()
    page.get_by_role("button", name="Stop").wait_for()
    choose(page, "small")
    assert page.locator("#plan").is_hidden() and page.locator("#stop").is_hidden()
    find(page)
    assert page.locator("#verdict").inner_text().startswith("Proven best")
    assert len(lesson_rows(page)) == 8


def test_a_file_that_is_too_large_is_refused_in_words(page: Page) -> None:
    page.set_input_files("#file", {"name": "large.yaml", "mimeType": "", "buffer": b"#" * 3_000_000})
    page.locator("#wrong").wait_for()
    assert "too large" in page.locator("#wrong-head").inner_text()
    assert "2,000,000 bytes" in page.locator("#wrong-says").inner_text()


def test_the_whole_way_by_keyboard(page: Page) -> None:
    page.locator("#demo-take:enabled").wait_for()
    assert tab_to(page, "Skip to the form") == ["Skip to the form"]
    page.keyboard.press("Enter")
    assert focused(page) == "main"
    assert tab_to(page, "demo-take") == ["demo", "demo-take"]
    page.keyboard.press("Enter")
    page.locator("#read").wait_for()
    page.wait_for_function("document.activeElement.id === 'read-head'")
    assert tab_to(page, "go") == ["seconds", "go"]
    page.keyboard.press("Space")
    page.locator("#plan").wait_for()
    page.wait_for_function("document.activeElement.id === 'plan-head'")
    page.locator("#take li").first.wait_for()
    assert tab_to(page, "sheet-show") == ["lessons-wide", "sheet-show"]
    page.keyboard.press("Space")
    page.locator("#sheet-print").wait_for()
    assert focused(page) == "sheet-show"
    stops = tab_to(page, "Calendar")
    assert stops[0] == "sheet-print" and "sheet" in stops
    with page.expect_download() as coming:
        page.keyboard.press("Enter")
    assert coming.value.suggested_filename == "half-term.ics"
    tab_to(page, "closed-first")
    # The same date in whatever order the browser asks for day and month.
    page.keyboard.type("11112026")
    assert page.locator("#closed-first").input_value() == "2026-11-11"
    tab_to(page, "near")
    page.keyboard.press("Space")
    assert not page.locator("#near").is_checked()
    assert tab_to(page, "compare") == ["compare"]
    page.keyboard.press("Enter")
    page.locator("#compared").wait_for()
    assert focused(page) == "compared-head"
    assert page.locator("#compared-says").inner_text() != ""


def test_a_server_with_keys_is_given_one(browser: Browser) -> None:
    with serving(Settings(running=1, keys="right")) as address, opened(browser, address) as page:
        page.locator("#key-form").wait_for()
        assert focused(page) == "key-head"
        page.get_by_label("Key", exact=True).fill("wrong")
        page.keyboard.press("Enter")
        page.get_by_text("does not know this key").wait_for()
        page.get_by_label("Key", exact=True).fill("right")
        page.get_by_role("button", name="Use this key").click()
        page.locator("#key-form").wait_for(state="hidden")
        choose(page, "small")
        find(page)
        assert page.locator("#verdict").inner_text().startswith("Proven best")
        kept = page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]")
        assert kept == [0, 0, ""]


def test_a_screen_reader_is_told_what_everything_is_and_what_happens(page: Page) -> None:
    page.locator("#demo-take:enabled").wait_for()
    assert nameless(page) == []
    choose(page, "small")
    find(page)
    page.get_by_role("button", name="Show the sheet").click()
    page.locator("#sheet-print").wait_for()
    assert page.get_by_role("status").first.inner_text() == page.locator("#verdict").inner_text()
    page.get_by_label("First day closed").fill("2026-11-09")
    page.get_by_role("button", name="Compare").click()
    page.locator("#compared").wait_for()
    assert page.get_by_role("status").last.inner_text() == page.locator("#compared-says").inner_text()
    assert nameless(page) == []
    page.set_input_files("#file", {"name": "bad.yaml", "mimeType": "", "buffer": WRONG})
    page.locator("#wrong").wait_for()
    assert nameless(page) == []


@pytest.mark.parametrize("width", [320, 640])
def test_nothing_sticks_out_on_a_narrow_screen_or_at_twice_the_size(browser: Browser, address: str, width: int) -> None:
    with opened(browser, address, width) as page:
        page.locator("#demo-take:enabled").wait_for()
        assert fits(page)
        choose(page, "small")
        find(page)
        page.get_by_role("button", name="Show the sheet").click()
        page.locator("#sheet-print").wait_for()
        assert fits(page)
        page.get_by_label("First day closed").fill("2026-11-12")
        page.get_by_role("button", name="Compare").click()
        page.locator("#compared").wait_for()
        assert fits(page)
        page.set_input_files("#file", {"name": "bad.yaml", "mimeType": "", "buffer": WRONG})
        page.locator("#wrong").wait_for()
        assert fits(page)
        # Nor inside the box: lines break, and nothing has to be scrolled to be read.
        assert page.locator("#wrong-wide").evaluate("box => box.scrollWidth <= box.clientWidth")
