"""Why the parts of a lesson form no outline: statements that cannot all hold, and the cheapest cut with which it fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sequencer.outlines.inside import Inside, PartFacts
from sequencer.outlines.laid_outline import LaidOutline, LessonOutline
from sequencer.outlines.outline_search import best_outlines
from sequencer.outlines.part_places import MOVED, Loosened
from sequencer.outlines.part_rules import PART_RULES
from sequencer.outlines.running_over import Cut
from sequencer.scenario.numbers import numbers_of
from sequencer.words import count_text


@dataclass(frozen=True)
class NoOutline:
    """Why a lesson has no outline, and what would give it one.

    Parameters
    ----------
    conflict
        Statements that cannot all hold; without any one of them the others can.
    cuts
        The cheapest changes with which it fits; none where no cut helps.
    cost
        What they cost; None where no cut helps.
    goes_to
        For each part that is to move: the lesson after this one that has room for it, None where none has.
    after
        The outline that the lesson has then.
    """

    conflict: tuple[str, ...]
    cuts: tuple[Cut, ...] = ()
    cost: int | None = None
    goes_to: tuple[str | None, ...] = ()
    after: LaidOutline | None = None


def why_no_outline(inside: Inside, later: Sequence[Inside] = ()) -> NoOutline:
    """Why a lesson by itself has no outline, and the cheapest cut; ``later`` are the lessons of its unit and class after it."""
    conflict = _minimal_conflict(inside)
    found = best_outlines([inside], Loosened(cut=True))
    if not found.outlines:
        return NoOutline(conflict)
    laid = LaidOutline(inside, found.outlines[0])
    cuts, moved = [], []
    for part in inside.parts:
        pieces = laid.minutes_of(part)
        if not pieces:
            how, cost = ("leave out", part.priority) if part.optional else ("move", MOVED)
            cuts.append(Cut(part.id, part.title, how, part.least, cost))
            if not part.optional:
                moved.append(part)
        elif sum(pieces) < part.least:
            short = part.least - sum(pieces)
            cuts.append(Cut(part.id, part.title, "shorten", short, short * part.load))
    goes_to = tuple(_with_room(part, later) for part in moved)
    return NoOutline(conflict, tuple(cuts), found.cost, goes_to, LaidOutline(taken_over(inside, laid), _renumbered(inside, laid)))


def taken_over(inside: Inside, laid: LaidOutline) -> Inside:
    """A lesson cut as an outline has it: without what is left out, and with least minutes no more than it gives."""
    parts = [replace(part, least=min(part.least, sum(pieces))) for part in inside.parts if (pieces := laid.minutes_of(part))]
    return replace(inside, parts=tuple(parts))


def _renumbered(inside: Inside, laid: LaidOutline) -> LessonOutline:
    kept = [index for index, part in enumerate(inside.parts) if laid.minutes_of(part)]
    return tuple(each if each.part is None else replace(each, part=kept.index(each.part)) for each in laid.outline)


def _with_room(part: PartFacts, later: Sequence[Inside]) -> str | None:
    """The first lesson after it that has an outline with the part in it."""
    for inside in later:
        place = next((place for place, each in enumerate(inside.parts) if each.where == part.where), len(inside.parts))
        moved = replace(part, id=f"{part.id} moved", after=())
        more = replace(inside, parts=(*inside.parts[:place], moved, *inside.parts[place:]))
        if best_outlines([more]).outlines:
            return inside.ref
    return None


def _minimal_conflict(inside: Inside) -> tuple[str, ...]:
    """Statements of which every one is needed for there to be no outline; several could be such, one is told."""
    rules = {rule.key: rule for rule in PART_RULES if inside.rules[rule.key] and rule.key != "made_checks"}
    parts = {index: part for index, part in enumerate(inside.parts) if not part.optional}
    gone_rules: set[str] = set()
    gone_parts: set[int] = set()
    for key in reversed(list(rules)):
        if _impossible(inside, gone_rules | {key}, gone_parts):
            gone_rules.add(key)
    for index in reversed(list(parts)):
        if _impossible(inside, gone_rules, gone_parts | {index}):
            gone_parts.add(index)
    said = [_rule_said(inside, key) for key in rules if key not in gone_rules]
    return (*said, *(_part_said(part) for index, part in parts.items() if index not in gone_parts))


def _impossible(inside: Inside, rules: set[str], parts: set[int]) -> bool:
    found = best_outlines([inside], Loosened(frozenset(rules), frozenset(parts)))
    return found.proven and not found.outlines


def _part_said(part: PartFacts) -> str:
    takes = count_text(part.least, "minute")
    heavy = ", and is heavy" if part.heavy_content else ""
    return f'"{part.title}" ({part.kind}) takes {takes}{" at least" if part.least < part.most else ""}{heavy}'


def _rule_said(inside: Inside, key: str) -> str:
    """A rule as it holds for a lesson, in words."""
    numbers = inside.rules[key]
    if key == "minutes_fit":
        return f"there are {count_text(inside.minutes, 'minute')} for all parts, change-over and margin taken off"
    if isinstance(numbers, tuple):
        return "; ".join(each.said() for each in numbers)
    known = numbers_of(numbers.__class__).items()
    stated = {name: number.change_text(value) for name, number in known if (value := getattr(numbers, name))}
    rule = next(rule for rule in PART_RULES if rule.key == key)
    said = {
        "order_of_parts": "parts keep their order: practice after what it practises, reviews last",
        "stretch": f"{stated.get('most', '')} of explaining without a check, apply or recall part".strip(),
        "heavy_applied": "a heavy part is followed by a check or an apply part on it",
        "whole_objectives": "every objective that is explained is checked in the lesson",
        "share": f"pupils answer or work for {stated.get('least', '')} of the lesson",
    }
    return said.get(key) or f"{rule.name}: {', '.join(stated.values())}"
