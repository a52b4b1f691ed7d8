"""Rules of a class that the second reading learns in one file each: every module of this folder is one.

It gives ``KEY``, the rule's key; ``LISTED``, where a scenario lists what it asks for; ``drawn(rng)``, its numbers, or an
entry's, as a scenario states them; and ``windows(numbers, group)``: of each window the numbers of its slots, what a lesson counts
that starts there, and the least and the most asked, None where nothing is.
"""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules
from typing import Any

MODULES: tuple[Any, ...] = tuple(import_module(f"{__name__}.{each.name}") for each in iter_modules(__path__))
