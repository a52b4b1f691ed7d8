"""Mutations of the settled facts: calendar, which number holds, what is cut, loads and dates."""

from __future__ import annotations

from tests.mutations.mutation import Mutation, group

OF_FACTS: tuple[Mutation, ...] = (
    *group(
        "sequencer/instance/resolve.py",
        (
            "facts, the narrowest wins",
            "return next((number for number in reversed(numbers) if number is not None), None)",
            "return next((number for number in numbers if number is not None), None)",
            "rules/test_resolution.py",
        ),
        (
            "facts, switched on again",
            "return not stated[-1].off if stated else True",
            "return not any(each.off for each in stated) if stated else True",
            "rules/test_resolution.py",
        ),
    ),
    *group(
        "sequencer/instance/calendar.py",
        (
            "facts, a class leaves",
            "last = term.last if teaching_class.leaves is None else min(term.last, teaching_class.leaves)",
            "last = term.last",
            "rules/test_calendar.py",
        ),
        (
            "facts, later spell",
            "spell = next((spell for spell, dates in reversed(spells) if covers(spell, dates, *here)), None)",
            "spell = next((spell for spell, dates in spells if covers(spell, dates, *here)), None)",
            "rules/test_calendar.py rules/test_rule5_live.py",
        ),
        (
            "facts, timetable in force",
            "return in_force[-1] if in_force else None",
            "return in_force[0] if in_force else None",
            "rules/test_calendar.py",
        ),
        (
            "facts, all slots agree",
            "if len(kinds) > 1 or (kinds == {IN_CLASS} and any(slot.remote for slot in slots)):",
            "if len(kinds) > 1:",
            "rules/test_rule5_live.py rules/test_rule0_shape.py",
        ),
    ),
    *group(
        "sequencer/scenario/school_weeks.py",
        (
            "facts, cycle",
            "begins = bool(weeks) and place <= labels.index(weeks[-1].label)",
            "begins = bool(weeks) and place < labels.index(weeks[-1].label)",
            "rules/test_calendar.py rules/test_rule5_live.py",
        ),
        (
            "facts, school days",
            "day for closure in scenario.closures if not closure.classes and not closure.periods for day in dates_of(closure)",
            "day for closure in scenario.closures for day in dates_of(closure)",
            "rules/test_rule6_feedback.py rules/test_calendar.py",
        ),
        (
            "facts, weekends",
            "days_between(term.first, term.last) if day.weekday() < 5 and day not in holidays]",
            "days_between(term.first, term.last) if day not in holidays]",
            "rules/test_rule6_feedback.py rules/test_calendar.py",
        ),
        (
            "facts, labels by calendar week",
            'runs_on = weeks and term.labels_follow == "calendar weeks"',
            "runs_on = False",
            "rules/test_calendar.py",
        ),
    ),
    *group(
        "sequencer/instance/live_counts.py",
        (
            "facts 5, least cut",
            "least = min(least, can_be_live)",
            "least = min(least, len(group))",
            "rules/test_rule5_live.py",
        ),
        (
            "facts 5, remote slots alone",
            "if span is not None and place[1].remote:",
            "if span is not None:",
            "rules/test_rule5_live.py",
        ),
        (
            "facts 5, strict",
            "if least is not None and not strict:",
            "if least is not None:",
            "rules/test_rule5_live.py",
        ),
    ),
    *group(
        "sequencer/instance/facts.py",
        (
            "facts, school days later",
            "return max(0, bisect_right(days, later) - bisect_right(days, earlier))",
            "return max(0, bisect_right(days, later) - bisect_right(days, earlier) + 1)",
            "rules/test_rule6_feedback.py",
        ),
        ("facts 0, adjacent", "return second - first == 1", "return second > first", "rules/test_rule0_shape.py"),
        (
            "facts 5, what is better live",
            'return self.dense and self.live not in ("avoid", "refuse")',
            "return self.dense",
            "rules/test_rule5_live.py",
        ),
        (
            "facts, what early finish waits for",
            'return self.kind == "teach" and not self.optional and (self.on is None or self.on_gone)',
            'return self.kind == "teach" and not self.optional',
            "rules/test_rule12_optional.py",
        ),
        (
            "facts, another period than the pin's",
            "return days or int(self.period is not None and slot.period != self.period)",
            "return days",
            "rules/test_wishes_dates.py",
        ),
    ),
    *group(
        "sequencer/rules/week.py",
        ("facts 9, least cut", "cut = min(cut, len(slots))", "cut = min(cut, len(slots) + 9)", "rules/test_rule9_week.py"),
    ),
    *group(
        "sequencer/rules/in_step.py",
        (
            "facts 11, the smaller number",
            "return min((days for days, wish in self._asked(one, other) if not wish), default=None)",
            "return max((days for days, wish in self._asked(one, other) if not wish), default=None)",
            "rules/test_rule11_in_step.py",
        ),
    ),
    *group(
        "sequencer/instance/build.py",
        (
            "facts, load unless stated",
            "load = lesson.load if lesson.load is not None else max(loads.least, loads.high - 1)",
            "load = lesson.load if lesson.load is not None else max(loads.least, loads.high)",
            "rules/test_resolution.py rules/test_rule2_runs.py rules/test_rule9_week.py",
        ),
        (
            "facts, high load",
            "high_load = load >= loads.high",
            "high_load = load > loads.high",
            "rules/test_rule2_runs.py",
        ),
        (
            "facts 3, dense",
            'dense = high_load and lesson.kind == "teach"',
            "dense = high_load",
            "rules/test_rule3_practice.py rules/test_rule10_teacher.py",
        ),
        (
            "facts 4, starters",
            "starter_room=max(0, starters - listed_here[1]),",
            "starter_room=max(0, starters),",
            "rules/test_rule4_chosen.py",
        ),
        (
            "facts 4, preferred",
            "usual = (least + most) // 2 if exam_distance is None else min(max(exam_distance, least), most)",
            "usual = least if exam_distance is None else min(max(exam_distance, least), most)",
            "rules/test_rule4_retrieval.py rules/test_rule4_chosen.py",
        ),
        (
            "facts 4, kept in its window",
            "usual = (least + most) // 2 if exam_distance is None else min(max(exam_distance, least), most)",
            "usual = (least + most) // 2 if exam_distance is None else exam_distance",
            "test_distances.py",
        ),
        (
            "facts 10, minutes a script",
            "marking_minutes=lesson.marking_minutes + lesson.marking_minutes_per_script"
            " * (scenario.classes[class_index].size or 0),",
            "marking_minutes=lesson.marking_minutes + lesson.marking_minutes_per_script,",
            "rules/test_rule10_teacher.py preparing/test_by_hand.py",
        ),
        (
            "facts 13, first strand",
            "teacher=lesson.teacher or next((strand.teacher for strand in unit.strands if strand.tag in lesson.tags), None),",
            "teacher=next((strand.teacher for strand in unit.strands if strand.tag in lesson.tags), lesson.teacher),",
            "rules/test_rule13_shared.py",
        ),
        (
            "facts, today",
            "slot.number not in held and (scenario.today is None or slot.date >= scenario.today)",
            "slot.number not in held and (scenario.today is None or slot.date > scenario.today)",
            "rules/test_record.py",
        ),
    ),
    *group(
        "sequencer/instance/exam_distances.py",
        (
            "facts 4, too late for it",
            "if days < SOONEST:",
            "if days <= SOONEST:",
            "test_distances.py",
        ),
    ),
)
