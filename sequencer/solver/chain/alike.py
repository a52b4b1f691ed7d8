"""Lessons that stand for one another: of those that could be placed one goes first, and no best sequence is lost."""

from __future__ import annotations

from sequencer.rules.counting import STARTS_LIVE
from sequencer.solver.chain.chained import Chained


def loose_kinds(chain: Chained) -> dict[int, int]:
    """Of each loose lesson its kind: nothing waits for it, no window binds it, and those of a kind differ in nothing that counts.

    Once they may be placed it does not matter which of a kind are, only how many.
    """
    bound = _bound(chain) | {met.lesson for met in chain.met} | chain.kept_apart
    young = {by for served in chain.served if served.old_only for by in served.by}
    kinds: dict[object, int] = {}
    found = {}
    for lesson in range(chain.size):
        if lesson not in bound and lesson not in young and chain.sure[lesson] and chain.lessons[lesson].delivered is None:
            found[lesson] = kinds.setdefault(_likeness(chain, lesson), len(kinds))
    return found


def older_first(chain: Chained) -> list[list[int]]:
    """Lessons at the end of windows of which the one whose windows began sooner may go first, whatever comes after.

    Two that change places so keep their windows. Of retrieval lessons all that they meet again must be as old or older: days off
    the preferred distance are convex, so they cost no more.
    """
    ends = chain.windows_into
    bound = _bound(chain, but=frozenset(ends))
    met = {each.lesson: each for each in chain.met}
    kinds: dict[object, list[int]] = {}
    for lesson in sorted(ends.keys() - bound - chain.kept_apart):
        own = met.get(lesson)
        members = own.members if own is not None else ()
        windows = {(numbers.least, numbers.most) for member in members for numbers in chain.lessons[member].retrievals}
        others = {window.before for window in ends[lesson]}
        if not chain.sure[lesson] or len(windows) > 1 or (members and others - set(members)) or not others <= chain.first[lesson]:
            continue
        preferred = own.preferred if own is not None else ()
        if len(set(preferred)) <= 1:
            kinds.setdefault((_likeness(chain, lesson), len(members), preferred, *windows), []).append(lesson)
    return [alike for alike in kinds.values() if len(alike) > 1]


def in_turn(chain: Chained) -> list[list[int]]:
    """Lessons that differ in nothing that counts, nor does what waits for each alone: they may go in the order listed."""
    waits: list[list[int]] = [[] for _ in chain.lessons]
    for lesson, first in enumerate(chain.first):
        for other in first:
            waits[other].append(lesson)
    windows = chain.windows_into
    others = {member for met in chain.met for member in (met.lesson, *met.members)} | {served.lesson for served in chain.served}
    others |= {by for served in chain.served for by in served.by} | chain.kept_apart | chain.left_free | _by_choice(chain)
    kinds: dict[object, list[int]] = {}
    for lesson, after in enumerate(waits):
        alone = all(chain.first[each] == {lesson} and not waits[each] for each in after)
        if not after or not alone or lesson in windows or {lesson, *after} & others or not all(chain.sure[[lesson, *after]]):
            continue
        if any(window.before != lesson for each in after for window in windows.get(each, ())):
            continue
        behind = sorted(
            (_likeness(chain, each), [(window.low.tobytes(), window.high.tobytes()) for window in windows.get(each, ())])
            for each in after
        )
        kinds.setdefault((_likeness(chain, lesson), repr(behind)), []).append(lesson)
    return [alike for alike in kinds.values() if len(alike) > 1]


def hosts_alike(chain: Chained) -> list[int]:
    """Lessons made so that others are met in them in turn, where nothing tells them apart: only how many are placed matters, and
    the fewer the better.
    """
    hosts = sorted({host for each in chain.met_in_turn for host in each.room if chain.made_to_meet(host)})
    waited_for = {lesson for first in chain.first for lesson in first} - set(hosts)
    bound = waited_for | {window.before for window in chain.windows} | chain.windows_into.keys() | _by_choice(chain, False)
    bound |= {by for served in chain.served for by in (served.lesson, *served.by)} | {met.lesson for met in chain.met}
    kinds = {
        (repr(_likeness(chain, host)), int(chain.last_start[host]), *(each.room.get(host) for each in chain.met_in_turn))
        for host in hosts
    }
    return hosts if len(kinds) == 1 and not bound & set(hosts) else []


def _bound(chain: Chained, but: frozenset[int] = frozenset()) -> set[int]:
    """Lessons for which others wait, or that a window, a practice or a retrieval binds; some lessons' own windows apart."""
    found = {other for first in chain.first for other in first} | {window.before for window in chain.windows}
    found |= chain.windows_into.keys() - but
    found |= {member for met in chain.met for member in met.members} | _by_choice(chain)
    return found | {served.lesson for served in chain.served} | chain.left_free


def _by_choice(chain: Chained, in_turn: bool = True) -> set[int]:
    """Lessons that are met by choice, in turn, too, unless that is not asked, and that meet them."""
    turns = chain.met_in_turn if in_turn else ()
    return {lesson for each in chain.met_by_choice for lesson in (each.lesson, *each.by)} | {
        lesson for each in turns for lesson in (*each.lessons, *each.room)
    }


def _likeness(chain: Chained, lesson: int) -> object:
    """Everything about a lesson that counts, apart from what it comes after."""
    facts = chain.lessons[lesson]
    counted = tuple(number for number, count in enumerate(chain.counts) if facts.index in count.weights)
    weights = tuple(chain.counts[number].weights[facts.index] for number in counted)
    prices = (facts.kind == "teach" and facts.to_finish, facts.made, facts.dense)
    return (
        facts.kind,
        facts.load,
        facts.length,
        bool(chain.capped[lesson]),
        chain.alone[lesson].tobytes(),
        counted,
        weights,
        facts.live if any(chain.counts[number].how == STARTS_LIVE for number in counted) else None,
        prices,
    )
