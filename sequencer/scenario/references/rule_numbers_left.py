"""The numbers of rules: what they leave, together with those that hold from further out or by default."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.scenario.numbers import numbers_of
from sequencer.scenario.places import Path, where_text
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import InForce, Outline, in_force
from sequencer.scenario.rules_schema import ClassRules, LessonRules, RuleNumbers, windows_of

_WINDOWS = (("least_days", "most_days"), ("least_slots", "most_slots"), ("least_weeks", "most_weeks"))


def requirements_leave_room(outline: Outline, findings: Findings) -> None:
    """A prerequisite's window is not empty."""
    for lesson in outline.lessons.values():
        for requirement in lesson["requires"].mappings():
            for window in _WINDOWS:
                findings.not_in_order(requirement, *window)
            if requirement["most_slots"].number == 0:
                findings.add(requirement["most_slots"], "must be at least 1: the period straight after is 1 later")
            if requirement["wish"].stated and not any(name in requirement for pair in _WINDOWS for name in pair):
                message = "says nothing without a window, such as most_days: that the lesson comes later is always hard"
                findings.add(requirement["wish"], message, on_key=True)


def _rules_with_numbers(level: type[LessonRules]) -> Iterator[tuple[str, type[RuleNumbers]]]:
    return ((key, numbers) for key in level.model_fields if (numbers := level.numbers_of(key)) is not None)


def rules_leave_room(outline: Outline, findings: Findings) -> None:
    """Least and greatest numbers leave a window wherever they hold, whichever level states which of them."""
    stated, classes = outline.all_rules(), outline.root["classes"].mappings()
    for key, numbers in _rules_with_numbers(ClassRules):
        for least, most in windows_of(numbers):
            for rules in stated:
                findings.not_in_order(rules[key], least, most)
            if key not in LessonRules.model_fields:
                in_classes = (in_force(key, outline.root["rules"], class_["rules"]) for class_ in classes)
                for rule in in_classes:
                    _window_is_not_empty(rule, numbers, least, most, findings)
                continue
            held = [outline.rule(key, taught) for taught in outline.taught()]
            held += [
                outline.rule_before(key, class_id, topic)
                for class_id, topics in outline.before.items()
                for topic in topics.values()
            ]
            for rule in held:
                _window_is_not_empty(rule, numbers, least, most, findings)
                if "preferred" in numbers.model_fields:
                    _preferred_lies_in_window(rule, numbers, findings)


def _window_is_not_empty(rule: InForce, numbers: type[RuleNumbers], least: str, most: str, findings: Findings) -> None:
    low, high = rule.number(least), rule.number(most)
    if rule.off or rule.unclear(least) or rule.unclear(most):
        return
    lowest, highest = (numbers.usual.get(name) if number is None else number for name, number in ((least, low), (most, high)))
    if lowest is None or highest is None or lowest <= highest:
        return
    if low is not None and (high is None or _narrower(rule.numbers[least], rule.numbers[most])):
        findings.add(rule.numbers[least], f"is greater than {most}, {highest}{_from(rule, most)} (got {lowest})")
    elif high is not None and (low is None or _narrower(rule.numbers[most], rule.numbers[least])):
        findings.add(rule.numbers[most], f"is less than {least}, {lowest}{_from(rule, least)} (got {highest})")


def _narrower(one: Entry, other: Entry) -> bool:
    """Whether one number is stated by a narrower level than another; not when both stand in one mapping."""
    return one.parent != other.parent and _rank(one.path) >= _rank(other.path)


def _rank(path: Path) -> int:
    """Scenario 0, class 1, pattern 2, unit 3, lesson 4, a class's lesson or what it was taught before 5."""
    match path:
        case ("classes", _, "lessons" | "taught_before", *_):
            return 5
        case ("units", _, "lessons", *_):
            return 4
        case ("units", *_):
            return 3
        case ("patterns", *_):
            return 2
        case ("classes", *_):
            return 1
    return 0


def _from(rule: InForce, name: str) -> str:
    """Where a number comes from."""
    return f" from {where_text(rule.numbers[name].path)}" if name in rule.numbers else " unless stated"


def _preferred_lies_in_window(rule: InForce, numbers: type[RuleNumbers], findings: Findings) -> None:
    """The preferred distance lies in the window that holds where it is stated; a narrower window may leave it out."""
    preferred = rule.number("preferred")
    if rule.off or preferred is None:
        return
    place = rule.numbers["preferred"]
    for name, wrong in (("least", "less"), ("most", "greater")):
        stated = rule.number(name)
        bound = numbers.usual[name] if stated is None else stated
        beyond = preferred < bound if name == "least" else preferred > bound
        if beyond and not rule.unclear(name) and (stated is None or _rank(rule.numbers[name].path) <= _rank(place.path)):
            findings.add(place, f"is {wrong} than {name}, {bound}{_from(rule, name)} (got {preferred})")


def threads_can_be_kept(outline: Outline, findings: Findings) -> None:
    """A thread does not ask for more lessons than it counts periods."""
    for rules in outline.all_rules():
        for thread in rules["threads"].mappings():
            findings.not_in_order(thread, "least", "of")


def quotas_say_what_they_count(outline: Outline, findings: Findings) -> None:
    """A live quota has a number, dates when it is of a span, and names a teacher for the whole scenario only."""
    for quota in outline.root["rules"]["live_quotas"].mappings():
        _quota_is_complete(quota, outline, findings)
    for class_ in outline.root["classes"].mappings():
        for quota in class_["rules"]["live_quotas"].mappings():
            _quota_is_complete(quota, outline, findings)
            if "teacher" in quota:
                message = "can only stand in the rules of the whole scenario, since it counts over classes"
                findings.add(quota["teacher"], message, on_key=True)


def _quota_is_complete(quota: Entry, outline: Outline, findings: Findings) -> None:
    if "least" not in quota and "most" not in quota:
        findings.add(quota, "must say how many: least, most or both")
    findings.not_in_order(quota, "least", "most")
    first, last = quota["first"], quota["last"]
    if quota["per"].value == "span":
        if not (first.stated and last.stated):
            findings.add(quota, "is per span and must say its dates: first and last")
        elif first.day and last.day:
            _span_lies_in_term(first, last, outline, findings)
    elif quota["per"].value in (None, "week", "cycle"):
        for date in (first, last):
            if date.stated:
                findings.add(date, "can only stand in a quota that is per span", on_key=True)


def _span_lies_in_term(first: Entry, last: Entry, outline: Outline, findings: Findings) -> None:
    assert first.day is not None and last.day is not None
    if last.day < first.day:
        findings.add(last, f"must not lie before first, {first.day} (got {last.day})")
    elif outline.first and outline.last and (last.day < outline.first or first.day > outline.last):
        findings.add(first, f"lies outside term ({outline.first} to {outline.last}) altogether")


def wishes_have_numbers(outline: Outline, findings: Findings) -> None:
    """A wish has numbers to be a wish about, where there are none unless stated."""
    rules = outline.all_rules()
    for key, model in _rules_with_numbers(ClassRules):
        numbers = [] if model.usual else list(numbers_of(model))
        stated = any(entry[key].number is not None or any(number in entry[key] for number in numbers) for entry in rules)
        for entry in rules if numbers and not stated else ():
            if entry[key]["wish"].number is not None:
                findings.add(entry[key]["wish"], f"says nothing while no rules state {', '.join(numbers)}", on_key=True)


def wished_numbers_are_narrower(outline: Outline, findings: Findings) -> None:
    """What is wished beside hard numbers leaves less room than these, which hold anyway, and some room."""
    for key, model in _rules_with_numbers(ClassRules):
        for rules in outline.all_rules() if "wished" in model.model_fields else ():
            for window in windows_of(model):
                findings.not_in_order(rules[key]["wished"], *window)
            for name in numbers_of(model):
                _is_narrower(rules[key], name, findings)


def _is_narrower(rule: Entry, name: str, findings: Findings) -> None:
    hard, wished = rule[name].number, rule["wished"][name]
    if rule["wished"].number is not None:
        wished = rule["wished"]
    if hard is None or wished.number is None or rule["wish"].stated:
        return
    least = name.startswith("least")
    if wished.number <= hard if least else wished.number >= hard:
        asked = "more" if least else "less"
        findings.add(wished, f"must be {asked} than {name}, {hard}, which holds anyway (got {wished.number})")


def aims_are_stated(outline: Outline, findings: Findings) -> None:
    """There is at least one aim."""
    if outline.root["aims"].value == []:
        findings.add(outline.root["aims"], "must name at least one aim: leave the key out for the usual ones")
