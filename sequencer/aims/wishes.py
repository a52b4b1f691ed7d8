"""The aim `wishes`."""

from __future__ import annotations

from typing import Any

from sequencer.aims.base import Aim, Objective
from sequencer.aims.dense_set_work import taught_terms
from sequencer.plan.sequence import Laid
from sequencer.rules import RULES, ungranted
from sequencer.words import LIVE, SET_WORK, WISHES


class Wishes(Aim):
    """Rules that are preferences; live-preferring lessons that are set work, and live-avoiding lessons that are live."""

    name = WISHES

    def value(self, laid: Laid) -> int:
        return sum(wish.cost for wish in ungranted(laid))

    def cost(self, model: Any) -> Objective:
        wished = (term for rule in RULES for term in rule.costs(model))
        asked = {"prefer": SET_WORK, "avoid": LIVE}
        return self.objective((*wished, *taught_terms(model, lambda lesson: asked.get(lesson.live or ""))))
