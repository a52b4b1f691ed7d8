"""``python -m tests.api.attacks [NAME ...]`` attacks a service of its own in one way after another and prints a table.

All the while ``/healthz`` is asked for, by a new connection each time, and afterwards a half term is to be planned. The exit
code is 1 when health is not told in time, or the plan does not come in its time, or what was attacked does not do what it should.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from tests.api.attacks import header, idle, lessons, nothing, stopped, trickle, workbooks
from tests.api.attacks.attack import Attack
from tests.api.raw import asked, exchange
from tests.api.service import YAML
from tests.benchmarks import report
from tests.benchmarks.checked import milliseconds, percentile
from tests.benchmarks.served import Served, serving

MODULES = (nothing, header, workbooks, lessons, stopped, trickle, idle)

ATTACKS = {each.ATTACK.name: each.ATTACK for each in MODULES}

HALF_TERM = (Path(__file__).parents[3] / "scenarios" / "half-term.yaml").read_bytes()

MOST_HEALTH = 0.100
"""Seconds in which 99 of 100 answers of health come."""

ALLOWED, GRACE = 5, 2
"""Seconds that the request afterwards asks for, and within how many more its answer comes."""


def attacked(attack: Attack) -> tuple[str, ...]:
    """Attack a service, and return the row of the table, whose last cell is empty where all is well."""
    wrong = []
    with serving(False, attack.descriptors, **attack.settings) as served:
        with served.health() as health:
            try:
                became = attack.run(served)
            except AssertionError as error:
                became = str(error)
                wrong.append("not what it should")
        after, answered = _next(served)
    late = percentile(health, 0.99)
    if late > MOST_HEALTH:
        wrong.append("health is late")
    if answered != 200 or after > ALLOWED + GRACE:
        wrong.append(f"the next request ended with {answered}")
    return (
        attack.what, became, f"{len(health)}", milliseconds(late), milliseconds(max(health)), f"{after:.1f} s", "; ".join(wrong),
    )  # fmt: skip


def _next(served: Served) -> tuple[float, int]:
    began = time.monotonic()
    came = exchange(served.port, asked(served.port, f"/v1/sequences?seconds={ALLOWED}", HALF_TERM, YAML))
    return time.monotonic() - began, came.status


def main() -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m tests.api.attacks", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", choices=[[], *ATTACKS], help=f"one of {', '.join(ATTACKS)}")
    rows = []
    for name in parser.parse_args().names or ATTACKS:
        rows.append(attacked(ATTACKS[name]))
        print(f"{name}: {rows[-1][-1] or 'as it should be'}", file=sys.stderr, flush=True)
    columns = ("attack", "what became of it", "health asked", "99 of 100 within", "slowest", "next plan", "wrong")
    print(report.table(columns, rows))
    return 1 if any(row[-1] for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
