"""Answers, verdicts and slots as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from sequencer.instance.facts import ClassFacts, Instance
from sequencer.instance.naming import named
from sequencer.instance.plain_names import naming_of
from sequencer.plan.notes import cautions
from sequencer.plan.notices import IN_LESSON, IN_STARTER, Drift, drifts
from sequencer.plan.outcomes import Outcome, practices, retrievals
from sequencer.plan.sequence import Laid
from sequencer.questions.alternatives import Alternative, Further
from sequencer.questions.judge import Verdict
from sequencer.questions.more_worth import MoreWorth
from sequencer.questions.solve import AimResult, Answer
from sequencer.render.days_told import days_off
from sequencer.render.document import columns, day_cell
from sequencer.render.shown import AS_PLANNED, Line, Shown, how_taught, lines_of, titled
from sequencer.scenario.changes.named_parts import lesson_text
from sequencer.words import FEASIBLE, INFEASIBLE, OPTIMAL, PART_TAUGHT, REMAINS, UNKNOWN, count_text

_STATUS = {
    OPTIMAL: "Proven best: no other sequence does better on these aims, in this order.",
    FEASIBLE: "Best found in the time allowed; the bound says how much better it could still be.",
    INFEASIBLE: "No sequence exists: the statements of the scenario cannot all hold.",
    UNKNOWN: "Time ran out before a sequence was found; none is known to be impossible. Allow more with --seconds.",
}

_STOPPED = {
    "hand": "The search{} was stopped by hand: another run may give another answer.",
    "time": "The search{} was stopped when the time was up: another run may give another answer.",
    "effort": "The search{} ended at its limit of effort for the time allowed; the same run gives the same answer again.",
}

_MOST_WISHES = 20
"""Wishes not granted that are listed as text."""

_MOST_WORTH, _MOST_WINDOWS = 8, 3
"""Things of which more would be worth something that are listed, and days or weeks of each."""


def answer_text(answer: Answer, ids: bool = False) -> str:
    """An answer as text: a table per class, the aims with their bounds, the referee's verdict, notes; with ids where wanted."""
    lines = titled(answer)
    laid = Laid(answer.instance, answer.sequence) if answer.sequence is not None else None
    if laid is not None:
        told = list(lines_of(laid, Shown()))
        for facts in answer.instance.classes:
            lines += [*_class_table(laid, facts, [line for line in told if line.owner is facts]), ""]
        lines += _left_for_later(laid)
    lines.append(AS_PLANNED if answer.planned else _STATUS[answer.status])
    if laid is not None:
        lines += ["", *aims_table(answer.aims), *_more_worth(answer.more_worth)]
    if answer.verdict is not None:
        lines += ["", *verdict_text(answer.instance, answer.verdict, ids=True).splitlines()]
    lines += [f"Note: {note}" for note in answer.notes]
    if laid is not None:
        lines += [f"Caution: {caution}" for caution in cautions(laid)]
    if answer.further is not None:
        lines += ["", *_alternatives(answer, answer.further), ""]
    if answer.run.stopped_by is not None:
        # Where every aim is proven only what came after was cut short.
        lines.append(_STOPPED[answer.run.stopped_by].format(" for alternatives" if answer.status == OPTIMAL else ""))
    if not answer.planned:
        lines.append(f"{answer.run.solver}, seed {answer.run.seed}, {answer.run.seconds:.2f} s")
    return naming_of(answer.instance, ids)("\n".join(lines) + "\n")


def verdict_text(instance: Instance, verdict: Verdict, ids: bool = False) -> str:
    """A verdict as text: every broken rule, or that none is; then the wishes not granted; lessons with ids where wanted."""
    open_ = [breach for breach in verdict.breaches if not breach.past]
    past = [breach for breach in verdict.breaches if breach.past]
    holds = "every rule holds" if not past else "every rule holds that still can"
    lines = [f"Referee: {count_text(len(open_), 'breach')}." if open_ else f"Referee: {holds}."]
    lines += [f"  rule {breach.rule} ({breach.name})  {breach.message}" for breach in open_]
    if past:
        lines.append(f"What was delivered, and today's date, leave {count_text(len(past), 'breach')} that nothing can mend:")
        lines += [f"  rule {breach.rule} ({breach.name})  {breach.message}" for breach in past]
    lines += [f"Wish not granted: {wish.message} (costs {wish.cost})" for wish in verdict.wishes[:_MOST_WISHES]]
    more = verdict.wishes[_MOST_WISHES:]
    if more:
        cost = sum(wish.cost for wish in more)
        lines.append(f"And {count_text(len(more), 'more wish')} not granted (cost {cost}): --format json lists them.")
    return naming_of(instance, ids)("\n".join(lines) + "\n")


def slots_text(instance: Instance) -> str:
    """Every class's periods in order: number, date, week, label, period, how taught, offers."""
    lines: list[str] = []
    for facts in instance.classes:
        lines.append(f"{facts.name}: {count_text(len(facts.slots), 'period')}")
        table = [("no.", "date", "week", "period", "how taught", "offers")]
        for slot in facts.slots:
            week = f"{slot.week.number} {slot.week.label}"
            table.append((str(slot.number), day_cell(slot.date), week, str(slot.period), slot.taught, ", ".join(slot.offers)))
        lines += [*columns(table, keep_empty=True), ""]
    return "\n".join(lines).rstrip() + "\n"


def _class_table(laid: Laid, facts: ClassFacts, lines: list[Line]) -> list[str]:
    parts = _part_taught(laid, facts)
    shown = {
        line.slots[0].number: _lesson_cells(line, "part-taught" if (line.lesson.unit, line.lesson.id) in parts else "taught")
        for line in lines
    }
    held = laid.holders[facts.index]
    today = laid.instance.scenario.today
    remote = any(slot.remote for slot in facts.slots)
    table = [("week", "date", "period", *(("how taught",) if remote else ()), "kind", "load", "lesson")]
    last_week, last_date = None, None
    off = days_off(laid.instance.scenario, facts.id)
    blank = ("",) * (len(table[0]) - 3)
    for slot in (each for each in facts.slots if each.week.own):
        while off and off[0][0] <= slot.date:
            table.append(_off_cells(off.pop(0), blank))
            last_date = None
        week = f"{slot.week.number} {slot.week.label}" if slot.week.number != last_week else ""
        day = day_cell(slot.date) if slot.date != last_date else ""
        last_week, last_date = slot.week.number, slot.date
        if slot.number in shown:
            kind, load, lesson, taught = shown[slot.number]
        elif slot.number in held:
            kind, load, lesson, taught = "", "", "(continued)", ""
        else:
            empty = "past" if today is not None and slot.date < today else "spare"
            kind, load, lesson, taught = "", "", empty, ""
        table.append((week, day, str(slot.period), *((taught,) if remote else ()), kind, load, lesson))
    table += [_off_cells(spell, blank) for spell in off]
    placed = sum(laid.first_slot(lesson.index).week.own for lesson in laid.in_order(facts.index))
    periods = sum(slot.week.own for slot in facts.slots)
    head = f"{facts.name}: {count_text(placed, 'lesson')} in {count_text(periods, 'period')}"
    return [head, *columns(table, keep_empty=True)]


def _off_cells(spell: tuple[date, date, str], empty: tuple[str, ...]) -> tuple[str, ...]:
    """The row of a holiday or a closure."""
    first, last, said = spell
    return ("", day_cell(first), *empty, f"{said} (to {day_cell(last)})" if last > first else said)


def _part_taught(laid: Laid, facts: ClassFacts) -> set[tuple[str, str]]:
    """The lessons, as (unit, id), of which another of the class is the rest."""
    by_name = {(lesson.unit, lesson.id): lesson for lesson in laid.lessons_of(facts)}
    rests = {name: by_name.get((name[0], f"{name[1]}-{REMAINS[PART_TAUGHT]}")) for name in by_name}
    return {name for name, rest in rests.items() if rest is not None and rest.role == by_name[name].role}


def _lesson_cells(line: Line, told: str) -> tuple[str, ...]:
    lesson, kind = line.lesson.title, line.lesson.kind
    for how, begins in ((IN_LESSON, ""), (IN_STARTER, "starter: ")):
        again = [(other, (line.date - day).days) for met, other, day in line.met if met.how == how]
        if again:
            after = "; ".join(f"{other.title} after {count_text(days, 'day')}" for other, days in again)
            lesson += f" [{begins}{after}]"
    if line.homework is not None:
        due = day_cell(line.homework.due) if line.homework.due is not None else "in the next plan"
        lesson += f" [{line.homework.title}, due {due}]"
    if line.lesson.delivered is not None:
        lesson += f" ({told})"
    return kind.upper() if kind == "assessment" else kind, str(line.lesson.load), lesson, how_taught(line.taught)


def _left_for_later(laid: Laid) -> list[str]:
    lines = []
    for outcome in practices(laid) + retrievals(laid):
        lesson = laid.instance.lessons[outcome.lesson]
        owner = laid.instance.class_of(lesson).name
        if outcome.state == "carried over":
            lines.append(f"Carried over to the next plan: {owner}, {_what(outcome)} of {named([lesson])}")
        elif outcome.state == "late":
            lines.append(f"Late: {owner}, {_what(outcome)} of {named([lesson])}; no period lies in its window")
    for lesson in laid.lessons():
        if lesson.optional and not laid.placed(lesson.index):
            lines.append(f"Left out: {laid.instance.class_of(lesson).name}, {named([lesson])}")
    for class_index, name in laid.instance.skipped:
        lines.append(f"Skipped: {laid.instance.classes[class_index].name}, {lesson_text(laid.instance.scenario, name)}")
    units = {unit.id: unit.title or unit.id for unit in laid.instance.scenario.units}
    drifted = [drift for drift in drifts(laid) if drift.lessons or drift.days]
    lines += [f"Parallel classes, {units[drift.unit]}: {_drifted(laid, drift)}" for drift in drifted]
    return [*lines, ""] if lines else []


def _drifted(laid: Laid, drift: Drift) -> str:
    """How far a class is behind which other, and which lesson it had so much later than which."""
    names = [facts.name for facts in laid.instance.classes]
    told = []
    if drift.behind is not None:
        told.append(f"is {count_text(drift.lessons, 'lesson')} behind {names[drift.behind]}")
    if drift.late is not None and drift.first is not None:
        late = laid.instance.lessons[drift.late]
        told.append(f"had {named([late])} {count_text(drift.days, 'day')} later than {names[drift.first]}")
    return f"{names[drift.class_index]} {' and '.join(told)}"


def _what(outcome: Outcome) -> str:
    return outcome.what if outcome.number == 1 else f"{outcome.what} {outcome.number}"


def aims_table(aims: Iterable[AimResult]) -> list[str]:
    """Each aim's value and bound, and whether it is proven best."""
    table = [("aim, most important first", "value", "bound", "")]
    for aim in aims:
        said = "proven best" if aim.proven else "best found" if aim.bound is not None else "as planned"
        if aim.conditional:
            said += ", given the values above"
        table.append((aim.aim, str(aim.value), "" if aim.bound is None else str(aim.bound), said))
    return columns(table, (1, 2), keep_empty=True)


def _more_worth(worth: tuple[MoreWorth, ...]) -> list[str]:
    """What more of something shared would be worth, for each aim in a line or a few."""
    lines = ["What more of it would be worth at most, all else as it is and the aims before as they are:"] if worth else []
    for each in worth[:_MOST_WORTH]:
        windows = "; ".join(f"{where} alone: {at_most}" for where, at_most in each.windows[:_MOST_WINDOWS])
        only = f" {each.windows[0][0]}" if len(each.windows) == 1 else ""
        told = f"  {each.aim}: {each.text}{only}: at most {each.at_most} less"
        told += f" ({windows}{'; …' if len(each.windows) > _MOST_WINDOWS else ''})" if len(each.windows) > 1 else ""
        alone = f", as long as no class by itself, nor classes in step, takes more than {each.most}"
        lines.append(told + (alone if each.one_alone else ""))
    if len(worth) > _MOST_WORTH:
        lines.append(f"And {len(worth) - _MOST_WORTH} more like it: --format json lists them.")
    return lines


def _alternatives(answer: Answer, further: Further) -> list[str]:
    """What is different in each alternative, lesson by lesson, and whether there are more."""
    lost = ", ".join(f"{aim} {number} more" for aim, number in further.loss.items() if number)
    as_good = f"within the loss allowed ({lost})" if lost else "as good"
    lines = []
    for number, alternative in enumerate(answer.alternatives, 1):
        count, lessons = len(alternative.moved), len(answer.sequence.placements) if answer.sequence is not None else 0
        said = f"Alternative {number}: {count} of {count_text(lessons, 'lesson')} {'lies' if count == 1 else 'lie'} elsewhere"
        lines.append(said + (f", at least {alternative.difference} as against each sequence above" if number > 1 else ""))
        if alternative.proven:
            lines.append(f"  Proven: no sequence {as_good} differs in more.")
        else:
            lines.append(f"  Best found: no sequence {as_good} differs in more than {alternative.bound}.")
        lines += columns(_moved_table(answer.instance, alternative), keep_empty=True)
        values = [(aim.aim, alternative.verdict.aims[aim.aim], aim.value) for aim in answer.aims]
        differing = [f"{aim} {value} instead of {best}" for aim, value, best in values if value != best]
        if differing:
            lines.append(f"  Aims that differ: {', '.join(differing)}.")
        lines.append("")
    if answer.status == FEASIBLE and answer.alternatives:
        lines.append("The best found above is not proven best; the alternatives are measured by it.")
    if further.none_left:
        lines.append(f"Proven: no {'further' if answer.alternatives else 'other'} dates and periods are {as_good}.")
    elif len(answer.alternatives) < further.asked:
        lines.append(f"Of {further.asked} alternatives asked for no more were found in the time allowed; there may be more.")
    return lines if lines[-1] else lines[:-1]


def _moved_table(instance: Instance, alternative: Alternative) -> list[tuple[str, ...]]:
    several = len(instance.classes) > 1
    table = [(*(("class",) if several else ()), "lesson", "from", "to")]
    for move in alternative.moved:
        lesson = instance.lessons[move.lesson]
        owner = (instance.class_of(lesson).name,) if several else ()
        places = (
            f"{day_cell(slot.date)} period {slot.period}" if slot is not None else "left out" for slot in (move.old, move.new)
        )
        table.append((*owner, lesson.title, *places))
    return table
