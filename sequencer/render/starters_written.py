"""What each lesson opens with, and what is not met again as it should be: text, rows of a table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from sequencer.instance.facts import Instance
from sequencer.lists.starters.assign import Starters
from sequencer.lists.starters.starter_referee import served
from sequencer.lists.starters.starters_told import OpensWith, forgotten, not_met, opens_with
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.layout import columns, day_cell, sequence_line
from sequencer.render.rows_of_table import Cell
from sequencer.render.text import answer_text
from sequencer.words import count_text


def starters_text(answer: Answer, starters: Sequence[Starters]) -> str:
    """For each class a table of openings, the aims with their bounds, the worst-served topic, and what is not met."""
    if answer.sequence is None:
        return answer_text(answer)
    laid = Laid(answer.instance, answer.sequence)
    lines = [answer.instance.scenario.title, ""] if answer.instance.scenario.title else []
    for each in starters:
        lines += [*_class_text(laid, each), ""]
    return "\n".join([*lines, sequence_line(answer)]) + "\n"


def _class_text(laid: Laid, starters: Starters) -> list[str]:
    instance, asked = laid.instance, starters.question
    name = instance.classes[asked.class_index].name
    if not asked.openings:
        return [f"{name}: no lesson is still to open."]
    lines = [f"{name}: what each lesson opens with"]
    table = [("date", "period", "lesson", "opens with")]
    for number, opening in enumerate(asked.openings):
        topics = opens_with(starters, number, instance.scenario.term.first)
        lesson = instance.lessons[opening.lesson]
        said = "; ".join(said_of(instance, topic, (opening.date - topic.taught).days) for topic in topics)
        table.append((day_cell(opening.date), str(laid.first_slot(opening.lesson).period), lesson.title, said or "-"))
    lines += [*columns(table), ""]
    aims: list[tuple[str, ...]] = [("aim, most important first", "value", "bound", "")]
    for aim in starters.aims:
        worth = "proven best" if aim.proven else "best found"
        aims.append((aim.aim, str(aim.value), str(aim.bound), worth + (", given the values above" if aim.conditional else "")))
    lines += columns(aims, right=(1, 2))
    return [*lines, *lacking(instance, starters)]


def said_of(instance: Instance, topic: OpensWith, days: int) -> str:
    """A topic, how long ago it was taught, and why it stands there where that is worth a word."""
    notes = [topic.when, count_text(days, "day")]
    notes += ["required today"] if topic.required else []
    notes += ["planned with the lesson"] if topic.kept else []
    return f"{instance.lessons[topic.lesson].title} ({', '.join(notes)})"


def lacking(instance: Instance, starters: Starters) -> list[str]:
    """Sentences on what is served worst, what is not met at all, and what is not met when due."""
    asked = starters.question
    titles = [instance.lessons[topic.lesson].title for topic in asked.topics]
    values = [served(asked, starters.assigned, topic) for topic in range(len(asked.topics))]
    lines = []
    if any(values):
        most = max(values)
        worst = ", ".join(title for title, value in zip(titles, values, strict=True) if value == most)
        lines.append(f"Worst served: {worst} ({most}% off on average over the days due; 100% is never met again).")
    lines += [f"Not met again at all: {titles[topic]}" for topic in forgotten(starters)]
    for each in not_met(starters):
        nearest = f"nearest {day_cell(each.met)}" if each.met is not None else "not met again near it"
        distance = count_text(each.due.distance, "day")
        lines.append(f"Not met when due: {titles[each.topic]}, after {distance}, {day_cell(each.due.date)}: {nearest}")
    return lines or ["Every topic is met on every day that it is due."]


COLUMNS = (
    "row", "class", "date", "weekday", "period", "title", "unit", "lesson", "topic", "topic unit", "topic lesson", "taught",
    "days", "when", "required", "planned", "nearest", "days off",
)  # fmt: skip
"""Of a table that holds every topic of every opening and, beneath, what is not met when due: ``row`` says which."""


def starters_rows(laid: Laid, starters: Iterable[Starters]) -> list[dict[str, Cell]]:
    """A row for each topic that a lesson opens with, and for each lesson without one; then one for each day that is missed."""
    return [row for each in starters for row in (*_opening_rows(laid, each), *_missed_rows(laid.instance, each))]


def _opening_rows(laid: Laid, starters: Starters) -> Iterator[dict[str, Cell]]:
    instance, asked = laid.instance, starters.question
    for number, opening in enumerate(asked.openings):
        lesson = instance.lessons[opening.lesson]
        row: dict[str, Cell] = {
            "row": "opening", "class": instance.classes[asked.class_index].id, "date": opening.date,
            "weekday": f"{opening.date:%a}", "period": laid.first_slot(opening.lesson).period, "title": lesson.title,
            "unit": lesson.unit, "lesson": lesson.id,
        }  # fmt: skip
        topics = opens_with(starters, number, instance.scenario.term.first)
        for topic in topics:
            yes: dict[str, Cell] = {"required": "yes" if topic.required else None, "planned": "yes" if topic.kept else None}
            days = (opening.date - topic.taught).days
            yield {**row, **_topic(instance, topic.lesson), "taught": topic.taught, "days": days, "when": topic.when, **yes}
        if not topics:
            yield row


def _missed_rows(instance: Instance, starters: Starters) -> Iterator[dict[str, Cell]]:
    for each in not_met(starters):
        topic = starters.question.topics[each.topic]
        yield {
            "row": "not met when due", "class": instance.classes[starters.question.class_index].id, "date": each.due.date,
            "weekday": f"{each.due.date:%a}", **_topic(instance, topic.lesson), "taught": topic.taught,
            "days": each.due.distance, "nearest": each.met, "days off": each.off,
        }  # fmt: skip


def _topic(instance: Instance, lesson: int) -> dict[str, Cell]:
    facts = instance.lessons[lesson]
    return {"topic": facts.title, "topic unit": facts.unit, "topic lesson": facts.id}
