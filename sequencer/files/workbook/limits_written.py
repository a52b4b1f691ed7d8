"""The rows of the sheet Limits and wishes that a scenario's plain data comes to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from sequencer.files.workbook import form
from sequencer.files.workbook.day_rows import KINDS_SAID, as_list
from sequencer.files.workbook.limit_kinds import DAY, LIMITS, LISTED, RULES, TEACHER, WEEK, WISH_WORDS, LimitKind
from sequencer.files.workbook.limit_rows import ALL, Whose
from sequencer.scenario.rules_schema import ClassRules


def limit_cells(data: Mapping[str, Any]) -> Iterator[dict[str, form.Cell]]:
    """The rows, by their columns, that say the limits of a scenario's plain data, as far as rows can say them."""
    whose = Whose(data)
    yield from _of_rules(data.get("rules", {}), ALL)
    for number, each in enumerate(data["classes"]):
        yield from _of_rules(each.get("rules", {}), whose.names(("classes", number), each["id"]))
    for number, each in enumerate(data.get("cohorts", ())):
        yield from _of_rules(each.get("rules", {}), whose.names(("cohorts", number), each["id"], each.get("title")))
    for number, unit in enumerate(data["units"]):
        yield from _of_rules(unit.get("rules", {}), whose.names(("units", number), unit["id"]))
        for place, lesson in enumerate(unit["lessons"]):
            names = (lesson.get("title"), lesson["id"], f"{unit['id']}/{lesson['id']}")
            if lesson.get("rules"):
                yield from _of_rules(lesson["rules"], whose.names(("units", number, "lessons", place), *names))
    for each in data.get("teachers", ()):
        for limit in LIMITS:
            if limit.stands == TEACHER and limit.most in each:
                yield _cells(limit, each["name"], each, each.get("wish"))


def _of_rules(rules: Any, who: str | None) -> Iterator[dict[str, form.Cell]]:
    """The rows of one part's rules; none where nothing tells who is meant."""
    if who is None or not isinstance(rules, dict):
        return
    for limit in LIMITS:
        if limit.stands == RULES:
            yield from _of_numbers(limit, rules.get(limit.rule), who)
        elif limit.on_weekdays:
            for each in _listed(rules.get(limit.rule)):
                tagged = {form.WORD: each.get("kind") or each.get("tag"), form.PER: ", ".join(as_list(each["on"]))}
                if not ("kind" in each and "tag" in each) and str(each.get("tag")).lower() not in KINDS_SAID:
                    yield _cells(limit, who, each, each.get("wish")) | tagged
        elif limit.stands == LISTED and limit.rule:
            for each in _listed(rules.get(limit.rule)):
                span = {key: date.fromisoformat(each[key]) for key in (form.FIRST, form.LAST) if key in each}
                per = None if span or each.get("per", WEEK) == WEEK else each["per"]
                yield _cells(limit, each.get("teacher", who), each, each.get("wish")) | {form.PER: per} | span
        elif limit.stands == LISTED:
            for key, number in ((limit.most, "most"), (limit.least, "least")):
                for each in _listed(rules.get(key)):
                    tagged = {form.WORD: each["tag"], form.PER: each["of"]}
                    yield _cells(limit, who, {key: each[number]}, each.get("wish")) | tagged


def _of_numbers(limit: LimitKind, stated: Any, who: str) -> Iterator[dict[str, form.Cell]]:
    kind = ClassRules.numbers_of(limit.rule)
    assert kind is not None
    on_first_sheet = who == ALL and any(limit.rule in setting.path for setting in form.SETTINGS)
    if isinstance(stated, int) and not on_first_sheet:
        stated = {kind.main: stated}
    if not isinstance(stated, dict) or (on_first_sheet and limit.rule == "retrieval" and set(stated) <= {"least", "most"}):
        return
    has_wished = "wished" in kind.model_fields
    said = isinstance(stated.get("wish"), int) if limit.wish_only else {limit.least, limit.most} & stated.keys()
    if said and not (has_wished and "wish" in stated):
        yield _cells(limit, who, stated, stated.get("wish"))
    wished = stated.get("wished")
    if isinstance(wished, dict) and "weight" in wished and {limit.least, limit.most} & wished.keys():
        yield _cells(limit, who, wished, wished["weight"])


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value] if isinstance(value, dict) else []


def _cells(limit: LimitKind, who: str, numbers: Mapping[str, Any], weight: Any) -> dict[str, form.Cell]:
    words = {weight: word for word, weight in WISH_WORDS.items()}
    return {
        form.WHO: who or None,
        form.WHAT: limit.what,
        form.AT_LEAST: numbers.get(limit.least),
        form.AT_MOST: numbers.get(limit.most),
        form.PER: limit.per if limit.per == DAY else None,
        form.WISH: words.get(weight, weight) if isinstance(weight, int) else None,
    }
