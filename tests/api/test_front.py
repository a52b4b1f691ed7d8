"""The page at the front and what it asks for: its parts, headers, demos, forms, a scenario that is read, a plan as it is."""

from __future__ import annotations

import io
import json
import re
import tomllib
import zipfile
from fnmatch import fnmatch
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from api.demos import demos
from api.routes.pages import PARTS
from api.settings import Settings
from sequencer import (
    FORMATS,
    Format,
    check,
    parse_document,
    read_scenario,
    scenario_contents,
    scenario_from_data,
    sequence_from_data,
    write_blank,
)
from tests.api.service import JSON, SCENARIOS, SMALL, YAML, ask, description, problem
from tests.api.test_openapi import validator

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FRONT = SCENARIOS.parent / "api" / "front"
SCRIPTS = sorted(FRONT.glob("*.js"))


class Page(HTMLParser):
    """What the page's markup says."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    @property
    def ids(self) -> list[str]:
        return [stated for _, attributes in self.tags if (stated := attributes.get("id"))]


@pytest.fixture(name="page", scope="module")
def the_page() -> Page:
    return Page(ask("GET", "/", accept="text/html,application/xhtml+xml,*/*;q=0.8").text)


# -- the page and its parts --------------------------------------------------------------------------------------------


def test_the_page_loads_nothing_but_its_own_parts(page: Page) -> None:
    response = ask("GET", "/")
    assert response.headers["content-type"] == "text/html; charset=utf-8"
    policy = dict(part.strip().split(" ", 1) for part in response.headers["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert all(policy[kind] == "'self'" for kind in ("script-src", "style-src", "connect-src", "img-src", "frame-src"))
    assert policy["frame-ancestors"] == policy["base-uri"] == policy["form-action"] == "'none'"
    assert response.headers["x-frame-options"] == "DENY"
    named = {value for tag, attributes in page.tags for key in ("src", "href") if (value := attributes.get(key)) and tag != "a"}
    assert {f"/{each}" for each in named - {"about:blank"}} <= set(PARTS)
    assert not [
        attributes for _, attributes in page.tags if "style" in attributes or any(key.startswith("on") for key in attributes)
    ]
    assert problem(ask("GET", "/", accept="application/json"), 406)


@pytest.mark.parametrize("path", sorted(FRONT.iterdir()), ids=lambda path: path.name)
def test_a_part_names_no_other_place(path: Path) -> None:
    named = re.findall(
        r"""(?:https?:|wss?:)?//[\w.-]+[^\s"'`)]*""", re.sub(r"^\s*//.*$", "", path.read_text(encoding="utf-8"), flags=re.M)
    )
    # The name of a drawing's language is no place that is visited.
    assert [each for each in named if each != "http://www.w3.org/2000/svg"] == []


@pytest.mark.parametrize("address", PARTS)
def test_a_part_is_sent_as_what_it_is_and_only_when_it_changed(address: str) -> None:
    types = {"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml", "html": "text/html"}
    response = ask("GET", address)
    assert response.headers["content-type"].split(";")[0] == types[address.rsplit(".")[-1]]
    assert response.headers["cache-control"] == "no-cache"
    assert response.headers["x-content-type-options"] == "nosniff"
    again = ask("GET", address, if_none_match=f'"other", W/{response.headers["etag"]}')
    assert (again.status_code, again.content) == (304, b"")
    assert ask("GET", address, if_none_match='"other"').status_code == 200
    head = ask("HEAD", address)
    assert (head.status_code, head.content, head.headers["etag"]) == (200, b"", response.headers["etag"])


def test_the_frame_of_a_sheet_runs_nothing() -> None:
    policy = ask("GET", "/page/sheet.html").headers["content-security-policy"]
    assert "default-src 'none'; style-src 'unsafe-inline'" in policy and "script" not in policy
    assert problem(ask("GET", "/page/none.js"), 404)
    assert problem(ask("GET", "/page/page.html"), 404)


def test_everything_that_a_script_or_label_names_is_there(page: Page) -> None:
    assert len(page.ids) == len(set(page.ids))
    there = set(page.ids)
    text = "\n".join(path.read_text(encoding="utf-8") for path in SCRIPTS)
    named = set(re.findall(r"""(?:byId|fill|say|show|goTo|options)\(\s*"([\w-]+)\"""", text))
    named |= {f"{view}-head" for view in re.findall(r"""(?:goToView|openPanel)\(\s*"([\w-]+)\"""", text)}
    named |= {
        each for listed in re.findall(r"for \(const id of \[([^\]]*)\]\)", text) for each in re.findall(r'"([\w-]+)"', listed)
    }
    assert len(named) > 40
    assert named <= there, named - there
    for _, attributes in page.tags:
        for key in ("for", "aria-labelledby", "aria-describedby", "aria-controls"):
            assert set((attributes.get(key) or "").split()) <= there, attributes


def test_everything_that_can_be_filled_in_has_a_label(page: Page) -> None:
    labelled = {attributes.get("for") for tag, attributes in page.tags if tag == "label"}
    fields = [attributes["id"] for tag, attributes in page.tags if tag in ("input", "select", "progress")]
    assert len(fields) >= 8
    assert set(fields) <= labelled
    assert [attributes.get("lang") for tag, attributes in page.tags if tag == "html"] == ["en-GB"]
    assert all(attributes.get("title") for tag, attributes in page.tags if tag == "iframe")
    heads = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h\d", tag)]
    assert heads[0] == 1 and all(after - before <= 1 for before, after in pairwise(heads))


def test_text_stands_out_from_its_ground() -> None:
    """WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1."""
    style = (FRONT / "page.css").read_text(encoding="utf-8")
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", style))

    def light(name: str) -> float:
        parts = [int(colours[name][place : place + 2], 16) / 255 for place in (1, 3, 5)]
        red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    for text in ("ink", "soft", "wrong", "focus"):
        for ground in ("paper", "tint"):
            assert (light(ground) + 0.05) / (light(text) + 0.05) >= 4.5, (text, ground)
    assert (light("paper") + 0.05) / (light("line") + 0.05) >= 3
    written = style.split("}", 1)[1]
    assert set(re.findall(r"#[0-9a-f]{3,6}\b(?!-)", written)) <= {"#fff"}


def test_the_page_comes_without_a_key_and_all_else_asks_for_one() -> None:
    settings = Settings(keys="known")
    assert all(ask("GET", address, settings=settings).status_code == 200 for address in ("/", *PARTS))
    for address in ("/v1/demos", "/v1/demos/small", "/v1/formats"):
        assert problem(ask("GET", address, settings=settings), 401)
        assert ask("GET", address, settings=settings, authorization="Bearer known").status_code == 200
    assert problem(ask("POST", "/v1/scenarios", SMALL, YAML, settings), 401)


def test_an_installation_brings_the_page_and_the_demos_along() -> None:
    tools = tomllib.loads((FRONT.parents[1] / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    assert all(any(fnmatch(f"front/{path.name}", each) for each in tools["package-data"]["api"]) for path in FRONT.iterdir())
    brought = tools["data-files"]["share/unit-sequencer/scenarios"]
    assert all(any(fnmatch(f"scenarios/{demo.name}.yaml", each) for each in brought) for demo in demos())


# -- what it asks for --------------------------------------------------------------------------------------------------


def test_the_demos_are_those_of_the_folder() -> None:
    listed = ask("GET", "/v1/demos").json()["demos"]
    assert [each["name"] for each in listed] == sorted(path.stem for path in SCENARIOS.glob("*.yaml"))
    for each in listed:
        text = ask("GET", f"/v1/demos/{each['name']}")
        assert text.headers["content-type"] == YAML
        assert text.content == (SCENARIOS / f"{each['name']}.yaml").read_bytes()
        assert each["title"] == parse_document(text.content)[0]["title"]
        assert each["says"].endswith(".") and "`" not in each["says"] and len(each["says"]) > 30
    for name in ("none", "..%2Fpyproject", "scenario.schema"):
        assert problem(ask("GET", f"/v1/demos/{name}"), 404)


def test_the_forms_are_those_there_are() -> None:
    listed = ask("GET", "/v1/formats").json()["formats"]
    assert [(each["name"], each["media_type"]) for each in listed] == [(each.name, each.media_type) for each in FORMATS]
    assert all(re.fullmatch(r"\.[a-z]+", each["ending"]) for each in listed)


TERM_HOLIDAYS = "/v1/holidays?country=England&first=2027-01-04&last=2027-04-30"


def test_bank_holidays_are_offered_by_country_and_part() -> None:
    easter = [{"name": "Good Friday", "on": "2027-03-26"}, {"name": "Easter Monday", "on": "2027-03-29"}]
    assert ask("GET", TERM_HOLIDAYS).json() == {"holidays": easter}
    assert ask("GET", TERM_HOLIDAYS.replace("England", "Scotland")).json()["holidays"][1:] == easter[:1]
    wrong = {
        "country=Englnd&first=2027-01-04&last=2027-04-30": "did you mean England?",
        "country=England&first=2027-01-04&last=soon": "Last must be a date such as 2027-01-04",
        "country=England&first=2027-01-04&last=2026-04-30": "must lie on or after first",
        "country=England&first=2027-01-04&last=9999-04-30": "at most 800 days on",
        "first=2027-01-04&last=2027-04-30": "country",
        "country=England&country=Wales&first=2027-01-04&last=2027-04-30": "must be given once",
    }
    for query, says in wrong.items():
        assert says in problem(ask("GET", f"/v1/holidays?{query}"), 400)["detail"]


def workbook(name: str, folder: Path) -> openpyxl.Workbook:
    path = folder / "book.xlsx"
    write_blank(path, scenario_contents(read_scenario(SCENARIOS / f"{name}.yaml")))
    return openpyxl.load_workbook(path)


def packed(book: openpyxl.Workbook) -> bytes:
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def test_a_scenario_is_read_from_text_and_from_a_workbook(tmp_path: Path) -> None:
    small = read_scenario(SCENARIOS / "small.yaml")
    for body, media in ((SMALL, YAML), (packed(workbook("small", tmp_path)), XLSX)):
        read = ask("POST", "/v1/scenarios", body, media).json()
        assert (read["title"], read["first"], read["last"]) == (small.title, "2026-11-02", "2026-11-20")
        assert read["classes"] == [{"class": "8P", "teacher": None, "lessons": 8, "periods": 11}]
        assert scenario_from_data(read["scenario"]) == small
    assert read["aims"][0] == "left out"
    futures = ask("POST", "/v1/scenarios", (SCENARIOS / "five-futures.yaml").read_bytes(), YAML).json()
    assert len(futures["what_ifs"]) == 5


def test_problems_have_their_lines_and_their_cells(tmp_path: Path) -> None:
    wrong = SMALL.replace(b"last: 2026-11-20", b"last: 2026-11-31").replace(b"load: 2", b"load: 0", 1)
    listed = problem(ask("POST", "/v1/scenarios", wrong, YAML), 422)["problems"]
    assert [(each["where"], each["line"] > 0) for each in listed] == [("term.last", True), ("units[0].lessons[0].load", True)]
    book = workbook("small", tmp_path)
    book["Term"]["B3"] = "soon"
    book["Lessons"]["C4"] = "practise"
    listed = problem(ask("POST", "/v1/scenarios", packed(book), XLSX), 422)["problems"]
    assert [(each["where"], each["line"]) for each in listed] == [("sheet Term, cell B3", None), ("sheet Lessons, cell C4", None)]


def test_what_is_no_workbook_or_too_large_a_one_is_refused() -> None:
    far, many = openpyxl.Workbook(), openpyxl.Workbook(write_only=True)
    far.active.cell(40_000, 590).value = 1
    sheet = many.create_sheet("Lessons")
    for _ in range(3000):
        sheet.append([1] * 50)
    for body, said in ((b"no", "not a workbook"), (packed(far), "far out"), (packed(many), "too large")):
        assert said in problem(ask("POST", "/v1/scenarios", body, XLSX), 422)["detail"]
    sheets = openpyxl.Workbook()
    for number in range(200):
        sheets.create_sheet(f"sheet {number}")
    assert "more than 200 sheets" in problem(ask("POST", "/v1/scenarios", packed(sheets), XLSX), 422)["detail"]
    assert problem(ask("POST", "/v1/scenarios", b"", "text/csv"), 415)
    assert problem(ask("POST", "/v1/scenarios", b"no", XLSX, content_encoding="br"), 415)
    assert problem(ask("POST", "/v1/sequences", b"no", XLSX), 415)


def planned() -> tuple[dict[str, Any], list[dict[str, Any]], dict[str, Any]]:
    """A scenario, a plan for it that is sound and not the best, and the lesson that lies elsewhere than in the best."""
    answer = ask("POST", "/v1/sequences", SMALL, YAML).json()
    scenario = read_scenario(SCENARIOS / "small.yaml")
    for place, lesson in enumerate(answer["lessons"]):
        for spare in answer["spare"]:
            moved = {**lesson, **{key: spare[key] for key in ("date", "period")}}
            lessons = [*answer["lessons"][:place], moved, *answer["lessons"][place + 1 :]]
            if check(scenario, sequence_from_data(scenario, lessons)).sound:
                return parse_document(SMALL)[0], lessons, moved
    raise AssertionError("no other plan is sound")


@pytest.mark.parametrize(
    "said",
    [
        b'<mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>',
        b'<hyperlinks><hyperlink ref="A1:XFD1048576" location="x"/></hyperlinks>',
    ],
)
def test_ranges_without_end_in_a_workbook_cost_nothing(said: bytes, tmp_path: Path) -> None:
    """Laid out cell by cell, as the library would, these take all the memory there is."""
    whole = packed(workbook("small", tmp_path))
    changed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as before, zipfile.ZipFile(changed, "w", zipfile.ZIP_DEFLATED) as after:
        for name in before.namelist():
            content = before.read(name)
            if name == "xl/worksheets/sheet1.xml":
                assert b"</sheetData>" in content
                content = content.replace(b"</sheetData>", b"</sheetData>" + said)
            after.writestr(name, content)
    read = ask("POST", "/v1/scenarios", changed.getvalue(), XLSX).json()
    assert scenario_from_data(read["scenario"]) == read_scenario(SCENARIOS / "small.yaml")


@pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.name)
def test_a_plan_as_it_is_in_any_form(form: Format) -> None:
    scenario, lessons, moved = planned()
    body = json.dumps({"scenario": scenario, "sequence": {"lessons": lessons}})
    response = ask("POST", f"/v1/plans?format={form.name}", body, JSON)
    assert response.status_code == 200
    assert response.headers["content-type"].split(";")[0] == form.media_type
    if form.name == "json":
        shown = response.json()
        assert (moved["lesson"], moved["date"]) in {(each["lesson"], each["date"]) for each in shown["lessons"]}
        assert {aim["bound"] for aim in shown["aims"]} == {None}
    elif form.name == "xlsx":
        book = openpyxl.load_workbook(io.BytesIO(response.content))
        assert moved["date"] in {str(cell.value)[:10] for row in book["8P"].iter_rows() for cell in row}
    else:
        assert moved["title"] in response.text.replace("\r\n ", "")


def test_a_plan_that_breaks_a_rule_is_not_shown() -> None:
    scenario, lessons, _ = planned()
    when = [{key: each[key] for key in ("date", "period")} for each in lessons[:2]]
    lessons[0], lessons[1] = {**lessons[0], **when[1]}, {**lessons[1], **when[0]}
    body = json.dumps({"scenario": scenario, "sequence": {"lessons": lessons}})
    assert "The plan breaks rule" in problem(ask("POST", "/v1/plans?format=sheet", body, JSON), 400)["detail"]
    assert "none of those known" in problem(ask("POST", "/v1/plans?seconds=3", body, JSON), 400)["detail"]


def test_what_it_is_answered_fits_its_description() -> None:
    document = description()
    answers = {
        "DemoList": ask("GET", "/v1/demos").json(),
        "FormList": ask("GET", "/v1/formats").json(),
        "HolidayList": ask("GET", TERM_HOLIDAYS).json(),
        "ReadScenario": ask("POST", "/v1/scenarios", SMALL, YAML).json(),
    }
    for name, answer in answers.items():
        shape = validator(document, name)
        shape.validate(answer)
        assert not any(shape.is_valid({key: value for key, value in answer.items() if key != gone}) for gone in answer)
        assert not shape.is_valid({**answer, "more": 1})
    taken = document["paths"]["/v1/scenarios"]["post"]["requestBody"]["content"]
    assert set(taken) == {JSON, YAML, XLSX}
    scenario, lessons, _ = planned()
    body = json.dumps({"scenario": scenario, "sequence": lessons})
    validator(document, "Answer").validate(ask("POST", "/v1/plans", body, JSON).json())
