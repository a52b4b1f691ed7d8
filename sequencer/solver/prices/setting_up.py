"""What is settled once for all aims: the rows, whose each variable is, the parts that are priced."""

from __future__ import annotations

from sequencer.plan.sequence import Sequence
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import ClassesModel, Prepared
from sequencer.solver.prices.columns import Shared
from sequencer.solver.prices.elsewhere import AskMany
from sequencer.solver.prices.kept_steps import KeptSteps
from sequencer.solver.prices.pricing import PricedPart
from sequencer.solver.prices.rows import Ends, read_rows
from sequencer.solver.prices.shared_aims import share_out
from sequencer.solver.prices.shared_names import Said, said
from sequencer.solver.prices.shared_rules import SharedRules, shared_rules
from sequencer.solver.sought import SequenceSought, Sought


def set_up(
    prepared: Prepared, apart: ClassesApart[Sequence], elsewhere: AskMany | None = None
) -> tuple[Shared, KeptSteps, tuple[PricedPart, ...]]:
    """Read the rows off the rules that look at several classes, and share the aims out over the parts."""
    models = tuple(_model(search.model) for search in apart.searches)
    part_of_class = {index: part for part, classes in enumerate(apart.parts) for index in classes}
    rules = shared_rules(prepared, part_of_class)
    together = rules.aims()
    says = {literal.index: each for each, literal in said(rules) if literal.index >= 0}
    proto = rules.posting.model.proto
    bounds = Ends(proto)
    coupling = read_rows(proto, says)
    aims = tuple(
        share_out(place, tuple(own.aims[place] for own in models), together.get(aim.name), coupling.bounds, bounds)
        for place, aim in enumerate(models[0].aims)
    )
    in_rows = {variable for row in coupling.rows for variable, _ in row.terms}
    named = {variable: says[variable] for variable in sorted(in_rows & says.keys())}
    owned = {variable: part_of_class[_class_of(rules, each)] for variable, each in named.items()}
    shared = Shared(coupling, aims, named, owned, len(models), len(proto.variables), elsewhere)
    lessons = {index: part for part, own in enumerate(models) for index in own.parts.variables.lessons}
    steps = tuple(link for link in prepared.steps if link.before in lessons and link.after in lessons)
    apart_steps = tuple(link for link in steps if lessons[link.before] != lessons[link.after])
    return (
        shared,
        KeptSteps(shared, apart_steps, prepared.domains, lessons),
        tuple(PricedPart(part, search, shared.says) for part, search in enumerate(apart.searches)),
    )


def _model(sought: Sought[Sequence]) -> ClassesModel:
    assert isinstance(sought, SequenceSought), "prices are made for one future"
    return sought.model


def _class_of(rules: SharedRules, each: Said) -> int:
    return each.of if each.what in ("spare", "live") else rules.instance.lessons[each.of].class_index
