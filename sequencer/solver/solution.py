"""What a solution of the model says: the sequence, and the referee's counts of it."""

from __future__ import annotations

from collections.abc import Collection

from ortools.sat.python import cp_model

from sequencer.plan.sequence import Placement, Revisit, Sequence
from sequencer.solver.parts import Parts
from sequencer.words import LIVE, OPEN, SET_WORK


def sequence_found(parts: Parts, solver: cp_model.CpSolver) -> Sequence:
    """The sequence of the solution that the solver holds."""
    placements = []
    for index, variables in parts.variables.lessons.items():
        for start in variables.starts if not variables.lesson.earlier else ():
            if solver.boolean_value(variables.at(start)):
                placements.append(Placement(index, start, _taught(parts, solver, index, start)))
                break
    return Sequence(tuple(placements), revisits=_chosen_revisits(parts, solver, placements))


def _taught(parts: Parts, solver: cp_model.CpSolver, index: int, start: int) -> str:
    lesson = parts.variables.lessons[index].lesson
    together = parts.variables.taught_from(lesson, start)
    if together != OPEN:
        return together
    live = parts.variables.classes[lesson.class_index].live_starts[start]
    return LIVE if solver.boolean_value(live) else SET_WORK


def _chosen_revisits(parts: Parts, solver: cp_model.CpSolver, placements: list[Placement]) -> tuple[Revisit, ...]:
    """What is met again by choice in which lesson: those of a date are shared out to the lessons on it that have room.

    Lessons that patterns made to meet something again come first, then the others in order of time.
    """
    instance = parts.instance
    room: dict[tuple[int, int], list[int]] = {}
    for placement in sorted(
        placements, key=lambda placement: (instance.lessons[placement.lesson].made != "retrieval", placement.slot)
    ):
        lesson = instance.lessons[placement.lesson]
        day = parts.days[lesson.class_index].day[placement.slot]
        room.setdefault((lesson.class_index, day), []).append(placement.lesson)
    met: dict[tuple[int, int], list[int]] = {}
    for (index, _, date), literal in parts.chosen.items():
        if solver.boolean_value(literal):
            class_index = instance.lessons[index].class_index
            met.setdefault((class_index, parts.days[class_index].day[date]), []).append(index)
    found = []
    for key, lessons in met.items():
        waiting = [*lessons]
        share = dict.fromkeys(room[key], 0)
        for by in (by for by in room[key] if instance.lessons[by].made == "retrieval"):
            found.append(Revisit(waiting.pop(0), by))
            share[by] += 1
        for by in room[key]:
            while waiting and share[by] < instance.lessons[by].chooses:
                found.append(Revisit(waiting.pop(0), by))
                share[by] += 1
    return tuple(sorted(found, key=lambda revisit: (revisit.lesson, revisit.by)))


def hint(model: cp_model.CpModel, starts: list[tuple[cp_model.IntVar, bool]]) -> None:
    """Hand to the next call of the solver where each lesson starts; the rest it works out."""
    model.clear_hints()  # type: ignore[no-untyped-call]
    # Lessons that can start in one slot share the constant: a variable is hinted once.
    hints = {variable.index: (variable, value) for variable, value in starts}
    for variable, value in hints.values():
        model.add_hint(variable, value)


def fix(model: cp_model.CpModel, starts: list[tuple[cp_model.IntVar, bool]]) -> None:
    """In a copy of the model, leave lessons where they start."""
    held = [model.get_bool_var_from_proto_index(variable.index) for variable, value in starts if value and variable.index >= 0]
    model.add_bool_and(held)


def starts_in(parts: Parts, sequence: Sequence, free: frozenset[int]) -> list[tuple[cp_model.IntVar, bool]]:
    """The start booleans of all lessons but the free ones, and what they are in a sequence."""
    at = {placement.lesson: placement.slot for placement in sequence.placements}
    found = []
    for index, variables in parts.variables.lessons.items():
        if index in free or variables.lesson.earlier:
            continue
        for start in variables.starts:
            literal = variables.at(start)
            if isinstance(literal, cp_model.IntVar):
                found.append((literal, at.get(index) == start))
    return found


def hint_solution(model: cp_model.CpModel, solver: cp_model.CpSolver) -> None:
    """Hand what the solver found to the next call as a hint."""
    hint_numbers(model, solver.response_proto.solution)


def hint_numbers(model: cp_model.CpModel, found: Collection[int]) -> None:
    """Hand a number for each variable to the next call as a hint."""
    model.clear_hints()  # type: ignore[no-untyped-call]
    # All at once: one call for each number costs too much.
    hints = model.proto.solution_hint
    hints.vars.extend(range(len(found)))
    hints.values.extend(found)
