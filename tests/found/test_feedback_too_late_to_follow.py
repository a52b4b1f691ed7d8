"""Feedback that can only come before what it answers, since periods are over: the wish counts no days, not fewer than none."""

from __future__ import annotations

from tests.builders import day, feedback, scenario, solved, teach
from tests.rules.helpers import placed


def test_feedback_due_before_what_it_answers_can_be_taught() -> None:
    # Two periods are left, and reports on the feedback are due so that it must take the first; the test comes two days later.
    data = scenario(
        [teach("test", rules={"marking": {"least": 3, "wish": 5}}), feedback("talk", "test", not_after=day(2, "Mon"))],
        2,
        "Mon 1, Wed 1",
        today=day(1, "Fri"),
        aims=["wishes"],
    )
    answer = solved(data)
    assert placed(answer) == {"talk": "2 Mon 1", "test": "2 Wed 1"}
    assert answer.aims[0].value == 15
