"""What pydantic finds wrong with a scenario, in plain words and at a place that the document has."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from sequencer.errors import Problem
from sequencer.scenario.places import Path, Suggestions, Tree, shown
from sequencer.scenario.rules_schema import RuleEntry, RuleNumbers
from sequencer.scenario.schema import Scenario
from sequencer.scenario.timetable_schema import TimetabledPeriod
from sequencer.scenario.unit_schema import Requirement
from sequencer.words import count_text

_MOST_KEYS_LISTED = 12

_BEGINS = "must begin with an unaccented letter or digit and hold only such letters, digits"

PATTERNS = {
    r"^[A-Za-z0-9][A-Za-z0-9 _./-]*$": f"{_BEGINS}, blanks and _ . / -",
    r"^[A-Za-z0-9][A-Za-z0-9 _.-]*$": f"{_BEGINS}, blanks and _ . -",
    r"^[A-Za-z0-9][A-Za-z0-9 _.-]*(/[A-Za-z0-9][A-Za-z0-9 _.-]*)?$": "must be a lesson's title, its id, or unit/id",
    r"^[A-Za-z0-9][A-Za-z0-9 ]*$": f"{_BEGINS} and blanks",
}
"""What each pattern of the schema asks for."""


def schema_problem(
    error: ErrorDetails, tree: Tree, suggestions: Suggestions, model: type[BaseModel] = Scenario
) -> tuple[Path, Problem]:
    """Say one of pydantic's errors in plain words, at its place in the document.

    The place comes beside it, so that a caller can leave out what could not be read in the first place; the model that found the
    error knows which keys and words could stand there.
    """
    wrong = _Wrong(error, suggestions, model)
    say = _MESSAGES.get(error["type"])
    message = say(wrong) if say else f"{error['msg'][:1].lower()}{error['msg'][1:]}{wrong.got}"
    path = document_path(error["loc"], tree.data)
    on_key = error["type"] == "extra_forbidden" or error["loc"][-1:] == ("[key]",)
    return path, tree.positions.problem(path, message, on_key)


def is_consequence(error: ErrorDetails) -> bool:
    """Whether an error only repeats others: a list counts as empty when all its entries are wrong."""
    return error["type"] == "too_short" and len(error["input"]) >= error["ctx"]["min_length"]


def document_path(loc: tuple[str | int, ...], data: Any) -> Path:
    """Follow pydantic's location through the document, stepping over parts that short forms left out of it."""
    path: list[str | int] = []
    for part in loc:
        in_mapping = isinstance(data, dict) and isinstance(part, str) and part in data
        in_list = isinstance(data, list) and isinstance(part, int) and part < len(data)
        if in_mapping or in_list:
            data = data[part]
            path.append(part)
    return tuple(path)


@dataclass(frozen=True)
class _Wrong:
    """One error, with what the wording needs to know about it."""

    error: ErrorDetails
    suggestions: Suggestions
    model: type[BaseModel]

    @property
    def loc(self) -> tuple[str | int, ...]:
        return self.error["loc"]

    @property
    def given(self) -> Any:
        return self.error["input"]

    @property
    def got(self) -> str:
        return f" (got {shown(self.given)})"

    def limit(self, name: str) -> Any:
        return self.error["ctx"][name]

    def wanted(self) -> Any:
        """What the model asks for here: a type without its constraints, or None."""
        return _type_at(self.model, self.loc)


def _missing(wrong: _Wrong) -> str:
    part = wrong.loc[-1]
    return "must be a pair, such as [1, 2]" if isinstance(part, int) else f"must have the key {part}"


_VERBS = {"practices": "practises"}
"""Verbs spelt like the noun, to which they are nearer by their letters than to the key that is meant."""


def _unknown_key(wrong: _Wrong) -> str:
    model = _type_at(wrong.model, wrong.loc[:-1])
    if wrong.loc[-1] == "wish" and _is_model(model) and issubclass(model, RuleNumbers):
        return "cannot be said here: this rule is always hard, and never only a wish"
    known = [field.alias or name for name, field in model.model_fields.items()] if _is_model(model) else []
    meant = _VERBS.get(str(wrong.loc[-1]).lower())
    nearest = meant if meant in known else wrong.suggestions.nearest(str(wrong.loc[-1]), known)
    if nearest:
        return f"is not a key that can stand here (did you mean {nearest}?)"
    if 0 < len(known) <= _MOST_KEYS_LISTED:
        return f"is not a key that can stand here; these can: {', '.join(known)}"
    return "is not a key that can stand here"


def _text(wrong: _Wrong) -> str:
    if isinstance(wrong.given, bool | int | float):
        return f'must be text: put it in quotes, such as "{shown(wrong.given)}"'
    return f"must be text{wrong.got}"


def _whole_number(wrong: _Wrong) -> str:
    if isinstance(wrong.given, str) and wrong.given.lstrip("+-").isdecimal():
        return f"must be a whole number, without quotes or leading zeros{wrong.got}"
    if isinstance(wrong.given, float):
        return f"must be a whole number, without a decimal point{wrong.got}"
    return f"must be a whole number{wrong.got}"


def _choice(wrong: _Wrong) -> str:
    if wrong.loc == ("format",):
        return f"must be 1, the version of this language{wrong.got}"
    options = [str(option) for option in _options(wrong)]
    hint = wrong.suggestions.hint(wrong.given, options) if isinstance(wrong.given, str) else ""
    got = "" if wrong.loc[-1] == "[key]" else wrong.got
    return f"must be one of {', '.join(options)}{got}{hint}"


def _mapping(wrong: _Wrong) -> str:
    model = wrong.wanted()
    if _is_model(model) and issubclass(model, RuleNumbers):
        short = "off, a whole number" if model.main else "off"
        return f"must be {short} or a mapping, such as {{{_example(model)}}}{wrong.got}"
    if model is Requirement:
        return f"must be a lesson's id, or a mapping with the key lesson{wrong.got}"
    if model is TimetabledPeriod:
        return f"must be a period number, or a mapping with the key period{wrong.got}"
    return f"must be a mapping, with keys and values{wrong.got}"


def _example(model: type[RuleNumbers]) -> str:
    numbers = [name for name in model.model_fields if name != "off"][:2]
    return ", ".join(f"{name}: …" for name in numbers) or "off: true"


def _list(wrong: _Wrong) -> str:
    if wrong.given is None:
        return "must be a list: leave the key out when there is none (got nothing)"
    entries = get_args(wrong.wanted())
    held = _bare(entries[0]) if entries else None
    if entries and ... not in entries:
        return f"must be a pair, such as [1, 2]{wrong.got}"
    if held is str and isinstance(wrong.given, bool | int | float):
        return _text(wrong)
    if held is TimetabledPeriod:
        return f"must be a period number or a list of them{wrong.got}"
    if isinstance(held, type) and issubclass(held, RuleEntry):
        return f"must be off or a list{wrong.got}"
    return f"must be a list{wrong.got}"


def _too_many(wrong: _Wrong) -> str:
    if ... not in get_args(wrong.wanted()):
        return f"must be a pair, such as [1, 2]{wrong.got}"
    return f"must have at most {count_text(wrong.limit('max_length'), 'entry')}{wrong.got}"


def _unknown_kind(wrong: _Wrong) -> str:
    key, given = wrong.limit("discriminator")[1:-1], wrong.limit("tag")
    known = [str(tag) for option in get_args(wrong.wanted()) for tag in _tags(option)]
    hint = wrong.suggestions.hint(given, known)
    return f"must have as {key} one of {', '.join(known)} (got {shown(given)}){hint}"


_MESSAGES: dict[str, Callable[[_Wrong], str]] = {
    "missing": _missing,
    "extra_forbidden": _unknown_key,
    "string_type": _text,
    "string_pattern_mismatch": lambda wrong: PATTERNS[wrong.limit("pattern")] + wrong.got,
    "string_too_short": lambda _: "must not be empty text",
    "string_too_long": lambda wrong: f"must be at most {wrong.limit('max_length')} characters long (got {len(wrong.given)})",
    "int_type": _whole_number,
    "bool_type": lambda wrong: f"must be true or false{wrong.got}",
    "literal_error": _choice,
    "greater_than_equal": lambda wrong: f"must be at least {wrong.limit('ge')}{wrong.got}",
    "less_than_equal": lambda wrong: f"must be at most {wrong.limit('le')}{wrong.got}",
    "model_type": _mapping,
    "dict_type": _mapping,
    "tuple_type": _list,
    "too_short": lambda wrong: f"must have at least {count_text(wrong.limit('min_length'), 'entry')}{wrong.got}",
    "too_long": _too_many,
    "union_tag_invalid": _unknown_kind,
    "union_tag_not_found": lambda wrong: f"must have the key {wrong.limit('discriminator')[1:-1]}",
    "format_version": lambda wrong: f"must be 1, the version of this language{wrong.got}",
}


def _is_model(found: Any) -> bool:
    return isinstance(found, type) and issubclass(found, BaseModel)


def _bare(annotation: Any) -> Any:
    """An annotation without what is wrapped around it: constraints, and the None of optional fields."""
    while True:
        origin = get_origin(annotation)
        if origin is Annotated:
            annotation = get_args(annotation)[0]
        elif origin in (Union, UnionType):
            stated = [option for option in get_args(annotation) if option is not type(None)]
            if len(stated) > 1 and all(_is_model(option) for option in stated):
                return annotation
            annotation = stated[0]
        else:
            return annotation


def _type_at(model: type[BaseModel], loc: tuple[str | int, ...]) -> Any:
    """What a model asks for at one of pydantic's locations, or None."""
    found: Any = model
    for part in loc:
        found = _bare(found)
        if _is_model(found):
            field = found.model_fields.get(str(part))
            found = field.annotation if field else None
        elif get_origin(found) is dict:
            found = get_args(found)[0 if part == "[key]" else 1]
        elif get_origin(found) is tuple:
            found = get_args(found)[0]
        elif get_origin(found) in (Union, UnionType):
            found = next((option for option in get_args(found) if part in _tags(option)), None)
        else:
            return None
    return _bare(found)


def _tags(model: type[BaseModel]) -> tuple[Any, ...]:
    """The words by which a model is told apart from others that could stand in its place."""
    return get_args(next(iter(model.model_fields.values())).annotation)


def _options(wrong: _Wrong) -> tuple[Any, ...]:
    """The words that can stand at a location, in the order in which the model lists them."""
    loc = wrong.loc
    if loc[-1] == "[key]":
        loc = (*loc[:-2], "[key]")
    found = _type_at(wrong.model, loc)
    return get_args(found) if get_origin(found) is Literal else ()
