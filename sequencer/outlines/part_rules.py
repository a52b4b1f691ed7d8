"""The rules of the inside of a lesson, in order; their numbers get their key in the language here."""

from __future__ import annotations

from sequencer.outlines.heavy_applied import HeavyApplied
from sequencer.outlines.it_fits import ItFits
from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.lesson_threads import LessonThreads
from sequencer.outlines.made_checks import MadeChecks
from sequencer.outlines.part_order import PartOrder
from sequencer.outlines.part_rule import Broken, PartRule
from sequencer.outlines.set_work_alone import SetWorkAlone
from sequencer.outlines.stretches import Stretches
from sequencer.outlines.whole_objectives import WholeObjectives
from sequencer.outlines.working_share import WorkingShare
from sequencer.scenario.parts_schema import OutlineRules
from sequencer.scenario.rules_schema import rebuild

PART_RULES: tuple[PartRule, ...] = (
    MadeChecks(), ItFits(), PartOrder(), Stretches(), HeavyApplied(), WholeObjectives(), LessonThreads(), WorkingShare(),
    SetWorkAlone(),
)  # fmt: skip

for _rule in PART_RULES:
    OutlineRules.register(_rule.key, _rule.numbers, _rule.described)
rebuild()


def judged(laid: LaidOutline) -> list[Broken]:
    """All that an outline breaks, and all wishes that it does not grant, in the order of the rules."""
    return [broken for rule in PART_RULES for broken in rule.judge(laid)]


def breaches(laid: LaidOutline) -> list[Broken]:
    """What of the hard rules an outline breaks."""
    return [broken for broken in judged(laid) if not broken.wish]
