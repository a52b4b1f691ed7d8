"""No attack: what the machine does by itself at the moment, for comparison."""

from __future__ import annotations

import time

from tests.api.attacks.attack import Attack
from tests.benchmarks.served import Served

SECONDS = 10


def run(_served: Served) -> str:
    """Wait."""
    time.sleep(SECONDS)
    return "as ever"


ATTACK = Attack("nothing", f"nothing for {SECONDS} s, for comparison", run)
