"""Turns a teacher's units, classes, timetable and calendar into a dated, provably best sequence of lessons.

Read a scenario (``read_scenario``, ``load_scenario``, ``scenario_from_data``), ``solve`` it, and take the ``Answer`` as JSON
(``answer_json``) or text (``answer_text``). ``check`` judges any other sequence by the same rules. What is not
imported here is private.
"""

import sys

from sequencer.files.interrupts import leave_when_interrupted as _leave_when_interrupted

if sys.argv[:1] == ["-m"] and "sequencer" in sys.orig_argv:
    # This is loaded for `python -m sequencer`, before any line of that: loading takes longer than an interrupt may wait.
    _leave_when_interrupted()

from sequencer.errors import (
    BeyondLimit,
    NothingToShow,
    Problem,
    RefereeDisagrees,
    SequencerError,
    UnusableInput,
    UnusableSettings,
)
from sequencer.files.beside import (
    MOST_DATES,
    load_changed,
    load_check,
    load_comparing_plan,
    load_explaining,
    load_outlines,
    load_outlining,
    load_replan,
    load_rolling,
    load_with_earlier,
    read_day,
)
from sequencer.files.calendar_file import calendar_from_data, load_calendar, load_redating, read_calendar
from sequencer.files.foreign import Foreign, with_foreign
from sequencer.files.foreign_calendar import read_foreign_calendar
from sequencer.files.foreign_table import read_foreign_table
from sequencer.files.given import GivenSequence
from sequencer.files.guide_text import GUIDE, Topic, guide_text, shipped
from sequencer.files.matched import load_previous, load_sequence, pinned_sequence, previous_from_data, sequence_from_data
from sequencer.files.pasted_lessons import PastedLists, load_pasted
from sequencer.files.term_file import (
    plan_previous,
    plan_sequence,
    read_scenario_file,
    read_scenario_recorded,
    read_term,
    term_bytes,
)
from sequencer.files.terminal import visible
from sequencer.files.workbook.blank import blank_workbook, write_blank
from sequencer.files.workbook.cells import is_table
from sequencer.files.workbook.kept import written_into
from sequencer.files.workbook.plan_read_back import read_plan_pins, read_plan_previous, read_plan_record, read_plan_sequence
from sequencer.files.workbook.term_book import (
    TermBook,
    cells_of,
    drawn_in,
    load_term_book,
    load_workbook,
    read_term_book,
    read_workbook,
    term_written,
)
from sequencer.files.workbook.workbook_written import scenario_contents
from sequencer.instance.build import build_instance
from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance
from sequencer.instance.load import apply_changes, load_scenario, read_scenario, scenario_from_data
from sequencer.instance.plain_names import naming_of
from sequencer.instance.record_file import load_recorded, read_recorded, recorded_from_data
from sequencer.next_term.draft import Misfit
from sequencer.next_term.forward import NextTerm, next_term
from sequencer.next_term.redate import MovedDate, Redated, redate
from sequencer.next_term.term import (
    PlanRow,
    TermPlan,
    WholeTerm,
    is_term,
    load_term,
    load_term_with,
    term_data,
    term_from_data,
    term_from_tree,
    term_json,
    term_of,
)
from sequencer.next_term.week_of_term import WeekDone, undo, week
from sequencer.next_term.week_rows import WeekRows, as_it_stands, load_week_rows, week_of_rows
from sequencer.outlines.by_hand import GivenPart, judge_by_hand
from sequencer.outlines.outlined import outline_sequence
from sequencer.plan.differences import ClassPeriods, Move, Quota, Shift
from sequencer.plan.sequence import Gone, Placement, Previous, Sequence
from sequencer.questions.alternatives import MOST_ALTERNATIVES, Alternative, Further, read_loss
from sequencer.questions.as_planned import as_planned
from sequencer.questions.compare import Comparison, Future, compare, what_if_scenario
from sequencer.questions.explaining.completing import Completion, complete
from sequencer.questions.explaining.explain import ExplainSettings, Explanation, explain
from sequencer.questions.explaining.minimal_conflict import Conflict
from sequencer.questions.explaining.other_places import Elsewhere, elsewhere, lesson_asked
from sequencer.questions.explaining.price import RULES as PRICED_RULES
from sequencer.questions.explaining.price import Price, price
from sequencer.questions.explaining.repairs import Repair
from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.untitled import export_models, untitled
from sequencer.questions.judge import Breach, Verdict
from sequencer.questions.lists.starters.assign import Starters, assign_starters
from sequencer.questions.more_worth import MoreWorth
from sequencer.questions.opening.futures_side_by_side import OpeningPeriods
from sequencer.questions.opening.opening_asked import OpeningsAsked, check_opening
from sequencer.questions.opening.opening_conflict import Clash, OpeningConflict, Wanted
from sequencer.questions.opening.share import (
    AimLosses,
    Continuation,
    Loss,
    SharedOpening,
    losses_by_aim,
    share_opening,
    share_openings,
)
from sequencer.questions.replan import Replanned, TradeOff, beside_before, replan, trade_off
from sequencer.questions.solve import AimResult, Answer, RunFacts, SolveSettings, check, solve
from sequencer.render import answers
from sequencer.render.answers.base import verdict_json
from sequencer.render.answers.checked import beside_json, completion_json
from sequencer.render.answers.comparison import comparison_json, future_json
from sequencer.render.answers.lists import assessments_json, coverage_json, preparation_json, starters_json
from sequencer.render.answers.opening import opening_json, openings_json
from sequencer.render.answers.outlined import outlines_json
from sequencer.render.answers.plan import answer_json, slot_rows
from sequencer.render.answers.replan import notice_json, replanned_json, trade_off_json, week_json
from sequencer.render.answers.scenarios import next_term_json, pasted_json, read_json, redated_json
from sequencer.render.answers.why import elsewhere_json, explanation_json
from sequencer.render.calendar_events import sequence_calendar
from sequencer.render.compared import comparison_text, future_line
from sequencer.render.earlier_calendar import calendar_notes
from sequencer.render.explained import Source, elsewhere_text, explanation_text
from sequencer.render.opening_written import opening_line, opening_text, openings_text
from sequencer.render.redated import next_term_yaml, redated_yaml
from sequencer.render.replanned import notice_html, notice_text, replanned_text, trade_off_text, why_not
from sequencer.render.rules_told import rules_table, rules_text
from sequencer.render.shown import Asked, Shown, opens_in
from sequencer.render.subscribed import known_names, subscribed_calendar
from sequencer.render.text import answer_text, slots_text, verdict_text
from sequencer.render.written_forms import (
    AROUND,
    AROUND_FORMS,
    FORMATS,
    Around,
    Format,
    around_named,
    around_written,
    check_shown,
    format_named,
    written,
)
from sequencer.rules.verdict import Ungranted
from sequencer.scenario.bank_holidays import BankHoliday, bank_holidays
from sequencer.scenario.changes.what_ifs import MOST_WEIGHT, Change, WhatIf, change_text
from sequencer.scenario.documents import parse_document
from sequencer.scenario.fields import Day
from sequencer.scenario.json_schema import calendar_schema, scenario_schema
from sequencer.scenario.limits import Limits
from sequencer.scenario.new_calendar import NewCalendar
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import scenario_data
from sequencer.scenario.yaml_text import scenario_yaml
from sequencer.solver.prices.elsewhere import PartAnswer, PartQuestion, PartsBuilt, Recipe
from sequencer.solver.progress import PricesNow, Progress
from sequencer.solver.solver_calls import StopSignal

__all__ = sorted({name for name, what in globals().items() if name[0] != "_" and not isinstance(what, type(sys))} | {"answers"})
