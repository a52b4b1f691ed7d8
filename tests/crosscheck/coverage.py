"""How often each feature of the language occurs in the small scenarios, and how often the answer hangs on it.

A feature is described by taking it out: where nothing is left to take out it is absent, and where the best values
change it matters. Print the table with `python -m tests.crosscheck.coverage 300`.
"""

from __future__ import annotations

import pickle
import sys
from collections.abc import Callable, Iterator
from copy import deepcopy
from typing import Any

from tests.crosscheck import exhaustive
from tests.crosscheck.facts import read_facts
from tests.crosscheck.generator import small
from tests.crosscheck.slots import Raw, listed

TEACHER_LIMITS = ("dense_a_day", "live_a_day", "marking_a_week", "preparation_a_week")
Remover = Callable[[Raw], bool]
"""Takes the feature out in place; says whether there was any."""


# -- taking out --------------------------------------------------------------------------------------------------------


def _mappings(node: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Raw]]:
    """Every mapping with the keys that lead to it; entries of lists stand for their list."""
    if isinstance(node, dict):
        yield path, node
        for key, value in list(node.items()):
            yield from _mappings(value, (*path, key))
    elif isinstance(node, list):
        for value in node:
            yield from _mappings(value, path)


def without(key: str, *under: str, only: Callable[[Any], bool] = lambda value: True) -> Remover:
    """Takes `key` out of every mapping that lies under the keys named."""

    def remove(data: Raw) -> bool:
        found = [
            mapping
            for path, mapping in _mappings(data)
            if key in mapping and all(name in path for name in under) and only(mapping[key])
        ]
        for mapping in found:
            del mapping[key]
        return bool(found)

    return remove


def _at_level(level: str, name: str) -> Remover:
    """Takes a rule out of the rules of one level."""

    def remove(data: Raw) -> bool:
        holders = {
            "scenario": [data],
            "class": data["classes"],
            "unit": data["units"],
            "lesson": [lesson for unit in data["units"] for lesson in unit["lessons"]],
            "entry": [entry for group in data["classes"] for entry in group.get("lessons", {}).values()],
        }[level]
        removed = [holder.get("rules", {}).pop(name, None) for holder in holders]
        return any(value is not None for value in removed)

    return remove


def _fewer_classes(data: Raw) -> bool:
    return len(data["classes"]) > 1 and data["classes"].pop() is not None


def _three_classes(data: Raw) -> bool:
    return len(data["classes"]) > 2 and data["classes"].pop() is not None


def _own_timetable(data: Raw) -> bool:
    changed = False
    for group in data["classes"]:
        if isinstance(group["timetable"], list):
            group["timetable"], changed = group["timetable"][-1:], True
            group["timetable"][0].pop("first", None)
    return changed


def _one_strand(data: Raw) -> bool:
    several = [unit for unit in data["units"] if len(unit.get("strands", [])) > 1]
    for unit in several:
        unit["strands"] = unit["strands"][:1]
    return bool(several)


def _single_lengths(data: Raw) -> bool:
    return without("length", "units", only=lambda value: bool(value > 1))(data)


def _second_spell(data: Raw) -> bool:
    return len(data.get("remote_spells", [])) > 1 and data["remote_spells"].pop() is not None


def _open_spells(data: Raw) -> bool:
    removed = [spell.pop("taught", "open") for spell in data.get("remote_spells", [])]
    return any(taught != "open" for taught in removed)


def _other_label_first(data: Raw) -> bool:
    """A cycle of several labels cannot be taken out of its timetables: it starts with another label instead."""
    labels = data["term"].get("cycle", ["A"])
    first = data["term"].get("first_label") or labels[0]
    data["term"]["first_label"] = labels[(labels.index(first) + 1) % len(labels)]
    return len(labels) > 1


def _quotas(only: Callable[[Raw], bool]) -> Remover:
    def remove(data: Raw) -> bool:
        changed = False
        for _, mapping in _mappings(data):
            entries = mapping.get("live_quotas")
            if isinstance(entries, list) and any(map(only, entries)):
                mapping["live_quotas"], changed = [entry for entry in entries if not only(entry)], True
        return changed

    return remove


def _several(name: str) -> Remover:
    """Lessons that several others name under `name`: the later ones no longer name them."""

    def remove(data: Raw) -> bool:
        changed = False
        for unit in data["units"]:
            seen: set[str] = set()
            for lesson in unit["lessons"]:
                named = lesson.get(name, [])
                named = [named] if isinstance(named, str) else named
                if seen.intersection(named) and not seen.issuperset(named):
                    lesson[name], changed = [word for word in named if word not in seen], True
                elif seen.intersection(named):
                    del lesson[name]
                    changed = True
                seen.update(named)
        return changed

    return remove


FEATURES: dict[str, Remover] = {
    "two classes": _fewer_classes,
    "three classes": _three_classes,
    "holidays": without("holidays"),
    "closures": without("closures"),
    "closures of classes or periods": lambda data: any(
        [without("classes", "closures")(data), without("periods", "closures")(data)]
    ),
    "cycle of labels": _other_label_first,
    "labels by calendar weeks": without("labels_follow", "term", only=lambda value: value == "calendar weeks"),
    "first label": without("first_label"),
    "timetable changes": _own_timetable,
    "leaves": without("leaves"),
    "remote spells": without("remote_spells"),
    "two spells": _second_spell,
    "spell fixed live or set work": _open_spells,
    "fixed periods of a spell": without("fixed"),
    "spell offers": without("offers", "remote_spells"),
    "restricted days": without("restricted_days"),
    "doubles": _single_lengths,
    "adjacent periods": without("adjacent_periods"),
    "own scale of loads": without("loads"),
    "requires": without("requires"),
    **{
        f"requires {least}_{unit}": without(f"{least}_{unit}", "requires")
        for unit in ("days", "slots", "weeks")
        for least in ("least", "most")
    },
    "in order": without("in_order"),
    "after": without("after", "units"),
    **{f"{name} off somewhere": without(name, "rules") for name in ("prerequisites", "dates", "place")},
    **{
        f"{name} at {level}": _at_level(level, name)
        for name in ("consecutive_high_load", "practice_after_dense", "retrieval", "marking")
        for level in ("scenario", "class", "unit", "lesson", "entry")
    },
    "run break days": without("break_days", "consecutive_high_load"),
    "caps": without("caps"),
    "cap break days": without("break_days", "caps"),
    "threads": without("threads"),
    "thread break days": without("break_days", "threads"),
    "practice days": without("days", "practice_after_dense"),
    "practice without new content": without("no_new_content"),
    "several practices of one": _several("practises"),
    "several retrievals of one": _several("revisits"),
    "retrieval preferred": without("preferred"),
    "feedback": without("answers"),
    "marking most": without("most", "marking"),
    **{name: without(name) for name in ("not_before", "not_after", "report_deadline")},
    "on": lambda data: any([without("period", "units")(data), without("on", "units")(data), without("on", "lessons")(data)]),
    "pins": lambda data: any([without("period", "units")(data), without("period", "lessons")(data)]),
    "entries of a class": without("lessons", "classes"),
    **{
        f"live {wish}": without("live", only=lambda value, wish=wish: value == wish)
        for wish in ("demand", "prefer", "avoid", "refuse")
    },
    **{f"quota per {per}": _quotas(lambda entry, per=per: entry.get("per", "week") == per) for per in ("week", "cycle", "span")},
    "quota least": _quotas(lambda entry: "least" in entry),
    "quota most": _quotas(lambda entry: "most" in entry),
    "quota of a teacher": _quotas(lambda entry: "teacher" in entry),
    "needs": without("needs"),
    "shared": lambda data: any([without("shared")(data), without("needs")(data)]) if "shared" in data else False,
    "shared only where offered": without("only_where_offered"),
    **{name: without(name, "week") for name in ("least_lessons", "most_lessons", "least_load", "most_load")},
    **{f"teacher's {name}": without(name, "teachers") for name in TEACHER_LIMITS},
    **{f"in step at {level}": _at_level(level, "in_step") for level in ("scenario", "class", "unit", "lesson", "entry")},
    "in step off somewhere": lambda data: any(
        [without("in_step", only=lambda value: value == "off")(data), without("off", "in_step")(data)]
    ),
    **{
        f"wish of {name}": without("wish", name)
        for name in (
            *("requires", "consecutive_high_load", "caps", "threads", "live_quotas"),
            *("marking", "dates", "week", "teachers", "in_step"),
        )
    },
    "wish off somewhere": without("wish", only=lambda value: value == "off"),
    "teacher of a lesson": without("teacher", "units", "lessons"),
    "strands": without("strands"),
    "several strands": _one_strand,
    "preparation": without("preparation_minutes"),
    "marking minutes": without("marking_minutes"),
    "optional": without("optional"),
    "priority": without("priority"),
    "strict": without("strict"),
}


def _no_topics(data: Raw) -> bool:
    _no_topics_listed(data)
    return without("taught_before")(data)


def _no_topics_listed(data: Raw) -> bool:
    """Lessons that list earlier topics no longer do."""
    changed = False
    for _, mapping in _mappings(data["units"]):
        for name in ("revisits", "starter"):
            stated = listed(mapping.get(name))
            kept = [text for text in stated if not text.startswith("before/")]
            if len(kept) < len(stated):
                mapping[name], changed = kept, True
    return changed


def _told(what: str) -> Remover:
    return _record(lambda entry: entry.get("what", "delivered") == what)


def _record(only: Callable[[Raw], bool]) -> Remover:
    """Takes entries out of the record, and those about what remains of lessons with them."""

    def remove(data: Raw) -> bool:
        gone = [entry for entry in data.get("record", []) if only(entry)]
        names = [entry["lesson"] for entry in gone if entry.get("what") in ("part-taught", "needs another")]
        data["record"] = [
            entry
            for entry in data.get("record", [])
            if entry not in gone and not any(entry["lesson"].startswith(f"{name}-") for name in names)
        ]
        return bool(gone)

    return remove


_told_without_period = _record(lambda entry: "period" not in entry and entry.get("what") != "skipped")


FURTHER: dict[str, Remover] = {
    "chosen": without("chosen"),
    "not chosen": without("chosen", only=lambda value: value is False),
    "room": without("room", "units"),
    "room of made retrieval": without("room", "patterns"),
    "starters": without("starters"),
    "starters off somewhere": without("starters", only=lambda value: value in ("off", 0)),
    "starter listed": without("starter"),
    "several retrievals": without("then"),
    "no further retrieval": without("then", only=lambda value: value == []),
    "chained retrievals": without("counted_from", only=lambda value: value == "retrieval before"),
    "topics taught before": _no_topics,
    "topics listed": _no_topics_listed,
    "pattern": without("pattern", "units"),
    **{f"made {part}": without(part, "patterns") for part in ("practice", "retrieval", "writing", "feedback")},
    "most made retrievals": without("most", "patterns", "retrieval"),
    "rules of a pattern": without("rules", "patterns"),
    "own made practice": without("practice", "units", "lessons"),
    "length of made lessons": without("length", "patterns"),
    "homework": without("homework"),
    "today": without("today"),
    "record": without("record"),
    **{f"record: {what}": _told(what) for what in ("delivered", "part-taught", "needs another", "skipped", "lost")},
    "record: before the first slot": _told_without_period,
    "record: load or length": lambda data: any([without("load", "record")(data), without("length", "record")(data)]),
    "record: revisits": without("revisits", "record"),
}

# -- counting ----------------------------------------------------------------------------------------------------------


def present(data: Raw, features: dict[str, Remover] = FEATURES) -> set[str]:
    """The features that the scenario uses."""
    whole = pickle.dumps(data)
    return {name for name, remove in features.items() if remove(pickle.loads(whole))}


def matters(data: Raw, features: dict[str, Remover] = FEATURES) -> set[str]:
    """The features without which the best values, or whether there are any, would differ."""

    def values(changed: Raw) -> object:
        found = exhaustive.best(read_facts(changed))
        return found and found.values

    base, changing = values(data), set()
    for name in present(data, features):
        changed = deepcopy(data)
        features[name](changed)
        if values(changed) != base:
            changing.add(name)
    return changing


def main(seeds: int) -> None:
    """Print the table over the first small scenarios."""
    counts = {name: [0, 0] for name in FEATURES}
    possible, aims = 0, dict[str, list[int]]()
    for seed in range(seeds):
        data = small(seed)
        for name in present(data):
            counts[name][0] += 1
        for name in matters(data):
            counts[name][1] += 1
        facts = read_facts(data)
        found = exhaustive.best(facts)
        possible += found is not None
        for aim, value in zip(facts.aims, found.values if found else (), strict=bool(found)):
            aims.setdefault(aim, []).append(value)
    print(f"{seeds} scenarios, {possible} possible")
    for aim, values in aims.items():
        print(f"{aim:34} listed {len(values):4}  not 0 {sum(value > 0 for value in values):4}  greatest {max(values)}")
    for name, (uses, changes) in counts.items():
        print(f"{name:34} used {uses:6}  matters {changes:4}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
