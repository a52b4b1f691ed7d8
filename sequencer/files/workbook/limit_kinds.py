"""What can be limited, or wished, on the sheet Limits and wishes, and where a scenario says it."""

from __future__ import annotations

from typing import NamedTuple

DAY, WEEK, CYCLE, WEEKDAYS_OF = "day", "week", "cycle", "weekdays"
"""Over what something is counted; a week where the cell is empty."""

WISH_WORDS = {"rather": 1, "much rather": 5}
"""What a wish weighs, by the word for it."""

RULES, LISTED, TEACHER = "rules", "listed", "teacher"
"""Where it stands: among a rule's numbers; as an entry of those that a rule lists; among a teacher's limits."""


class LimitKind(NamedTuple):
    """A kind of limit: its word, what it is counted over, where it stands, the rule, and the keys of its least and most."""

    what: str
    per: str
    stands: str
    rule: str = ""
    least: str = ""
    most: str = ""

    @property
    def wish_only(self) -> bool:
        """Whether it has no numbers: it can only be wished."""
        return not (self.least or self.most)

    @property
    def on_weekdays(self) -> bool:
        """Whether the column per names weekdays."""
        return self.per == WEEKDAYS_OF


LIMITS = (
    LimitKind("live lessons", WEEK, LISTED, "live_quotas", "least", "most"),
    LimitKind("live lessons", DAY, TEACHER, most="live_a_day"),
    LimitKind("hard lessons", DAY, TEACHER, most="dense_a_day"),
    LimitKind("hard lessons in a row", "", RULES, "consecutive_high_load", most="most"),
    LimitKind("lessons", WEEK, RULES, "week", "least_lessons", "most_lessons"),
    LimitKind("load", WEEK, RULES, "week", "least_load", "most_load"),
    LimitKind("tests", WEEK, RULES, "pupils_week", most="assessments_a_week"),
    LimitKind("tests", DAY, RULES, "pupils_week", most="assessments_a_day"),
    LimitKind("minutes of homework", WEEK, RULES, "pupils_week", most="homework_a_week"),
    LimitKind("minutes of homework", DAY, RULES, "pupils_week", most="homework_a_day"),
    LimitKind("hard lessons of pupils", WEEK, RULES, "pupils_week", most="dense_a_week"),
    LimitKind("hard lessons of pupils", DAY, RULES, "pupils_week", most="dense_a_day"),
    LimitKind("lessons with a tag", "periods", LISTED, "", "threads", "caps"),
    LimitKind("lessons on weekdays", WEEKDAYS_OF, LISTED, "weekdays", most="most"),
    LimitKind("minutes of marking", WEEK, TEACHER, most="marking_a_week"),
    LimitKind("minutes of preparing", WEEK, TEACHER, most="preparation_a_week"),
    LimitKind("days between classes", "", RULES, "in_step", most="days"),
    LimitKind("school days to feedback", "", RULES, "marking", "least", "most"),
    LimitKind("days until met again", "", RULES, "retrieval", "least", "most"),
    LimitKind("periods to practice", "", RULES, "practice_after_dense", most="within"),
    LimitKind("days to practice", "", RULES, "practice_after_dense", most="days"),
    LimitKind("dates of lessons", "", RULES, "dates"),
)
"""Those that one word stands for are told apart by what they are counted over."""
