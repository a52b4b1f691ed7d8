"""A mutation tried on a copy of the project: whether its tests notice.

Each run is a process of its own, split off from this one once all that is not the project's has been imported.
"""

from __future__ import annotations

import multiprocessing
import os
import re
import shutil
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.mutations.mutation import Mutation

PROJECT = Path(__file__).parents[2]
PARTS = ("sequencer", "api", "tests", "scenarios", "pyproject.toml", "README.md", "DEVELOPERS.md")
LONGEST = 900
"""Seconds after which tests that do not end count as having noticed."""

CAUGHT, ESCAPED, EQUIVALENT, NOT_FOUND, BROKEN = "caught", "ESCAPED", "equivalent", "NOT FOUND", "DOES NOT RUN"
WRONG = (ESCAPED, NOT_FOUND, BROKEN)


@dataclass(frozen=True)
class Ran:
    """What came of some tests: pytest's exit code, None where they did not end, and what it wrote."""

    code: int | None
    output: str

    @property
    def first_failed(self) -> str:
        """The test that noticed."""
        found = re.search(r"^(?:FAILED|ERROR) (.+?)(?: - .*)?$", self.output, re.MULTILINE)
        return found[1] if found else ""


def found_once(mutation: Mutation, project: Path = PROJECT) -> bool:
    """Whether the statement stands in its file exactly once."""
    file = project / mutation.file
    return file.is_file() and file.read_text(encoding="utf-8").count(mutation.old) == 1


def copied(folder: Path) -> Path:
    """Return a copy of the project, which may be changed."""
    copy = folder / "project"
    copy.mkdir()
    for part in PARTS:
        source = PROJECT / part
        if source.is_dir():
            shutil.copytree(source, copy / part, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, copy / part)
    return copy


def ran(copy: Path, tests: Sequence[str]) -> Ran:
    """Run tests in the copy until the first fails."""
    output = copy.parent / "output"
    process = multiprocessing.get_context("fork").Process(target=_run, args=(copy, tests, output))
    process.start()
    process.join(LONGEST)
    code = process.exitcode
    if code is None:
        process.kill()
        process.join()
    return Ran(code, output.read_text(encoding="utf-8", errors="replace"))


def _run(copy: Path, tests: Sequence[str], output: Path) -> None:
    descriptor = os.open(output, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(descriptor, 1)
    os.dup2(descriptor, 2)
    os.chdir(copy)
    os.environ |= {"PYTHONPATH": str(copy), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    sys.path.insert(0, str(copy))
    for name in [name for name in sys.modules if name.split(".")[0] in PARTS]:
        del sys.modules[name]
    import pytest

    code = pytest.main(["-x", "-q", "--no-header", "--tb=line", "-p", "no:cacheprovider", "-p", "xdist.plugin", *tests])
    sys.stdout.flush()
    os._exit(int(code))


def tried(mutation: Mutation, copy: Path) -> tuple[str, str]:
    """Return what becomes of a mutation, and why or by which test; the copy is as it was afterwards."""
    if not found_once(mutation, copy):
        return NOT_FOUND, mutation.file
    if mutation.equivalent:
        return EQUIVALENT, mutation.equivalent
    file = copy / mutation.file
    before = file.read_text(encoding="utf-8")
    try:
        file.write_text(before.replace(mutation.old, mutation.new), encoding="utf-8")
        _forget_compiled(file)
        result = ran(copy, mutation.tests)
    finally:
        file.write_text(before, encoding="utf-8")
        _forget_compiled(file)
    # pytest's 1: tests failed. Anything else is no test that noticed: nothing was collected, or the module cannot be imported.
    outcome = {0: ESCAPED, 1: CAUGHT, None: CAUGHT}.get(result.code, BROKEN)
    return outcome, result.first_failed or mutation.file


def _forget_compiled(file: Path) -> None:
    """Python takes a file of the same size, written in the same second, for the one that it has compiled."""
    for compiled in (file.parent / "__pycache__").glob(f"{file.stem}.*"):
        compiled.unlink()
