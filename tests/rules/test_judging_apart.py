"""Judging stays apart from posting: the syntax tree of a rule's file shows what its judging reaches."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house import ROOT, imports, modules

FOLDER = ROOT / "sequencer" / "rules"
FILES = sorted(FOLDER.glob("*.py"))
JUDGING = ("judge", "wishes")
POSTING = ("post", "post_pairs", "costs")
Defined = dict[str, list[ast.FunctionDef]]


def defined(tree: ast.Module) -> Defined:
    """The functions and methods of a module by their names."""
    found: Defined = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            found.setdefault(node.name, []).append(node)
    return found


def reached(names: tuple[str, ...], functions: Defined) -> dict[str, ast.FunctionDef]:
    """What functions of these names use of the module, by name, themselves included."""
    found: dict[str, ast.FunctionDef] = {}
    waiting = [each for name in names for each in functions.get(name, ())]
    while waiting:
        function = waiting.pop()
        key = f"{function.name} {function.lineno}"
        if key in found:
            continue
        found[key] = function
        waiting += [each for name in used(function) for each in functions.get(name, ())]
    return found


def used(node: ast.AST) -> Iterator[str]:
    for each in ast.walk(node):
        if isinstance(each, ast.Name):
            yield each.id
        elif isinstance(each, ast.Attribute):
            yield each.attr


def speaks_to_the_model(function: ast.FunctionDef) -> bool:
    return any(argument.arg == "model" for argument in function.args.args) or "model" in set(used(function))


def wrong(source: str) -> list[str]:
    """What judging reaches that is of posting."""
    functions = defined(ast.parse(source))
    judging = reached(JUDGING, functions)
    return [name for name, function in judging.items() if function.name in POSTING or speaks_to_the_model(function)]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_judging_reaches_nothing_of_posting(path: Path) -> None:
    assert wrong(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_rules_import_nothing_of_the_solver(path: Path) -> None:
    found = list(imports(path, modules()))
    assert not [each for each in found if each.startswith(("ortools", "sequencer.solver", "sequencer.questions"))]


def test_this_is_seen() -> None:
    """The tests above can fail."""
    direct = "class R:\n    def judge(self, laid):\n        return self.post(laid)\n    def post(self, model): ...\n"
    through = "def f(model): ...\ndef g(): return f(1)\nclass R:\n    def wishes(self, laid): return g()\n"
    apart = "def f(model): ...\nclass R:\n    def judge(self, laid): ...\n    def post(self, model): f(2)\n"
    assert wrong(direct) and wrong(through) and not wrong(apart)
