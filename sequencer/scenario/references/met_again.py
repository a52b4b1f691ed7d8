"""What is met again: in retrieval lessons with room, in starters, by choice, several times, at distances."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.scenario.openings_schema import DISTANCES, HEAVIER
from sequencer.scenario.places import Path, shown
from sequencer.scenario.references.entries import ByPlace, Entry, Findings, MadeEntry
from sequencer.scenario.references.outline import InForce, Outline, TaughtLesson, kind_of, referred
from sequencer.scenario.rules_schema import MOST_FURTHER, ClassRules
from sequencer.words import CARRIED_OVER, DISTANCE, count_text


def room_is_for_all_that_is_listed(outline: Outline, findings: Findings) -> None:
    """Retrieval lessons alone have room, and room for what they list; no lesson meets another again in two ways."""
    for key, lesson in outline.lessons.items():
        room, kind = lesson["room"], kind_of(lesson)
        listed = len(lesson["revisits"].listed())
        if room.stated and kind not in (None, "retrieval"):
            findings.add(room, f"can only stand in a retrieval lesson; this is of kind {kind}", on_key=True)
        elif room.number is not None and room.number < listed:
            findings.add(
                room,
                f"is less than the {count_text(listed, 'lesson')} listed under revisits, which it includes (got {room.number})",
            )
        revisited = {outline.lesson_key(word, key[0]) for word, _ in referred(lesson["revisits"])}
        for word, place in referred(lesson["starter"]):
            if outline.lesson_key(word, key[0]) in revisited:
                findings.add(place, f"is met again in the lesson itself already ({shown(word)} is listed under revisits)")


def room_is_for_what_is_chosen(outline: Outline, findings: Findings) -> None:
    """Room is for lessons that are met again by choice. Without room they may still be carried over, so that is not refused."""
    idle = ByPlace()
    used: set[Path] = set()
    for class_id in outline.classes:
        taught = list(outline.taught_to(class_id))
        rooms = _rooms(taught, outline)
        if _anything_chosen(class_id, taught, outline):
            used.update(room.path for room in rooms)
        for room in rooms:
            if not isinstance(room, MadeEntry):
                idle.add(room, class_id)
    for place, classes in idle:
        if place.path not in used:
            what = "is for lessons met again by choice, and there are none in"
            findings.add(place, f"{what} {classes}; retrieval: {{chosen: true}} says which are")


def _anything_chosen(class_id: str, taught: list[TaughtLesson], outline: Outline) -> bool:
    """Whether a class has a lesson that is met again by choice."""
    for lesson in taught:
        if kind_of(lesson.lesson) == "teach":
            by_pattern = lesson.pattern is not None and lesson.pattern["retrieval"].stated
            if _is_chosen(outline.rule("retrieval", lesson), by_pattern):
                return True
    topics = outline.before[class_id].values()
    return any(_is_chosen(outline.rule_before("retrieval", class_id, topic), False) for topic in topics)


def _is_chosen(rule: InForce, otherwise: bool) -> bool:
    if rule.off:
        return False
    if "chosen" in rule.numbers:
        return rule.numbers["chosen"].value is True
    return otherwise


def _rooms(taught: list[TaughtLesson], outline: Outline) -> list[Entry]:
    """Where a class's lessons are given room for lessons met again by choice."""
    found = []
    for lesson in taught:
        room = lesson.lesson["room"]
        if kind_of(lesson.lesson) == "retrieval" and _leaves_room(room, lesson.lesson["revisits"]):
            found.append(room)
        starters = outline.rule("starters", lesson)
        if not starters.off and "most" in starters.numbers and _leaves_room(starters.numbers["most"], lesson.lesson["starter"]):
            found.append(starters.numbers["most"])
    return found


def _leaves_room(number: Entry, listed: Entry) -> bool:
    """Whether a number leaves room beyond what is listed; what is no number may."""
    return number.stated and (number.number is None or number.number > len(listed.listed()))


def further_retrievals_leave_room(outline: Outline, findings: Findings) -> None:
    """Each further retrieval has a window, and may come after the one before it."""
    for rules in outline.all_rules():
        for further in rules.all("retrieval.then"):
            preferred, least = further["preferred"].number, further["least"].number
            if findings.not_in_order(further, "least", "most"):
                continue
            if preferred is not None and least is not None and preferred < least:
                findings.add(further["preferred"], f"must not be less than least, {least} (got {preferred})")
            else:
                findings.not_in_order(further, "preferred", "most")
    reported: set[Path] = set()
    for rule in _retrieval_rules(outline):
        first = _number(rule, "least"), _number(rule, "most")
        before: tuple[int, int] | None = first if first[0] <= first[1] else None
        for further in _further(rule):
            least, most = further["least"].number, further["most"].number
            if before is None or least is None or most is None or least > most:
                break
            if further["counted_from"].value == "retrieval before":
                before = before[0] + least, before[1] + most
                continue
            if most <= before[0] and further.path not in reported:
                reported.add(further.path)
                findings.add(
                    further["most"],
                    f"leaves no day after the retrieval before it, which comes at least {count_text(before[0], 'day')} after the "
                    f"lesson: count it from there (counted_from: retrieval before) or list it earlier (got {most})",
                )
            before = least, most


def _retrieval_rules(outline: Outline) -> Iterator[InForce]:
    """Rule 4 wherever it holds: for every teach lesson of every class, and for what each was taught before."""
    for taught in outline.taught():
        if kind_of(taught.lesson) == "teach":
            yield outline.rule("retrieval", taught)
    for class_id, topics in outline.before.items():
        for topic in topics.values():
            yield outline.rule_before("retrieval", class_id, topic)


def _number(rule: InForce, name: str) -> int:
    number, numbers = rule.number(name), ClassRules.numbers_of("retrieval")
    assert numbers is not None
    return int(numbers.usual[name]) if number is None else number


def _further(rule: InForce) -> list[Entry]:
    """The further retrievals that hold; no more than there can be."""
    return rule.numbers["then"].mappings()[:MOST_FURTHER] if not rule.off and "then" in rule.numbers else []


def distance_counts_what_is_met(outline: Outline, findings: Findings) -> None:
    """Where lessons are met again several times, `carried over` is settled before `distance`."""
    aims: dict[str, Entry] = {}
    for word, place in outline.root["aims"].words():
        aims.setdefault(word, place)
    named = list(aims)
    if DISTANCE not in named or CARRIED_OVER in named[: named.index(DISTANCE)]:
        return
    if any(_further(rule) for rule in _retrieval_rules(outline)):
        why = "since lessons are met again several times: what is carried over counts no distance"
        findings.add(aims[DISTANCE], f"must come after {CARRIED_OVER}, {why}")


def distances_can_be_kept(outline: Outline, findings: Findings) -> None:
    """No distance is stated twice, and none is shorter than the soonest that a topic is met again."""
    for openings in outline.root.all("openings", "classes.openings"):
        soonest = openings["soonest"].number or 1
        seen: set[int] = set()
        for key, usual in (("distances", DISTANCES), ("heavier", HEAVIER)):
            for entry in openings[key].listed():
                if entry.number is None:
                    continue
                if entry.number in seen:
                    findings.add(entry, f"is in the list already ({entry.number})")
                elif entry.number < soonest:
                    findings.add(entry, f"is less than soonest, {soonest} (got {entry.number})")
                seen.add(entry.number)
            shorter = [days for days in usual if days < soonest]
            if not openings[key].stated and shorter:
                message = f"is more than {count_text(shorter[0], 'day')}, which {key} holds unless stated (got {soonest})"
                findings.add(openings["soonest"], message)
