"""The sheet Limits and wishes, read: who, what, at least, at most, and how much it is wished."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from sequencer.files.workbook import form
from sequencer.files.workbook.cells import CellPlace
from sequencer.files.workbook.day_rows import KINDS_SAID, weekdays_in
from sequencer.files.workbook.limit_kinds import CYCLE, DAY, LIMITS, LISTED, TEACHER, WEEK, WISH_WORDS, LimitKind
from sequencer.files.workbook.rows import Filled, Path, Row, as_choice, as_number, as_words, like
from sequencer.scenario.places import shown
from sequencer.scenario.rules_schema import ClassRules, CohortRules, LessonRules

_NUMBERS = ("least", "most", "wish")
_SPAN = "span"
ALL = ""
"""Whose a limit is that nobody is named for."""


class Whose:
    """Those that a limit can be of, by what people call them: classes, teachers, year groups, units, lessons."""

    def __init__(self, data: Mapping[str, Any], titles: Mapping[str, str] = MappingProxyType({})) -> None:
        self._named: dict[str, list[Path]] = {}
        for number, each in enumerate(data["classes"]):
            self._call(("classes", number), each["id"])
        for teacher in dict.fromkeys(each["teacher"] for each in data["classes"] if "teacher" in each):
            self._call(("teachers", teacher), teacher)
        for number, each in enumerate(data.get("cohorts", ())):
            self._call(("cohorts", number), each["id"], each.get("title"))
        for number, unit in enumerate(data["units"]):
            called = [title for title, name in titles.items() if name == unit["id"]]
            self._call(("units", number), unit["id"], unit.get("title"), *called)
        for number, unit in enumerate(data["units"]):
            for place, lesson in enumerate(unit["lessons"]):
                names = (lesson["id"], lesson.get("title"), f"{unit['id']}/{lesson['id']}")
                self._call(("units", number, "lessons", place), *names)

    def _call(self, path: Path, *names: str | None) -> None:
        for name in dict.fromkeys(name.lower() for name in names if name):
            known = self._named.setdefault(name, [])
            if not known or known[0][::2] == path[::2]:
                known.append(path)

    def meant(self, name: str) -> list[Path]:
        """What a name can mean; of a class and a lesson that are called alike the class."""
        return self._named.get(name.strip().lower(), [])

    def names(self, path: Path, *names: str | None) -> str | None:
        """The first of some names that means this and nothing else."""
        return next((name for name in names if name and self.meant(name) == [path]), None)

    def like(self, name: str) -> str:
        """`` (did you mean 9B?)``, or nothing."""
        return like(name, self._named)


def read_limits(filled: Filled, rows: Iterable[Row], titles: Mapping[str, str]) -> None:
    """Put what the rows say into the data; ``titles`` are those of units that are said elsewhere."""
    whose = Whose(filled.data, titles)
    reading = _Reading(filled)
    for row in rows:
        limit = _limit_of(filled, row)
        if limit is None:
            continue
        for path in _who(filled, row, whose, limit):
            reading.put(row, limit, path)
    reading.let_wider_hold()


def _limit_of(filled: Filled, row: Row) -> LimitKind | None:
    """The kind of limit that a row states."""
    what = as_choice(filled, row.values.get(form.WHAT), tuple(limit.what for limit in LIMITS), row.place(form.WHAT))
    kinds = [limit for limit in LIMITS if limit.what == what]
    per = _per(row)
    fitting = [limit for limit in kinds if per in ("", limit.per) or (limit.rule == "live_quotas" and per == CYCLE)]
    if kinds and (kinds[0].per == "periods" or kinds[0].on_weekdays):
        return kinds[0]
    if kinds and not fitting:
        row.wrong(form.PER, f"must be {' or '.join(limit.per or 'empty' for limit in kinds)} for {what}")
    return fitting[0] if fitting else None


def _per(row: Row) -> str:
    """Over what is counted: a day, a week, a cycle, or as it was typed."""
    typed = str(row.values.get(form.PER, "")).lower()
    return next((each for each in (DAY, WEEK, CYCLE) if each in typed), typed)


def _who(filled: Filled, row: Row, whose: Whose, limit: LimitKind) -> Iterator[Path]:
    """The parts of the data that a row is about; an empty path for all."""
    typed = row.values.get(form.WHO)
    if typed is None:
        if limit.stands == TEACHER:
            row.wrong(form.WHO, f"must name a teacher: {limit.what} of each {limit.per} are counted for one")
        else:
            yield ()
        return
    whole = str(typed)
    for name in [whole] if whose.meant(whole) else as_words(whole, ";" if ";" in whole else ","):
        meant = whose.meant(name)
        if not meant and (limit.stands == TEACHER or limit.rule == "live_quotas"):
            yield "teachers", name  # of a single period, perhaps; what is no teacher at all is told later
        elif not meant:
            row.wrong(form.WHO, f"names no class, teacher, year group, unit or lesson: {shown(name)}" + whose.like(name))
        elif len(meant) > 1:
            row.wrong(form.WHO, f"can mean several: {shown(name)}: write unit/lesson")
        elif limit.stands == TEACHER and meant[0][0] != "teachers":
            row.wrong(form.WHO, f"must name a teacher: {limit.what} of each {limit.per} are counted for one")
        elif meant[0][0] == "teachers" and limit.stands != TEACHER and limit.rule != "live_quotas":
            row.wrong(form.WHO, f"{limit.what} cannot be limited for a teacher")
        else:
            yield meant[0]


def _missing(row: Row, limit: LimitKind) -> tuple[str, str]:
    """The column in which a row says too little, and what it must say; nothing where it says enough."""
    if limit.on_weekdays:
        return ("", "") if form.PER in row.values else (form.PER, "must say on which weekdays, such as Mon, Tue")
    if limit.wish_only:
        return ("", "") if form.WISH in row.values else (form.WISH, f"must say how much the {limit.what} are wished")
    if form.AT_LEAST in row.values or form.AT_MOST in row.values:
        return "", ""
    ways = (["at least"] if limit.least else []) + (["at most"] if limit.most else [])
    return (form.AT_LEAST if limit.least else form.AT_MOST), f"must say how many {', or '.join(ways)}"


class _Reading:
    """What the rows say, put into the data one by one."""

    def __init__(self, filled: Filled) -> None:
        self._filled = filled
        self._listed: set[tuple[int, str]] = set()
        """Classes that list something of their own, and under which rule."""
        self._weights: dict[Path, tuple[int | None, CellPlace]] = {}
        """How much was wished what has one weight for all that it says."""

    def put(self, row: Row, limit: LimitKind, path: Path) -> None:
        """Put one row into the data, for one of those that it is about."""
        numbers: dict[str, int] = {}
        for column, key in ((form.AT_LEAST, limit.least), (form.AT_MOST, limit.most)):
            if column in row.values and not key:
                row.wrong(column, f"says nothing of {limit.what}")
            elif column in row.values and (number := row.number(column)) is not None:
                numbers[key] = number
        weight = self._weight(row)
        missing, message = _missing(row, limit)
        if missing:
            row.wrong(missing, message)
        if missing or not (numbers or limit.wish_only or limit.on_weekdays):
            return
        if limit.stands == TEACHER:
            self._put_teacher(row, limit, str(path[1]), numbers, weight)
        elif path[:1] == ("units",) and limit.rule not in LessonRules.model_fields:
            row.wrong(form.WHO, f"{limit.what} can be limited for all or for a class, not for units or lessons")
        elif path[:1] == ("cohorts",) and limit.rule not in CohortRules.model_fields:
            row.wrong(form.WHO, f"{limit.what} cannot be limited for a year group")
        elif limit.stands == LISTED:
            self._put_listed(row, limit, path, numbers, weight)
        else:
            self._put_rule(row, limit, path, numbers, weight)

    def _weight(self, row: Row) -> int | None:
        """How much a row is wished; None where it must be so."""
        typed = row.values.get(form.WISH)
        if typed is None:
            return None
        known = WISH_WORDS.get(str(typed).lower())
        if known is None and isinstance(typed, str) and not typed.isdecimal():
            as_choice(self._filled, typed, (*WISH_WORDS, "a number"), row.place(form.WISH))
            return None
        return known if known is not None else as_number(self._filled, typed, row.place(form.WISH))

    def _rules(self, path: Path) -> tuple[dict[str, Any], Path]:
        here: Any = self._filled.data
        for key in path:
            here = here[key]
        rules: dict[str, Any] = here.setdefault("rules", {})
        return rules, (*path, "rules")

    def _agree(self, row: Row, path: Path, weight: int | None, stated: bool = False) -> None:
        """Tell that all that one thing says has one weight, where a row has another; what is ``stated`` already is demanded."""
        before = self._filled.place_of(path)
        if stated and before is not None:
            self._weights.setdefault(path, (None, before))
        known, place = self._weights.setdefault(path, (weight, row.place(form.WISH)))
        if known != weight:
            message = f"says another weight than {place}: all that is said of one thing is demanded, or wished with one weight"
            row.wrong(form.WISH, message)

    def _clash(self, row: Row, path: Path, said: Mapping[str, Any], numbers: Mapping[str, int], limit: LimitKind) -> None:
        """Tell that another cell says another number of the same."""
        for key, number in numbers.items():
            place = self._filled.place_of((*path, key))
            if said.get(key, number) != number and place is not None:
                column = form.AT_LEAST if key == limit.least else form.AT_MOST
                row.wrong(column, f"says {number}, and {place} says {said[key]}: keep one of the two")

    def _note(self, row: Row, path: Path, numbers: Mapping[str, int], limit: LimitKind) -> None:
        places = self._filled.places
        places.setdefault(path, row.place(form.WHAT))
        columns = {limit.least: form.AT_LEAST, limit.most: form.AT_MOST}
        places.update({(*path, key): row.place(columns[key]) for key in numbers})
        places[*path, "wish"] = places[*path, "weight"] = row.place(form.WISH)

    def _put_rule(self, row: Row, limit: LimitKind, path: Path, numbers: dict[str, int], weight: int | None) -> None:
        rules, path = self._rules(path)
        kind = ClassRules.numbers_of(limit.rule)
        assert kind is not None
        stated = rules.get(limit.rule)
        said: dict[str, Any] = stated if isinstance(stated, dict) else {} if stated is None else {kind.main: stated}
        path = (*path, limit.rule)
        if weight is not None and "wished" in kind.model_fields:
            path = (*path, "wished")
            wished = said.get("wished", {})
            self._clash(row, path, wished, numbers, limit)
            said["wished"] = wished | numbers | {"weight": weight}
        else:
            if "wished" not in kind.model_fields:
                self._agree(row, path, weight, bool(said))
            self._clash(row, path, said, numbers, limit)
            said |= numbers | ({"wish": weight} if weight is not None else {})
        rules[limit.rule] = said
        self._note(row, path, numbers, limit)

    def _put_teacher(self, row: Row, limit: LimitKind, name: str, numbers: dict[str, int], weight: int | None) -> None:
        listed = self._filled.data.setdefault("teachers", [])
        number = next((number for number, each in enumerate(listed) if each["name"] == name), len(listed))
        path: Path = ("teachers", number)
        if number == len(listed):
            listed.append({"name": name})
            self._filled.places[path] = self._filled.places[*path, "name"] = row.place(form.WHO)
        self._agree(row, path, weight)
        self._clash(row, path, listed[number], numbers, limit)
        listed[number] |= numbers | ({"wish": weight} if weight is not None else {})
        self._note(row, path, numbers, limit)

    def _put_listed(self, row: Row, limit: LimitKind, path: Path, numbers: dict[str, int], weight: int | None) -> None:
        filled = self._filled
        teacher = {"teacher": path[1]} if path[:1] == ("teachers",) else {}
        rules, into = self._rules(() if teacher else path)
        wished = {"wish": weight} if weight is not None else {}
        entries: list[tuple[str, dict[str, Any]]] = []
        if limit.on_weekdays:
            if days := weekdays_in(filled, row, form.PER):
                entries = [(limit.rule, {**self._sort(row), "on": days, **numbers, **wished})]
        elif limit.rule:
            entries = [(limit.rule, {**self._span(row), **numbers, **wished, **teacher})]
        else:
            if form.WORD not in row.values:
                row.wrong(form.WORD, "must be the tag that is counted")
            periods = _per(row).removesuffix("s").removesuffix("period").strip()
            of = as_number(filled, periods, row.place(form.PER))
            if of is None or form.WORD not in row.values:
                return
            each = {"tag": str(row.values[form.WORD]), "of": of, **wished}
            entries = [(key, each | {"least" if key == limit.least else "most": number}) for key, number in numbers.items()]
        for rule, entry in entries:
            listed = rules.setdefault(rule, [])
            where = (*into, rule, len(listed))
            listed.append(entry)
            filled.places.setdefault(where[:-1], row.place(form.WHAT))
            filled.places |= {where: row.place(form.WHAT), (*where, "teacher"): row.place(form.WHO)}
            filled.places |= {(*where, key): row.place(form.WORD) for key in ("tag", "kind")}
            filled.places |= {(*where, key): row.place(form.PER) for key in ("of", "on")}
            filled.places |= {(*where, "least"): row.place(form.AT_LEAST), (*where, "most"): row.place(form.AT_MOST)}
            filled.places |= {(*where, key): row.place(key) for key in (form.FIRST, form.LAST, form.WISH) if key in row.columns}
            if path[:1] == ("classes",):
                self._listed.add((int(path[1]), rule))

    def _sort(self, row: Row) -> dict[str, str]:
        """Which lessons a row is about: those of a kind, or with a tag."""
        typed = str(row.values.get(form.WORD, ""))
        kind = KINDS_SAID.get(typed.lower())
        return {"kind": kind} if kind else {"tag": typed} if typed else {}

    def _span(self, row: Row) -> dict[str, Any]:
        days = {key: row.date(key) for key in (form.FIRST, form.LAST) if key in row.values}
        if days:
            return {"per": _SPAN, **days}
        return {"per": CYCLE} if _per(row) == CYCLE else {}

    def let_wider_hold(self) -> None:
        """What is asked of all holds for a class that lists something of its own, too, but for what it says otherwise."""
        data = self._filled.data
        for number, rule in sorted(self._listed):
            own = data["classes"][number]["rules"][rule]
            kept = []
            for entry in data["rules"].get(rule, ()):
                same = [each for each in own if _same_but_numbers(each, entry)]
                stated = {key for each in same for key in each.keys() & {"least", "most"}}
                left = {key: value for key, value in entry.items() if key not in stated}
                asks = left.keys() & {"least", "most"} or ("on" in entry and not same)
                if "teacher" not in entry and asks:
                    kept.append(left)
            own[:0] = kept


def _same_but_numbers(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    bare = [{key: value for key, value in each.items() if key not in _NUMBERS} for each in (one, other)]
    return bare[0] == bare[1] and ("wish" in one) == ("wish" in other)
