"""Where else a lesson could lie, as text."""

from __future__ import annotations

from itertools import groupby
from operator import itemgetter

from sequencer.instance.naming import named, when
from sequencer.questions.explaining.other_places import Elsewhere, Place
from sequencer.questions.explaining.statement import rank_of

MOST_REASONS = 4
"""Statements that are listed as text for one period; those last in the order that conflicts keep to are the nearest to hand."""

BEHIND = ("lesson", "periods")
"""Kinds of statement that go without saying where others forbid a period too."""


def elsewhere_text(found: Elsewhere) -> str:
    """A line for each period of the class: as good, what it would cost, or what forbids it."""
    lesson = found.lesson
    lines = [f"{found.instance.class_of(lesson).name}: {named((lesson,))}"]
    told = [(when(place.slot), _said(place)) for place in found.places]
    for said, group in groupby(told, key=itemgetter(1)):
        whens = [text for text, _ in group]
        lines.append(f"  {whens[0]}{f' to {whens[-1]}' if len(whens) > 1 else ''}: {said}")
    return "\n".join(lines) + "\n"


def _said(place: Place) -> str:
    if place.here:
        return "here"
    if place.costs is None:
        ranked = sorted(place.forbidden_by, key=lambda one: (one.kind in BEHIND, rank_of(one)))
        reasons = [one.text for one in ranked]
        if not reasons:
            return "impossible" if place.proven else "not settled in the time allowed"
        more = f"; and {len(reasons) - MOST_REASONS} more" if len(reasons) > MOST_REASONS else ""
        return f"no: {'; '.join(reasons[:MOST_REASONS])}{more}"
    changed = [f"{aim} {abs(cost)} {'more' if cost > 0 else 'less'}" for aim, cost in place.costs.items() if cost]
    sure = "" if place.proven else " (best found)"
    return f"{', '.join(changed) or 'as good'}{sure}"
