"""What is settled once for all aims: the rows, whose each variable is, the parts that are priced."""

from __future__ import annotations

from sequencer.plan.sequence import Sequence
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import ClassesModel
from sequencer.solver.posting import Literal
from sequencer.solver.prices.columns import Shared
from sequencer.solver.prices.pricing import PricedPart
from sequencer.solver.prices.rows import read_rows
from sequencer.solver.prices.shared_aims import share_out
from sequencer.solver.prices.shared_names import Said, said, say_the_same
from sequencer.solver.sought import SequenceSought, Sought


def set_up(whole: Sought[Sequence], apart: ClassesApart[Sequence], posted: int) -> tuple[Shared, tuple[PricedPart, ...]]:
    """Read the rows off the model of all classes, and find in each part's own model what stands in them."""
    model, models = _model(whole), tuple(_model(search.model) for search in apart.searches)
    part_of_class = {index: part for part, classes in enumerate(apart.parts) for index in classes}
    says: dict[int, Said] = {}
    for each, literal in said(model.parts):
        if literal.index >= 0:
            says.setdefault(literal.index, each)
    settled: dict[int, int] = {}
    literals: list[dict[Said, Literal]] = []
    for own in models:
        say_the_same(own.parts, says.values())
        literals.append(dict(said(own.parts)))
    for variable, each in says.items():
        part = part_of_class[_class_of(model, each)]
        if each in literals[part]:
            settled[variable] = part
    proto = whole.solver_model.proto
    ends = [list(variable.domain) for variable in proto.variables]
    bounds = tuple((each[0], each[-1]) for each in ends)
    coupling = read_rows(proto, settled, posted)
    aims = tuple(
        share_out(aim, tuple(own.aims[place] for own in models), coupling.part_of, part_of_class, bounds)
        for place, aim in enumerate(whole.aims)
    )
    in_rows = sorted({variable for row in coupling.rows for variable, _ in row.terms})
    of_parts = tuple(tuple(variable for variable in in_rows if coupling.part_of[variable] == part) for part in range(len(models)))
    shared = Shared(coupling, aims, of_parts, tuple(tuple(says[each] for each in of) for of in of_parts), len(bounds))
    parts = tuple(
        PricedPart(part, search, {variable: literals[part][says[variable]] for variable in of_parts[part]})
        for part, search in enumerate(apart.searches)
    )
    return shared, parts


def _model(sought: Sought[Sequence]) -> ClassesModel:
    assert isinstance(sought, SequenceSought), "prices are made for one future"
    return sought.model


def _class_of(model: ClassesModel, each: Said) -> int:
    return each.of if each.what in ("spare", "live") else model.parts.instance.lessons[each.of].class_index
