"""A unit's content, cut into lessons: an ordinary unit that the sequencer takes as any other, with ids that stay."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from typing import Any

from sequencer.outlines.cut_model import CutFound, NoCutFound, cut
from sequencer.outlines.cut_question import CutQuestion, checked_in
from sequencer.outlines.inside import CLOSING, CONTENT, MIDDLE, OPENING, Inside, PartFacts
from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.order_search import OrderSearch
from sequencer.outlines.outline_search import best_outlines
from sequencer.outlines.part_rules import breaches
from sequencer.outlines.settled_parts import outline_rules, settled, shortest_minutes
from sequencer.scenario.parts_schema import CutContent
from sequencer.scenario.patterns import usual_outline
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Lesson, Unit
from sequencer.scenario.written import model_data
from sequencer.words import IN_CLASS, count_text

FROM_HEAVY = 15
"""A lesson is heavy only where its heavy parts take so many minutes; common practice, no source."""

MOST_LESSONS = 200

CUT_AIMS = ("lessons", "objectives split", "greatest load minutes of a lesson")
"""What is made small in a cut, in order."""

_NOT_OF_A_CUT = ("lesson_threads", "share", "set_work")
"""Rules 6 to 8, which a cut does not look at."""


class CannotBeCut(ValueError):
    """A unit's content has no cut that keeps the rules."""


@dataclass(frozen=True)
class UnitCut:
    """A unit's content cut into lessons: lessons as plain data, and what each aim comes to, with its bound."""

    lessons: tuple[dict[str, Any], ...]
    found: CutFound

    @property
    def proven(self) -> bool:
        """Whether the cut is proven best."""
        return self.found.values == self.found.bounds

    @property
    def aims(self) -> list[dict[str, Any]]:
        """What each aim comes to, as a user would write it."""
        values = zip(CUT_AIMS, self.found.values, self.found.bounds, strict=True)
        return [{"aim": aim, "value": value, "bound": bound} for aim, value, bound in values]


_KNOWN: dict[str, UnitCut] = {}
"""Cuts made already, since a scenario is read more than once."""


def cut_unit(scenario: Scenario, unit: Unit) -> UnitCut:
    """Cut a unit's content into lessons.

    Raises
    ------
    CannotBeCut
        When no cut keeps the rules, with why.
    """
    shared = {"lesson_minutes", "change_over", "margin", "loads", "outline_rules", "usual_outlines", "patterns"}
    minutes = shortest_minutes(scenario, unit, (unit.cut or CutContent()).minutes)
    key = json.dumps([minutes, scenario.model_dump(mode="json", include=shared), unit.model_dump(mode="json")])
    if key not in _KNOWN:
        if len(_KNOWN) > 100:
            _KNOWN.clear()
        _KNOWN[key] = _cut_unit(scenario, unit, minutes)
    return _KNOWN[key]


def _cut_unit(scenario: Scenario, unit: Unit, minutes: int) -> UnitCut:
    how = unit.cut or CutContent()
    whole = Lesson(id="content", title=unit.title or unit.id).model_copy(update={"parts": unit.content})
    usual = usual_outline(scenario, unit, whole)
    rules = outline_rules(scenario, unit, whole, usual, but=_NOT_OF_A_CUT)
    all_of_it = settled(scenario, unit, whole, usual, rules, IN_CLASS, minutes)
    named = {id(part): part for part in unit.content if part.objectives}
    own: list[PartFacts] = []
    for part, facts in zip(unit.content, [each for each in all_of_it.parts if each.where == MIDDLE], strict=True):
        lasts = facts.least if how.at_least_minutes else facts.most
        objectives = facts.objectives if id(part) in named else ()
        own.append(replace(facts, least=lasts, most=lasts, objectives=objectives, optional=False))
    around = [part for part in all_of_it.parts if part.where != MIDDLE]
    taken = sum((part.least if how.at_least_minutes else part.most) for part in around if not part.optional)
    if longest := next((part for part in own if part.most > minutes - taken), None):
        has = f"a lesson has {max(0, minutes - taken)} of {minutes} for its own parts"
        raise CannotBeCut(f'cannot be cut: "{longest.title}" takes {count_text(longest.most, "minute")}, and {has}')

    @cache
    def outline_of(held: tuple[int, ...], later: frozenset[str]) -> bool:
        return _outline_exists(_lesson_of(all_of_it, own, held, how.at_least_minutes), later)

    def may_have_outline(held: tuple[int, ...], later: frozenset[str]) -> bool:
        if any(own[place].pieces > 1 for place in held):
            return outline_of(held, later)
        return OrderSearch(replace(_lesson_of(all_of_it, own, held, how.at_least_minutes), excused=later)).exists()

    made, whole_objectives = rules["made_checks"], rules["whole_objectives"]
    stretch, heavy = rules["stretch"], rules["heavy_applied"]
    allowed = {word for part in own for word in part.objectives}
    asked = CutQuestion(
        parts=tuple(own),
        minutes=minutes - taken,
        order=_order(all_of_it, own),
        splittable=frozenset(allowed if "all" in how.may_split else allowed & set(how.may_split)),
        fewest=how.lessons or 1,
        most_lessons=how.lessons or MOST_LESSONS,
        stretch=stretch.most if stretch is not None and not stretch.wish else None,
        content_around=sum(part.most for part in around if part.content),
        made=made.minutes if made is not None else None,
        checked=whole_objectives is not None and not whole_objectives.wish,
        heavy=heavy is not None and not heavy.wish and not any(part.answering or part.content for part in around),
        outline_of=outline_of,
        may_have_outline=may_have_outline,
    )
    try:
        found = cut(asked)
    except NoCutFound:
        raise CannotBeCut(
            "was not cut: in the effort allowed no cut was found that keeps the rules, and whether there is one is not settled: "
            "state fewer parts in a unit, let objectives be split (cut: {may_split: all}), or give lessons more minutes"
        ) from None
    if found is None:
        into = f"into {count_text(how.lessons, 'lesson')}" if how.lessons else "into lessons"
        raise CannotBeCut(
            f"cannot be cut {into} of {count_text(minutes, 'minute')} so that each keeps the rules: let objectives be split "
            "(cut: {may_split: all}), give lessons more minutes, or ease a rule of their inside (outline_rules)"
        )
    return UnitCut(tuple(_lessons(scenario, unit, own, found)), found)


def _order(whole: Inside, own: list[PartFacts]) -> tuple[tuple[int, int], ...]:
    """Pairs of parts of which the second lies in no earlier lesson than the first."""
    rules = whole.rules["order_of_parts"]
    if rules is None:
        return ()
    place_of = {part.id: place for place, part in enumerate(own)}
    found = [(place_of[name], place) for place, part in enumerate(own) for name in part.after if name in place_of]
    content = [place for place, part in enumerate(own) if part.kind in CONTENT]
    found += list(pairwise(content)) if not whole.free else []
    for objective in dict.fromkeys(word for part in own for word in part.objectives):
        those = [place for place, part in enumerate(own) if objective in part.objectives]
        told = [place for place in those if own[place].content]
        answers = [place for place in those if own[place].answering]
        found += [(told[0], place) for place in answers if told]
        found += [(place, other) for place in those if own[place].kind == "preview" for other in (*told, *answers)]
        found += [(other, place) for place in those if own[place].kind == "review" for other in (*told, *answers)]
    return tuple(dict.fromkeys(found))


def _lesson_of(whole: Inside, own: list[PartFacts], held: tuple[int, ...], at_least: bool) -> Inside:
    """The lesson that holds these parts, between the usual opening and closing ones."""
    kept = [own[place] for place in held]
    ids = {part.id for part in kept}
    titled = [
        replace(part, objectives=part.objectives or (whole.title,), after=tuple(name for name in part.after if name in ids))
        for part in kept
    ]
    objectives = tuple(dict.fromkeys(word for part in titled for word in part.objectives))
    around = []
    for part in whole.parts:
        if part.where != MIDDLE and not part.optional:
            lasts = part.least if at_least else part.most
            around.append(replace(part, objectives=objectives, least=lasts, most=lasts))
    opening = [part for part in around if part.where == OPENING]
    closing = [part for part in around if part.where == CLOSING]
    parts = (*opening, *titled, *closing)
    return replace(whole, parts=parts, objectives=tuple((word, word) for word in objectives), wanted=())


def _outline_exists(inside: Inside, later: frozenset[str]) -> bool:
    """Whether a lesson keeps rules 1 to 5, of which the next lesson may check some objectives; the referee judges."""
    inside = replace(inside, excused=later)
    if any(part.pieces > 1 for part in inside.parts):
        found = best_outlines([inside]).outlines
        outline = found[0] if found else None
    else:
        outline = OrderSearch(inside).outline()
    return outline is not None and not breaches(LaidOutline(inside, outline))


def _lessons(scenario: Scenario, unit: Unit, own: list[PartFacts], found: CutFound) -> list[dict[str, Any]]:
    """The lessons as a user would write them."""
    lessons = []
    titles = {each.id: each.title or each.id for each in unit.objectives}
    for number, held in enumerate(found.lessons, 1):
        ids = {own[place].id for place in held}
        parts = []
        for place in held:
            data = {"id": own[place].id, **model_data(unit.content[place])}
            if after := [name for name in own[place].after if name in ids]:
                data["after"] = after
            else:
                data.pop("after", None)
            parts.append(data)
        objectives = list(dict.fromkeys(word for place in held for word in own[place].objectives))
        content = [own[place] for place in held if own[place].content]
        said = [titles.get(word, word) for word in objectives] or [(content or [own[held[0]]])[0].title]
        lesson: dict[str, Any] = {"id": f"lesson-{number}", "title": ", ".join(said)[:200], "parts": parts}
        if content:
            lesson["load"] = _load(scenario, content)
        told = {word for part in content for word in part.objectives} - checked_in(own, held)
        if told & checked_in(own, found.lessons[number] if number < len(found.lessons) else ()):
            lesson["outline_rules"] = {"whole_objectives": {"carry_over": True}}
        lessons.append(lesson)
    if note := _unproven(found):
        lessons[0]["private_notes"] = [note]
    return lessons


def _unproven(found: CutFound) -> str | None:
    """What is to be said of a cut that is not proven best."""
    (lessons, split, heaviest), (fewest, least_split, lightest) = found.values, found.bounds
    if found.values == found.bounds:
        return None
    cut = f"The unit's content was cut into {count_text(lessons, 'lesson')}"
    if lessons > fewest:
        return f"{cut}, the fewest found; at least {fewest} are needed, and whether fewer do is not settled."
    if split > least_split:
        return f"{cut}, which is the fewest; {count_text(split, 'objective')} split, and at least {least_split} must be."
    return f"{cut}, which is the fewest; the most load minutes of one are {heaviest}, and at least {lightest} are needed."


def _load(scenario: Scenario, content: list[PartFacts]) -> int:
    """The load of the heaviest explain or model part, but high only where heavy parts take long enough."""
    heaviest = max(part.load for part in content)
    heavy = sum(part.most for part in content if part.heavy)
    if heaviest >= scenario.loads.high and heavy < FROM_HEAVY:
        return max(scenario.loads.least, scenario.loads.high - 1)
    return heaviest


def with_lessons(scenario: Scenario) -> dict[int, dict[str, Any] | str]:
    """What every unit that lists content is once it is cut, by its place: as plain data, or why it cannot be cut."""
    found: dict[int, dict[str, Any] | str] = {}
    for place, unit in enumerate(scenario.units):
        if unit.content:
            try:
                made = cut_unit(scenario, unit)
                found[place] = {"in_order": True, "cut_aims": made.aims, "lessons": list(made.lessons)}
            except CannotBeCut as wrong:
                found[place] = str(wrong)
    return found
