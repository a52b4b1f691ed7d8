"""The model of starters: a literal for each topic and opening; for each day a topic is due, a choice of what meets it nearest."""

from __future__ import annotations

from datetime import date

from ortools.sat.python import cp_model

from sequencer.questions.lists.starters.question import FORGOTTEN, OFF, PREREQUISITES, USED, WORST, Due, Question

Weighted = list[tuple[cp_model.IntVar, int]]


def weighed(terms: Weighted, constant: int = 0) -> cp_model.LinearExprT:
    """A weighted sum of 0-1 variables and a constant."""
    return cp_model.LinearExpr.weighted_sum([variable for variable, _ in terms], [weight for _, weight in terms]) + constant


class StarterModel:
    """What an assignment for one class's question may be, and the aims as sums over it."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.model = cp_model.CpModel()
        self.takes: dict[tuple[int, int], cp_model.IntVar] = {}
        """For each topic and opening that may meet: whether they do."""
        for topic in range(len(question.topics)):
            for opening in range(len(question.openings)):
                if question.may_meet(topic, opening):
                    self.takes[topic, opening] = self.model.new_bool_var(f"topic {topic} opens lesson {opening}")
        self._of_topic: dict[int, list[int]] = {}
        for topic, opening in self.takes:
            self._of_topic.setdefault(topic, []).append(opening)
        self._openings_have_places()
        self._topics_are_not_met_too_soon()
        self._off: Weighted = []
        self._forgotten: Weighted = []
        self._forgotten_anyway = 0
        self.worst = self.model.new_int_var(0, 100, "worst served")
        for number in range(len(question.topics)):
            self._topic_is_served(number)
            self._topic_is_remembered(number)
        self.aims = self._aims()
        """The sums that are made small, by name."""

    def _aims(self) -> dict[str, cp_model.LinearExprT]:
        wanted = [
            (topic, number)
            for number, opening in enumerate(self.question.openings)
            for topic in opening.prerequisites
            if self.question.topics[topic].lesson not in opening.kept
        ]
        met = [(self.takes[pair], -1) for pair in wanted if pair in self.takes]
        return {
            WORST: self.worst,
            FORGOTTEN: weighed(self._forgotten, self._forgotten_anyway),
            PREREQUISITES: weighed(met, len(wanted)),
            OFF: weighed(self._off),
            USED: weighed([(literal, 1) for literal in self.takes.values()]),
        }

    def _openings_have_places(self) -> None:
        """No opening takes more topics than it has places."""
        for number, opening in enumerate(self.question.openings):
            literals = [self.takes[topic, number] for topic in range(len(self.question.topics)) if (topic, number) in self.takes]
            if len(literals) > opening.places:
                self.model.add(sum(literals) <= opening.places)

    def _topics_are_not_met_too_soon(self) -> None:
        """Of any openings that lie within fewer days than the soonest, one at most meets a topic."""
        openings = self.question.openings
        for topic in range(len(self.question.topics)):
            own = self._of_topic.get(topic, [])
            for place, first in enumerate(own):
                near = [
                    opening
                    for opening in own[place:]
                    if (openings[opening].date - openings[first].date).days < self.question.soonest
                ]
                if len(near) > 1:
                    self.model.add_at_most_one(self.takes[topic, opening] for opening in near)

    def _topic_is_served(self, number: int) -> None:
        """For each day that it is due what meets it nearest is chosen among what does; the worst is no better than its mean."""
        topic = self.question.topics[number]
        if not topic.dues:
            return
        shares: Weighted = []
        for due in topic.dues:
            anyway = min(abs((day - due.date).days) for day in (topic.taught, *topic.meetings))
            options = self._nearer(number, due, anyway)
            nothing = self.model.new_bool_var(f"topic {number} due {due.date}: nothing nearer")
            self.model.add_exactly_one(nothing, *(chosen for chosen, _ in options))
            for chosen, off in (*options, (nothing, anyway)):
                shares.append((chosen, -(-100 * off // (due.date - topic.taught).days)))
                self._off.append((chosen, topic.load * off))
        self.model.add(len(topic.dues) * self.worst >= weighed(shares))

    def _nearer(self, number: int, due: Due, anyway: int) -> Weighted:
        """For each day nearer than what meets the topic anyway: a literal that holds only if an opening of that day meets it."""
        by_day: dict[date, list[cp_model.IntVar]] = {}
        for opening in self._of_topic.get(number, ()):
            day = self.question.openings[opening].date
            if abs((day - due.date).days) < anyway:
                by_day.setdefault(day, []).append(self.takes[number, opening])
        found = []
        for day, literals in by_day.items():
            chosen = self.model.new_bool_var(f"topic {number} due {due.date}: met on {day}")
            self.model.add_bool_or(*literals, chosen.negated())
            found.append((chosen, abs((day - due.date).days)))
        return found

    def _topic_is_remembered(self, number: int) -> None:
        """A topic that is owed a meeting and has none is forgotten; owed one meeting only, it is then the worst served."""
        topic = self.question.topics[number]
        if not topic.owed or not self.question.openings:
            return
        first = self.question.openings[0].date
        if any(day >= first for day in topic.meetings):
            return
        literals = [self.takes[number, opening] for opening in self._of_topic.get(number, ())]
        if not literals:
            self._forgotten_anyway += 1
            if not topic.dues:
                self.model.add(self.worst >= 100)
            return
        forgotten = self.model.new_bool_var(f"topic {number} forgotten")
        self.model.add_bool_or(forgotten, *literals)
        self._forgotten.append((forgotten, 1))
        if not topic.dues:
            self.model.add(self.worst >= 100 * forgotten)
