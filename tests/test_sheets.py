"""Printed sheets: all that is planned stands there, nothing runs or loads, no text is markup, none is too small to read."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from sequencer import (
    Answer,
    NothingToShow,
    Shown,
    SolveSettings,
    UnusableSettings,
    answer_json,
    check_shown,
    scenario_from_data,
    solve,
    written,
)
from sequencer.__main__ import main
from sequencer.render.html import el, markup
from sequencer.render.towers import in_words, towers
from sequencer.scenario.base_schema import Loads
from tests.builders import SCENARIOS, Data, a_class, best_of, practice, retrieval, scenario, solved, teach

VOID = {"meta", "rect"}

SAFE = {
    "html", "head", "meta", "title", "style", "body", "main", "section", "header", "h1", "h2", "p", "table", "thead", "tbody",
    "tr", "th", "td", "span", "b", "i", "ol", "li", "div", "svg", "rect", "footer",
}  # fmt: skip
"""Every element that a sheet may hold: none that runs, loads, links or asks for anything."""


class Read(HTMLParser):
    """Read a sheet: it must be well formed, of safe elements alone."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []
        self.names: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in SAFE, tag
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in VOID, tag
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "title"):
            self.words.append(data)

    @property
    def text(self) -> str:
        """All that is to be read, on one line."""
        return " ".join(" ".join(self.words).split())


def read(answer: Answer, name: str, **shown: Any) -> Read:
    """Write a sheet and read it."""
    text = written(answer, name, Shown(**shown))
    assert isinstance(text, str)
    assert text.startswith("<!DOCTYPE html>\n")
    page = Read(text)
    names = {attribute for attribute, _ in page.attributes}
    assert not any(attribute.startswith("on") for attribute in names) and not names & {"src", "href", "action", "data"}
    assert "url(" not in text and "@import" not in text and "javascript" not in text.lower().replace("a javascript title", "")
    return page


@pytest.fixture(scope="module", name="half_term")
def the_half_term() -> Answer:
    """One class, five lessons a week, with a remote spell."""
    return best_of("half-term")


@pytest.fixture(scope="module", name="shared")
def the_shared_class() -> Answer:
    """One class of two teachers."""
    return best_of("shared-class")


@pytest.mark.parametrize("name", ["sheet", "overview"])
def test_every_lesson_stands_there(name: str, half_term: Answer) -> None:
    page = read(half_term, name)
    rows = answer_json(half_term)["lessons"]
    assert len(rows) == 31
    for row in rows:
        assert page.text.count(row["title"]) >= (2 if name == "sheet" else 1), row["title"]


@pytest.mark.parametrize("name", ["sheet", "overview"])
def test_no_text_is_smaller_than_nine_points(name: str, half_term: Answer) -> None:
    text = written(half_term, name)
    assert isinstance(text, str)
    sizes = [float(size) for size in re.findall(r"([\d.]+)pt\b", text)]
    assert len(sizes) > 5 and min(sizes) >= 9
    assert not re.search(r"font(-size)?:[^;}]*(em|%|px|small)", text)


@pytest.mark.parametrize("name", ["sheet", "overview"])
def test_nothing_is_said_by_colour_or_by_a_ground(name: str, half_term: Answer) -> None:
    text = written(half_term, name)
    assert isinstance(text, str)
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", text)) == {"#000"}
    assert "background" not in text and "rgb" not in text


@pytest.mark.parametrize("name", ["sheet", "overview"])
def test_a_title_is_text_whatever_it_holds(name: str) -> None:
    evil = "</td><script>alert(1)</script><img src=x onerror=alert(2)>\"'&amp; a javascript title </style></title>"
    data = scenario(
        [teach("a", title=evil, load=4), practice("p", "a", title=evil)],
        title=evil,
        unit={"title": evil},
        of_class={"name": evil, "teacher": evil},
        closures=[{"name": evil, "on": "2026-11-10"}],
        holidays=[{"name": evil, "on": "2026-11-11"}],
        remote_spells=[{"name": evil, "on": "2026-11-03"}],
        restricted_days=[{"name": evil, "on": "2026-11-02", "refuses": {"kinds": "assessment"}}],
    )
    page = read(solved(data), name)
    assert page.text.count("<script>alert(1)</script>") >= 5
    assert not any("alert" in (value or "") for attribute, value in page.attributes if attribute not in ("aria-label", "data-of"))


def test_attributes_are_escaped_and_markup_is_not_escaped_twice() -> None:
    assert el("td", "a<b", el("b", "&"), class_='x"y') == '<td class="x&quot;y">a&lt;b<b>&amp;</b></td>'
    assert el("rect", x=1, class_=None) == '<rect x="1"/>'
    assert markup(["a", None, ["<", el("p")]]) == "a&lt;<p></p>"


def test_a_fortnight_has_boxes_dates_and_what_goes_with_each_lesson() -> None:
    lessons = [
        teach("waves", title="Waves", load=4, on="2026-11-02"),
        practice("p", "waves", title="A labelled sketch"),
        retrieval("quiz", "waves", title="Quiz", on="2026-11-16"),
    ]
    rules = {"retrieval": {"least": 10, "most": 14}}
    data = scenario(lessons, weeks=3, per_week="Mon 1, Tue 2", rules=rules, closures=[{"name": "Flood", "on": "2026-11-10"}])
    page = read(solved(data), "sheet")
    assert "Mon 2 Nov 1 9B Waves" in page.text
    assert "practises Waves" in page.text and "revisits Waves (Mon 2 Nov)" in page.text
    assert "Tue 10 Nov Flood: no school" in page.text
    labels = [value for name, value in page.attributes if name == "aria-label"]
    assert labels.count("resources up: to tick") == labels.count("taught: to tick") == 3
    assert "bound" not in page.text and "Proven best" in page.text


def test_what_is_on_stands_above_the_lessons_of_its_day() -> None:
    spell = {"name": "Boiler", "on": "2026-11-03"}
    text = written(
        solved(scenario([teach("a", title="Rivers", on="2026-11-03")], per_week="Tue 1-2", remote_spells=[spell])), "sheet"
    )
    assert isinstance(text, str)
    assert "Tue 3 Nov Boiler: remote 1 9B Rivers" in Read(text).text
    (day,) = (body for body in re.findall("<tbody>(.*?)</tbody>", text, re.DOTALL) if "Boiler" in body)
    assert [("height" in row, "Boiler" in row) for row in re.findall("<tr.*?</tr>", day)] == [
        (False, True), (True, False), (True, False),
    ]  # fmt: skip


def test_what_bears_on_no_lesson_of_a_day_is_not_said_there() -> None:
    """9A is at home on Monday and Tuesday and meets on Monday alone; 9B is closed on Tuesday, when it would meet."""
    classes = [a_class("9A", "Mon 1", teacher="Ms Oak"), a_class("9B", "Tue 2, Wed 1", teacher="Ms Oak")]
    classes.append(a_class("9C", "Tue 3", teacher="Ms Oak"))
    spell = {"name": "Boiler", "first": "2026-11-02", "last": "2026-11-03", "classes": ["9A"]}
    data = scenario(
        [teach("a", title="Rivers")], classes=classes, remote_spells=[spell],
        closures=[{"name": "Trip", "on": "2026-11-03", "classes": ["9B"]}],
    )  # fmt: skip
    answer = solved(data)
    text = read(answer, "sheet", teachers=("Ms Oak",)).text
    assert text.count("Boiler (9A): remote") == 1 and "Mon 2 Nov Boiler (9A): remote 1 9A" in text
    assert "Tue 3 Nov Trip (9B): no school 3 9C" in text
    # For the whole school too: on a day without a period there are no lessons.
    everyone = solved(data | {"remote_spells": [{key: spell[key] for key in spell if key != "classes"} | {"last": "2026-11-06"}]})
    text = read(everyone, "sheet", teachers=("Ms Oak",)).text
    assert "Wed 4 Nov Boiler: remote 1 9B" in text and "Thu 5 Nov no lessons" in text
    # The wall tells all its days.
    assert "Mon, Tue: Boiler (9A)" in read(answer, "overview").text
    longer = solved(data | {"remote_spells": [spell | {"last": "2026-11-06"}]})
    assert "Mon to Fri: Boiler (9A)" in read(longer, "overview").text


def test_towers_are_explained_once_for_each_teacher_and_class() -> None:
    data = scenario([teach("a")], weeks=6, of_class={"teacher": "Ms Oak"})
    answer = solved(data)
    said = "Towers: a brick for each 1 of load, filled where the load is high (4 or more)"
    assert read(answer, "sheet", teachers=("Ms Oak",)).text.count(said) == 1
    assert read(answer, "sheet", classes=("9B",)).text.count(f"{said}; a bare line is a spare period.") == 1
    assert read(answer, "overview").text.count(f"{said}; a bare line is a spare period.") == 1
    wide = solved(data | {"loads": {"least": 1, "most": 20, "high": 15}})
    assert "the more bricks, the greater the load, filled where the load is high (15 or more)" in read(wide, "overview").text


def test_what_was_taught_is_ticked() -> None:
    record = [{"class": "9B", "lesson": "a", "date": "2026-11-02", "period": 1}]
    page = read(solved(scenario([teach("a"), teach("b")], today="2026-11-03", record=record)), "sheet")
    labels = [value for name, value in page.attributes if name == "aria-label"]
    assert labels.count("taught: yes") == labels.count("taught: to tick") == 1


def test_each_teacher_has_their_own_fortnights_and_a_class_its_own_term(shared: Answer) -> None:
    weeks, headings = re.compile(r"Week \d [AB] Mon [^·]*? 2027 (Mr Okafor|Ms Ferris)?"), re.compile("11H Growing cities")
    everything = read(shared, "sheet").text
    assert set(weeks.findall(everything)) == {"Mr Okafor", "Ms Ferris"} and headings.search(everything)
    only = read(shared, "sheet", teachers=("Ms Ferris",)).text
    assert set(weeks.findall(only)) == {"Ms Ferris"} and not headings.search(only)
    term = read(shared, "sheet", classes=("11H",)).text
    assert not weeks.findall(term) and headings.search(term)


def test_only_the_classes_asked_for() -> None:
    classes = [a_class("9A", "Mon 1"), a_class("9B", "Tue 2")]
    answer = solved(scenario([teach("a", title="Rivers")], classes=classes))
    assert "9A" in read(answer, "overview").text
    text = read(answer, "overview", classes=("9B",)).text
    assert "9A" not in text and "9B" in text


def test_names_may_be_typed_small_or_capital() -> None:
    classes = [a_class("9A", "Mon 1", teacher="Mr Birch"), a_class("9B", "Tue 2", teacher="Ms Oak")]
    answer = solved(scenario([teach("a", title="Rivers")], classes=classes))
    for name in ("sheet", "overview", "csv"):
        for typed, exact in (
            ({"classes": ("9b",)}, {"classes": ("9B",)}),
            ({"teachers": ("MS oak",)}, {"teachers": ("Ms Oak",)}),
        ):
            check_shown(answer.instance.scenario, name, Shown(**typed))
            assert written(answer, name, Shown(**typed)) == written(answer, name, Shown(**exact))
            assert written(answer, name, Shown(**exact)) != written(answer, name)
    # Where two are told apart by that alone, it must be typed as it is.
    alike = scenario([teach("a")], classes=[a_class("9a", "Mon 1"), a_class("9A", "Tue 2")])
    check_shown(scenario_from_data(alike), "csv", Shown(("9a",)))
    both = scenario([teach("a")], classes=[a_class("xy", "Mon 1"), a_class("xY", "Tue 2")])
    with pytest.raises(UnusableSettings, match="there is no class XY: classes are xy, xY"):
        check_shown(scenario_from_data(both), "csv", Shown(("XY",)))


def test_bell_times_stand_with_the_periods() -> None:
    bells = [{"number": 1, "starts": "08:45", "ends": "09:45"}, {"number": 2, "starts": "09:45", "ends": "10:45"}]
    answer = solved(scenario([teach("a", length=2, on="2026-11-02"), teach("b")], per_week="Mon 1-2, Tue 2", periods=bells))
    text = read(answer, "sheet").text
    assert "Mon 2 Nov 1–2 08:45–10:45 9B" in text and "2 09:45–10:45 9B" in text
    assert "Periods: 1 08:45–09:45, 2 09:45–10:45." in text


def test_notes_keep_their_lines() -> None:
    text = written(solved(scenario([teach("a", notes=["Bring maps.\n\n  Bring pens."])])), "sheet")
    assert isinstance(text, str) and '<span class="by lines">note: Bring maps.\n\nBring pens.</span>' in text


def test_a_title_stands_at_the_head_of_every_page() -> None:
    for name in ("sheet", "overview"):
        text = written(solved(scenario([teach("a")], title='Rivers "9" </style>')), name)
        assert isinstance(text, str) and '@top-left { content: "Rivers \\22 9\\22  \\3c \\2f style\\3e "; ' in text
        assert read(solved(scenario([teach("a")], title="Rivers")), name).text.startswith("Rivers ")


def test_a_what_if_says_so_at_the_head(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page, futures = tmp_path / "page.html", str(SCENARIOS / "five-futures.yaml")
    asked = ["sequence", futures, "--format", "sheet", "--output", str(page), "--what-if"]
    assert main([*asked, "two-day closure"]) == 0
    text = page.read_text(encoding="utf-8")
    assert re.search(r"@top-left { content: \"[^\"]*what if two-day closure", text.replace("\\2d ", "-"))
    assert re.search(": what if two-day closure Week 1 A", Read(text).text)
    assert main([*asked, "snow"]) == 2
    assert "there is no what-if snow: what-ifs are all in school, " in capsys.readouterr().err


def test_one_week_can_be_printed_alone() -> None:
    """By its number or a date in it; a class asked for with it has only that week too."""
    holiday = {"name": "Half term", "first": "2026-11-09", "last": "2026-11-13"}
    lessons = [teach(name, title=f"Lesson {name}") for name in "abcd"]
    answer = solved(scenario(lessons, weeks=4, unit={"in_order": True}, holidays=[holiday], of_class={"teacher": "Ms Oak"}))
    week = "Week 2 Mon 16 Nov to Fri 20 Nov 2026"
    for weeks in ((2,), (date(2026, 11, 22),)):
        text = read(answer, "sheet", weeks=weeks).text
        assert week in text and text.count("2026 Ms Oak") == 1 and "goes with" not in text
    text = read(answer, "sheet", weeks=(2,), classes=("9B",)).text
    assert "goes with" in text and "Mon 16 Nov" in text and "23 Nov" not in text and "Half term" not in text
    both = read(answer, "sheet", weeks=(2, 3)).text
    assert both.count("2026 Ms Oak") == 2 and "Week 3" in both
    there = r"school weeks are 1 \(Mon 2 Nov 2026\) to 3 \(Mon 23 Nov 2026\)"
    for asked, said in (
        (4, f"there is no week 4: {there}"),
        (date(2026, 11, 9), f"Mon 9 Nov 2026 lies in no school week: {there}"),
    ):
        with pytest.raises(UnusableSettings, match=said):
            check_shown(answer.instance.scenario, "sheet", Shown(weeks=(asked,)))
    with pytest.raises(UnusableSettings, match=r"a choice of weeks is for the formats sheet \(not csv\)"):
        check_shown(answer.instance.scenario, "csv", Shown(weeks=(1,)))
    # Who meets nobody in that week is told so.
    visits = scenario(
        [teach("a")], weeks=2, per_week="Mon 1", of_class={"teacher": "Ms Oak"}, closures=[{"name": "Flood", "on": "2026-11-09"}]
    )
    assert "No class that is asked for meets in these weeks." in read(solved(visits), "sheet", weeks=(2,)).text


def many(classes: int, weeks: int) -> Data:
    """So many classes, with a lesson in each of their periods."""
    lessons = [
        teach(f"l{number}", title=f"Lesson {number} of a unit on rivers and coasts", load=2) for number in range(2 * weeks)
    ]
    listed = [a_class(f"{7 + number}X", f"Mon {number + 1}, Thu {number + 1}", teacher="Ms Oak") for number in range(classes)]
    return scenario(lessons, weeks=weeks, classes=listed, unit={"in_order": True})


@pytest.mark.parametrize(("classes", "weeks", "pages"), [(6, 7, 1), (8, 3, 2), (12, 2, 2), (13, 1, 3)])
def test_the_wall_has_at_most_six_classes_side_by_side(classes: int, weeks: int, pages: int) -> None:
    text = written(solved(many(classes, weeks)), "overview")
    assert isinstance(text, str)
    assert text.count("<section>") == pages
    assert "size: A4 landscape" in text
    for heads in re.findall("<thead>(.*?)</thead>", text):
        assert heads.count("<th>") <= 6
    assert all(text.count(f">{7 + number}X</th>") == 1 for number in range(classes))


def test_pages_break_between_weeks_and_never_inside_a_day() -> None:
    text = written(solved(many(6, 4)), "sheet", Shown(teachers=("Ms Oak",)))
    assert isinstance(text, str)
    # Twelve rows a week: two weeks do not share a page, so each has a block that is not broken.
    assert text.count('<div class="one-week">') == 4
    assert ".one-week { break-inside: avoid }" in text and "tbody, tr { break-inside: avoid }" in text
    assert "section + section { break-before: page" in text


def test_long_names_get_room_and_a_day_longer_than_a_page_may_break() -> None:
    long = [teach(f"l{number}", title="Rivers and what follows " * 8, load=1) for number in range(14)]
    for per_week, lessons, name, kind in (
        ("Mon 1", [teach("a")], "9B", "week"),
        ("Mon 1", [teach("a")], "Year nine", "week named"),
        ("Mon 1-14", long, "9B", "week tight long"),
        ("Mon 1-14", long, "Year nine", "week tight named long"),
    ):
        text = written(solved(scenario(lessons, weeks=1, per_week=per_week, of_class={"name": name})), "sheet")
        assert isinstance(text, str) and f'<table class="{kind}">' in text


def test_cautions_stand_at_the_foot() -> None:
    lessons = [teach("a", tags="practical", on="2026-11-02"), teach("b", tags="fieldwork", on="2026-11-10"), teach("c")]
    for name in ("sheet", "overview"):
        text = read(solved(scenario(lessons)), name).text
        assert "Caution. Practical work" in text and "Caution. Fieldwork" in text
        assert "Live video" not in text


def test_best_found_is_not_called_proven() -> None:
    answer = replace(solved(scenario([teach("a")])), status="feasible")
    for name in ("sheet", "overview"):
        text = read(answer, name).text
        assert "Best found in the time allowed" in text and "Proven" not in text


def test_holidays_stand_between_the_weeks() -> None:
    holiday = {"name": "Half term", "first": "2026-11-09", "last": "2026-11-13"}
    answer = solved(scenario([teach("a"), teach("b", not_before="2026-11-16")], weeks=3, holidays=[holiday]))
    for name in ("sheet", "overview"):
        assert "Half term, Mon 9 Nov to Fri 13 Nov" in read(answer, name).text
    # In each kind of sheet, the weeks' and the class's.
    assert read(answer, "sheet").text.count("Half term, Mon 9 Nov to Fri 13 Nov") == 2


def test_days_off_stand_in_the_text_of_a_plan() -> None:
    """A holiday over a weekend is one spell, days apart are two; another class's closure is none of this one's."""
    closures = [
        {"name": "Flood", "on": ["2026-11-05", "2026-11-24"], "periods": [1]},
        {"name": "Trip", "on": "2026-11-04", "classes": ["9C"]},
    ]
    holiday = {"name": "Half term", "first": "2026-11-13", "last": "2026-11-17"}
    classes = [a_class("9B", "Mon 1, Thu 1"), a_class("9C", "Mon 1, Thu 1")]
    answer = solved(scenario([teach("a")], weeks=4, classes=classes, closures=closures, holidays=[holiday]))
    own = str(written(answer, "text")).split("9C:")[0].splitlines()
    assert [line.split() for line in own if "Nov 2026" in line and "spare" not in line and "Lesson" not in line][1:] == [
        ["Thu", "5", "Nov", "2026", "Flood", "(period", "1):", "no", "school"],
        ["Fri", "13", "Nov", "2026", "Half", "term", "(to", "Tue", "17", "Nov", "2026)"],
        ["Tue", "24", "Nov", "2026", "Flood", "(period", "1):", "no", "school"],
    ]
    assert "Trip" not in " ".join(own)


def test_without_a_sequence_there_is_no_sheet() -> None:
    answer = solve(scenario_from_data(scenario([teach("a"), teach("b"), teach("c")], weeks=1)), SolveSettings(10))
    for name in ("sheet", "overview"):
        with pytest.raises(NothingToShow):
            written(answer, name)


@pytest.mark.parametrize(
    ("loads", "scale", "bricks", "full", "words"),
    [
        ([2, None, 4], Loads(), 6, 4, "Loads 2, 4: 6 in all, 1 of them high"),
        ([5], Loads(), 5, 5, "Load 5, high"),
        ([None], Loads(), 0, 0, "No lesson"),
        ([0, 1], Loads(least=0), 1, 0, "Loads 0, 1: 1 in all, none of them high"),
        ([50, 100], Loads(most=100, high=80), 12, 8, "Loads 50, 100: 150 in all, 1 of them high"),
        ([9], Loads(), 5, 5, "Load 9, high"),
    ],
)
def test_loads_are_bricks_and_words(loads: list[int | None], scale: Loads, bricks: int, full: int, words: str) -> None:
    drawn = towers(loads, scale)
    assert (drawn.count('class="brick'), drawn.count("brick full")) == (bricks, full)
    assert in_words(loads, scale) == words and f'aria-label="{words}"' in drawn


def test_dates_are_those_of_the_answer(half_term: Answer) -> None:
    text = read(half_term, "sheet", classes=("10G",)).text
    for row in answer_json(half_term)["lessons"]:
        day = date.fromisoformat(row["date"])
        periods = {1: f"{row['period']} ", 2: f"{row['period']}–{row['period'] + 1} "}[row["length"]]
        assert f"{day:%a} {day.day} {day:%b} {periods}" in text
