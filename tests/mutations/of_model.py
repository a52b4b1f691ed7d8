"""Mutations of the model: what it forbids and what its aims cost. The referee or a proof that is expected notices."""

from __future__ import annotations

from tests.mutations.mutation import Mutation, group

OF_MODEL: tuple[Mutation, ...] = (
    *group(
        "sequencer/solver/starts.py",
        (
            "model 0, one date",
            "all(one.date == other.date and instance.adjacent(one.period, other.period) for one, other in pairwise(slots))",
            "all(instance.adjacent(one.period, other.period) for one, other in pairwise(slots))",
            "rules/test_rule0_shape.py",
        ),
        ("model, today", "all(usable[start : start + lesson.length])", "True", "rules/test_record_limits.py"),
        (
            "model 5, demand",
            'refused = SET_WORK if lesson.live == "demand" else LIVE',
            'refused = LIVE if lesson.live == "demand" else LIVE',
            "rules/test_rule5_live.py",
        ),
        (
            "model 5, refuse",
            'if lesson.live in ("demand", "refuse"):',
            'if lesson.live in ("demand",):',
            "rules/test_rule5_live.py",
        ),
        ("model 7, not before", "found.append(lambda slot: slot.date >= first)", "pass", "rules/test_rule7_dates.py"),
        (
            "model 7, not after",
            "found.append(lambda slot: slot.date <= last)",
            "found.append(lambda slot: slot.date < last)",
            "rules/test_rule7_dates.py",
        ),
        (
            "model 7, pinned period",
            "found.append(lambda slot: slot.period == period or on not in (None, slot.date))",
            "found.append(lambda slot: slot.period >= period or on not in (None, slot.date))",
            "rules/test_rule7_dates.py",
        ),
        (
            "model 7, reports",
            "slot.date <= due and instance.school_days_later(slot.date, due) >= marking)",
            "slot.date <= due and instance.school_days_later(slot.date, due) >= marking - 1)",
            "rules/test_rule7_dates.py",
        ),
        (
            "model 8, portable",
            "need in slot.offers or (carried and not slot.remote) for slot in slots[start : start + length]",
            "need in slot.offers or carried for slot in slots[start : start + length]",
            "rules/test_rule8_place.py",
        ),
        (
            "model 8, refused tags",
            "or any(tag in refuses.tags for tag in lesson.tags)",
            "or all(tag in refuses.tags for tag in lesson.tags)",
            "rules/test_rule8_place.py",
        ),
        (
            "model 13",
            "asked.append(lambda start: slots[start].teacher == lesson.teacher)",
            "asked.append(lambda start: slots[start + length - 1].teacher == lesson.teacher)",
            "rules/test_rule13_shared.py",
        ),
    ),
    *group(
        "sequencer/solver/variables.py",
        (
            "model 5, taught live",
            'if together == OPEN and lesson.live == "demand":',
            'if together == OPEN and lesson.live == "refuse":',
            "rules/test_rule5_live.py",
        ),
        (
            "model 0, held",
            "found.extend(variables.starts_between(slot - variables.lesson.length + 1, slot))",
            "found.extend(variables.starts_between(slot, slot))",
            "rules/test_rule2_tags.py",
        ),
        (
            "model 0, all slots taught alike",
            "posting.clause(statement, ~variables.at(slot.number), ~live)",
            "pass",
            "rules/test_rule5_live.py",
        ),
    ),
    *group(
        "sequencer/solver/links.py",
        (
            "model 1, placement",
            "binds = follows.demands_placement and ordered in kept",
            "binds = False",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "model 11",
            "high = (*(there.last_by(day + most) for day in days[one.class_index].day), before)",
            "high = (*(there.last_by(day + most + 1) for day in days[one.class_index].day), before)",
            "rules/test_rule11_in_step.py",
        ),
        (
            "model 11, taught before the first period",
            "before = there.last_by(days[one.class_index].day_of(one, -1) + most) if one.earlier else there.count - 1",
            "before = there.last_by(days[one.class_index].day_of(one, -1) + most + 1) if one.earlier else there.count - 1",
            "rules/test_record_limits.py",
        ),
    ),
    *group(
        "sequencer/solver/day_numbers.py",
        (
            "model 1, least periods",
            "first = number + least if least is not None else 0",
            "first = number + least - 1 if least is not None else 0",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "model 1, most periods",
            "min(self.count - 1, number + most)",
            "min(self.count - 1, number + most + 1)",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "model 1, least weeks",
            "bisect_left(self.week, number + least)",
            "bisect_left(self.week, number + least - 1)",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "model 1, most weeks",
            "bisect_right(self.week, number + most) - 1",
            "bisect_right(self.week, number + most)",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "model 1, least days",
            "first = self.first_from(day + least) if least is not None else 0",
            "first = self.first_from(day + least - 1) if least is not None else 0",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "model 1, most days",
            "return first, self.last_by(day + most) if most is not None else self.count - 1",
            "return first, self.last_by(day + most + 1) if most is not None else self.count - 1",
            "rules/test_rule1_prerequisites.py",
        ),
        (
            "model 6, least",
            "first = bisect_left(self.school_day, number + least)",
            "first = bisect_left(self.school_day, number + least - 1)",
            "rules/test_rule6_feedback.py",
        ),
        (
            "model 6, most",
            "return first, bisect_right(self.school_day, number + most) - 1 if most is not None else self.count - 1",
            "return first, bisect_right(self.school_day, number + most + 1) - 1 if most is not None else self.count - 1",
            "rules/test_rule6_feedback.py",
        ),
    ),
    *group(
        "sequencer/solver/servings.py",
        (
            "model 3, periods",
            "high = [min(slot + lesson.length - 1 + numbers.within, here.count - 1) for slot in range(here.count)]",
            "high = [min(slot + lesson.length + numbers.within, here.count - 1) for slot in range(here.count)]",
            "rules/test_rule3_practice.py",
        ),
        (
            "model 3, days",
            "high = [min(slot, here.last_by(here.day[at] + numbers.days)) for at, slot in enumerate(high)]",
            "high = [min(slot, here.last_by(here.day[at] + numbers.days + 1)) for at, slot in enumerate(high)]",
            "rules/test_rule3_practice.py",
        ),
        (
            "model 3, carried over",
            "carry_from = max(0, here.count - numbers.within - lesson.length + 1)",
            "carry_from = max(0, here.count - numbers.within - lesson.length)",
            "rules/test_rule3_practice.py",
        ),
        (
            "model 4, least",
            "first = here.first_from(day + numbers.least)",
            "first = here.first_from(day + numbers.least - 1)",
            "rules/test_rule4_retrieval.py",
        ),
        (
            "model 4, most",
            "high.append(here.last_by(day + numbers.most))",
            "high.append(here.last_by(day + numbers.most + 1))",
            "rules/test_rule4_retrieval.py",
        ),
        (
            "model 4, late",
            "if first < here.count and here.day[first] > day + numbers.most:",
            "if first < here.count and here.day[first] >= day + numbers.most:",
            "rules/test_rule4_retrieval.py",
        ),
        (
            "model 4, carried over",
            "carry_from = here.first_from(here.last_day - numbers.most + 1)\n    return _serving",
            "carry_from = here.first_from(here.last_day - numbers.most)\n    return _serving",
            "rules/test_rule4_retrieval.py",
        ),
    ),
    *group(
        "sequencer/solver/domains.py",
        (
            "model, starts cut too far",
            "least = max(least, soonest[other]) + lessons[other].length",
            "least = max(least, soonest[other]) + lessons[other].length + 1",
            "rules/test_rule1_prerequisites.py",
        ),
    ),
    *group(
        "sequencer/rules/practice.py",
        (
            "model 3, new content",
            "for slot in range(dense.starts[0] + dense.lesson.length, practice.starts[-1]):",
            "for slot in range(dense.starts[0] + dense.lesson.length + 1, practice.starts[-1]):",
            "rules/test_rule3_practice.py",
        ),
    ),
    *group(
        "sequencer/rules/retrieval_posted.py",
        (
            "model 4, carried over only when unmet",
            "model.posting.clause(link.statement, ~carry, ~lesson.by(start), ~other.placed, other.by(link.low[start] - 1))",
            "pass",
            "rules/test_rule4_retrieval.py",
        ),
        (
            "model 4, room",
            "posting.linear(statement, sum(chosen) <= model.total(room))",
            "posting.linear(statement, sum(chosen) <= model.total(room) + 1)",
            "rules/test_rule4_chosen.py",
        ),
        (
            "model 4, distinct dates",
            "if len(literals) > 1:",
            "if len(literals) > 9:",
            "rules/test_rule4_chosen.py rules/test_rule4_retrieval.py",
        ),
        (
            "model 4, made retrieval",
            "model.posting.linear(statement, sum(placed) <= sum(met_on.get((facts.index, first), [])))",
            "model.posting.linear(statement, sum(placed) <= sum(met_on.get((facts.index, first), [])) + 1)",
            "rules/test_patterns.py",
        ),
    ),
    *group(
        "sequencer/rules/made.py",
        ("model 12, made", "model.posting.clause(statement, ~placed, variables.placed)", "pass", "rules/test_patterns.py"),
    ),
    *group(
        "sequencer/rules/runs.py",
        (
            "model 2, run",
            "for size in range(cap + 1, min(cap * longest + 1, len(stretch)) + 1):",
            "for size in range(cap + 2, min(cap * longest + 1, len(stretch)) + 1):",
            "rules/test_rule2_runs.py",
        ),
        (
            "model 2, last run",
            "[slot.number for slot in window], longest)",
            "[slot.number for slot in window[1:]], longest)",
            "rules/test_rule2_runs.py",
        ),
    ),
    *group(
        "sequencer/solver/parts.py",
        (
            "model 2, cap",
            "self._lying(lambda lesson, start: range(start, start + lesson.length))",
            "self._lying(lambda lesson, start: range(start + 1, start + lesson.length))",
            "rules/test_rule2_tags.py",
        ),
        (
            "model 2, thread",
            "for class_index, slot in slots if count.spare]",
            "for class_index, slot in slots]",
            "rules/test_rule2_tags.py",
        ),
        (
            "model 5, least live",
            "self.posting.linear(statement, total(terms) >= count.least)",
            "self.posting.linear(statement, total(terms) >= count.least - 1)",
            "rules/test_rule5_live.py",
        ),
        (
            "model 5, most live",
            "self.posting.linear(statement, total(terms) <= count.most - count.fixed)",
            "self.posting.linear(statement, total(terms) <= count.most - count.fixed + 1)",
            "rules/test_rule5_live.py",
        ),
        (
            "model 14, the class with most",
            "self.posting.linear(statement, total(terms) <= with_most)",
            "pass",
            "rules/test_rule14_cohorts.py",
        ),
        ("model 8, capacity", "and reaches > count.most and", "and reaches > count.most + 1 and", "rules/test_rule8_place.py"),
        ("model 9, least", "if count.least and len(here)", "if not count.least and len(here)", "rules/test_rule9_week.py"),
        (
            "model 9, most",
            "self.in_week(facts, week, count.weights)]",
            "self.in_week(facts, week, count.weights)[1:]]",
            "rules/test_rule9_week.py",
        ),
        (
            "model 10, a day",
            "for place in slots for index, literal in lying.get(place, ())",
            "for place in slots for index, literal in list(lying.get(place, ()))[1:]",
            "rules/test_rule10_teacher.py",
        ),
        (
            "model 10, a week",
            "return list(self.preparation(teacher).get(week, ()))",
            "return list(self.preparation(teacher).get(week - 1, ()))",
            "rules/test_rule10_teacher.py",
        ),
    ),
    *group(
        "sequencer/plan/spans.py",
        (
            "model 2, days that break",
            "(slot.date - stretch[-1].date).days > break_days",
            "(slot.date - stretch[-1].date).days >= break_days",
            "rules/test_rule2_tags.py rules/test_rule2_runs.py",
        ),
    ),
    *group(
        "sequencer/solver/teacher_minutes.py",
        ("model 10, prepared once", "found[week - 1].append((before, -minutes[ref]))", "pass", "rules/test_rule10_teacher.py"),
    ),
    *group(
        "sequencer/aims/left_out.py",
        (
            "model, left out",
            'terms.append(CostTerm(variables.placed, -lesson.priority, f"{lesson.ref} placed", lesson.class_index))',
            'terms.append(CostTerm(variables.placed, -1, f"{lesson.ref} placed", lesson.class_index))',
            "rules/test_rule12_optional.py",
        ),
    ),
    *group(
        "sequencer/aims/distance.py",
        (
            "model, distance",
            'yield CostTerm(gap, following - mark, f"{statement.label}: days off", lesson.class_index, lesson.index)',
            'yield CostTerm(gap, 1, f"{statement.label}: days off", lesson.class_index, lesson.index)',
            "rules/test_rule4_retrieval.py rules/test_rule4_chosen.py",
        ),
    ),
    *group(
        "sequencer/aims/even_load.py",
        (
            "model, even load",
            "load = model.total((literal, lesson.load) for lesson, literal in model.in_week(facts, week))",
            "load = model.total((literal, 1) for lesson, literal in model.in_week(facts, week))",
            "rules/test_rule9_week.py crosscheck/test_hand_worked.py",
        ),
    ),
    *group(
        "sequencer/aims/even_week.py",
        (
            "model, even week",
            "model.posting.linear(statement, model.total(weighted) <= heaviest)",
            "pass",
            "rules/test_rule10_teacher.py preparing/test_by_hand.py",
        ),
    ),
    *group(
        "sequencer/solver/gaps.py",
        (
            "model, wish too far",
            'yield CostTerm(gap, (following - mark) * self.wish, f"{self.statement.label}: too far")',
            'yield CostTerm(gap, self.wish, f"{self.statement.label}: too far")',
            "rules/test_wishes_pairs.py",
        ),
        (
            "model, wish too near",
            'yield CostTerm(gap, (following - mark) * self.wish, f"{self.statement.label}: too near")',
            'yield CostTerm(gap, self.wish, f"{self.statement.label}: too near")',
            "rules/test_wishes_pairs.py",
        ),
    ),
    *group(
        "sequencer/rules/dates.py",
        (
            "model, wished dates",
            'units * asked.wish, f"{variables.lesson.ref} off its dates"',
            'asked.wish, f"{variables.lesson.ref} off its dates"',
            "rules/test_wishes_dates.py",
        ),
    ),
    *group(
        "sequencer/solver/costs.py",
        (
            "model, wished most",
            "posting.linear(self.statement, total(self.terms) - self.unit * over <= self.most)",
            "posting.linear(self.statement, total(self.terms) - self.unit * over <= self.most + 1)",
            "rules/test_wishes_counts.py",
        ),
    ),
    *group(
        "sequencer/aims/disruption.py",
        (
            "model, a move's weight",
            "weight = 0 if stays else self._weights.of(lesson.class_index, old, slot.date)",
            "weight = 0 if stays else self._weights.of(lesson.class_index, old, None)",
            "replanning/test_replan.py",
        ),
    ),
    Mutation(
        "model 1, order after a double",
        "sequencer/solver/links.py",
        "return (*range(length, count + length), 0), (count - 1,) * (count + 1)",
        "return (*range(1, count + 1), 0), (count - 1,) * (count + 1)",
        (),
        "A slot holds one lesson: what starts after the first slot of a double starts after its last.",
    ),
    *group(
        "sequencer/solver/chain/outlook.py",
        (
            "periods, what a retrieval costs at least",
            "np.minimum(sums.min(axis=0), NEVER)",
            "np.minimum(sums.max(axis=0), NEVER)",
            "chain/test_by_periods.py::test_chains_equal_an_integer_programme",
        ),
    ),
    *group(
        "sequencer/solver/chain/dominance.py",
        (
            "periods, as good wherever days to come lie",
            "change = np.maximum(np.abs(soon - mine) - np.abs(soon - its), np.abs(late - mine) - np.abs(late - its))",
            "change = np.minimum(np.abs(soon - mine) - np.abs(soon - its), np.abs(late - mine) - np.abs(late - its))",
            "chain/test_by_periods.py::test_what_tells_apart[16-8-14]",
        ),
        (
            "periods, days spared by what may never come",
            "change = np.where(self._unsure[other], np.maximum(change, 0), change)",
            "change = np.where(self._unsure[other], change, change)",
            "chain/test_by_periods.py::test_what_tells_apart[2009-5-12]",
        ),
        (
            "periods, retrieval without a window",
            "if row in layer.where or begun:",
            "if row in layer.where:",
            "chain/test_by_periods.py::test_what_tells_apart[102-8-14]",
        ),
    ),
    *group(
        "sequencer/solver/chain/chained.py",
        (
            "periods, retrieval of what is left out",
            "self._keep_order(each.lesson, by)",
            "self.first[by].add(each.lesson)",
            "chain/test_by_periods.py::test_what_tells_apart[98-8-14]",
        ),
    ),
    *group(
        "sequencer/solver/chain/steps.py",
        (
            "periods, made practice that serves nothing",
            "fits &= layer.row(row) != NONE if row in layer.where else False",
            "pass",
            "chain/test_each_rule.py::test_one_made_practice_serves_two_and_no_other_fills_a_period",
        ),
        (
            "periods, practice left to the next plan",
            "for carried in ((False, True) if",
            "for carried in ((False,) if",
            "chain/test_each_rule.py::test_practice_of_the_last_lesson_waits",
        ),
    ),
    *group(
        "sequencer/solver/chain/states.py",
        (
            "periods, what is open may be live",
            "(LIVE, OPEN) if count.most is None else (LIVE,)",
            "(LIVE,)",
            "chain/test_each_rule.py::test_a_rule_by_itself_is_held",
        ),
    ),
    *group(
        "sequencer/solver/chain/meeting_steps.py",
        (
            "periods, a chain passes over a lesson",
            "if each.chained and number + 1 < len(each.times):",
            "if False:",
            "chain/test_each_rule.py::test_a_chain_may_pass_over_a_lesson",
        ),
        (
            "periods, what may be left to the next plan costs no days",
            "found[:, time.carry_from :] = 0",
            "pass",
            "chain/test_each_rule.py::test_a_meeting_waits_for_the_next_plan",
        ),
        (
            "periods, retrievals of one date",
            "& ~met_today[which]",
            "",
            "chain/test_each_rule.py::test_two_lessons_of_a_date_meet_it_once",
        ),
    ),
    *group(
        "sequencer/solver/chain/alike.py",
        (
            "periods, lessons that refuse to be live",
            "facts.live if any(chain.counts[number].how == STARTS_LIVE for number in counted) else None,",
            "None,",
            "chain/test_by_periods.py::test_two_tests_alike_of_which_one_may_be_live",
        ),
    ),
    *group(
        "sequencer/rules/retrieval_posted.py",
        (
            "model 4, met in the order taught",
            "model.posting.clause(statement, ~first.placed, ~second.by(date), first.by(date))",
            "model.posting.clause(statement, ~second.by(date), first.by(date))",
            "rules/test_rule4_chosen.py::test_where_not_all_can_be_met_the_nearest_is",
        ),
    ),
    *group(
        "sequencer/solver/chain/states.py",
        (
            "periods, states alike in all facts",
            "if width + bits > 62:",
            "if False:",
            "chain/test_states.py",
        ),
    ),
    *group(
        "sequencer/solver/chain/in_turn_outlook.py",
        (
            "periods, a host of two groups is paid for once",
            " // len(self._chain.met_in_turn)",
            "",
            "chain/test_each_rule.py::test_what_is_met_in_turn_is_never_held_too_dear",
        ),
        (
            "periods, blocks of those to come",
            "for size in range(2, min(self.room, place + 1) + 1):",
            "for size in range(2, 2):",
            "chain/test_each_rule.py::test_a_rule_by_itself_is_held",
        ),
    ),
    *group(
        "sequencer/solver/chain/order_outlook.py",
        (
            "periods, practice while a dense lesson is under way",
            "+ chain.lessons[lesson].length - 1 for",
            "for",
            "chain/test_order_outlook.py::test_a_dense_lesson_under_way_leaves_its_practice_time",
        ),
        (
            "periods, width of a block",
            "else 1 if number > size - half",
            "else 2 if number > size - half",
            "chain/test_each_rule.py::test_a_rule_by_itself_is_held",
        ),
    ),
    *group(
        "sequencer/solver/chain/in_turn_steps.py",
        (
            "periods, no lesson made for nothing",
            "if sum(met) <= room and (any(met) or prices.idle_hosts or not self._chain.made_to_meet(lesson)):",
            "if sum(met) <= room:",
            "chain/test_each_rule.py::test_no_lesson_is_made_for_nothing",
        ),
        (
            "periods, room of a host",
            "room = self._room.get(lesson, 0)",
            "room = self._room.get(lesson, 0) + 1",
            "chain/test_each_rule.py::test_a_rule_by_itself_is_held",
        ),
    ),
    *group(
        "sequencer/solver/chain/hopeless.py",
        (
            "periods, a negative price is earned by choice",
            "np.where(self.chain.sure, least, np.minimum(least, 0))",
            "np.where(self.chain.sure, least, 0)",
            "chain/test_priced.py",
        ),
    ),
    *group(
        "sequencer/solver/chain/aims_by_periods.py",
        (
            "periods, weights of aims",
            "sum(max(days, each) for",
            "sum(days for",
            "chain/test_by_periods.py::test_chains_equal_an_integer_programme",
        ),
    ),
    *group(
        "sequencer/solver/prices/asking.py",
        (
            "prices, what rows allow",
            "sum(leasts.values()) - allowed",
            "sum(leasts.values())",
            "test_prices.py::test_no_bound_is_above_exhaustive_search",
        ),
        (
            "prices, what belongs to nobody",
            "min(of_nobody.get(variable, 0) * end for end in ends)",
            "max(of_nobody.get(variable, 0) * end for end in ends)",
            "test_prices.py::test_no_bound_is_above_exhaustive_search",
        ),
    ),
    *group(
        "sequencer/solver/prices/best_prices.py",
        (
            "prices, what ties parts",
            "if of[other] is not lot:",
            "if False:",
            "test_prices.py::test_no_bound_is_above_exhaustive_search",
        ),
        (
            "prices, what lots keep",
            "least -= min(0, gained)",
            "least -= 0",
            "test_prices.py::test_parts_that_share_no_price_keep_their_own_best",
        ),
    ),
    *group(
        "sequencer/solver/prices/shared_rules.py",
        (
            "prices, what is one part's own",
            "return len({self.part_of[each] for each in classes if each in self.part_of}) > 1",
            "return len(set(classes)) > 1",
            "test_prices.py::test_nor_with_one",
        ),
    ),
    *group(
        "sequencer/solver/prices/pricing.py",
        (
            "prices, what only cheaper sequences prove",
            "least = asked.below if status",
            "least = asked.below + 1 if status",
            "test_prices.py::test_no_bound_is_above_exhaustive_search",
        ),
    ),
    *group(
        "sequencer/solver/prices/leeway.py",
        (
            "leeway, how much is left",
            "left = SCALE * most - self.proven",
            "left = max(0, SCALE * (most - 1) - self.proven)",
            "test_prices.py::test_near_the_bound_a_class_pays_no_more_than_is_left",
        ),
    ),
    *group(
        "sequencer/solver/prices/worth.py",
        (
            "leeway, of which limits are still told",
            "if key in told:",
            "if False:",
            "test_worth.py::test_a_limit_is_told_of_on_the_first_aim_on_which_it_has_a_price",
        ),
    ),
    *group(
        "sequencer/solver/prices/master.py",
        (
            "prices, sign of a price",
            "np.maximum(0.0, -np.array(solution.row_dual)[self._parts :])",
            "np.maximum(0.0, np.array(solution.row_dual)[self._parts :])",
            "test_prices.py::test_prices_prove_what_classes_alone_do_not",
        ),
    ),
    *group(
        "sequencer/solver/prices/one_aim.py",
        (
            "prices, a choice that is not settled",
            "return replace(whole, value=math.inf)",
            "return whole",
            "test_prices.py::test_a_choice_that_is_not_settled_in_time_counts_for_nothing",
        ),
        (
            "prices, a choice that would be the same again",
            "or len(self.rows) == known:",
            "or False:",
            "test_prices.py::test_a_choice_is_not_made_again_where_it_would_be_the_same",
        ),
    ),
    *group(
        "sequencer/solver/prices/beside.py",
        (
            "prices, what belongs to nobody at its least",
            "[({}, {variable: -1}, -least)]",
            "[({}, {variable: -1}, 0)]",
            "test_prices.py::test_what_others_leave_of_rows_is_what_can_still_be",
        ),
    ),
    *group(
        "sequencer/solver/prices/columns.py",
        (
            "prices, who stands under an aim that is held",
            "return self.parts_in(row) | {part for part, terms in enumerate(paying) if terms}",
            "return self.parts_in(row)",
            "test_prices.py::test_who_pays_an_aim_that_is_held_chooses_anew",
        ),
    ),
    *group(
        "sequencer/solver/prices/covers.py",
        (
            "prices, how many of a cover",
            "best = broken, extended, size - 1",
            "best = broken, extended, size - 2",
            "test_prices.py::test_cuts_prove_what_fractions_of_lessons_hide",
        ),
        (
            "prices, who joins a cover",
            "item in cover or item[1] >= max(takes)",
            "item in cover or item[1] >= min(takes)",
            "test_prices.py::test_no_choice_of_lessons_breaks_a_cut",
        ),
    ),
    *group(
        "sequencer/solver/prices/rows.py",
        (
            "prices, least of a sum",
            "much for variable, much in open_terms.items()}, fixed - least))",
            "much for variable, much in open_terms.items()}, fixed - least - 1))",
            "test_prices.py::test_no_bound_is_above_exhaustive_search",
        ),
    ),
    *group(
        "sequencer/solver/chain/placed_more.py",
        (
            "periods, one lesson more, and what waits for it",
            "if lesson not in waited_for",
            "if True",
            "chain/test_by_periods.py::test_what_tells_apart[26-8-14]",
        ),
        (
            "periods, one lesson more, and what counts it",
            "and not any(count.weight(lesson) for count in layout.counted)",
            "and True",
            "chain/test_by_periods.py::test_what_tells_apart[385-6-11]",
        ),
        (
            "periods, what one lesson more has cost",
            "more = self._hopes.of_group(lesson, layer, which, prices) - spare",
            "more = 3 * self._hopes.of_group(lesson, layer, which, prices) + 1 - spare",
            "chain/test_by_periods.py::test_what_tells_apart[26-8-14]",
        ),
        (
            "periods, a spare period instead of one lesson more",
            "which, prices) - spare",
            "which, prices) + spare",
            "chain/test_by_periods.py::test_what_tells_apart[102-8-14]",
        ),
    ),
)
