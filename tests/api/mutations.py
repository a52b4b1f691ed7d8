"""Scenarios made wrong in every way that we could think of, from a seed: bytes, structure, types, numbers, depth, keys, dates."""

from __future__ import annotations

import copy
import json
import random
import re
from collections.abc import Callable
from typing import Any

from api.examples import BODIES
from sequencer import parse_document
from tests.api.service import SCENARIOS

Place = tuple[Any, Any]
"""A mapping or list, and the key or position of a value in it."""

SOLVED = ("small", "half-term", "weekly-class", "exam-year", "no-sequence", "five-futures")
"""Demo scenarios to begin from; the others are larger and reach nothing else."""

TEXTS = {
    **{name: (SCENARIOS / f"{name}.yaml").read_text(encoding="utf-8") for name in SOLVED},
    **{path: text for path, text in BODIES.items() if path != "/v1/sequences"},
}
"""What is made wrong: a scenario, or a body of several documents by its address."""

ODD_NUMBERS = (0, -1, 10**6, 10**15, -(10**15), 10**16, 10**400, 2**31, 2**63, 2**64, 1e308, 5e-324, -0.0, 0.1, 1.0)
ODD_TEXTS = (
    "", " ", "x" * 5000, "off", "no", "1:30", "2026-11-02", "../x", "<b>", "%s{0}", "🦉", "e\u0301", "\u202e", "null", "~", "\t",
)  # fmt: skip
MARKS = (
    "{", "}", "[", "]", ",", ":", ": ", "- ", "? ", "#", "&a ", "*a", "!!python/object:x ", "!<x> ", "|", ">-", "'", '"', "\\",
    "%YAML 1.1\n", "---\n", "...\n", "\n", "\r", "\t", "<<: ", "@", "`", "\ufeff", "\u2028", "\x00", "\x85",
)  # fmt: skip
HALVES = ("\\ud800", "\\udfff\\ud800", "\\ud83d\\ude00", "\\u0000", "\\uffff", "\ud800", "\udcff", "\ufffe", "\x1b", "\x7f")
NO_NUMBERS = (
    "NaN", "nan", ".nan", ".NaN", "Infinity", "-Infinity", ".inf", "-.INF", "1e400", "-1e400", "1e-400", "9" * 400, "9" * 100_000,
    "-" + "9" * 30, "0x7fffffffffffffff", "0o777", "1_000", "1e5", "1.0", "+1", "01", "1.", ".5", "--1", "-0", "1e+", "1:30", "١",
)  # fmt: skip
ODD_VALUES: tuple[Any, ...] = (None, True, False, [], {}, [[]], [None], {"": None}, {"id": {}}, *ODD_TEXTS, *ODD_NUMBERS)
ENDS_OF_TIME = (
    "0001-01-01", "9999-12-31", "9999-12-27", "0000-00-00", "10000-01-01", "-0001-01-01", "2026-02-29", "2026-13-01",
    "1970-01-01", "2038-01-19", "0001-01-07", "2026-11-02T00:00:00Z", "2026-W45-1", "20261102",
)  # fmt: skip
DATE = re.compile(r"\d{4}-\d\d-\d\d")


def mutated(seed: int, number: int) -> tuple[str, str, bytes, str]:
    """Make one case: its kind, an address, a body and the body's media type."""
    chance = random.Random(f"{seed}/{number}")
    kind = chance.choice(sorted(KINDS))
    name = chance.choice(sorted(TEXTS))
    path = name if name.startswith("/") else chance.choice(("/v1/sequences", "/v1/sequences", "/v1/explanations", "/v1/starters"))
    body, media_type = KINDS[kind](TEXTS[name], chance)
    return kind, path, body, media_type


# -- of texts ----------------------------------------------------------------------------------------------------------


def _written(data: Any, chance: random.Random) -> tuple[bytes, str]:
    """Data as text in one of the languages; what JSON cannot say is said as Python's own writer does."""
    text = json.dumps(data, ensure_ascii=chance.random() < 0.5)
    return text.encode("utf-8", "surrogatepass"), chance.choice(("application/json", "application/yaml"))


def _either(text: str, chance: random.Random) -> tuple[str, str]:
    """A text as it stands, or the same in JSON."""
    if chance.random() < 0.6:
        return text, "application/yaml"
    return json.dumps(parse_document(text)[0], indent=chance.choice((None, 1))), "application/json"


def of_bytes(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Bytes are flipped, taken out, put in, repeated, moved; or the text ends early."""
    text, media_type = _either(text, chance)
    body = bytearray(text.encode())
    for _ in range(chance.choice((1, 1, 2, 5, 20))):
        at, length = chance.randrange(len(body) + 1), chance.choice((1, 1, 2, 10, 100))
        match chance.randrange(6):
            case 0 if body:
                body[min(at, len(body) - 1)] ^= 1 << chance.randrange(8)
            case 1:
                del body[at : at + length]
            case 2:
                body[at:at] = chance.randbytes(length)
            case 3:
                body[at:at] = body[at : at + length] * chance.choice((1, 2, 50))
            case 4:
                piece = body[at : at + length]
                del body[at : at + length]
                to = chance.randrange(len(body) + 1)
                body[to:to] = piece
            case _ if chance.random() < 0.2:
                del body[at:]
    return bytes(body), media_type


def of_marks(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Marks that mean something in the language stand where they should not."""
    text, media_type = _either(text, chance)
    for _ in range(chance.choice((1, 1, 3))):
        at = chance.randrange(len(text) + 1)
        mark = chance.choice(MARKS)
        text = text[:at] + mark + text[at + chance.choice((0, 0, 1)) :]
    return text.encode(), media_type


def of_repeated_keys(text: str, chance: random.Random) -> tuple[bytes, str]:
    """A line of YAML, or an entry of JSON, stands twice."""
    text, media_type = _either(text, chance)
    if media_type == "application/yaml":
        lines = text.splitlines(keepends=True)
        at = chance.randrange(len(lines))
        lines[at:at] = [lines[at]] * chance.choice((1, 2, 300))
        return "".join(lines).encode(), media_type
    entries = list(re.finditer(r'"\w+": ', text))
    entry = chance.choice(entries)
    return (
        text[: entry.start()] + f"{entry.group()}{chance.choice(('1', 'null', '{}'))}, " + text[entry.start() :]
    ).encode(), media_type


def of_surrogates(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Halves of surrogate pairs, with escapes or as bytes, and other characters that no text holds."""
    text, media_type = _either(text, chance)
    words = list(re.finditer(r"[A-Za-z]{3,}", text))
    word = chance.choice(words)
    odd = chance.choice(
        ("\\ud800", "\\udfff\\ud800", "\\ud83d\\ude00", "\\u0000", "\\uffff", "\ud800", "\udcff", "\ufffe", "\x1b", "\x7f")
    )
    quoted = f'"{word.group()}{odd}"' if media_type == "application/yaml" and chance.random() < 0.7 else word.group() + odd
    return (text[: word.start()] + quoted + text[word.end() :]).encode("utf-8", "surrogatepass"), media_type


def of_aliases(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Anchors and aliases, some of which stand for billions of values."""
    width, height = chance.choice(((9, 9), (2, 30), (100, 5), (2, 1)))
    lines = ["a0: &a0 [x]"] + [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * width)}]" for n in range(1, height)]
    match chance.randrange(4):
        case 0:
            text = "\n".join(lines) + "\n" + text
        case 1:
            text += "\n" + "\n".join(lines) + "\n"
        case 2:
            text = f"title: &a [*a]\n{text}"
        case _:
            text = re.sub(r"^( *)(\w+):", rf"\1\2: &{chance.choice('ab')}", text, count=chance.choice((1, 0)), flags=re.MULTILINE)
            text += "more: {<<: *a}\n"
    return text.encode(), "application/yaml"


def of_depth(text: str, chance: random.Random) -> tuple[bytes, str]:
    """A value lies deep, or endlessly deep."""
    depth = chance.choice((5, 20, 29, 30, 31, 49, 50, 51, 200, 5000, 200_000))
    opening, closing = chance.choice((("[", "]"), ('{"a": ', "}"), ("[{", "}]"), ("- ", ""), ("? ", "")))
    inner = opening * depth + ("1" if closing != "}]" else "") + (closing * depth if chance.random() < 0.8 else "")
    if chance.random() < 0.5:
        place = chance.choice(list(re.finditer(r": (?=\S)", text)))
        return (text[: place.end()] + inner + text[place.end() :]).encode(), "application/yaml"
    return f'{{"title": {inner}}}'.encode(), chance.choice(("application/json", "application/yaml"))


def of_numbers(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Numbers become huge, or none: written as text, since data could not hold them."""
    text, media_type = _either(text, chance)
    numbers = list(re.finditer(r"(?<![\w\"-])\d+(?![\w\"-])", text)) or list(re.finditer(r"\d", text))
    for number in reversed(chance.sample(numbers, min(len(numbers), chance.choice((1, 1, 3))))):
        text = text[: number.start()] + chance.choice(NO_NUMBERS) + text[number.end() :]
    return text.encode(), media_type


def of_times(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Dates lie at the ends of time, or are none."""
    text, media_type = _either(text, chance)
    dates = list(DATE.finditer(text))
    for date in reversed(chance.sample(dates, min(len(dates), chance.choice((1, 1, 2, 50))))):
        text = text[: date.start()] + chance.choice(ENDS_OF_TIME) + text[date.end() :]
    return text.encode(), media_type


def of_size(text: str, chance: random.Random) -> tuple[bytes, str]:
    """A great many entries."""
    data = parse_document(text)[0]
    lists = [value for parent, key in _places(data) if isinstance(value := parent[key], list) and value]
    grown = chance.choice(lists)
    grown.extend(copy.deepcopy(grown) * chance.choice((3, 50, 2000)))
    if chance.random() < 0.5:
        for place, entry in enumerate(grown):
            if isinstance(entry, dict) and "id" in entry:
                entry["id"] = f"{entry['id']}-{place}"
    return _written(data, chance) if len(str(data)) < 2_500_000 else (text.encode() * 300, "application/yaml")


# -- of data -----------------------------------------------------------------------------------------------------------


def _places(data: Any) -> list[Place]:
    found: list[Place] = []
    inside = list(data.items()) if isinstance(data, dict) else list(enumerate(data)) if isinstance(data, list) else []
    for key, value in inside:
        found += [(data, key), *_places(value)]
    return found


def of_types(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Values become values of other types."""
    data = parse_document(text)[0]
    for _ in range(chance.choice((1, 1, 2, 6))):
        parent, key = chance.choice(_places(data))
        parent[key] = chance.choice(ODD_VALUES)
        if not _places(data):
            break
    return _written(data, chance)


def of_structure(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Parts are taken out, doubled, moved, wrapped, or go by other names."""
    data = parse_document(text)[0]
    for _ in range(chance.choice((1, 1, 2, 4))):
        places = _places(data)
        if not places:
            break
        parent, key = chance.choice(places)
        other, there = chance.choice(places)
        value = copy.deepcopy(parent[key])
        match chance.randrange(6):
            case 0:
                del parent[key]
            case 1 if isinstance(parent, list):
                parent.insert(chance.randrange(len(parent) + 1), value)
            case 2:
                other[there] = value
            case 3:
                parent[key] = chance.choice(([value], {"id": value}, [[value, value]], {str(key): value}))
            case 4 if isinstance(parent, dict):
                parent[chance.choice((f"{key}s", key.upper(), key[:-1], "id", "class", "units", "ключ"))] = parent.pop(key)
            case _ if isinstance(parent, list):
                chance.shuffle(parent)
    return _written(data, chance)


def of_references(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Words change places, so that names name other things, or nothing, or go round in circles."""
    data = parse_document(text)[0]
    words = [(parent, key) for parent, key in _places(data) if isinstance(parent[key], str)]
    for _ in range(chance.choice((1, 2, 5, 20))):
        (one, here), (other, there) = chance.choice(words), chance.choice(words)
        if chance.random() < 0.7:
            one[here] = other[there]
        else:
            one[here], other[there] = other[there], one[here]
    return _written(data, chance)


def of_values(text: str, chance: random.Random) -> tuple[bytes, str]:
    """Numbers and dates become others that could be meant, so that many cases are solved."""
    data = parse_document(text)[0]
    for parent, key in _places(data):
        if chance.random() > 0.08:
            continue
        value = parent[key]
        if isinstance(value, bool):
            parent[key] = not value
        elif isinstance(value, int):
            parent[key] = max(0, value + chance.choice((-2, -1, 1, 2, 10)))
        elif isinstance(value, str) and DATE.fullmatch(value):
            parent[key] = f"{value[:8]}{chance.randrange(1, 29):02}"
    return _written(data, chance)


KINDS: dict[str, Callable[[str, random.Random], tuple[bytes, str]]] = {
    each.__name__.removeprefix("of_").replace("_", " "): each
    for each in (
        of_bytes, of_marks, of_repeated_keys, of_surrogates, of_aliases, of_depth, of_numbers, of_times, of_size, of_types,
        of_structure, of_references, of_values,
    )
}  # fmt: skip
"""The ways in which a text is made wrong."""
