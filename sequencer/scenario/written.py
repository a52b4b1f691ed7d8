"""A scenario back as plain data, as short as the language allows: what reads it back gives an equal scenario.

The models are walked rather than listed, so that a field added to them is written too. A short form is used wherever the
field's own validators read it as the same value.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from datetime import date
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, TypeAdapter, ValidationError, WrapValidator
from pydantic.fields import FieldInfo

from sequencer.scenario.guards import with_tuples
from sequencer.scenario.schema import Scenario

Write = Callable[[Any], Any]
"""Turns a value of one field into plain data."""


def scenario_data(scenario: Scenario) -> dict[str, Any]:
    """A scenario as mappings, lists, text and numbers, in the order of the schema.

    What is as it would be unless stated is left out. ``scenario_from_data`` reads it back as an equal scenario.
    """
    return model_data(scenario)


def model_data(model: BaseModel) -> dict[str, Any]:
    """One part of a scenario as plain data; see ``scenario_data``."""
    data = {}
    for name, key, field, write in _fields(type(model)):
        value = getattr(model, name)
        if field.is_required() or value != field.get_default(call_default_factory=True):
            data[key] = write(value)
    return data


@cache
def _fields(model: type[BaseModel]) -> tuple[tuple[str, str, FieldInfo, Write], ...]:
    """A model's fields in the order written: name, key, and how its value is written."""
    fields = ((name, model.model_fields[name]) for name in _order(model))
    return tuple((name, field.alias or name, field, _writer(field.rebuild_annotation())) for name, field in fields)


def _order(model: type[BaseModel]) -> list[str]:
    """The order of the schema, but an entry's own keys, its id among them, before those it shares with others.

    A lesson's dates come from a base that classes share; they belong after what the lesson is, and before its rules.
    """
    own = inspect.get_annotations(model)
    names = list(model.model_fields)
    if "id" not in own or names[0] in own:
        return names
    shared = [name for name in names if name not in own]
    return [*(name for name in own if name in names and name != "rules"), *shared, *(name for name in own if name == "rules")]


def _writer(annotation: Any) -> Write:
    """How a value of a type is written: plainly, then in the shortest form that the type reads as the same."""
    origin = get_origin(annotation)
    if origin is Annotated:
        base, *wrapped = get_args(annotation)
        plainly = _writer(base)
        if any(isinstance(around, BeforeValidator | WrapValidator) for around in wrapped):
            return _shortest(annotation, plainly)
        return plainly
    if origin in (Union, UnionType):
        stated = [option for option in get_args(annotation) if option is not type(None)]
        if len(stated) > 1 and all(isinstance(option, type) and issubclass(option, BaseModel) for option in stated):
            return model_data
        words = {word for option in stated if get_origin(option) is Literal for word in get_args(option)}
        others = [_writer(option) for option in stated if len(stated) == 1 or get_origin(option) is not Literal]
        if not others:
            return lambda value: value
        assert len(others) == 1, f"a value that may be of several types: {annotation}"
        return lambda value: value if value is None or (isinstance(value, str) and value in words) else others[0](value)
    if origin is tuple:
        entries = [_writer(entry) for entry in get_args(annotation) if entry is not ...]
        return lambda value: [entries[min(place, len(entries) - 1)](entry) for place, entry in enumerate(value)]
    if origin is dict:
        inside = _writer(get_args(annotation)[1])
        return lambda value: {key: inside(entry) for key, entry in value.items()}
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return model_data
    if annotation is date:
        return date.isoformat
    return lambda value: value


def _shortest(annotation: Any, plainly: Write) -> Write:
    """Writes a value in its shortest form: the one of several readings that means the same and says least."""
    read_as: TypeAdapter[Any] = TypeAdapter(annotation)

    def means(form: Any, value: Any) -> bool:
        try:
            return bool(read_as.validate_python(with_tuples(form)) == value)
        except ValidationError:
            return False

    return lambda value: next(form for form in _shorter(plainly(value)) if means(form, value))


def _shorter(full: Any) -> Iterator[Any]:
    """Shorter ways to write a value, the shortest first, and the value itself last."""
    if full in ([], {"off": True}, 0):
        yield "off"
    chain = [full]
    while isinstance(chain[-1], list | dict) and len(chain[-1]) == 1:
        inner = chain[-1]
        chain.append(inner[0] if isinstance(inner, list) else next(iter(inner.values())))
    yield from reversed(chain)
