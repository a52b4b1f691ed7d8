"""The random scenarios that the suite uses, saved: to draw one that is worth solving takes many searches.

One file per family, a line of JSON per seed. A change of a generator makes other scenarios of the same seeds:
``python -m tests.crosscheck.saved`` draws and saves them all again, and a slow test tells when that was forgotten.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from itertools import repeat
from pathlib import Path

from tests.crosscheck import exhaustive
from tests.crosscheck.choosing import choosing
from tests.crosscheck.facts import Facts, read_facts
from tests.crosscheck.further import further
from tests.crosscheck.generator import medium, small
from tests.crosscheck.slots import Raw

FOLDER = Path(__file__).parent / "saved"
FAMILIES: dict[str, tuple[Callable[[int], Raw], int]] = {
    "small": (small, 400),
    "medium": (medium, 120),
    "further": (further, 150),
    "choosing": (choosing, 40),
}
"""How each family is drawn, and how many are saved."""


def scenario(family: str, seed: int) -> Raw:
    """The family's scenario of the seed; drawn where it is not among those saved."""
    draw, _ = FAMILIES[family]
    lines = _lines(family)
    return json.loads(lines[seed]) if seed < len(lines) else draw(seed)  # type: ignore[no-any-return]


@cache
def searched(family: str, seed: int) -> tuple[Raw, Facts, exhaustive.Best | None]:
    """The scenario, what the second reading makes of it, and its best by exhaustive search."""
    data = scenario(family, seed)
    facts = read_facts(data)
    return data, facts, exhaustive.best(facts)


@cache
def _lines(family: str) -> list[str]:
    path = FOLDER / f"{family}.jsonl"
    return path.read_text(encoding="utf-8").splitlines() if path.exists() else []


def written(family: str, seed: int) -> str:
    """The line of the family's file for a scenario drawn anew."""
    draw, _ = FAMILIES[family]
    data = draw(seed)
    line = json.dumps(data)
    assert json.loads(line) == data, "what JSON cannot say, as keys that are numbers, would be lost"
    return line


def main() -> None:
    """Draw and save all."""
    FOLDER.mkdir(exist_ok=True)
    with ProcessPoolExecutor() as processes:
        for family, (_, count) in FAMILIES.items():
            lines = processes.map(written, repeat(family), range(count))
            text = "".join(f"{line}\n" for line in lines)
            (FOLDER / f"{family}.jsonl").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
