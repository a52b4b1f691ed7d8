"""Try every mutation on a copy of the project: ``python -m tests.mutations [--from N] [--to N] [WORD …]``.

With words, only mutations whose names hold one of them are tried. First the tests named must pass on the copy as it is. Exit 1
when a mutation escapes its tests or its statement is not to be found.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

import sequencer  # noqa: F401 - what it imports from elsewhere need not be imported once more for each run
from tests.mutations.listed import MUTATIONS
from tests.mutations.trying import WRONG, copied, ran, tried


def main() -> int:
    """Run them and print a table."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutations", description=__doc__)
    parser.add_argument("words", nargs="*", help="parts of names")
    parser.add_argument("--from", dest="first", type=int, default=1, help="number of the first")
    parser.add_argument("--to", dest="last", type=int, default=len(MUTATIONS), help="number of the last")
    asked = parser.parse_args()
    numbered = list(enumerate(MUTATIONS, 1))[asked.first - 1 : asked.last]
    chosen = [(number, each) for number, each in numbered if not asked.words or any(word in each.id for word in asked.words)]
    results: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder))
        tests = list(dict.fromkeys(test for _, each in chosen for test in each.tests))
        unchanged = ran(copy, tests) if tests else None
        if unchanged is not None and unchanged.code != 0:
            print(f"{unchanged.output}\nThe tests named do not pass on the project as it is: mend that first.")
            return 1
        for number, each in chosen:
            outcome, why = tried(each, copy)
            results.append(outcome)
            print(f"{number:4}  {outcome:12}  {each.id:45}  {why}", flush=True)
    print(", ".join(f"{results.count(result)} {result}" for result in dict.fromkeys(results)) or "none of that name")
    return int(any(result in WRONG for result in results))


if __name__ == "__main__":
    sys.exit(main())
