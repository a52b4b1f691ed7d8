"""Random scenarios put to every command: ``python -m tests.robust 0 2000``, or one command: ``--command explain``.

Prints how often each command ended with which exit code, and the seeds whose answer was a defect: an exception, exit code 4, a
status that is not described, a sequence that the referee rejects.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from pathlib import Path

from tests.robust.running import CASES, ran


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("first", type=int)
    parser.add_argument("end", type=int)
    parser.add_argument("--command", choices=[*CASES], action="append", default=[])
    parser.add_argument("--seconds", type=float, default=1.0, help="time for each command (default: 1)")
    parser.add_argument("--refusals", action="store_true", help="print what was refused, too")
    options = parser.parse_args()
    failing: dict[str, list[int]] = {}
    table: dict[str, Counter[int | None]] = {}
    for command in options.command or CASES:
        codes = table[command] = Counter()
        for seed in range(options.first, options.end):
            with tempfile.TemporaryDirectory() as folder:
                found = ran(command, seed, Path(folder), options.seconds)
            codes[found.code] += 1
            if found.wrong:
                failing.setdefault(command, []).append(seed)
                print(f"{command} {seed}: {found.wrong}", flush=True)
            elif found.code == 2 and options.refusals:
                print(f"{command} {seed} refused: {found.told.strip()}", flush=True)
    print(f"\n{'command':10}" + "".join(f"{f'exit {code}':>9}" for code in range(5)) + f"{'exception':>11}{'defects':>9}")
    for command, codes in table.items():
        counts = "".join(f"{codes[code]:9}" for code in range(5))
        print(f"{command:10}{counts}{codes[None]:11}{len(failing.get(command, ())):9}")
    for command, seeds in failing.items():
        print(f"{command}: failing seeds {seeds}")
    return 1 if failing else 0


if __name__ == "__main__":
    raise SystemExit(main())
