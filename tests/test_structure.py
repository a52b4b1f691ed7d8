"""Who may import whom: a module imports only from what stands before it in the list."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

LAYERS: tuple[tuple[str, ...], ...] = (
    ("sequencer.words",),
    ("sequencer.errors", "sequencer.files", "sequencer.interrupts", "sequencer.terminal"),
    ("sequencer.scenario", "sequencer.wanted"),
    ("sequencer.calendar",),
    ("sequencer.resolve",),
    ("sequencer.facts",),
    ("sequencer.counts", "sequencer.listing", "sequencer.wished"),
    ("sequencer.distances",),
    ("sequencer.scenario.record_periods",),
    ("sequencer.scenario.written",),
    ("sequencer.changes",),
    ("sequencer.scenario.load",),
    ("sequencer.scenario.calendar_file", "sequencer.scenario.record_file", "sequencer.scenario.yaml_text", "sequencer.given_csv"),
    ("sequencer.instance", "sequencer.scenario.what_ifs_file"),
    ("sequencer.sequence", "sequencer.naming"),
    (
        "sequencer.outcomes",
        "sequencer.spans",
        "sequencer.minutes",
        "sequencer.distances.told",
        "sequencer.changes.words",
        "sequencer.changes.read_again",
    ),
    ("sequencer.ungranted", "sequencer.pinned"),
    (
        "sequencer.aims",
        "sequencer.tidy",
        "sequencer.cautions",
        "sequencer.notices",
        "sequencer.at_home",
        "sequencer.delays",
        "sequencer.given",
        "sequencer.moves",
    ),
    ("sequencer.check", "sequencer.model"),
    ("sequencer.explaining.reasons", "sequencer.alternatives"),
    ("sequencer.redating",),
    ("sequencer.rolling",),
    ("sequencer.solve",),
    ("sequencer.preparing", "sequencer.starters", "sequencer.explaining", "sequencer.as_planned"),
    ("sequencer.coverage",),
    ("sequencer.comparing",),
    ("sequencer.opening", "sequencer.replanning"),
    ("sequencer.answer",),
    ("sequencer.render",),
    ("sequencer.workbook",),
    ("sequencer",),
    ("sequencer.arguments", "sequencer.command_files", "sequencer.batch"),
    (
        "sequencer.command_batch",
        "sequencer.command_comparing",
        "sequencer.command_explaining",
        "sequencer.command_replanning",
        "sequencer.command_starting",
    ),
    ("sequencer.__main__",),
)
"""From left to right of the house style; entries of one layer do not import one another.

Reading a scenario ends with its record beside its calendar, so ``load`` stands after both, apart from the rest of its package.
"""

MAY_USE_THE_SOLVER = (
    "sequencer.model",
    "sequencer.solve",
    "sequencer.explaining",
    "sequencer.opening",
    "sequencer.starters.model",
    "sequencer.starters.search",
)


def modules() -> list[tuple[str, Path]]:
    found = []
    for package in ("sequencer", "api"):
        for path in sorted((ROOT / package).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found.append((".".join(parts[:-1] if parts[-1] == "__init__" else parts), path))
    return found


def imports(path: Path) -> Iterator[str]:
    """Every module that a file imports, at its head or inside a function."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            yield node.module or ""


def layer_of(module: str) -> tuple[int, str]:
    """The layer a module stands in, and the entry of the list that covers it: the longest one."""
    best = max(
        ((len(entry), number, entry) for number, layer in enumerate(LAYERS) for entry in layer if _covers(entry, module)),
        default=None,
    )
    assert best is not None, f"{module} stands in no layer"
    return best[1], best[2]


def _covers(entry: str, module: str) -> bool:
    # The package itself is only its __init__: everything below it has a layer of its own.
    return module == entry or (entry != "sequencer" and module.startswith(entry + "."))


@pytest.mark.parametrize(("module", "path"), [pair for pair in modules() if pair[0].startswith("sequencer")])
def test_a_module_imports_only_from_its_left(module: str, path: Path) -> None:
    here, entry = layer_of(module)
    for imported in imports(path):
        if imported.split(".")[0] == "sequencer":
            there, other = layer_of(imported)
            assert there < here or other == entry, f"{module} imports {imported}"


@pytest.mark.parametrize(("module", "path"), modules())
def test_only_the_model_and_its_users_import_the_solver(module: str, path: Path) -> None:
    uses = any(imported.split(".")[0] == "ortools" for imported in imports(path))
    assert not uses or module.startswith(MAY_USE_THE_SOLVER), module


def test_the_referee_and_the_model_never_meet() -> None:
    for module, path in modules():
        if module.startswith("sequencer.check"):
            assert not any(imported.startswith("sequencer.model") for imported in imports(path)), module
        if module.startswith("sequencer.model"):
            assert not any(imported.startswith("sequencer.check") for imported in imports(path)), module
        if module in ("sequencer.starters.referee", "sequencer.starters.question"):
            models = ("sequencer.model", "sequencer.starters.model")
            assert not any(imported.startswith(models) for imported in imports(path)), module
        if module == "sequencer.starters.model":
            assert "sequencer.starters.referee" not in imports(path)


@pytest.mark.parametrize(("module", "path"), [pair for pair in modules() if pair[0].split(".")[0] == "api"])
def test_the_api_uses_the_public_names(module: str, path: Path) -> None:
    for imported in imports(path):
        if imported.split(".")[0] == "sequencer":
            assert imported in ("sequencer", "sequencer.words"), f"{module} imports {imported}"


def test_the_list_of_layers_is_read() -> None:
    """The test above can fail: a module that imports from its right is seen."""
    assert layer_of("sequencer.calendar")[0] < layer_of("sequencer.model.build")[0]
    assert layer_of("sequencer")[0] > layer_of("sequencer.render.text")[0]
    assert len(modules()) > 30
