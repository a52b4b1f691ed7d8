"""Try every mutation on a copy of the project: ``python -m tests.mutations [--from N] [--to N] [WORD …]``.

With words, only mutations whose names hold one of them are tried. First the tests named must pass on the copy as it is. Exit 1
when a mutation escapes its tests or its statement is not to be found.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path

from tests.mutations.listed import MUTATIONS
from tests.mutations.mutation import Mutation

PROJECT = Path(__file__).parents[2]
PARTS = ("sequencer", "api", "tests", "scenarios", "pyproject.toml", "README.md", "DEVELOPERS.md")
LONGEST = 900
"""Seconds after which tests that do not end count as having noticed."""

CAUGHT, ESCAPED, EQUIVALENT, NOT_FOUND, BROKEN = "caught", "ESCAPED", "equivalent", "NOT FOUND", "DOES NOT RUN"


def found_once(mutation: Mutation, project: Path = PROJECT) -> bool:
    """Whether the statement stands in its file exactly once."""
    file = project / mutation.file
    return file.is_file() and file.read_text(encoding="utf-8").count(mutation.old) == 1


def run_tests(copy: Path, tests: Iterable[str], tell: bool = False) -> int | None:
    """Return pytest's exit code; None where the tests do not end. What it says of a failure is printed where it is asked for."""
    command = [sys.executable, "-m", "pytest", "-x", "-q", "--no-header", "--tb=line", "-p", "no:cacheprovider", *tests]
    environment = os.environ | {"PYTHONPATH": str(copy)}
    try:
        done = subprocess.run(command, cwd=copy, env=environment, capture_output=True, text=True, timeout=LONGEST, check=False)
    except subprocess.TimeoutExpired:
        return None
    if tell and done.returncode:
        print(done.stdout[-3000:], done.stderr[-3000:])
    return done.returncode


def tried(mutation: Mutation, copy: Path) -> str:
    """Return what becomes of a mutation; the copy is as it was afterwards."""
    if not found_once(mutation, copy):
        return NOT_FOUND
    if mutation.equivalent:
        return EQUIVALENT
    file = copy / mutation.file
    before = file.read_text(encoding="utf-8")
    try:
        file.write_text(before.replace(mutation.old, mutation.new), encoding="utf-8")
        _forget_compiled(file)
        code = run_tests(copy, mutation.tests)
    finally:
        file.write_text(before, encoding="utf-8")
        _forget_compiled(file)
    # pytest's 1: tests failed. Anything else is no test that noticed: nothing was collected, or the module cannot be imported.
    return {0: ESCAPED, 1: CAUGHT, None: CAUGHT}.get(code, BROKEN)


def _forget_compiled(file: Path) -> None:
    """Python takes a file of the same size, written in the same second, for the one that it has compiled."""
    for compiled in (file.parent / "__pycache__").glob(f"{file.stem}.*"):
        compiled.unlink()


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
        copy = Path(folder) / "project"
        copy.mkdir()
        for part in PARTS:
            source = PROJECT / part
            if source.is_dir():
                shutil.copytree(source, copy / part, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(source, copy / part)
        tests = list(dict.fromkeys(test for _, each in chosen for test in each.tests))
        if tests and run_tests(copy, tests, tell=True) != 0:
            print("The tests named do not pass on the project as it is: mend that first.")
            return 1
        for number, each in chosen:
            results.append(tried(each, copy))
            print(f"{number:4}  {results[-1]:12}  {each.id:45}  {each.equivalent or each.file}", flush=True)
    print(", ".join(f"{results.count(result)} {result}" for result in dict.fromkeys(results)) or "none of that name")
    return int(any(result in (ESCAPED, NOT_FOUND, BROKEN) for result in results))


if __name__ == "__main__":
    sys.exit(main())
