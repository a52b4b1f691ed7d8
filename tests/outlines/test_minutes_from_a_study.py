"""An outline made of the minutes that Rosenshine (2012) gives for 40 minutes of mathematics keeps the rules as the text says.

Principles of Instruction, American Educator 36(1), from memory: the more effective teachers spent about 8 minutes on review and
about 23 on presenting, questioning and worked examples; the less effective ones presented for 11.
"""

from __future__ import annotations

from tests.builders import Data
from tests.outlines.made import lesson_data, outlined, part

REVIEW = part("recall", 8, "Review")


def test_twenty_three_minutes_of_presenting_are_more_than_a_stretch_and_fit_with_questions_between() -> None:
    """8 + 23 + 9 of practice: 23 minutes of explaining at a stretch break rule 3; 7 of questions among them leave two of 8."""
    practice = part("apply", 9, "Practice")
    assert not outlined(lesson_data([REVIEW, part("explain", 23), practice], lesson_minutes=40)).outlines
    parts: list[Data] = [
        REVIEW,
        part("explain", 8, "Present", id="present"),
        part("check", 4, "Question", id="question", after="present"),
        part("model", 8, "Worked example", after="question"),
        part("check", 3, "Question again"),
        practice,
    ]
    found = outlined(lesson_data(parts, lesson_minutes=40))
    assert found.proven and sum(each.minutes for each in found.outlines[0]) == 40
    assert found.values[1:4] == (0, 0, 0) and found.values[-1] == 8


def test_eleven_minutes_of_presenting_need_one_check_more() -> None:
    parts = [REVIEW, part("explain", 11, split=6), part("apply", 19, "Practice")]
    found = outlined(lesson_data(parts, lesson_minutes=40))
    assert found.proven and found.values[1] == 1
    assert not outlined(lesson_data([REVIEW, part("explain", 11), part("apply", 19)], lesson_minutes=40)).outlines
