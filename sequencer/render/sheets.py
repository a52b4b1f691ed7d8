"""The sheets of an answer in one file: each teacher's fortnights, then each class's term."""

from __future__ import annotations

from sequencer.questions.solve import Answer
from sequencer.render.class_term import STYLE as TERM
from sequencer.render.class_term import class_term
from sequencer.render.fortnight import STYLE as FORTNIGHT
from sequencer.render.fortnight import fortnights
from sequencer.render.html import Markup
from sequencer.render.sheet import sheet
from sequencer.render.shown import Shown, laid_out


def answer_sheets(answer: Answer, shown: Shown) -> str:
    """The fortnights of the teachers asked for, and the terms of the classes asked for; all of both where none is.

    Raises
    ------
    NothingToShow
        When there is no sequence.
    """
    laid = laid_out(answer)
    everything = not shown.classes and not shown.teachers
    named = dict.fromkeys(slot.teacher for facts in laid.classes for slot in facts.slots)
    sections: list[Markup] = []
    for teacher in named:
        if everything or teacher in shown.teachers:
            sections += fortnights(answer, laid, shown, teacher)
    for facts in laid.classes:
        if facts.slots and (everything or facts.id in shown.classes):
            sections.append(class_term(answer, laid, shown, facts))
    return sheet(answer, FORTNIGHT + TERM, sections)
