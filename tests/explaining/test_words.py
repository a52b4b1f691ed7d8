"""How a conflict is said: one sentence first with class, title and date; in a workbook no pointer, but every statement's cell."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from sequencer import (
    ExplainSettings,
    Explanation,
    Sequence,
    Source,
    StopSignal,
    UnusableInput,
    check,
    compare,
    comparison_json,
    elsewhere,
    elsewhere_json,
    explain,
    explanation_json,
    explanation_text,
    read_scenario,
    read_workbook,
    scenario_contents,
    scenario_from_data,
    verdict_json,
    write_blank,
)
from sequencer.__main__ import main
from sequencer.cli.shared import source_of
from tests.builders import Data, a_class, assessment, day, feedback, practice, retrieval, scenario, teach
from tests.explaining.planting import KINDS

RIVERS = [
    teach("r1", title="Springs and sources", rules={"retrieval": {"least": 7, "most": 14}}),
    teach("r2", title="Meanders", load=4, requires={"lesson": "r1", "most_days": 7}),
    practice("r2-task", "r2", title="A meander on the map"),
    teach("r3", title="Floods"),
    retrieval("quiz", "r1", title="Springs again"),
    assessment("test", title="Rivers test", requires=["r3", "r2-task"], report_deadline=day(3, "Fri"), rules={"marking": 3}),
    feedback("talk", "test", title="The test talked through"),
]
"""Seven lessons in three weeks of four periods: as they are, there is room."""


def half_term() -> Data:
    """Return a class with a sequence, for something to be planted in."""
    rules = {"week": {"most_lessons": 4}, "practice_after_dense": 3}
    classes = [a_class("10G", "Mon 1, Tue 1, Wed 1, Thu 1")]
    return scenario(deepcopy(RIVERS), weeks=3, unit={"title": "Rivers", "in_order": True}, classes=classes, rules=rules)


def of_lesson(number: int, **more: object) -> Callable[[Data], None]:
    """Return what changes one lesson."""
    return lambda data: data["units"][0]["lessons"][number].update(more)


def _closure(data: Data) -> None:
    data["closures"] = [{"name": "Flooded hall", "first": day(1, "Mon"), "last": day(2, "Thu")}]


def _more_lessons(data: Data) -> None:
    data["units"][0]["lessons"] += [practice(f"more-{number}", "r1", title=f"More maps {number}") for number in range(8)]


def _week(data: Data) -> None:
    data["rules"]["week"]["most_lessons"] = 2


def _restricted(data: Data) -> None:
    days = [day(week, name) for week in (1, 2, 3) for name in ("Mon", "Tue", "Wed", "Thu")]
    data["restricted_days"] = [{"name": "Cover teacher", "on": days[:-1], "refuses": {"kinds": ["teach"]}}]


def _retrieval(data: Data) -> None:
    # Met again 7 to 14 days after Monday 2 November, but not before Thursday 19 November.
    of_lesson(0, not_after=day(1, "Mon"))(data)
    of_lesson(4, not_before=day(3, "Thu"))(data)


PLANTED: dict[str, Callable[[Data], None]] = {
    "closure": _closure,
    "not_after": of_lesson(3, not_after=day(1, "Tue")),
    "deadline": of_lesson(5, report_deadline=day(2, "Tue")),
    "window": of_lesson(1, requires={"lesson": "r1", "least_days": 4, "most_days": 4}, not_after=day(1, "Thu")),
    "marking": of_lesson(5, rules={"marking": 12}),
    "retrieval": _retrieval,
    "practice": of_lesson(2, requires={"lesson": "r2", "least_days": 8}),
    "longer": of_lesson(1, length=3),
    "more_lessons": _more_lessons,
    "week": _week,
    "restricted": _restricted,
    "pin": of_lesson(0, not_before=day(3, "Wed")),
}
"""For each kind of contradiction that is planted, one that a person can check."""

REPAIRED = ("longer", "not_after", "pin", "practice", "window")
"""Those to which a repair is asked for too."""

DATE = re.compile(r"\b(Mon|Tue|Wed|Thu|Fri) \d{1,2} [A-Z][a-z]{2} \d{4}\b")
CELL = re.compile(r" \(sheet [A-Z][a-z ]+, cell [A-Z]+\d+\)$")


def test_every_kind_is_planted() -> None:
    assert list(PLANTED) == [kind.__name__ for kind in KINDS]
    assert explain(scenario_from_data(half_term())).possible


@pytest.mark.parametrize("kind", PLANTED)
def test_a_conflict_of_a_workbook_is_said_in_words(kind: str, tmp_path: Path) -> None:
    data = half_term()
    PLANTED[kind](data)
    book = tmp_path / "autumn.xlsx"
    write_blank(book, scenario_contents(scenario_from_data(data)))
    found = explain(read_workbook(book), ExplainSettings(seconds=8, conflicts=1, repairs=int(kind in REPAIRED)))
    assert found.possible is False
    told = explanation_text(found, source_of(book))
    first, *others = told.partition("\n\n")[0].splitlines()
    assert "10G" in first and DATE.search(first), first
    assert any(f'"{lesson["title"]}"' in first for lesson in data["units"][0]["lessons"]), first
    statements = [line for line in others if line.startswith("  ")]
    assert statements and all(CELL.search(line) for line in statements), told
    assert not re.search(r"\w\[\d+\]|\(u/|\bu/", told), told
    assert first.endswith(".") and "These statements" not in first


def test_ids_and_places_are_said_on_request(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["explain", "scenarios/no-sequence.yaml", "--conflicts", "1", "--repairs", "1"]
    assert main([*asked, "--ids"]) == 1
    told = capsys.readouterr().out
    assert '"Inside the Earth" (plates/structure)' in told
    assert "(scenarios/no-sequence.yaml:10:5) [closures[0]]" in told


def test_a_pin_on_a_bank_holiday_names_it() -> None:
    data = scenario(
        [teach("a", title="Deserts"), assessment("t", title="Deserts test", on="2027-03-29", requires="a")],
        classes=[a_class("9T", "Mon 1, Tue 1")],
        term={"first": "2027-03-22", "last": "2027-04-16", "country": "England"},
        holidays=[{"name": "Easter holidays", "first": "2027-03-26", "last": "2027-04-09"}],
    )
    text = explanation_text(explain(scenario_from_data(data), ExplainSettings(repairs=0)))
    assert '9T: "Deserts test" has to be taught\n  "Deserts test" is pinned to Mon 29 Mar 2027, which is Easter Monday' in text
    del data["term"]["country"]
    text = explanation_text(explain(scenario_from_data(data), ExplainSettings(repairs=0)))
    assert text.startswith("9T has no period from") and "Mon 29 Mar 2027, which is Easter holidays" in text


def test_a_thread_says_which_lessons_lack_the_tag() -> None:
    lessons = [teach(name, title=f"Lesson {name}", tags=["maps"] if name == "a" else []) for name in "abcdefgh"]
    data = scenario(lessons, classes=[a_class("9T", "Mon 1, Tue 1, Wed 1, Thu 1")], weeks=2)
    data["rules"] = {"threads": [{"tag": "maps", "least": 1, "of": 4}]}
    text = explanation_text(explain(scenario_from_data(data), ExplainSettings(repairs=0)))
    assert '(1 lesson tagged so; without the tag: "Lesson b", "Lesson c",' in text.splitlines()[0]
    del lessons[0]["tags"]
    with pytest.raises(UnusableInput, match=r'no lesson carries .*"Lesson a", "Lesson b", .* and 2 more lack it'):
        scenario_from_data(data)


def test_a_conflict_with_what_was_taught_names_it() -> None:
    # Dunes were taught on Monday. Wadis must come by Wednesday, after Oases: there is one period, on Tuesday.
    oases, wadis = teach("c", title="Oases", requires="a"), teach("b", title="Wadis")
    wadis["requires"] = ["c", {"lesson": "a", "most_days": 2}]
    data = scenario(
        [teach("a", title="Dunes"), oases, wadis],
        classes=[a_class("9T", "Mon 1, Tue 1")],
        today=day(1, "Tue"),
        record=[{"class": "9T", "lesson": "a", "date": day(1, "Mon"), "period": 1}],
    )
    text = explanation_text(explain(scenario_from_data(data), ExplainSettings(repairs=0)))
    assert '9T: "Dunes" was taught on Mon 2 Nov 2026, period 1' in text


def test_a_search_that_was_stopped_does_not_say_that_time_ran_out() -> None:
    stop = StopSignal()
    stop.stop()
    found = explain(read_scenario(Path("scenarios/no-sequence.yaml")), ExplainSettings(seconds=60), stop)
    assert found.stopped
    told = explanation_text(found)
    assert "stopped" in told and "ime ran out" not in told and "--seconds" not in told
    partly = Explanation(found.instance, False, stopped=True)
    assert "ime ran out" not in explanation_text(partly) and "the search was stopped before it was known why" in explanation_text(
        partly
    )


def test_lessons_of_one_title_are_told_apart() -> None:
    again = {"id": "v", "title": "Coasts", "lessons": [teach("x", title="Recap", not_after=day(1, "Mon"))]}
    lessons = [teach("x", title="Recap", not_after=day(1, "Mon"))]
    data = scenario(lessons, unit={"title": "Rivers"}, classes=[a_class(units=["u", "v"])])
    data["units"].append(again)
    first = explanation_text(explain(scenario_from_data(data), ExplainSettings(repairs=0))).splitlines()[0]
    assert '"Recap" (Rivers), "Recap" (Coasts)' in first


def sentences(body: Any) -> Iterator[str]:
    """Every text of a JSON answer that people read: those under these keys."""
    if isinstance(body, dict):
        for key, value in body.items():
            if key in ("text", "because", "message", "notes"):
                yield from [value] if isinstance(value, str) else value
            else:
                yield from sentences(value)
    elif isinstance(body, list):
        for each in body:
            yield from sentences(each)


def test_sentences_in_json_name_lessons_by_title() -> None:
    cut = {"change": "leave out", "lesson": "u/r3", "class": "10G"}
    planted = scenario_from_data(half_term() | {"what_ifs": [{"name": "No floods", "changes": [cut]}]})
    found = elsewhere(planted, "10G", "u/r1", seconds=10)
    bodies = [
        explanation_json(explain(read_scenario("scenarios/no-sequence.yaml"), ExplainSettings(conflicts=1, repairs=1))),
        elsewhere_json(found, Source()),
        verdict_json(found.instance, check(planted, Sequence(()))),
        comparison_json(compare(planted)),
    ]
    for body in bodies:
        told = list(sentences(body))
        assert any('"' in text for text in told)
        assert not [text for text in told if re.search(r"[a-z]/[a-z]", text)]
