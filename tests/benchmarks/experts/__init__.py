"""Models that an optimiser would write by hand for one problem each, straight from the raw instance.

They share nothing with the product's model: no rule language, no general links, only what the problem at hand needs.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.benchmarks.experts import cars, curriculum, half_term, langford
from tests.benchmarks.experts.stages import Found
from tests.builders import Data

Expert = Callable[[Any, Data, float, int, int], Found]
"""(raw instance, scenario, seconds, workers, seed) -> what was found."""

VARIANTS: dict[str, dict[str, Expert]] = {
    "curriculum": {"weeks": curriculum.by_weeks, "slots": curriculum.by_slots},
    "cars": {"slots": cars.by_slots},
    "langford": {"slots": langford.by_slots},
    "half_term": {"starts": half_term.by_starts},
}
"""For each problem, the models; a ratio is to the fastest."""
