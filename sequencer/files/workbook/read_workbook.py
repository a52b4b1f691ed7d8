"""A filled-in workbook, or a folder of CSV files, read as a scenario. Problems name sheet and cell."""

from __future__ import annotations

import os
from pathlib import Path

from sequencer.errors import UnusableInput
from sequencer.files.workbook.cells import MOST_UNPACKED, Sheet, read_sheets, workbook_sheets
from sequencer.files.workbook.filled import filled_in
from sequencer.files.workbook.rows import moved, path_of
from sequencer.instance.load import scenario_from_data
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.schema import Scenario


def read_workbook(path: str | os.PathLike[str]) -> Scenario:
    """The scenario that a filled-in workbook (.xlsx), or a folder of CSV files, means.

    Raises
    ------
    UnusableInput
        With every problem found, each at its sheet and cell.
    """
    return _meant(read_sheets(Path(path)), str(path))


def load_workbook(content: bytes, source: str = "", most_unpacked: int = MOST_UNPACKED, limits: Limits = NO_LIMITS) -> Scenario:
    """The scenario that the bytes of a filled-in workbook (.xlsx) mean; no more than so many of them are unpacked.

    Raises
    ------
    UnusableInput
        With every problem found, each at its sheet and cell.
    BeyondLimit
        When there is more of something than the limits allow.
    """
    return _meant(workbook_sheets(content, source, most_unpacked), source, limits)


def _meant(sheets: list[Sheet], source: str, limits: Limits = NO_LIMITS) -> Scenario:
    filled = filled_in(sheets)
    problems = list(filled.problems)
    scenario = None
    try:
        scenario = scenario_from_data(filled.data, "", limits)
    except UnusableInput as unusable:
        # What spoils a cell has been told; what follows from it there is no news.
        told = {problem.where for problem in problems}
        wanting = filled.wanting if filled.problems else set()
        news = [each for each in unusable.problems if path_of(each) not in wanting]
        problems += [problem for each in news if (problem := moved(each, filled)).where not in told]
    if problems or scenario is None:
        raise UnusableInput(tuple(dict.fromkeys(problems)), source)
    return scenario
