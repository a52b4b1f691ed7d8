"""Mutations of explaining, rolling forward, planning again and preparing."""

from __future__ import annotations

from tests.mutations.mutation import Mutation, group

_COSTS = "explaining/test_costs.py"

OF_OTHERS: tuple[Mutation, ...] = (
    *group(
        "sequencer/rules/week.py",
        (
            "explaining, cost of a week",
            'most_lessons: Annotated[Whole | None, at_most("a week", "lesson", cost="week")]',
            'most_lessons: Annotated[Whole | None, at_most("a week", "lesson", cost="quota")]',
            _COSTS,
        ),
        (
            "explaining, which way a week is eased",
            'most_lessons: Annotated[Whole | None, at_most("a week", "lesson", cost="week")]',
            'most_lessons: Annotated[Whole | None, Number("at most {} a week", "lesson", -1, cost="week")]',
            _COSTS,
        ),
    ),
    *group(
        "sequencer/scenario/rules_schema.py",
        (
            "explaining, cost of a quota",
            'least: Annotated[Count | None, at_least("", "lesson", cost="quota")]',
            'least: Annotated[Count | None, at_least("", "lesson", cost="week")]',
            _COSTS,
        ),
    ),
    *group(
        "sequencer/rules/caps.py",
        ("explaining, cost of a cap", 'at_most("", cost="run", most_steps=5)', 'at_most("", most_steps=5)', _COSTS),
    ),
    *group(
        "sequencer/scenario/class_schema.py",
        (
            "explaining, cost of a teacher's limit",
            'at_most("a day", "dense lesson", cost="teacher")',
            'at_most("a day", "dense lesson", cost="week")',
            _COSTS,
        ),
        (
            "explaining, cost of a shared thing",
            'Number("have {}", "lesson", UP, cost="capacity"',
            'Number("have {}", "lesson", UP, cost="need"',
            _COSTS,
        ),
        (
            "explaining, half hours of a teacher's week",
            'at_most("of marking a week", "minute", cost="teacher", step=WISHED_MINUTES)',
            'at_most("of marking a week", "minute", cost="teacher")',
            _COSTS,
        ),
    ),
    *group(
        "sequencer/scenario/numbers.py",
        (
            "explaining, cost of practice later",
            '"period": "period", "school week"',
            '"period": "day", "school week"',
            _COSTS,
        ),
        ("explaining, cost of a window in days", '{"day": "day", "school day"', '{"day": "period", "school day"', _COSTS),
    ),
    *group(
        "sequencer/scenario/changes/calendar_changes.py",
        (
            "explaining, days of a closure",
            "for day in dates_of(entry) if day.weekday() < 5}",
            "for day in dates_of(entry)}",
            _COSTS,
        ),
    ),
    *group(
        "sequencer/scenario/changes/lesson_changes.py",
        (
            "explaining, cost of a length",
            "return costs.length * (before - self.length)",
            "return costs.length",
            _COSTS,
        ),
    ),
    *group(
        "sequencer/questions/explaining/stated_lessons.py",
        (
            "explaining, cost of a report deadline",
            'cost = costs.deadline_day if field == "report_deadline" else costs.day',
            "cost = costs.day",
            _COSTS,
        ),
        ("explaining, cost of a date", "Level(cost * days, (change_of(MoveDates", "Level(cost, (change_of(MoveDates", _COSTS),
    ),
    *group(
        "sequencer/questions/explaining/shortage.py",
        (
            "explaining, cost of a period gained",
            "levels.append(Level(sum(change.price(stated.scenario) for change in changes), changes))",
            "levels.append(Level(changes[0].price(stated.scenario), changes))",
            _COSTS,
        ),
    ),
    *group(
        "sequencer/questions/explaining/minimal_conflict.py",
        (
            "explaining, a minimal conflict",
            "                if still:\n                    found = fewer\n                    break",
            "                if still is None:\n                    found = fewer\n                    break",
            "explaining/test_conflicts.py",
        ),
    ),
    *group(
        "sequencer/questions/explaining/known_conflicts.py",
        (
            "explaining, one repair part of another",
            "return all(other.get(dial, 0) >= steps for dial, steps in one.items())",
            "return all(dial in other for dial in one)",
            "explaining/test_repairs.py",
        ),
    ),
    *group(
        "sequencer/next_term/still_needed.py",
        (
            "rolling, least days",
            "least = min(most, max(numbers.least + since, open_from))",
            "least = min(most, max(numbers.least + since + 1, open_from))",
            "rolling/test_next_term.py",
        ),
        (
            "rolling, opens with the term",
            "open_from = (resumes - taught).days",
            "open_from = (resumes - taught).days + 1",
            "rolling/test_next_term.py",
        ),
        (
            "rolling, most days",
            "most = min(MOST_DAYS, max(numbers.most + since + away, open_from + CATCH_UP))",
            "most = min(MOST_DAYS, max(numbers.most + since, open_from + CATCH_UP))",
            "rolling/test_next_term.py",
        ),
        ("rolling, two weeks to catch up", "CATCH_UP = 13", "CATCH_UP = 14", "rolling/test_next_term.py"),
        (
            "rolling, those that took place",
            "if outcome.state != CARRIED:",
            "if False:",
            "rolling/test_next_term.py",
        ),
    ),
    *group(
        "sequencer/next_term/tail.py",
        (
            "rolling, a thread's slots",
            'spans = [cap.of - 1 for cap in facts.rules["caps"]] + [thread.of - 1 for thread in facts.rules["threads"]]',
            'spans = [cap.of - 1 for cap in facts.rules["caps"]]',
            "rolling/test_next_term.py",
        ),
        (
            "rolling, a run's slots",
            "counted = max(1, _closing_run(laid, facts), *spans)",
            "counted = max(1, *spans)",
            "rolling/test_next_term.py",
        ),
        (
            "rolling, days between the terms",
            "if gap_first <= gap_last:",
            "if False:",
            "rolling/test_next_term.py",
        ),
    ),
    *group(
        "sequencer/next_term/class_forward.py",
        (
            "rolling, days to practise",
            'changes["days"] = facts.practice.days + away',
            'changes["days"] = facts.practice.days',
            "rolling/test_next_term.py",
        ),
    ),
    *group(
        "sequencer/questions/replan.py",
        (
            "planning again, what is past",
            "laid.first_slot(lesson.index).date < today",
            "laid.first_slot(lesson.index).date <= today",
            "replanning/test_replan.py",
        ),
        (
            "planning again, where the period is gone",
            "stood |= {stray.lesson: (stray.date, stray.period) for stray in laid.sequence.strays}",
            "pass",
            "replanning/test_replan.py replanning/test_gone.py",
        ),
    ),
    *group(
        "sequencer/questions/replan.py",
        (
            "planning again, what is gone",
            "gone = tuple(each for each in before.gone if today is None or each.date >= today)",
            "gone = tuple(each for each in before.gone if today is None or each.date > today)",
            "replanning/test_gone.py",
        ),
    ),
    *group(
        "sequencer/plan/differences.py",
        (
            "planning again, days that weigh",
            "weight = next((each for within, each in self.near if days <= within), 1)",
            "weight = next((each for within, each in self.near if days < within), 1)",
            "replanning/test_replan.py",
        ),
        (
            "planning again, the earlier date",
            "days = (min(old, new or old) - self.today).days",
            "days = (old - self.today).days",
            "replanning/test_replan.py",
        ),
        (
            "planning again, a plan that is shared",
            "return weight * self.shared.get(class_index, 1)",
            "return weight",
            "replanning/test_replan.py",
        ),
    ),
    *group(
        "sequencer/questions/lists/tasks.py",
        (
            "preparing, days before",
            "place = bisect_left(calendar.school_days, day) - count",
            "place = bisect_left(calendar.school_days, day) - count + 1",
            "preparing/test_by_hand.py",
        ),
        (
            "preparing, days after",
            "return days[max(0, min(bisect_right(days, day) + max(count, 1) - 1, len(days) - 1))]",
            "return days[max(0, min(bisect_right(days, day) + max(count, 1), len(days) - 1))]",
            "preparing/test_by_hand.py",
        ),
        (
            "preparing, had by a parallel class",
            "if ref in teacher.prepared or any(lesson.delivered is not None for lesson in group):",
            "if ref in teacher.prepared or all(lesson.delivered is not None for lesson in group):",
            "preparing/test_by_hand.py",
        ),
        (
            "preparing, the longest hand-in",
            "return max(notices, key=lambda notice: notice.days, default=None)",
            "return min(notices, key=lambda notice: notice.days, default=None)",
            "preparing/test_by_hand.py preparing/test_random.py",
        ),
        (
            "preparing, marking before feedback",
            'ends = [(working_days_before(calendar, answered, 1) or day, answered, "feedback") for answered in answering]',
            'ends = [(answered, answered, "feedback") for answered in answering]',
            "preparing/test_by_hand.py",
        ),
    ),
    *group(
        "sequencer/questions/lists/preparation.py",
        (
            "preparing, a fortnight",
            "return SOON if task.by <= day + FORTNIGHT else LATER",
            "return SOON if task.by < day + FORTNIGHT else LATER",
            "preparing/test_by_hand.py",
        ),
        (
            "preparing, overdue",
            "if task.by is None or task.by < day:",
            "if task.by is None or task.by <= day:",
            "preparing/test_by_hand.py",
        ),
        (
            "preparing, a hard week",
            "hard=totals[week.number] >= HARD_MINUTES and totals[week.number] >= HARD * average,",
            "hard=totals[week.number] > HARD_MINUTES and totals[week.number] >= HARD * average,",
            "preparing/test_by_hand.py preparing/test_random.py",
        ),
    ),
)
