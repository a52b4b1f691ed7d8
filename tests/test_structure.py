"""The house: which rooms there are, and who may import whom. A module imports only from its own room and from those before it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.house import ROOMS, ROOT, arrows, counts, imports, modules, room_of

MODULES = modules()
SEQUENCER = [pair for pair in MODULES.items() if pair[0].startswith("sequencer")]
MAY_USE_THE_SOLVER = ("sequencer.solver", "sequencer.questions", "sequencer.outlines")
MAY_NOT = "sequencer.questions.lists"
"""But of lists only the one that assigns starters to a finished sequence."""


def test_the_rooms_are_these_and_no_others() -> None:
    assert {room_of(module) for module, _ in MODULES.items() if module.split(".")[0] == "sequencer"} == set(ROOMS)
    folders = [entry for entry in (ROOT / "sequencer").iterdir() if entry.is_dir() and entry.name != "__pycache__"]
    assert len(folders) <= 14
    loose = {entry.name for entry in (ROOT / "sequencer").glob("*.py")}
    assert loose == {"__init__.py", "__main__.py", "errors.py", "words.py"}


@pytest.mark.parametrize(("module", "path"), SEQUENCER)
def test_a_module_imports_nothing_from_above(module: str, path: Path) -> None:
    here = ROOMS.index(room_of(module))
    for imported in imports(path, MODULES):
        if imported.split(".")[0] == "sequencer":
            there = ROOMS.index(room_of(imported))
            assert there <= here, f"{module} imports {imported}"


def test_no_two_modules_import_one_another_in_a_circle() -> None:
    above = {
        module: {name for name in imports(path, MODULES) if name in MODULES and name != module}
        for module, path in MODULES.items()
    }
    done: set[str] = set()
    while ready := [module for module, needs in above.items() if module not in done and needs <= done]:
        done.update(ready)
    assert not set(above) - done


@pytest.mark.parametrize(("module", "path"), MODULES.items())
def test_only_the_model_and_its_users_import_the_solver(module: str, path: Path) -> None:
    uses = any(imported.split(".")[0] == "ortools" for imported in imports(path, MODULES))
    may = (module.startswith(MAY_USE_THE_SOLVER) and not module.startswith(MAY_NOT)) or module.startswith(f"{MAY_NOT}.starters")
    assert not uses or may, module


def test_the_referee_and_the_model_never_meet() -> None:
    """Of rules, which have both halves in one file, ``tests/rules/test_judging_apart.py`` reads more."""
    referee = ("sequencer.rules", "sequencer.aims", "sequencer.questions.judge")
    for module, path in MODULES.items():
        if module.startswith(referee):
            assert not any(imported.startswith("sequencer.solver") for imported in imports(path, MODULES)), module
        if module.startswith("sequencer.solver"):
            assert not any(imported.startswith("sequencer.questions") for imported in imports(path, MODULES)), module
        if module in ("sequencer.questions.lists.starters.starter_referee", "sequencer.questions.lists.starters.question"):
            models = ("sequencer.solver", "sequencer.questions.lists.starters.starter_model")
            assert not any(imported.startswith(models) for imported in imports(path, MODULES)), module
        if module.startswith("sequencer.outlines"):
            uses = {name for name in imports(path, MODULES) if name.split(".")[0] == "ortools"}
            models = ("outline_model", "part_places", "outline_search", "exercises", "cut_model")
            assert not uses or module.rpartition(".")[2] in models, module
        if module in ("sequencer.outlines.part_rules", "sequencer.outlines.laid_outline", "sequencer.outlines.outline_aims"):
            models = tuple(f"sequencer.outlines.{name}" for name in ("outline_model", "part_places", "outline_search"))
            assert not any(imported.startswith(models) for imported in imports(path, MODULES)), module
        if module == "sequencer.questions.lists.starters.starter_model":
            assert "sequencer.questions.lists.starters.starter_referee" not in imports(path, MODULES)


@pytest.mark.parametrize(("module", "path"), [pair for pair in MODULES.items() if pair[0].split(".")[0] == "api"])
def test_the_api_uses_the_public_names_and_the_pool(module: str, path: Path) -> None:
    for imported in imports(path, MODULES):
        if imported.split(".")[0] == "sequencer":
            pool = imported.startswith("sequencer.workers.") and not imported.startswith("sequencer.workers.batch")
            assert pool or imported in ("sequencer", "sequencer.words"), f"{module} imports {imported}"


def test_the_rooms_are_read() -> None:
    """The tests above can fail: a module that imports from above is seen."""
    assert ROOMS.index(room_of("sequencer.instance.calendar")) < ROOMS.index(room_of("sequencer.solver.model"))
    assert ROOMS.index(room_of("sequencer")) > ROOMS.index(room_of("sequencer.render.text"))
    assert len(MODULES) > 30


def test_the_house_stays_simple() -> None:
    """The counts that ``python -m tests.house`` prints have room to shrink only."""
    here = counts()
    assert here["rooms"] <= 18
    assert here["arrows between rooms"] <= 95
    assert here["file names used twice"] <= 12
    assert here["lines of code of the longest module"] <= 300
    assert ("scenario", "instance") not in arrows()
