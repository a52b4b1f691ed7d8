"""The command that gets a teacher in: a workbook to fill in, written blank or from a scenario, and read when it is there."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from sequencer import (
    UnusableSettings,
    build_instance,
    calendar_notes,
    read_day,
    read_scenario_file,
    read_workbook,
    scenario_contents,
    scenario_yaml,
    write_blank,
    written_into,
)
from sequencer.cli.shared import DONE, write_text
from sequencer.files.terminal import output_is_terminal, put_text, tell
from sequencer.files.workbook.blank import EXAMPLE, Contents, begun
from sequencer.files.workbook.form import DAYS
from sequencer.scenario.whole_files import write_new
from sequencer.words import count_text, day_text


def run_start(options: argparse.Namespace) -> int:
    """Write a workbook to fill in, or read the one that is there."""
    path: Path = options.path
    if not path.exists():
        if path.suffix.lower() not in (".xlsx", ""):
            raise UnusableSettings([f"{path} must end in .xlsx, or be the name of a folder"])
        if options.scenario is not None and options.country is not None:
            raise UnusableSettings(["--country begins a new term, and --from takes one that there is: give one of them"])
        if options.scenario is not None:
            _write_from(options.scenario, path)
            put_text(f"Wrote {path}. What no other sheet has a column for stands on its sheet More.\n")
            return DONE
        contents = _begun(options)
        write_blank(path, contents)
        if options.country is not None:
            put_text(f"On the sheet {DAYS}: {_listed(contents)}. Delete those on which you teach.\n")
        put_text(f"Wrote {path}. Type over the example in it, and save it. Then plan it: {_planned_by(path)}\n")
        return DONE
    if options.scenario is not None or options.country is not None:
        raise UnusableSettings([f"{path} is there already: name another file, or delete it"])
    scenario = read_workbook(path)
    begins = f"Read from {path.name}; "
    if options.output is not None and not _may_replace(options.output, f"# {begins}"):
        raise UnusableSettings([f"{options.output} is there already: name another file, or delete it"])
    head = [f"{begins}change it there: reading it again replaces this file.", "To change it here, delete these two lines."]
    shown = options.output is None and output_is_terminal()
    if not shown:
        write_text(scenario_yaml(scenario, head), options.output)
    instance = build_instance(scenario)
    counts = (
        (len(instance.classes), "class"),
        (sum(lesson.made is None for lesson in instance.lessons), "lesson"),
        (sum(len(facts.slots) for facts in instance.classes), "period"),
    )
    said = ", ".join(count_text(count, noun) for count, noun in counts)
    further = [f"To plan it: {_planned_by(path)}"] if shown else []
    tell([f"Nothing wrong: {said}.", *further, *calendar_notes(scenario)])
    return DONE


def _planned_by(path: Path) -> str:
    """The command that plans what was filled in; a workbook takes its plan in."""
    return f'python -m sequencer {"week" if path.suffix else "sequence"} "{path}"'


def _begun(options: argparse.Namespace) -> Contents:
    """The example; in a term's own dates and with its bank holidays where a country is named."""
    if (options.country is None, options.first is None, options.last is None) not in ((True,) * 3, (False,) * 3):
        raise UnusableSettings(["--country, --first and --last belong together: where and when the term is"])
    if options.country is None:
        return EXAMPLE
    return begun(options.country, read_day(options.first, "first"), read_day(options.last, "last"))


def _listed(contents: Contents) -> str:
    days = [f"{row[1]}, {day_text(row[2])}" for row in contents.rows[DAYS] if isinstance(row[2], date)]
    return "; ".join(days) if days else "no bank holiday lies in that term"


def _write_from(given: Path, path: Path) -> None:
    """Write a scenario as a workbook; one that is a workbook already takes its teacher's own columns and sheets with it."""
    scenario = read_scenario_file(given)
    if {given.suffix.lower(), path.suffix.lower()} == {".xlsx"}:
        write_new(path, written_into(given.read_bytes(), scenario, str(given)))
    else:
        write_blank(path, scenario_contents(scenario))


def _may_replace(path: Path, begins: str) -> bool:
    """Whether a file is not there, or begins as one that was read from the same workbook and not made one's own."""
    if not path.exists():
        return True
    with path.open("rb") as file:
        return file.read(len(begins.encode())) == begins.encode()
