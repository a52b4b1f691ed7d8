"""Rule 3 for a placed dense lesson, and what holds of lessons that patterns make: there while they are needed, and no longer."""

from __future__ import annotations

from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.placing import Assignment, date_of, end, occupied, placed_lessons, pos


def serving(group: ClassFacts, lesson: Lesson, placed: Assignment) -> list[Lesson]:
    """The practice lessons that lie in the window of a placed dense lesson."""
    assert lesson.practice is not None
    holds, last = occupied(group, placed), end(lesson, placed)
    found = []
    for practice in placed_lessons(group, placed):
        if lesson.key not in practice.practises:
            continue
        distance = pos(practice, placed) - last
        days = (date_of(group, practice, placed) - date_of(group, lesson, placed)).days
        between = [holds[n] for n in range(last + 1, pos(practice, placed)) if n in holds]
        if (
            1 <= distance <= lesson.practice["within"]
            and days <= lesson.practice.get("days", days)
            and not (lesson.practice.get("no_new_content") and any(other.kind == "teach" for other in between))
        ):
            found.append(practice)
    return found


def practice_state(group: ClassFacts, lesson: Lesson, placed: Assignment) -> str:
    """Rule 3 for a placed dense lesson: `served`, `carried over` or `missed`."""
    assert lesson.practice is not None
    if serving(group, lesson, placed):
        return "served"
    return "carried over" if len(group.slots) - 1 - end(lesson, placed) < lesson.practice["within"] else "missed"


def made_lessons(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """What patterns make; that a retrieval lesson meets something is a matter of what is chosen (rule 4)."""
    known = {lesson.key: lesson for lesson in group.lessons}
    earlier = {lesson.key for lesson in group.earlier}
    for lesson in group.lessons:
        if not lesson.made or lesson.done is not None:
            continue
        here = lesson.key in placed
        wanted = [key for key in lesson.made_for if key in placed or key in earlier]
        if lesson.made in ("writing", "feedback") and here != bool(wanted):
            return False
        if lesson.made == "practice" and here:
            dense = known.get(lesson.made_for[0])
            if dense is None or dense.key not in placed or not dense.dense or dense.practice is None:
                return False
            if serving(group, dense, placed) != [lesson]:
                return False
        if lesson.twin in known and here and known[lesson.twin].done is None and not _follows_twin(lesson, placed):
            return False
    return True


def _follows_twin(lesson: Lesson, placed: Assignment) -> bool:
    """Of retrieval lessons that are just alike, the first are placed, in their order."""
    assert lesson.twin is not None
    return lesson.twin in placed and placed[lesson.twin][0] < placed[lesson.key][0]
