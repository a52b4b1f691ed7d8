"""Rules that the second reading learns in one file each: every module of this folder is one.

It gives ``KEY``, the rule's key; ``LISTED``, where a scenario lists what it asks for; ``drawn(rng)``, its numbers, or an
entry's, as a scenario states them; and ``windows(numbers, group)``, what it counts of a class. A rule that counts over cohorts,
too, gives ``fixed(subjects, name, weeks)``, how much more there is.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pkgutil import iter_modules
from typing import Any, NamedTuple


class Window(NamedTuple):
    """What is counted: its name, its slots, what a lesson counts that starts in a slot, least, most, by what a wish counts."""

    name: tuple[str, Any]
    slots: set[int]
    counts: Callable[[Any, int], int]
    least: int | None
    most: int | None
    unit: int = 1


MODULES: tuple[Any, ...] = tuple(import_module(f"{__name__}.{each.name}") for each in iter_modules(__path__))
