"""What is added to random scenarios, each with its chance."""

from __future__ import annotations

from tests.crosscheck import added_rules, counted, joined, proposals, wishing
from tests.crosscheck.proposals import Proposal

SMALL: tuple[tuple[Proposal, float], ...] = (
    (counted.fixed_periods, 0.4),
    (counted.adjacent, 0.6),
    *[(proposals.requires, 0.5)] * 3,
    (proposals.in_order, 0.3),
    (proposals.after, 0.5),
    *[(proposals.run_cap, 0.5)] * 2,
    (proposals.run_break, 0.3),
    (counted.caps, 0.4),
    (counted.threads, 0.4),
    *[(proposals.practice_numbers, 0.4)] * 2,
    *[(proposals.retrieval_numbers, 0.5)] * 2,
    *[(proposals.marking_numbers, 0.6)] * 2,
    *[(proposals.live_wish, 0.5)] * 3,
    *[(counted.quotas, 0.6)] * 2,
    *[(proposals.dates, 0.4)] * 2,
    *[(counted.needs, 0.3)] * 2,
    (counted.share_everywhere, 0.4),
    (counted.restricted, 0.35),
    (counted.week_shape, 0.45),
    (joined.minutes, 0.1),
    *[(joined.teacher_week, 0.3)] * 2,
    *[(joined.in_step, 0.6)] * 3,
    *[(joined.tied, 0.25)] * 2,
    (wishing.wish, 0.5),
    *[(wishing.wished_rule, 0.4)] * 2,
    (wishing.wished_run, 0.4),
    (wishing.wished_marking, 0.4),
    *[(wishing.wish_by_level, 0.3)] * 2,
    (counted.strict, 0.3),
    *[(proposals.rule_off, 0.4)] * 2,
    *((proposal, 0.4) for proposal in added_rules.proposals()),
)
MEDIUM: tuple[tuple[Proposal, float], ...] = (
    (counted.fixed_periods, 0.3),
    *[(proposals.requires, 0.7)] * 5,
    (proposals.in_order, 0.3),
    *[(proposals.retrieval_numbers, 0.7)] * 4,
    *[(proposals.practice_numbers, 0.6)] * 3,
    *[(proposals.marking_numbers, 0.5)] * 2,
    *[(proposals.run_cap, 0.5)] * 2,
    *[(proposals.dates, 0.6)] * 2,
    *[(proposals.live_wish, 0.6)] * 3,
    *[(counted.quotas, 0.5)] * 2,
    (counted.restricted, 0.6),
    (counted.restricted, 0.4),
    (counted.week_shape, 0.7),
    (joined.teacher_week, 0.4),
    (joined.in_step, 0.5),
    (joined.tied, 0.4),
    *[(wishing.wished_rule, 0.4)] * 2,
    (wishing.wished_run, 0.3),
    (wishing.wished_marking, 0.3),
    (wishing.wish, 0.3),
    (wishing.wish_by_level, 0.3),
    *((proposal, 0.4) for proposal in added_rules.proposals()),
)

NAMED = {proposal.__name__: proposal for proposal, _ in SMALL}
