"""Every command that writes: which of its arguments name what is written, and calls that write a file of each kind."""

from __future__ import annotations

import argparse
import io
import json
import shutil
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path

from sequencer import AROUND, FORMATS, read_scenario, term_json, term_of
from sequencer.__main__ import _COMMANDS, main
from sequencer.cli.arguments import parser_of

SCENARIOS = Path(__file__).parents[1] / "scenarios"

WRITTEN = {
    ("sequence", "output"),
    ("outline", "output"),
    ("replan", "output"),
    ("batch", "output"),
    ("batch", "results"),
    ("redate", "output"),
    ("next", "output"),
    ("start", "path"),
    ("start", "output"),
    ("week", "term"),
    ("export", "output"),
    ("export", "models"),
}
"""Commands and their arguments that name what is written."""

READ = {
    *((command, "scenario") for command in _COMMANDS if command not in ("batch", "schema", "guide", "rules", "week")),
    *((command, "record") for command in ("sequence", "outline", "explain", "compare", "replan", "check", "next")),
    *(("sequence", name) for name in ("earlier", "pins", "plan")),
    ("compare", "plan"),
    ("outline", "plan"),
    ("outline", "before"),
    ("outline", "check"),
    ("explain", "sequence"),
    ("replan", "previous"),
    ("replan", "earlier"),
    ("check", "sequence"),
    ("batch", "folder"),
    ("redate", "calendar"),
    ("next", "sequence"),
}
"""The same of what is only read."""

OLD = b"# Read from plans.xlsx; as it was\n"
"""What stands in every file that would be replaced. It begins as what ``start`` wrote, which ``start`` may replace."""

CALENDAR = "title: 8P again\nterm: {first: 2027-11-01, last: 2027-12-17, cycle: [A, B]}\nclasses: [{id: 8P}]\n"


@dataclass(frozen=True)
class Writing:
    """A call that writes.

    Parameters
    ----------
    command
        The command and the argument that names what is written.
    arguments
        What it is called with, in a folder that ``ready`` has filled.
    file
        What is written first, below that folder.
    new
        Whether it must not be there before.
    given
        What stands in its place before, where that is read; its name below the folder.
    first
        How the name begins of what is written before it, where something is.
    """

    command: tuple[str, str]
    arguments: tuple[str, ...]
    file: str
    new: bool = False
    ways: tuple[str, ...] = field(default=())
    given: str = ""
    first: str = ""

    @property
    def name(self) -> str:
        """Its name among tests."""
        return " ".join((*self.command, self.file, *self.ways))


def _sequences() -> tuple[Writing, ...]:
    plain = [(each.name, ()) for each in FORMATS]
    around = [(each.name, () if form == "text" else (f"--{form}",)) for each in AROUND for form in each.forms]
    return tuple(
        Writing(
            ("sequence", "output"), ("sequence", "small.yaml", "--format", name, *ways, "--output", "out/plan"), "out/plan",
            ways=(name, *ways),
        )
        for name, ways in (*plain, *around)
    )  # fmt: skip


WRITINGS: tuple[Writing, ...] = (
    *_sequences(),
    Writing(
        ("replan", "output"), ("replan", "small.yaml", "--previous", "answer.json", "--output", "out/new.json"), "out/new.json"
    ),
    Writing(
        ("replan", "output"),
        ("replan", "small.yaml", "--previous", "answer.json", "--format", "xlsx", "--output", "out/new.xlsx"),
        "out/new.xlsx",
    ),
    Writing(
        ("replan", "output"), ("replan", "small.yaml", "--previous", "answer.json", "--trade-off", "--output", "out/t"), "out/t"
    ),
    Writing(("outline", "output"), ("outline", "small.yaml", "--format", "sheet", "--output", "out/plan"), "out/plan"),
    Writing(("batch", "output"), ("batch", "plans", "--results", "results", "--output", "out/table.txt"), "out/table.txt"),
    Writing(("batch", "results"), ("batch", "plans", "--results", "out"), "out/small.yaml.json", new=True),
    Writing(("redate", "output"), ("redate", "small.yaml", "calendar.yaml", "--output", "out/y.yaml"), "out/y.yaml"),
    Writing(
        ("next", "output"),
        ("next", "small.yaml", "answer.json", "--first", "2026-11-30", "--last", "2026-12-18", "--output", "out/n.yaml"),
        "out/n.yaml",
    ),
    Writing(("start", "path"), ("start", "out/new.xlsx"), "out/new.xlsx", new=True),
    Writing(("start", "path"), ("start", "out/from.xlsx", "--from", "small.yaml"), "out/from.xlsx", new=True),
    Writing(("start", "path"), ("start", "out/folder"), "out/folder", new=True),
    Writing(("start", "output"), ("start", "plans.xlsx", "--output", "out/read.yaml"), "out/read.yaml"),
    Writing(
        ("week", "term"),
        ("week", "out/term.xlsx", "--on", "2026-11-06"),
        "out/term.xlsx",
        given="term.xlsx",
        first="out/term",
    ),
    Writing(("week", "term"), ("week", "out/t.json", "--on", "2026-11-06"), "out/t.json", given="t.json", first="out/t before"),
    Writing(("export", "output"), ("export", "small.yaml", "--output", "out/report.yaml"), "out/report.yaml"),
    Writing(("export", "models"), ("export", "small.yaml", "--output", "-", "--models", "out"), "out/model-1.txt"),
)


def ready(folder: Path) -> None:
    """Fill a folder with what the calls read."""
    shutil.copy(SCENARIOS / "small.yaml", folder)
    (folder / "plans").mkdir()
    shutil.copy(SCENARIOS / "small.yaml", folder / "plans")
    (folder / "calendar.yaml").write_text(CALENDAR, encoding="utf-8")
    assert called(folder, ("sequence", "small.yaml", "--format", "json", "--output", "answer.json"))[0] == 0
    assert json.loads((folder / "answer.json").read_text(encoding="utf-8"))["status"] == "optimal"
    assert called(folder, ("start", "plans.xlsx"))[0] == 0
    assert called(folder, ("start", "term.xlsx", "--from", "small.yaml"))[0] == 0
    (folder / "t.json").write_text(term_json(term_of(read_scenario(SCENARIOS / "small.yaml"))), encoding="utf-8")


def put_old(folder: Path, writing: Writing) -> None:
    """Put what a call would replace, and nothing else, into the folder in which it writes."""
    out = folder / "out"
    for left in [*out.iterdir()] if out.is_dir() else []:
        left.unlink() if not left.is_dir() else shutil.rmtree(left)
    out.mkdir(exist_ok=True)
    if not writing.new:
        (folder / writing.file).write_bytes(old(folder, writing))


def old(folder: Path, writing: Writing) -> bytes:
    """What stands in the place of what is written before it is."""
    return (folder / writing.given).read_bytes() if writing.given else OLD


def called(folder: Path, arguments: tuple[str, ...]) -> tuple[int, str]:
    """The exit code of a command called with paths below a folder, and what it told on the error stream."""
    paths = {each.name for each in folder.iterdir()} | {"answer.json", "plans.xlsx", "term.xlsx", "results"}
    placed = [str(folder / each) if each.split("/")[0] in {*paths, "out"} and each != "-" else each for each in arguments]
    told = io.StringIO()
    with redirect_stderr(told), redirect_stdout(io.StringIO()):
        code = main(placed)
    return code, told.getvalue()


def path_arguments() -> set[tuple[str, str]]:
    """Every argument of every command whose value is a path, found by walking the parser."""
    found = set()
    parser = parser_of(_COMMANDS)
    commands = next(action for action in parser._actions if isinstance(action, argparse._SubParsersAction))
    for name, command in commands.choices.items():
        for action in command._actions:
            makes: Callable[[str], object] | None = action.type if callable(action.type) else None
            if makes is not None and isinstance(_made(makes), Path):
                found.add((name, action.dest))
    return found


def _made(makes: Callable[[str], object]) -> object:
    try:
        return makes("name.yaml")
    except (ValueError, argparse.ArgumentTypeError):
        return None
