"""How far a statement can be eased, step by step, and what each step costs: the changes that repairs are made of."""

from __future__ import annotations

from sequencer.questions.explaining.eased_dates import DATES
from sequencer.questions.explaining.eased_lessons import LESSONS
from sequencer.questions.explaining.eased_rules import RULES
from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.statements import Stated
from sequencer.questions.explaining.steps import Dial, Level

_MAKERS = DATES | LESSONS | RULES
"""The ways to ease each kind of statement; what happened (`lost`) cannot be eased, and periods are gained in ``gained``."""

WHOLE = frozenset(
    {
        "lesson", "length", "closure", "remote spell", "restricted day", "leaves", "requires", "in order", "unit after unit",
        "strand", "need", "teacher", "live", "made need", "made", "strict", "period", "assessed",
    }
)  # fmt: skip
"""Kinds of statement whose last step takes it away."""


def dials_of(stated: Stated, statement: Statement) -> tuple[Dial, ...]:
    """Every way to ease a statement; none for what cannot be changed."""
    maker = _MAKERS.get(statement.kind)
    if maker is None:
        return ()
    found = []
    for name, levels in maker(stated, statement):
        rising: list[Level] = []
        for level in levels:
            if not rising or level.cost > rising[-1].cost:
                rising.append(level)
        if rising:
            found.append(Dial((*statement.key, name), tuple(rising), statement.kind in WHOLE or name in ("within", "most")))
    return tuple(found)
