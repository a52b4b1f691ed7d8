"""A scenario whose what-ifs stand in it, or beside it in one text."""

from __future__ import annotations

from sequencer.instance.load import scenario_from_tree
from sequencer.instance.record_file import recorded_part
from sequencer.scenario.documents import Language, Parts, read_tree
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Path, Positions, Tree
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import scenario_data

_KEY = "what_ifs"

KEYS_BESIDE = ("record", _KEY)
"""What may stand beside a scenario that is compared."""


def load_comparison(text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS) -> Scenario:
    """Read a scenario with its what-ifs from one text: a scenario, or a mapping with ``scenario`` and ``what_ifs``.

    What happened may stand beside them under ``record``, in the form of a record file.

    Raises
    ------
    UnusableInput
        With every problem found, at its place in the whole text. Whether what-ifs beside a scenario suit it can only be said of
        a scenario that can be used.
    BeyondLimit
        When there is more of something than the limits allow.
    """
    tree = read_tree(text, language, limits)
    if not isinstance(tree.data, dict) or "scenario" not in tree.data:
        return scenario_from_tree(tree, source)
    return compared_part(Parts(tree, source, ("scenario",), KEYS_BESIDE), source)


def compared_part(parts: Parts, source: str) -> Scenario:
    """The scenario of a text that holds one, with the what-ifs and the record beside it; reports problems of other parts, too.

    Raises
    ------
    UnusableInput
    """
    scenario = recorded_part(parts, source)
    beside = parts.part(_KEY)
    if scenario is not None and beside is not None and scenario.what_ifs:
        parts.add(_KEY, [beside.positions.problem((), "stands in the scenario too: state it in one place")])
    elif beside is not None and beside.problems:
        parts.add(_KEY, beside.problems)
    parts.report()
    assert scenario is not None, "whatever cannot be read is reported"
    if beside is None:
        return scenario
    together = Tree({**scenario_data(scenario), _KEY: beside.data}, _inside(beside.positions), limits=beside.limits)
    return scenario_from_tree(together, source)


def _inside(positions: Positions) -> Positions:
    """Where the what-ifs stand, as parts of the scenario that they stand beside."""
    values: dict[Path, tuple[int, int]] = {(_KEY, *path): place for path, place in positions.values.items()}
    keys: dict[Path, tuple[int, int]] = {(_KEY, *path): place for path, place in positions.keys.items()}
    return Positions(values, keys)
