"""What the house comes to: rooms, floors, arrows, names that occur twice, lines.

``python -m tests.house`` prints the counts. A room is a folder or a loose file right under ``sequencer``, the package itself (its
public names), or ``api``. An arrow runs from a room to another one of which it imports something. A room stands one floor above
the highest room that it imports from.
"""

from __future__ import annotations

import ast
import io
import tokenize
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

ROOMS = (
    "words",
    "errors",
    "scenario",
    "instance",
    "plan",
    "outlines",
    "rules",
    "aims",
    "solver",
    "questions",
    "next_term",
    "render",
    "files",
    "",
    "workers",
    "cli",
    "__main__",
)
"""The folders and files right under ``sequencer``, lowest first; the empty name is the package itself, its public names."""


NO_CODE = (
    tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT, tokenize.ENDMARKER,
)  # fmt: skip


def modules() -> dict[str, Path]:
    """Every module of the product by its dotted name."""
    found = {}
    for package in ("sequencer", "api"):
        for path in sorted((ROOT / package).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


@cache
def _read(path: Path) -> tuple[list[ast.Import | ast.ImportFrom], list[str]]:
    """The imports of a file, and the names of its classes."""
    nodes = [*ast.walk(ast.parse(path.read_text(encoding="utf-8")))]
    said = [node for node in nodes if isinstance(node, ast.Import | ast.ImportFrom)]
    return said, [node.name for node in nodes if isinstance(node, ast.ClassDef)]


def imports(path: Path, known: dict[str, Path]) -> Iterator[str]:
    """Every module that a file imports, at its head or inside a function."""
    for node in _read(path)[0]:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        else:
            assert node.level == 0, f"{path}: relative import"
            for alias in node.names:
                inside = f"{node.module}.{alias.name}"
                yield inside if inside in known and node.module != "sequencer" else node.module or ""


def room_of(module: str) -> str:
    """The room of a module."""
    package, _, below = module.partition(".")
    return package if package == "api" else below.split(".")[0]


def arrows() -> set[tuple[str, str]]:
    """Pairs of rooms of which the first imports something of the second."""
    known = modules()
    pairs = {
        (room_of(module), room_of(imported))
        for module, path in known.items()
        for imported in imports(path, known)
        if imported in known
    }
    return {(here, there) for here, there in pairs if here != there}


def floors(pairs: set[tuple[str, str]]) -> int:
    """How many floors the rooms stand on; each arrow runs down."""
    height: dict[str, int] = {}

    def floor_of(room: str) -> int:
        if room not in height:
            height[room] = 0
            height[room] = 1 + max((floor_of(there) for here, there in pairs if here == room), default=0)
        return height[room]

    return max(floor_of(room) for pair in pairs for room in pair)


def lines_of_code(text: str) -> int:
    """Lines of a module that are neither empty nor a comment nor in a docstring."""
    told = [
        node.value for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    ]
    said = [each for each in told if isinstance(each.value, str)]
    docstrings = {line for each in said for line in range(each.lineno, (each.end_lineno or each.lineno) + 1)}
    code: set[int] = set()
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type not in NO_CODE:
            code.update(range(token.start[0], token.end[0] + 1))
    return len(code - docstrings)


def counts() -> dict[str, int]:
    """Each count by what it counts."""
    known = modules()
    pairs = arrows()
    classes: Counter[str] = Counter()
    files: Counter[str] = Counter()
    lines = 0
    longest = 0
    for path in known.values():
        text = path.read_text(encoding="utf-8")
        lines += text.count("\n")
        if text.count("\n") > longest:
            longest = max(longest, lines_of_code(text))
        classes.update(_read(path)[1])
        files.update([path.name] if path.name != "__init__.py" else [])
    contract = (ROOT / "tests" / "api" / "contract.txt").read_text(encoding="utf-8").count("\n")
    return {
        "lines of sequencer and api": lines,
        "modules": len(known),
        "lines of code of the longest module": longest,
        "rooms": len({room_of(module) for module in known}),
        "floors": floors(pairs),
        "arrows between rooms": len(pairs),
        "class names defined twice": sum(times > 1 for times in classes.values()),
        "file names used twice": sum(times > 1 for times in files.values()),
        "lines of the stored contract": contract,
    }


if __name__ == "__main__":
    for what, number in counts().items():
        print(f"{number:8,}  {what}")
