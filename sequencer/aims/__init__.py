"""The aims, one file each: what each comes to in a sequence, counted in plain Python, and what it costs in the model."""

from __future__ import annotations

from sequencer.aims.base import Aim
from sequencer.aims.carried_over import CarriedOver
from sequencer.aims.dense_set_work import DenseAsSetWork
from sequencer.aims.distance import DistanceAim
from sequencer.aims.early_finish import EarlyFinish
from sequencer.aims.even_load import EvenLoad
from sequencer.aims.even_week import EvenWeek
from sequencer.aims.left_out import LeftOut
from sequencer.aims.made_lessons import MadeLessons
from sequencer.aims.next_plan import LeftForTheNextPlan
from sequencer.aims.wishes import Wishes
from sequencer.plan.sequence import Laid
from sequencer.words import AIMS

_ALL: tuple[Aim, ...] = (
    LeftOut(),
    CarriedOver(),
    LeftForTheNextPlan(),
    MadeLessons(),
    Wishes(),
    EarlyFinish(),
    DenseAsSetWork(),
    DistanceAim(),
    EvenLoad(),
    EvenWeek(),
)

BY_NAME: dict[str, Aim] = {aim.name: aim for aim in _ALL}
"""Every aim that a scenario may list, by its name."""


def aim_values(laid: Laid) -> dict[str, int]:
    """Every aim's value by its name, whether or not the scenario lists it."""
    return {name: BY_NAME[name].value(laid) for name in AIMS}
