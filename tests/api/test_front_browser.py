"""The page driven in Chromium: examples, files with problems, every form, a stopped search, the keyboard, a key, narrow screens.

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
from sequencer import FORMATS, UnusableInput, load_scenario, read_scenario, scenario_contents, write_blank
from sequencer.__main__ import main
from tests.api.browser import CHROMIUM, fits, focused, look, opened, serving, tab_to
from tests.api.service import SCENARIOS, SMALL, YAML
from tests.outlines.test_outline_command import OVER

pytest.importorskip("playwright", reason="playwright is not installed")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed")

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

DEMOS = sorted(path.stem for path in SCENARIOS.glob("*.yaml") if path.stem != "no-sequence")

LARGE = ("department", "exam-year")
"""Demos whose first plan takes long on a busy machine: the search has time enough, and is stopped once it has one."""

WRONG = SMALL.replace(b"last: 2026-11-20", b"last: 2026-11-31").replace(b"load: 2", b"load: 0", 1)


@pytest.fixture(name="page")
def the_page(browser: Browser, address: str) -> Iterator[Page]:
    with opened(browser, address) as page:
        yield page


def choose(page: Page, demo: str, planned: bool = True) -> None:
    page.locator("summary", has_text="Or begin with").click()
    page.locator("#demo-take:enabled").wait_for()
    page.get_by_label("An example").select_option(demo)
    if demo in LARGE:
        page.locator("#seconds").select_option("120")
    page.get_by_role("button", name="Use this example").click()
    if demo in LARGE:
        page.locator("#search-aims tr").first.wait_for(timeout=180_000)
        page.locator("#stop").click()
    if planned:
        page.locator("#take li").first.wait_for(timeout=180_000)


def lesson_rows(page: Page) -> list[str]:
    return page.locator("#plan tbody tr:not(.week):not(.spare):not(.away)").all_inner_texts()


@pytest.mark.parametrize("demo", [name if name == "small" else pytest.param(name, marks=pytest.mark.slow) for name in DEMOS])
def test_an_example_from_choosing_it_to_every_form_of_it(page: Page, demo: str) -> None:
    scenario = read_scenario(SCENARIOS / f"{demo}.yaml")
    choose(page, demo)
    assert page.locator("#called").inner_text() == scenario.title
    assert page.locator("#verdict").inner_text().removeprefix("Stopped by hand. ").startswith(("Proven best", "Best found"))
    files = {}
    for button in page.locator("#take button").all():
        with page.expect_download() as coming:
            button.click()
        files[coming.value.suggested_filename] = Path(coming.value.path()).read_bytes()
    assert len(files) == len(FORMATS)
    answer = json.loads(files[f"{demo}-answer.json"])
    assert files[f"{demo}-calendar.ics"].count(b"BEGIN:VEVENT") == len(answer["lessons"])
    assert {each.id for each in scenario.classes} <= set(
        openpyxl.load_workbook(io.BytesIO(files[f"{demo}-xlsx.xlsx"])).sheetnames
    )
    weeks = [each.partition(",")[0] for each in page.locator("#plan tr.week").all_inner_texts()]
    labelled = [each for each in weeks if each.startswith("Week") and each.count(" ") == 2]
    assert bool(labelled) == (len(scenario.term.cycle) > 1), "weeks that are all alike have no label"
    aims = [cells.split("\t")[:2] for cells in page.locator("#aims-list tr").all_inner_texts()]
    assert [(name.partition("\n")[0].lower(), int(value)) for name, value in aims] == [
        (each["aim"], each["value"]) for each in answer["aims"]
    ]
    for each in scenario.classes:
        page.locator("#by").select_option(each.id)
        titles = [lesson["title"] for lesson in answer["lessons"] if lesson["class"] == each.id]
        rows = lesson_rows(page)
        assert len(rows) == len(titles)
        assert all(title in row for title, row in zip(titles, rows, strict=True))
    page.get_by_role("button", name="Show the sheets").click()
    page.locator("#sheet-box").wait_for()
    sheet = page.frame_locator("#sheet")
    assert "Week 1" in sheet.locator("body").inner_text()
    # It keeps its own style, and runs nothing.
    assert sheet.locator("table").first.evaluate("each => getComputedStyle(each).borderCollapse") == "collapse"
    assert "allow-scripts" not in (page.locator("#sheet").get_attribute("sandbox") or "")
    page.get_by_role("button", name="Hide the sheets").click()
    assert page.locator("#sheet").is_hidden()


def test_files_with_problems_name_their_lines_and_cells(page: Page, tmp_path: Path) -> None:
    page.locator("summary", has_text="Or begin with").click()
    page.set_input_files("#file", {"name": "bad.yaml", "mimeType": "", "buffer": WRONG})
    page.locator("#failed").wait_for()
    with pytest.raises(UnusableInput) as unusable:
        load_scenario(WRONG)
    expected = [f"{each.message} (line {each.line}, column {each.column})" for each in unusable.value.problems]
    assert len(expected) == 2
    assert page.locator("#failed-list li").all_inner_texts() == expected
    assert focused(page) == "failed-head"
    look(page, "failed")
    path = tmp_path / "autumn.xlsx"
    write_blank(path, scenario_contents(read_scenario(SCENARIOS / "small.yaml")))
    book = openpyxl.load_workbook(path)
    book["Term"]["B3"] = "soon"
    book.save(tmp_path / "bad.xlsx")
    page.set_input_files("#file", tmp_path / "bad.xlsx")
    page.get_by_text("sheet Term, cell B3").wait_for()
    for file, said in (
        ({"name": "photo.png", "mimeType": "image/png", "buffer": b"png"}, "must end in .xlsx, .json or .yaml"),
        ({"name": "large.yaml", "mimeType": "", "buffer": b"#" * 3_000_000}, "2,000,000 bytes"),
    ):
        page.set_input_files("#file", file)
        page.get_by_text(said).wait_for()
    # Put right, it is planned; dropped on the page it goes the same way.
    page.set_input_files("#file", path)
    page.locator("#take li").first.wait_for()
    assert page.locator("#failed").is_hidden()
    assert len(lesson_rows(page)) == 8
    dropped = page.evaluate_handle("""() => {
        const all = new DataTransfer();
        all.items.add(new File(["no: 1"], "x.yml"));
        return all;
    }""")
    page.dispatch_event("body", "drop", {"dataTransfer": dropped})
    page.get_by_text("is not a key that can stand here").first.wait_for()


def test_a_search_that_is_stopped_keeps_its_best(page: Page) -> None:
    page.get_by_label("looking for at most").select_option("120")
    choose(page, "six-classes", planned=False)
    page.locator("#search-aims td.count").first.wait_for()
    page.get_by_role("button", name="Stop").click()
    page.locator("#take li").first.wait_for()
    assert page.locator("#verdict").inner_text().startswith("Stopped by hand.")
    assert page.locator("#by").input_value() == ""
    assert len(lesson_rows(page)) > 50
    look(page, "by-week")


def test_a_term_is_begun_and_a_week_told_by_keyboard(page: Page) -> None:
    page.locator("#demo-take:enabled").wait_for(state="attached")
    assert tab_to(page, "Skip to the page") == ["Skip to the page"]
    page.keyboard.press("Enter")
    assert focused(page) == "main"
    tab_to(page, "Or begin with a file or an example")
    tab_to(page, "first")
    page.keyboard.type("09092027")
    tab_to(page, "last")
    page.keyboard.type("10102027")
    tab_to(page, "class-1-name", 80)
    page.keyboard.type("8P")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    for _ in range(3):
        page.keyboard.press("Tab")
        page.keyboard.press("Space")
    assert page.get_by_text("3 periods a week.").is_visible()
    tab_to(page, "class-1-lessons", 40)
    page.keyboard.type("Maps")
    page.keyboard.press("Enter")
    page.keyboard.type("Scale (hard)")
    tab_to(page, "make")
    page.keyboard.press("Enter")
    page.locator("#take li").first.wait_for()
    assert focused(page) == "term-head"
    assert len(lesson_rows(page)) == 3
    assert "Practice: Scale" in "".join(lesson_rows(page))
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Shift+Tab")
    assert focused(page) == "This week"
    page.keyboard.press("Enter")
    page.locator("#week-list select").first.wait_for()
    tab_to(page, "all-taught")
    page.keyboard.press("Enter")
    tab_to(page, "again")
    page.keyboard.press("Enter")
    page.locator("#moves").wait_for()
    assert focused(page) == "moves-head"
    tab_to(page, "moves-take")
    page.keyboard.press("Enter")
    page.get_by_text("The new plan is taken.").wait_for(state="attached")
    assert focused(page) == "week-head"


@pytest.mark.parametrize("width", [1280, 390])
def test_a_lesson_too_long_is_cut_with_one_press_put_back_with_another_and_copied_for_pupils(
    browser: Browser, address: str, width: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The page and the service say the cut that the command says; taken over, the lesson fits."""
    path = tmp_path / "over.yaml"
    path.write_text(OVER, encoding="utf-8")
    assert main(["outline", str(path), "--format", "json"]) == 0
    (cut,) = json.loads(capsys.readouterr().out)["lessons"][0]["why_not"]["cuts"]
    with opened(browser, address, width) as page:
        served = page.request.post(f"{address}/v1/outlines", data=OVER, headers={"content-type": YAML})
        assert served.json()["lessons"][0]["why_not"]["cuts"] == [cut]
        page.locator("summary", has_text="Or begin with").click()
        page.set_input_files("#file", path)
        page.locator("#take li").first.wait_for()
        page.locator("#plan").get_by_role("button", name="Why rivers bend").click()
        tab_to(page, "outline-show")
        page.keyboard.press("Enter")
        page.get_by_role("heading", name="It does not fit").wait_for()
        assert focused(page) == "outline-head"
        assert f"The cheapest cut with which it fits: {cut['text']}." in page.locator("#outline-says").inner_text()
        assert len(page.locator("#outline-list li").all_inner_texts()) >= 5
        assert page.locator("#outline-wide").is_hidden()
        look(page, "outline-too-long")
        page.get_by_role("button", name="Take the cut over").click()
        page.get_by_role("heading", name="What is done in it: 30 minutes to fill").wait_for()
        rows = [cells.split("\t") for cells in page.locator("#outline-parts tr").all_inner_texts()]
        assert sum(int(cells[1]) for cells in rows) == 30
        assert [cells[2].split("\n")[0] for cells in rows if cells[3].strip() == "Everyone answers"] == ["Quiz"]
        assert any("10 minutes late: move" in cells[2] for cells in rows)
        assert "Practical work" in page.locator("#outline-list").inner_text()
        look(page, "outline")
        page.get_by_role("button", name="A copy for pupils to print").click()
        page.get_by_role("heading", name="The copy for pupils").wait_for()
        said = page.frame_locator("#copy").locator("body").inner_text()
        assert "Say why" in said and "latest" not in said
        look(page, "outline-copy")
        page.get_by_role("button", name="Put it back").click()
        page.get_by_role("heading", name="It does not fit").wait_for()
        assert page.get_by_role("button", name="Put it back").count() == 0


def test_a_part_for_which_there_is_no_time_moves_to_the_lesson_with_room(
    browser: Browser, address: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Film makes it 14 minutes too long: moving it costs 10, and no other part takes so many; Oxbow lakes has room for it."""
    text = OVER.replace("other, minutes: 6}", "other, minutes: 16}").replace("- id: u\n", "- id: u\n    in_order: true\n")
    lakes = "      - {id: lakes, title: Oxbow lakes, parts: [{title: Cut off, kind: explain, minutes: 8}]}\n"
    path = tmp_path / "moved.yaml"
    path.write_text(text.replace("classes:", lakes + "classes:").replace("{Mon: 1}", "{Mon: 1, Wed: 2}"), encoding="utf-8")
    assert main(["outline", str(path), "--format", "json"]) == 0
    why = json.loads(capsys.readouterr().out)["lessons"][0]["why_not"]
    assert [cut["text"] for cut in why["cuts"]] == ['move "Film" to the next lesson'] and why["goes_to"] == ["u/lakes"]
    with opened(browser, address, 1280) as page:
        page.locator("summary", has_text="Or begin with").click()
        page.set_input_files("#file", path)
        page.locator("#take li").first.wait_for()
        page.locator("#plan").get_by_role("button", name="Why rivers bend").click()
        page.locator("#outline-show").click()
        page.get_by_role("heading", name="It does not fit").wait_for()
        assert f"{why['cuts'][0]['text']}. There is room in Oxbow lakes." in page.locator("#outline-says").inner_text()
        page.get_by_role("button", name="Take the cut over").click()
        page.get_by_role("heading", name="What is done in it: 30 minutes to fill").wait_for()
        assert "Film" not in page.locator("#outline-parts").inner_text()
        page.get_by_role("button", name="Back to the plan").click()
        page.locator("#plan").get_by_role("button", name="Oxbow lakes").click()
        page.locator("#outline-show").click()
        page.locator("#outline-parts", has_text="Film").wait_for()


def test_a_server_with_keys_is_given_one(browser: Browser) -> None:
    with serving(Settings(running=1, keys="right")) as address, opened(browser, address) as page:
        page.locator("#key-form").wait_for()
        assert focused(page) == "key-head"
        look(page, "key")
        page.get_by_label("Key", exact=True).fill("wrong")
        page.keyboard.press("Enter")
        page.get_by_text("does not know this key").wait_for()
        page.get_by_label("Key", exact=True).fill("right")
        page.get_by_role("button", name="Use this key").click()
        page.locator("#key-form").wait_for(state="hidden")
        choose(page, "small")
        assert page.locator("#verdict").inner_text().startswith("Proven best")
        kept = page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]")
        assert kept == [0, 0, ""]


@pytest.mark.parametrize("width", [320, pytest.param(640, marks=pytest.mark.slow)])
def test_nothing_sticks_out_on_a_narrow_screen_or_at_twice_the_size(browser: Browser, address: str, width: int) -> None:
    with opened(browser, address, width) as page:
        page.locator("#first").fill("2026-11-02")
        page.locator("#last").fill("2026-12-18")
        page.locator("#cycle").select_option("A")
        page.locator("#class-1-lessons").fill("Waves\nA test of waves")
        page.get_by_text("Understood").first.wait_for()
        assert fits(page)
        choose(page, "small")
        assert fits(page)
        for view, there in (("This week", "#week-list tr"), ("What if", "#closure-form"), ("Next term", "#next-form")):
            page.get_by_role("link", name=view).click()
            page.locator(there).first.wait_for()
            assert fits(page)
