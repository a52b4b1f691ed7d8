"""Mutations of the referee: what it calls a breach, and how it counts aims and wishes."""

from __future__ import annotations

from tests.mutations.mutation import Mutation, group

OF_REFEREE: tuple[Mutation, ...] = (
    *group(
        "sequencer/rules/shape.py",
        ("referee 0, twice", "if times[lesson.index] > 1:", "if times[lesson.index] > 2:", "rules/test_rule0_shape.py"),
        (
            "referee 0, shape",
            "if len(slots) < lesson.length or not follow_on(laid.instance, slots):",
            "if len(slots) < lesson.length:",
            "rules/test_rule0_shape.py",
        ),
        ("referee 0, one slot", "if other.index != lesson.index:", "if False:", "rules/test_rule0_shape.py"),
        ("referee 0, taught", "if placement.taught not in ways_of_teaching(slots):", "if False:", "rules/test_rule0_shape.py"),
        (
            "referee 12, optional",
            "missing = times[lesson.index] == 0 and lesson.certain and lesson.delivered is None",
            "missing = times[lesson.index] == 0 and lesson.delivered is None",
            "rules/test_rule12_optional.py",
        ),
    ),
    *group(
        "sequencer/rules/dates.py",
        (
            "referee, today",
            "lesson.delivered is None and laid.date(lesson.index) < today:",
            "lesson.delivered is None and laid.date(lesson.index) <= today:",
            "rules/test_record.py",
        ),
    ),
    *group(
        "sequencer/rules/distances.py",
        (
            "referee 1, order",
            "if laid.pos(after.index) <= laid.end(before.index):",
            "if laid.pos(after.index) + 2 <= laid.end(before.index):",
            "rules/test_rule1_prerequisites.py",
        ),
        ("referee 1, placement", "if follows.demands_placement:", "if False:", "rules/test_rule1_prerequisites.py"),
        (
            "referee 1, periods",
            "return slot.number - (here.number + before.length - 1)",
            "return slot.number - here.number",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "referee 1, weeks",
            "else slot.week.number - here.week.number",
            "else (slot.week.monday - here.week.monday).days // 7",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "referee 6, marking",
            "else laid.instance.school_days_later(day, slot.date)",
            "else laid.instance.school_days_later(day, slot.date) + 1",
            "rules/test_rule6_feedback.py",
        ),
    ),
    *group(
        "sequencer/rules/verdict.py",
        (
            "referee 1, least",
            "short = 0 if least is None else least - value",
            "short = 0 if least is None else least + 1 - value",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "referee 1, most",
            "over = 0 if most is None else value - most",
            "over = 0 if most is None else value - most - 1",
            "rules/test_rule1_prerequisites.py",
        ),
    ),
    *group(
        "sequencer/rules/practice.py",
        (
            "referee 3, made",
            "if serving != [practice.index]:",
            "if practice.index not in serving:",
            "rules/test_patterns.py::test_none_could_be_taken_away_even_when_nobody_counts_them rules/test_told_and_made.py",
        ),
    ),
    *group(
        "sequencer/rules/starters.py",
        ("referee 4, room", "if len(group) > by.chooses:", "if len(group) > by.chooses + 1:", "rules/test_rule4_chosen.py"),
    ),
    *group(
        "sequencer/rules/shared_things.py",
        ("referee 8, capacity", "return len(held), [", "return len(held) - 1, [", "rules/test_rule8_place.py"),
    ),
    *group(
        "sequencer/rules/alone.py",
        (
            "referee 0, one date",
            "first.date == second.date and instance.adjacent(first.period, second.period)",
            "instance.adjacent(first.period, second.period)",
            "rules/test_rule0_shape.py",
        ),
        (
            "referee 5, demand",
            'return (lesson.live == "demand" and taught == SET_WORK) or (lesson.live == "refuse" and taught == LIVE)',
            'return lesson.live == "refuse" and taught == LIVE',
            "rules/test_rule5_live.py",
        ),
        (
            "referee 5, refuse",
            'return (lesson.live == "demand" and taught == SET_WORK) or (lesson.live == "refuse" and taught == LIVE)',
            'return lesson.live == "demand" and taught == SET_WORK',
            "rules/test_rule5_live.py",
        ),
        (
            "referee 7, not before",
            'yield f"not before {day_text(first)}", lambda slot: slot.date >= first',
            'yield f"not before {day_text(first)}", lambda slot: slot.date > first',
            "rules/test_rule7_dates.py",
        ),
        (
            "referee 7, not after",
            'yield f"not after {day_text(last)}", lambda slot: slot.date <= last',
            'yield f"not after {day_text(last)}", lambda slot: slot.date < last',
            "rules/test_rule7_dates.py",
        ),
        (
            "referee 7, reports",
            "lambda slot: slot.date <= due and instance.school_days_later(slot.date, due) >= marking,",
            "lambda slot: slot.date <= due and instance.school_days_later(slot.date, due) > marking,",
            "rules/test_rule7_dates.py",
        ),
        (
            "referee 7, after reports",
            "lambda slot: slot.date <= due and instance.school_days_later(slot.date, due) >= marking,",
            "lambda slot: instance.school_days_later(slot.date, due) >= marking,",
            "rules/test_rule7_dates.py",
        ),
        (
            "referee 8, portable",
            "anywhere = need in instance.portable and not slot.remote",
            "anywhere = need in instance.portable",
            "rules/test_rule8_place.py",
        ),
        (
            "referee 8, refused tags",
            "if lesson.kind in refuses.kinds or tagged or (refuses.high_load and lesson.high_load):",
            "if lesson.kind in refuses.kinds or (refuses.high_load and lesson.high_load):",
            "rules/test_rule8_place.py",
        ),
        (
            "referee 13",
            "return lesson.teacher is None or slot.teacher == lesson.teacher",
            "return True",
            "rules/test_rule13_shared.py",
        ),
    ),
    *group(
        "sequencer/rules/runs.py",
        (
            "referee 2, run",
            "for window in _windows(run, cap + 1):",
            "for window in _windows(run, cap + 2):",
            "rules/test_rule2_runs.py",
        ),
        ("wish 2", "1, max(weights)", "1, min(weights)", "rules/test_wishes.py rules/test_wishes_counts.py"),
    ),
    *group(
        "sequencer/rules/counting.py",
        (
            "referee 14, the class with most",
            "most = {max(group, key=lambda",
            "most = {min(group, key=lambda",
            "rules/test_rule14_cohorts.py",
        ),
        (
            "referee 2, cap",
            "if index is not None else count.spare for index in holders)\n",
            "if index is not None else count.spare for index in holders[1:])\n",
            "rules/test_rule2_tags.py",
        ),
        (
            "referee 2, thread and spare",
            "if index is not None else count.spare for index in holders)",
            "if index is not None else 0 for index in holders)",
            "rules/test_rule2_tags.py",
        ),
        (
            "referee 5, least live",
            "few = count.least is not None and value < count.least",
            "few = count.least is not None and value < count.least - 1",
            "rules/test_rule5_live.py",
        ),
        (
            "referee 5, past at its limit",
            "(self._told(instance)[0] if self.told is None else self.told) > self.most",
            "(self._told(instance)[0] if self.told is None else self.told) >= self.most",
            "rules/test_record_limits.py",
        ),
        (
            "referee 9, past at its least",
            "done + self._still(instance) < self.least",
            "done + self._still(instance) <= self.least",
            "rules/test_record_limits.py",
        ),
        ("wish 10", "-(-outside_by // count.unit)", "outside_by // count.unit", "rules/test_wishes_teacher.py"),
    ),
    *group(
        "sequencer/rules/caps.py",
        (
            "referee 2, short stretch",
            "return min(entry.of, stretch)",
            "return entry.of",
            "rules/test_rule2_tags.py",
        ),
    ),
    *group(
        "sequencer/rules/threads.py",
        ("referee 2, thread", "return entry.least, None", "return entry.least - 1, None", "rules/test_rule2_tags.py"),
    ),
    *group(
        "sequencer/rules/quotas.py",
        ("referee 5, most live", "each.least, each.most,", "each.least, (each.most or 0) + 1,", "rules/test_rule5_live.py"),
    ),
    *group(
        "sequencer/rules/week.py",
        (
            "referee 9, load",
            '"load": {each.index: each.load for each in lessons}',
            '"load": {each.index: each.load * each.length for each in lessons}',
            "rules/test_rule9_week.py",
        ),
        (
            "referee 9, most",
            '("lesson", cut, numbers.most_lessons, numbers.least_lessons),',
            '("lesson", cut, (numbers.most_lessons or 9) + 1, numbers.least_lessons),',
            "rules/test_rule9_week.py",
        ),
        (
            "referee 9, least",
            '("load", numbers.least_load, numbers.most_load, None),',
            '("load", numbers.least_load and numbers.least_load - 1, numbers.most_load, None),',
            "rules/test_rule9_week.py",
        ),
    ),
    *group(
        "sequencer/rules/teacher.py",
        (
            "referee 10, a day",
            "tuple(slots), weights, None, most, what",
            "tuple(slots), weights, None, most + 1, what",
            "rules/test_rule10_teacher.py",
        ),
        (
            "referee 10, a week",
            'None, teacher.marking_a_week, "marking"',
            'None, teacher.marking_a_week - 1, "marking"',
            "rules/test_rule10_teacher.py",
        ),
        (
            "referee 10, week 0",
            "for week in sorted(weeks) if week > 1",
            "for week in sorted(weeks) if week > 0",
            "rules/test_rule10_teacher.py",
        ),
    ),
    *group(
        "sequencer/rules/in_step.py",
        ("referee 11", "is not None and days > most\n", "is not None and days > most + 1\n", "rules/test_rule11_in_step.py"),
        (
            "referee 11, past",
            "return any(abs((here - there).days) <= most for here in dates[0] for there in dates[1])",
            "return any(abs((here - there).days) < most for here in dates[0] for there in dates[1])",
            "rules/test_record_limits.py",
        ),
        (
            "wish 11",
            "yield by_lessons(laid, 11, (one, other), days - wished[0], wished[1], message)",
            "yield by_lessons(laid, 11, (one, other), days, wished[1], message)",
            "rules/test_wishes_pairs.py",
        ),
    ),
    *group(
        "sequencer/plan/spans.py",
        (
            "referee 2, run over a double",
            "goes_on = bool(run) and laid.pos(lesson.index) == laid.end(run[-1].index) + 1",
            "goes_on = bool(run) and laid.pos(lesson.index) == laid.pos(run[-1].index) + 1",
            "rules/test_rule2_runs.py",
        ),
        (
            "referee 2, days that break a run",
            "goes_on = laid.days(run[-1].index, lesson.index) <= facts.run_break_days",
            "goes_on = laid.days(run[-1].index, lesson.index) < facts.run_break_days",
            "rules/test_rule2_runs.py",
        ),
        (
            "referee 2, days that break a window",
            "if stretch and break_days is not None and (slot.date - stretch[-1].date).days > break_days:",
            "if stretch and break_days is not None and (slot.date - stretch[-1].date).days >= break_days:",
            "rules/test_rule2_tags.py",
        ),
        (
            "referee 2, last window",
            "return (stretch[start : start + size] for start in range(len(stretch) - size + 1))",
            "return (stretch[start : start + size] for start in range(len(stretch) - size))",
            "rules/test_rule2_tags.py",
        ),
    ),
    *group(
        "sequencer/plan/outcomes.py",
        (
            "referee 3, periods",
            "if not 1 <= laid.pos(practice) - laid.end(dense.index) <= numbers.within:",
            "if not 1 <= laid.pos(practice) - laid.end(dense.index) <= numbers.within + 1:",
            "rules/test_rule3_practice.py",
        ),
        (
            "referee 3, days",
            "if numbers.days is not None and laid.days(dense.index, practice) > numbers.days:",
            "if numbers.days is not None and laid.days(dense.index, practice) >= numbers.days:",
            "rules/test_rule3_practice.py",
        ),
        (
            "referee 3, new content",
            "between = range(laid.end(dense.index) + 1, laid.pos(practice))",
            "between = range(laid.end(dense.index) + 2, laid.pos(practice))",
            "rules/test_rule3_practice.py",
        ),
        (
            "referee 3, carried over",
            "CARRIED if follow < lesson.practice.within else BROKEN))",
            "CARRIED if follow <= lesson.practice.within else BROKEN))",
            "rules/test_rule3_practice.py",
        ),
        (
            "referee 4, least",
            "if numbers.least <= (day - start).days <= numbers.most]",
            "if numbers.least < (day - start).days <= numbers.most]",
            "rules/test_rule4_retrieval.py",
        ),
        (
            "referee 4, most",
            "if numbers.least <= (day - start).days <= numbers.most]",
            "if numbers.least <= (day - start).days < numbers.most]",
            "rules/test_rule4_retrieval.py",
        ),
        (
            "referee 4, distinct dates",
            "if day in self.met and day not in taken and day > start})",
            "if day in self.met and day > start})",
            "rules/test_rule4_chosen.py rules/test_rule4_retrieval.py",
        ),
        (
            "referee 4, carried over",
            "if self.last is not None and numbers.most > (self.last - start).days:",
            "if self.last is not None and numbers.most >= (self.last - start).days:",
            "rules/test_rule4_retrieval.py",
        ),
        (
            "referee 4, first late date",
            "window, state = later if self.told and not numbers.chained else later[:1], LATE",
            "window, state = later, LATE",
            "rules/test_rule4_retrieval.py rules/test_rule4_chosen.py",
        ),
    ),
    *group(
        "sequencer/plan/minutes.py",
        (
            "referee 10, preparation",
            "found[week - 1] = found.get(week - 1, 0) + minutes[ref]",
            "found[week] = found.get(week, 0) + minutes[ref]",
            "rules/test_rule10_teacher.py",
        ),
        (
            "referee 10, marking",
            "found[week] = found.get(week, 0) + lesson.marking_minutes",
            "found[week] = lesson.marking_minutes",
            "rules/test_rule10_teacher.py",
        ),
    ),
    *group(
        "sequencer/aims/left_out.py",
        (
            "referee, left out",
            "return sum(lesson.priority for lesson in laid.lessons() if lesson.optional and not laid.placed(lesson.index))",
            "return sum(1 for lesson in laid.lessons() if lesson.optional and not laid.placed(lesson.index))",
            "rules/test_rule12_optional.py",
        ),
    ),
    *group(
        "sequencer/aims/even_load.py",
        (
            "referee, even load",
            "heaviest += max(weekly.values(), default=0)",
            "heaviest += min(weekly.values(), default=0)",
            "rules/test_rule9_week.py crosscheck/test_hand_worked.py",
        ),
    ),
    *group(
        "sequencer/aims/even_week.py",
        (
            "referee, even week",
            "heaviest += max(minutes.values(), default=0)",
            "heaviest += min(minutes.values(), default=0)",
            "rules/test_rule10_teacher.py preparing/test_by_hand.py",
        ),
    ),
)
