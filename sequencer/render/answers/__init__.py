"""The JSON answers, each described once: what the command line and the service write, and the shapes of the description."""

from sequencer.render.answers.base import Json as Json
from sequencer.render.answers.checked import CheckedJson as CheckedJson
from sequencer.render.answers.comparison import ComparedJson as ComparedJson
from sequencer.render.answers.lists import AssessmentsJson as AssessmentsJson
from sequencer.render.answers.lists import CoverageJson as CoverageJson
from sequencer.render.answers.lists import PreparationJson as PreparationJson
from sequencer.render.answers.lists import StartersAnswerJson as StartersAnswerJson
from sequencer.render.answers.outlined import OutlinesJson as OutlinesJson
from sequencer.render.answers.plan import AnswerJson as AnswerJson
from sequencer.render.answers.replan import ChangeNoticeJson as ChangeNoticeJson
from sequencer.render.answers.replan import ReplannedJson as ReplannedJson
from sequencer.render.answers.replan import TradeOffJson as TradeOffJson
from sequencer.render.answers.replan import WeekJson as WeekJson
from sequencer.render.answers.replan import WrittenTerm as WrittenTerm
from sequencer.render.answers.scenarios import PastedJson as PastedJson
from sequencer.render.answers.scenarios import ReadScenarioJson as ReadScenarioJson
from sequencer.render.answers.scenarios import RedatedJson as RedatedJson
from sequencer.render.answers.scenarios import RolledJson as RolledJson
from sequencer.render.answers.why import ElsewhereJson as ElsewhereJson
from sequencer.render.answers.why import ExplanationJson as ExplanationJson
