"""The JSON answers, each described once: what the command line and the service write, and the shapes of the description."""

from sequencer.render.answers.assessments import AssessmentsJson
from sequencer.render.answers.base import Json
from sequencer.render.answers.checked import CheckedJson
from sequencer.render.answers.comparison import ComparedJson
from sequencer.render.answers.lists import CoverageJson, PreparationJson, StartersAnswerJson
from sequencer.render.answers.outlined import OutlinesJson
from sequencer.render.answers.plan import AnswerJson
from sequencer.render.answers.replan import ChangeNoticeJson, ReplannedJson, TradeOffJson
from sequencer.render.answers.scenarios import PastedJson, ReadScenarioJson, RedatedJson, RolledJson
from sequencer.render.answers.week_answer import WeekJson, WrittenTerm
from sequencer.render.answers.why import ElsewhereJson, ExplanationJson

__all__ = [
    "AnswerJson",
    "AssessmentsJson",
    "ChangeNoticeJson",
    "CheckedJson",
    "ComparedJson",
    "CoverageJson",
    "ElsewhereJson",
    "ExplanationJson",
    "Json",
    "OutlinesJson",
    "PastedJson",
    "PreparationJson",
    "ReadScenarioJson",
    "RedatedJson",
    "ReplannedJson",
    "RolledJson",
    "StartersAnswerJson",
    "TradeOffJson",
    "WeekJson",
    "WrittenTerm",
]
