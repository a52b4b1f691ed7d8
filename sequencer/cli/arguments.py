"""What the command line takes: its commands and their arguments."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path

from sequencer import AROUND, AROUND_FORMS, FORMATS, GUIDE, MOST_ALTERNATIVES, PRICED_RULES
from sequencer.cli.argument_values import Parser, any_file, scenario_file, seconds, whole, yaml_file

MOST_LISTED = 20
"""Conflicts, and repairs, that are listed at most."""

MOST_AT_ONCE = 256
"""Processes of a batch, and searches of each, at most."""

_SEED, _FEW, _HOW_MANY = whole(0, 2**31 - 1), whole(1, MOST_AT_ONCE), whole(1, MOST_LISTED)
_A_SCENARIO = "a scenario file, .yaml or .json, or a workbook"
_SEQUENCE_ALONE = tuple(each.name for each in FORMATS if each.name not in ("json", "text"))
"""The forms in which nothing but a sequence is written."""


def parser_of(commands: Mapping[str, Callable[[argparse.Namespace], int]]) -> argparse.ArgumentParser:
    """The parser of the command line; ``commands`` says what runs each command, by its name."""
    parser = Parser(
        prog="python -m sequencer", description="Turns a teacher's scenario into a dated, proven sequence of lessons."
    )
    adding = parser.add_subparsers(required=True, metavar="COMMAND")

    def command(name: str, what: str, scenario: str = "") -> argparse.ArgumentParser:
        """A command with what runs it; the scenario that it is about comes first."""
        found: argparse.ArgumentParser = adding.add_parser(name, help=what)
        found.set_defaults(run=commands[name])
        if scenario:
            found.add_argument("scenario", type=Path, help=scenario)
        return found

    sequence = command("sequence", "find the best sequence for a scenario", _A_SCENARIO)
    _record_argument(sequence)
    around = [each.name for each in AROUND]
    forms = {each.name: each.what for each in FORMATS} | {each.name: each.what for each in AROUND}
    names = ", ".join(f"{name} ({what})" for name, what in forms.items())
    sequence.add_argument(
        "--format", choices=[*forms], default="text", metavar="FORMAT", help=f"what to write (default: text): {names}"
    )
    ways = sequence.add_mutually_exclusive_group()
    for way, what in (
        ("json", "as JSON"),
        ("csv", "as a table (CSV)"),
        ("sheet", "as sheets to print (HTML)"),
        ("xlsx", "as a workbook"),
    ):
        ways.add_argument(f"--{way}", action="store_true", help=f"write {', '.join(around)} {what}")
    dated = ", ".join(each.name for each in AROUND if each.calendar is not None)
    ways.add_argument("--calendar", action="store_true", help=f"write {dated} as a calendar (iCalendar)")
    sequence.add_argument(
        "--starters", action="store_true",
        help="assign starters too, and say on sheets, in calendars and tables what each lesson opens with; coverage counts them",
    )  # fmt: skip
    sequence.add_argument(
        "--on", metavar="DATE",
        help="the day on which preparation is asked for (default: the scenario's today, or the first day of term); a sheet "
        "shows the week of that day alone",
    )  # fmt: skip
    sequence.add_argument(
        "--week", action="append", default=[], dest="weeks", type=int, metavar="N",
        help="only this school week on the sheet; may be given several times",
    )  # fmt: skip
    sequence.add_argument(
        "--class", action="append", default=[], dest="classes", metavar="CLASS",
        help="only this class on sheets, in calendars and tables; may be given several times",
    )  # fmt: skip
    sequence.add_argument(
        "--teacher", action="append", default=[], dest="teachers", metavar="NAME",
        help="only this teacher's lessons; may be given several times",
    )  # fmt: skip
    sequence.add_argument(
        "--earlier", type=Path, metavar="FILE",
        help="a calendar (.ics) or sequence from before, which the new calendar brings up to date",
    )  # fmt: skip
    sequence.add_argument(
        "--copy", action="store_true",
        help="a copy for colleagues or pupils: without private notes, and without what is to be prepared",
    )  # fmt: skip
    sequence.add_argument(
        "--what-if",
        metavar="NAME",
        help="the sequence under this what-if of the scenario; its title says so on all that is written",
    )
    sequence.add_argument(
        "--pins",
        type=Path,
        metavar="FILE",
        help="a plan (.xlsx, .csv) whose lessons marked in the column pin stay where they lie",
    )
    sequence.add_argument(
        "--plan",
        type=Path,
        metavar="FILE",
        help="show this plan (an answer in JSON, a table or workbook of ours) in the format asked for; nothing is looked for",
    )
    _search_arguments(sequence, 30.0, "time allowed")
    sequence.add_argument(
        "--cluster", metavar="ADDRESS",
        help="share the search over classes that share rules with the workers of the Dask cluster whose scheduler listens there",
    )  # fmt: skip
    sequence.add_argument(
        "--alternatives", type=whole(0, MOST_ALTERNATIVES), default=0, metavar="N",
        help="look for up to N further sequences as good as the best, as different as can be (default: 0)",
    )  # fmt: skip
    sequence.add_argument(
        "--loss", action="append", default=[], metavar="AIM=N",
        help="let one of the last aims be N worse in alternatives, such as distance=2; may be given several times",
    )  # fmt: skip
    _ids_argument(sequence)
    sequence.add_argument("--output", type=any_file, help="write to this file instead of the terminal")

    _outline_arguments(command)
    _explaining_arguments(command)
    checking = command("check", "let the referee judge a sequence", _A_SCENARIO)
    checking.add_argument(
        "sequence",
        type=Path,
        nargs="?",
        help="a sequence, .json, .yaml, .xlsx or .csv: an answer, or its `lessons`; the scenario's own pins unless one is named",
    )
    _record_argument(checking)
    checking.add_argument("--best", action="store_true", help="put the aims beside those of the best sequence")
    checking.add_argument("--complete", action="store_true", help="say whether a part of a sequence can be completed")
    checking.add_argument("--seconds", type=seconds, default=30.0, help="time for each of these (default: 30)")
    checking.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")
    _ids_argument(checking)

    _batch_arguments(command)
    slots = command("slots", "list every class's periods in order", _A_SCENARIO)
    slots.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")

    redating = command("redate", "put last year's scenario on this year's calendar", "last year's scenario file, .yaml or .json")
    redating.add_argument("calendar", type=Path, help="this year's term, holidays, closures and timetables, .yaml or .json")
    redating.add_argument("--output", type=yaml_file, help="write to this .yaml file instead of the terminal")

    rolling = command(
        "next",
        "begin the next term's scenario from this term's and its sequence",
        "this term: its workbook, or its scenario's file",
    )
    rolling.add_argument(
        "sequence", type=Path, nargs="?",
        help="its sequence, .json, .yaml, .xlsx or .csv: an answer, or its `lessons`; unless given, the plan that the term holds",
    )  # fmt: skip
    _record_argument(rolling)
    rolling.add_argument("--first", required=True, metavar="DATE", help="first day of the next term, such as 2027-01-04")
    rolling.add_argument("--last", required=True, metavar="DATE", help="last day of the next term")
    rolling.add_argument(
        "--output", type=scenario_file, help="write to this file instead of the terminal: .yaml, .json, or a workbook (.xlsx)"
    )

    weekly = command("week", "record what a term's plan says happened, and plan the rest again; or make its plan")
    weekly.add_argument("term", type=Path, metavar="FILE", help="the term: a workbook (.xlsx), or .json")
    weekly.add_argument("--undo", action="store_true", help="bring the week before back")
    weekly.add_argument("--on", metavar="DATE", help="the day it is (default: today), by which the file as it was is named")
    _search_arguments(weekly, 5.0, "time allowed for the search")

    start = command("start", "write a workbook to fill in; or read it, when it is there, into a scenario")
    start.add_argument("path", type=Path, metavar="FILE.xlsx", help="the workbook, or a folder of CSV files")
    start.add_argument(
        "--from", type=Path, dest="scenario", metavar="SCENARIO",
        help="a scenario file that the new workbook is to hold instead of the example",
    )  # fmt: skip
    start.add_argument(
        "--country", metavar="COUNTRY",
        help="begin a term in this country, or part of one (England; Canada, Ontario): the new workbook has its bank holidays "
        "among the days off; with --first and --last",
    )  # fmt: skip
    start.add_argument("--first", metavar="DATE", help="with --country: the first day of that term, such as 2027-01-04")
    start.add_argument("--last", metavar="DATE", help="with --country: its last day")
    start.add_argument("--output", type=yaml_file, help="write the scenario to this .yaml file instead of the terminal")

    command("schema", "print the JSON Schema of scenarios, for editors")

    rules = command("rules", "list the rules, or say exactly what one means")
    rules.add_argument("rule", nargs="?", metavar="NAME", help="the rule, as the list names it; the list itself unless given")
    rules.add_argument("--table", action="store_true", help="the list as a table (Markdown)")

    guide = command("guide", "print a page of the guide, or list its topics")
    guide.add_argument(
        "topic", nargs="?", choices=[topic.name for topic in GUIDE], metavar="TOPIC", help="a topic; without one they are listed"
    )
    return parser


def _explaining_arguments(command: Callable[..., argparse.ArgumentParser]) -> None:
    explaining = command("explain", "say why a scenario has no sequence, and what would give it one", _A_SCENARIO)
    _record_argument(explaining)
    explaining.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")
    explaining.add_argument("--seconds", type=seconds, default=60.0, help="time allowed (default: 60)")
    explaining.add_argument("--conflicts", type=_HOW_MANY, default=3, metavar="N", help="conflicts listed at most (default: 3)")
    explaining.add_argument("--repairs", type=_HOW_MANY, default=3, metavar="N", help="repairs listed at most (default: 3)")
    explaining.add_argument(
        "--lesson", metavar="CLASS:LESSON",
        help="say instead where else this lesson of a sequence could lie, and what that would cost or what forbids it: a class "
        'and a title or unit/id, such as "10G:Meanders"; the title alone where one class has it',
    )  # fmt: skip
    _ids_argument(explaining)
    explaining.add_argument("--sequence", type=Path, help="with --lesson: the sequence asked about (default: the best one found)")

    comparing = command("compare", "put the what-ifs of a scenario beside it", "a scenario file with what_ifs, .yaml or .json")
    _record_argument(comparing)
    comparing.add_argument(
        "--plan", type=Path, metavar="FILE",
        help="the plan as it stands (an answer, a table or workbook of ours; where none is named, that of a term's file): it and "
        "each what-if move as few of its lessons as can be",
    )  # fmt: skip
    comparing.add_argument(
        "--close", action="store_true", help="let each what-if keep as many lessons where the base has them as can be"
    )
    comparing.add_argument(
        "--opening-until", action="append", default=[], metavar="DATE",
        help="also find one opening, the same before this date in the base and every what-if, that can be completed in each; of "
        "several dates (DATE,DATE) a table says what is lost with each",
    )  # fmt: skip
    comparing.add_argument(
        "--weights", action="append", default=[], metavar="NAME=N",
        help="with --opening-until: how much a what-if, or base, counts, whatever the scenario says of it; the worst case "
        "counts where neither says, or with --weights none",
    )  # fmt: skip
    _ids_argument(comparing)
    comparing.add_argument("--moves", action="store_true", help="list the moves too, lesson by lesson, as JSON always does")
    _search_arguments(comparing, 30.0, "time allowed for each of them")
    comparing.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")

    again = command(
        "replan",
        "make a plan again, moving as little of the earlier one as can be",
        "the scenario as it is now, .yaml or .json, or a workbook",
    )
    again.add_argument("--previous", type=Path, required=True, help="the earlier plan: an answer, or a table of rows")
    _record_argument(again)
    asked = again.add_mutually_exclusive_group()
    asked.add_argument("--most-moved", type=int, metavar="N", help="the best sequence in which at most N lessons move")
    asked.add_argument("--trade-off", action="store_true", help="list what each further move would gain")
    _search_arguments(again, 30.0, "time allowed")
    again.add_argument(
        "--format",
        choices=("text", "json", "notice", "notice-text", "notice-json", *_SEQUENCE_ALONE),
        default="text",
        help="what to write (default: text): all of it, what changed, or the new sequence in one of the forms of sequence",
    )
    again.add_argument(
        "--earlier", type=Path, metavar="FILE",
        help="with --format calendar: the calendar (.ics) that the new one brings up to date, instead of that of --previous",
    )  # fmt: skip
    _ids_argument(again)
    again.add_argument("--output", type=any_file, help="write to this file instead of the terminal")

    pricing = command("price", "say what each aim would gain if a rule were dropped", _A_SCENARIO)
    pricing.add_argument("--rule", required=True, choices=PRICED_RULES, help="the rule to drop")
    pricing.add_argument("--seconds", type=seconds, default=30.0, help="time allowed (default: 30)")

    exporting = command("export", "write a scenario for a bug report, titles and people's names replaced", _A_SCENARIO)
    exporting.add_argument("--output", type=yaml_file, help="write to this .yaml file instead of the terminal")
    exporting.add_argument("--models", type=Path, metavar="FOLDER", help="write the solver's models there too")


def _outline_arguments(command: Callable[..., argparse.ArgumentParser]) -> None:
    outlining = command("outline", "say what is done in each lesson that has parts, minute by minute", _A_SCENARIO)
    _record_argument(outlining)
    outlining.add_argument("--lesson", metavar="CLASS:TITLE", help="only this lesson, such as 9B:Why rivers bend")
    outlining.add_argument("--plan", type=Path, metavar="FILE", help="outline this plan as it is, not the best sequence")
    outlining.add_argument("--check", type=Path, metavar="FILE", help="judge these outlines: .json, .yaml, .csv or .xlsx")
    outlining.add_argument("--complete", action="store_true", help="with --check: complete them; what they hold stays")
    outlining.add_argument(
        "--before", type=Path, metavar="FILE",
        help="outlines made before (--format json): what pupils get within 7 days keeps its exercises where it can",
    )  # fmt: skip
    outlining.add_argument("--minutes", type=whole(1, 480), metavar="N", help="what if periods had so many minutes")
    outlining.add_argument("--on", metavar="DATE", help="with --minutes: what if the periods of this day alone had so many")
    outlining.add_argument("--what-if", metavar="NAME", help="under this what-if of the scenario")
    _ids_argument(outlining)
    outlining.add_argument("--copy", action="store_true", help="with --format sheet: a copy for pupils, with objectives to tick")
    outlining.add_argument("--starters", action="store_true", help="assign starters too; on sheets they fill the recall parts")
    outlining.add_argument("--format", choices=[*AROUND_FORMS], default="text", help="what to write (default: text)")
    _search_arguments(outlining, 30.0, "time allowed for the sequence")
    outlining.add_argument("--output", type=any_file, help="write to this file instead of the terminal")


def _batch_arguments(command: Callable[..., argparse.ArgumentParser]) -> None:
    batch = command("batch", "find the best sequence for every scenario of a folder, several at once")
    batch.add_argument("folder", type=Path, metavar="FOLDER", help="scenarios and workbooks, in folders of their own if wanted")
    batch.add_argument(
        "--results", type=Path, metavar="FOLDER",
        help="where results are kept, and found again by the next run (default: the folder results in that of the scenarios)",
    )  # fmt: skip
    batch.add_argument(
        "--format", action="append", default=[], dest="forms", choices=[each.name for each in FORMATS], metavar="FORMAT",
        help="write each answer in this form too, beside JSON; may be given several times: "
        + ", ".join(f"{each.name} ({each.what})" for each in FORMATS),
    )  # fmt: skip
    _search_arguments(batch, 30.0, "time allowed for each scenario")
    batch.add_argument(
        "--workers",
        type=_FEW,
        default=3,
        metavar="N",
        help="searches that take turns, on which answers depend (default: 3)",
    )
    batch.add_argument("--processes", type=_FEW, metavar="N", help="scenarios solved at once (default: one for each core)")
    batch.add_argument("--again", action="store_true", help="do again what is done already")
    batch.add_argument(
        "--cluster", metavar="ADDRESS",
        help="solve on the Dask cluster whose scheduler listens there, such as tcp://10.0.0.5:8786, not on this machine",
    )  # fmt: skip
    batch.add_argument(
        "--summary", choices=("text", "csv", "json"), default="text", help="how the table of all is written (default: text)"
    )
    batch.add_argument("--output", type=any_file, help="write the table to this file instead of the terminal")


def _record_argument(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--record", type=Path, metavar="FILE",
        help="what happened: a file with record and today, or an answer in which lessons say what became of them",
    )  # fmt: skip


def _search_arguments(command: argparse.ArgumentParser, usual: float, what: str) -> None:
    command.add_argument("--seconds", type=seconds, default=usual, help=f"{what} (default: {usual:g})")
    command.add_argument("--seed", type=_SEED, default=0, help="seed of the search (default: 0)")


def _ids_argument(command: argparse.ArgumentParser) -> None:
    command.add_argument("--ids", action="store_true", help="name lessons by their ids too in text, as JSON always does")
