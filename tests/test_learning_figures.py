"""The numbers that hold unless a scenario states others, beside published figures on learning. Each source says how it was seen.

They bear on defaults alone: a teacher's own numbers always win. ``test_distances.py`` has the figures on spacing for an exam.
"""

from __future__ import annotations

import pytest

from sequencer import UnusableInput, scenario_from_data
from sequencer.next_term.still_needed import TOGETHER
from sequencer.rules.retrieval import Retrieval
from sequencer.scenario.openings_schema import DISTANCES, PLACES
from sequencer.scenario.pattern_schema import MadeRetrieval
from tests.builders import Data, practice, retrieval, rows, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY

DAILY_REVIEW = (5, 8)
"""Minutes of review at the start of a lesson. Rosenshine 2012, Principles of Instruction, American Educator 36(1) [copy]."""

CHUNKS = (3, 5)
"""What is held in mind at once. Cowan 2001, Behavioral and Brain Sciences 24, 87-185 [seen]."""

TESTING_PAYS_FROM = 2
"""Days after which having been tested beats having read again; after five minutes it is the other way round. Roediger & Karpicke
2006, Psychological Science 17, 249-255 [abstract seen; figures memory]."""


def test_a_starter_has_a_minute_or_two_for_each_topic() -> None:
    # The product states places, not minutes. Three topics in five to eight minutes have between one and three minutes each.
    least, most = DAILY_REVIEW
    assert least / PLACES >= 1 and most / PLACES <= 3


def test_starters_look_back_a_week_and_a_month() -> None:
    # Rosenshine 2012 [copy]: weekly and monthly review beside the daily one.
    assert {7, 28} <= set(DISTANCES)


@pytest.mark.parametrize("together", [PLACES, MadeRetrieval().room, TOGETHER])
def test_no_more_is_met_again_at_once_than_is_held_in_mind(together: int) -> None:
    least, most = CHUNKS
    assert least <= together <= most


def test_nothing_is_met_again_before_testing_pays() -> None:
    assert min(Retrieval.usual["least"], *DISTANCES) >= TESTING_PAYS_FROM


def test_meeting_again_on_the_same_day_is_no_retrieval() -> None:
    # Cepeda, Vul, Rohrer, Wixted & Pashler 2008 [copy]: a gap of 0 days is best for no delay that was tried.
    with pytest.raises(UnusableInput, match="at least 1"):
        scenario_from_data(scenario([teach("x"), retrieval("r", "x")], rules={"retrieval": {"least": 0}}))


def test_what_is_heavy_is_worked_at_on_two_days() -> None:
    # Rohrer & Taylor 2006 [abstract seen]: problems spread over two sessions rather than one about doubled what was known after
    # four weeks. By default: practised in the period after, and met again 10 to 14 days later.
    answer = solved(scenario([teach("x", load=4), practice("p", "x"), retrieval("r", "x")], per_week=EVERY_DAY))
    found = rows(answer)
    assert found["p"]["slot"] == found["x"]["slot"] + 1
    (met,) = found["r"]["revisits"]
    assert Retrieval.usual["least"] <= met["days"] <= Retrieval.usual["most"]
    assert len({found[name]["date"] for name in ("p", "r")}) == 2


def test_distances_need_not_widen() -> None:
    # Latimier et al. 2021 [copy]: between widening and even distances there is no reliable difference (g = .034).
    even: Data = {"least": 3, "most": 5, "then": [{"least": 3, "most": 5, "counted_from": "retrieval before"}]}
    lessons = [teach("x", rules={"retrieval": even}), retrieval("r", "x"), retrieval("s", "x")]
    met = [row["revisits"][0]["days"] for name, row in rows(solved(scenario(lessons, per_week=EVERY_DAY))).items() if name != "x"]
    assert 3 <= met[0] <= 5 and 3 <= met[1] - met[0] <= 5
