"""A term's file: a workbook or ``.json``, read and written alike; and a scenario's file, which may be one of these."""

from __future__ import annotations

import os
from pathlib import Path

from sequencer.errors import Problem, UnusableInput
from sequencer.files.matched import sequence_from_data
from sequencer.files.workbook.cells import is_table
from sequencer.files.workbook.rows import Filled
from sequencer.files.workbook.term_book import TermBook, read_term_book, term_written
from sequencer.instance.record_file import recorded_in
from sequencer.next_term.plan_rows import plan_before
from sequencer.next_term.term import TermPlan, WholeTerm, is_term, load_term, term_from_tree, term_json
from sequencer.plan.sequence import Previous, Sequence
from sequencer.scenario.documents import read_file, read_tree
from sequencer.scenario.guards import plain_tree
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import model_data, scenario_data
from sequencer.words import LOST, SKIPPED


def read_term(path: str | os.PathLike[str]) -> TermBook:
    """The term that a workbook, a ``.json`` file or a scenario's file holds.

    Raises
    ------
    UnusableInput
        With every problem found, each at its cell, or line.
    """
    if is_table(Path(path)):
        return read_term_book(path)
    text, language = read_file(path)
    return TermBook(load_term(text, str(path), language), Filled(), str(path))


def term_bytes(term: WholeTerm, path: Path, before: bytes | None = None) -> bytes:
    """The file that holds a term, a workbook or JSON by its name; what is the teacher's own in the one ``before`` stays."""
    if path.suffix.lower() == ".xlsx":
        return term_written(term, before, str(path))
    return term_json(term).encode()


def read_scenario_file(path: str | os.PathLike[str]) -> Scenario:
    """The scenario of any file that holds one; of a term as it is now, with what its plan says became of lessons.

    Raises
    ------
    UnusableInput
        With every problem found.
    """
    return read_term(path).as_it_is_now()


def read_scenario_recorded(path: Path, record: Path) -> Scenario:
    """The same, with what a record beside it, in YAML or JSON, says happened; each file is read once.

    Raises
    ------
    UnusableInput
        With every problem found in either.
    """
    if is_table(path):
        tree = plain_tree(scenario_data(read_scenario_file(path)))
    else:
        text, language = read_file(path)
        tree = read_tree(text, language)
        if language == "json" and is_term(tree.data):
            book = TermBook(term_from_tree(tree, str(path)), Filled(), str(path))
            tree = plain_tree(scenario_data(book.as_it_is_now()))
    return recorded_in(tree, read_tree(*read_file(record)), str(path), str(record))


def plan_sequence(scenario: Scenario, plan: TermPlan | None, source: str) -> Sequence:
    """The plan of a term as a sequence for a scenario; what was skipped or did not take place lies nowhere.

    Raises
    ------
    UnusableInput
        When there is none, or it does not fit the scenario.
    """
    rows = [model_data(row) for row in _there(plan, source).lessons if row.what not in (SKIPPED, LOST)]
    return sequence_from_data(scenario, {"lessons": rows}, source)


def plan_previous(scenario: Scenario, plan: TermPlan | None, source: str) -> Previous:
    """The plan of a term as the one made before, whose lessons need not all be there any more.

    Raises
    ------
    UnusableInput
        When there is none.
    """
    return plan_before(scenario, _there(plan, source)).previous


def _there(plan: TermPlan | None, source: str) -> TermPlan:
    if plan is None:
        raise UnusableInput((Problem("", f"has no plan yet: python -m sequencer week {source} makes one"),), source)
    return plan
