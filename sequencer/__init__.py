"""Turns a teacher's units, classes, timetable and calendar into a dated, provably best sequence of lessons.

Read a scenario (``read_scenario``, ``load_scenario``, ``scenario_from_data``), ``solve`` it, and take the ``Answer`` as JSON
(``answer_json``) or text (``answer_text``). ``check`` judges any other sequence by the same rules. What is not in
``__all__`` is private.
"""

import sys

from sequencer.interrupts import leave_when_interrupted

if sys.argv[:1] == ["-m"] and "sequencer" in sys.orig_argv:
    # This is loaded for `python -m sequencer`, before any line of that: loading takes longer than an interrupt may wait.
    leave_when_interrupted()

from sequencer.alternatives import Alternative, Further
from sequencer.answer import answer_json, slot_rows, verdict_json
from sequencer.as_planned import as_planned
from sequencer.calendar import Slot
from sequencer.changes.read_again import apply_changes
from sequencer.changes.words import change_text
from sequencer.check import Breach, Verdict
from sequencer.comparing.compare import Comparison, Future, compare
from sequencer.comparing.differences import ClassPeriods, Quota, Shift
from sequencer.errors import (
    BeyondLimit,
    NothingToShow,
    Problem,
    RefereeDisagrees,
    SequencerError,
    UnusableInput,
    UnusableSettings,
)
from sequencer.explaining.completing import Completion, complete
from sequencer.explaining.conflict import Conflict
from sequencer.explaining.elsewhere import Elsewhere, elsewhere
from sequencer.explaining.explain import ExplainSettings, Explanation, explain
from sequencer.explaining.price import RULES as PRICED_RULES
from sequencer.explaining.price import Price, price
from sequencer.explaining.repair import Repair
from sequencer.explaining.statement import Statement
from sequencer.explaining.untitled import export_models, untitled
from sequencer.facts import Instance
from sequencer.given import (
    GivenSequence,
    load_check,
    load_previous,
    load_replan,
    load_sequence,
    load_with_earlier,
    previous_from_data,
    sequence_from_data,
)
from sequencer.instance import build_instance
from sequencer.model.calls import StopSignal
from sequencer.model.progress import Progress
from sequencer.moves import Move
from sequencer.opening.asked import OpeningsAsked, check_opening
from sequencer.opening.clash import Clash, Wanted
from sequencer.opening.conflict import OpeningConflict
from sequencer.opening.decisions import AimLosses, losses_by_aim, share_openings
from sequencer.opening.model import OpeningPeriods
from sequencer.opening.reading import MOST_DATES, load_comparing
from sequencer.opening.share import Continuation, Loss, SharedOpening, share_opening
from sequencer.pinned import pinned_sequence
from sequencer.redating.draft import Misfit
from sequencer.redating.redate import MovedDate, Redated, redate
from sequencer.render.around import AROUND, AROUND_FORMS, Around, Asked, around_written
from sequencer.render.calendar import sequence_calendar
from sequencer.render.calendar_told import calendar_notes
from sequencer.render.checked import beside_json, completion_json
from sequencer.render.compared import comparison_json, comparison_text, future_json, future_line
from sequencer.render.coverage import coverage_json, coverage_text
from sequencer.render.decisions import opening_line, openings_json, openings_text
from sequencer.render.elsewhere import elsewhere_json, elsewhere_text
from sequencer.render.explained import Source, explanation_json, explanation_text
from sequencer.render.formats import FORMATS, Format, check_shown, format_named, written
from sequencer.render.notice import notice_html, notice_json, notice_text
from sequencer.render.opening import opening_json, opening_text
from sequencer.render.preparation import preparation_json, preparation_text
from sequencer.render.read import read_json
from sequencer.render.redated import redated_json, redated_yaml
from sequencer.render.replanned import replanned_json, replanned_text, trade_off_json, trade_off_text, why_not
from sequencer.render.rolled import next_term_json, next_term_yaml
from sequencer.render.shown import Shown, opens_in
from sequencer.render.starters import starters_json, starters_text
from sequencer.render.text import answer_text, slots_text, verdict_text
from sequencer.replanning.replan import Replanned, TradeOff, replan, trade_off
from sequencer.rolling.forward import NextTerm, next_term
from sequencer.rolling.reading import load_rolling, read_day
from sequencer.scenario.calendar_file import calendar_from_data, load_calendar, load_redating, read_calendar
from sequencer.scenario.changes_schema import MOST_WEIGHT, WhatIf
from sequencer.scenario.documents import parse_document
from sequencer.scenario.json_schema import calendar_schema, scenario_schema
from sequencer.scenario.limits import Limits
from sequencer.scenario.load import load_scenario, read_scenario, scenario_from_data
from sequencer.scenario.new_calendar import NewCalendar
from sequencer.scenario.record_file import load_recorded, read_recorded, recorded_from_data
from sequencer.scenario.schema import Scenario
from sequencer.scenario.what_ifs_file import load_comparison
from sequencer.scenario.written import scenario_data
from sequencer.scenario.yaml_text import scenario_yaml
from sequencer.sequence import Gone, Placement, Previous, Sequence
from sequencer.solve import AimResult, Answer, RunFacts, SolveSettings, check, solve
from sequencer.starters.assign import Starters, assign_starters
from sequencer.terminal import visible
from sequencer.ungranted import Ungranted
from sequencer.wanted import MOST_ALTERNATIVES, read_loss
from sequencer.workbook.blank import write_blank
from sequencer.workbook.cells import is_table
from sequencer.workbook.plan import read_plan_pins, read_plan_previous, read_plan_record, read_plan_sequence
from sequencer.workbook.read import load_workbook, read_workbook
from sequencer.workbook.written import scenario_contents

__all__ = [
    "AROUND",
    "AROUND_FORMS",
    "FORMATS",
    "MOST_ALTERNATIVES",
    "MOST_DATES",
    "MOST_WEIGHT",
    "PRICED_RULES",
    "AimLosses",
    "AimResult",
    "Alternative",
    "Answer",
    "Around",
    "Asked",
    "BeyondLimit",
    "Breach",
    "Clash",
    "ClassPeriods",
    "Comparison",
    "Completion",
    "Conflict",
    "Continuation",
    "Elsewhere",
    "ExplainSettings",
    "Explanation",
    "Format",
    "Further",
    "Future",
    "GivenSequence",
    "Gone",
    "Instance",
    "Limits",
    "Loss",
    "Misfit",
    "Move",
    "MovedDate",
    "NewCalendar",
    "NextTerm",
    "NothingToShow",
    "OpeningConflict",
    "OpeningPeriods",
    "OpeningsAsked",
    "Placement",
    "Previous",
    "Price",
    "Problem",
    "Progress",
    "Quota",
    "Redated",
    "RefereeDisagrees",
    "Repair",
    "Replanned",
    "RunFacts",
    "Scenario",
    "Sequence",
    "SequencerError",
    "SharedOpening",
    "Shift",
    "Shown",
    "Slot",
    "SolveSettings",
    "Source",
    "Starters",
    "Statement",
    "StopSignal",
    "TradeOff",
    "Ungranted",
    "UnusableInput",
    "UnusableSettings",
    "Verdict",
    "Wanted",
    "WhatIf",
    "answer_json",
    "answer_text",
    "apply_changes",
    "around_written",
    "as_planned",
    "assign_starters",
    "beside_json",
    "build_instance",
    "calendar_from_data",
    "calendar_notes",
    "calendar_schema",
    "change_text",
    "check",
    "check_opening",
    "check_shown",
    "compare",
    "comparison_json",
    "comparison_text",
    "complete",
    "completion_json",
    "coverage_json",
    "coverage_text",
    "elsewhere",
    "elsewhere_json",
    "elsewhere_text",
    "explain",
    "explanation_json",
    "explanation_text",
    "export_models",
    "format_named",
    "future_json",
    "future_line",
    "is_table",
    "load_calendar",
    "load_check",
    "load_comparing",
    "load_comparison",
    "load_previous",
    "load_recorded",
    "load_redating",
    "load_replan",
    "load_rolling",
    "load_scenario",
    "load_sequence",
    "load_with_earlier",
    "load_workbook",
    "losses_by_aim",
    "next_term",
    "next_term_json",
    "next_term_yaml",
    "notice_html",
    "notice_json",
    "notice_text",
    "opening_json",
    "opening_line",
    "opening_text",
    "openings_json",
    "openings_text",
    "opens_in",
    "parse_document",
    "pinned_sequence",
    "preparation_json",
    "preparation_text",
    "previous_from_data",
    "price",
    "read_calendar",
    "read_day",
    "read_json",
    "read_loss",
    "read_plan_pins",
    "read_plan_previous",
    "read_plan_record",
    "read_plan_sequence",
    "read_recorded",
    "read_scenario",
    "read_workbook",
    "recorded_from_data",
    "redate",
    "redated_json",
    "redated_yaml",
    "replan",
    "replanned_json",
    "replanned_text",
    "scenario_contents",
    "scenario_data",
    "scenario_from_data",
    "scenario_schema",
    "scenario_yaml",
    "sequence_calendar",
    "sequence_from_data",
    "share_opening",
    "share_openings",
    "slot_rows",
    "slots_text",
    "solve",
    "starters_json",
    "starters_text",
    "trade_off",
    "trade_off_json",
    "trade_off_text",
    "untitled",
    "verdict_json",
    "verdict_text",
    "visible",
    "why_not",
    "write_blank",
    "written",
]
