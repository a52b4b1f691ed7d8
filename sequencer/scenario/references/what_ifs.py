"""What-ifs: each has a name of its own, and builds on another one of the list without a circle."""

from __future__ import annotations

from sequencer.scenario.places import cut, shown, where_text
from sequencer.scenario.references.circles import circles
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import Outline
from sequencer.words import BASE


def what_ifs_build_on_one_another(outline: Outline, findings: Findings) -> None:
    """Every what-if has a name of its own, and what it builds on is another one that does not build on it."""
    named: dict[str, Entry] = {}
    entries = outline.root["what_ifs"].mappings()
    for entry in entries:
        name = entry["name"].text
        if name == BASE:
            findings.add(entry["name"], f"is what the scenario as it stands is called; a what-if needs another name ({BASE})")
        elif name is not None and named.setdefault(name, entry) is not entry:
            findings.add(entry["name"], f"repeats the name of {where_text(named[name].path)} ({shown(name)})")
    before: dict[str, list[str]] = {name: [] for name in named}
    for entry in entries:
        other = entry["builds_on"].text
        if other is None:
            continue
        if other not in named:
            others = [name for name in named if name != entry["name"].text]
            findings.unknown(entry["builds_on"], other, f"names no what-if of the scenario: {cut(other)}", others)
        elif other == entry["name"].text:
            findings.add(entry["builds_on"], f"names the what-if itself: {cut(other)}")
        elif entry["name"].text in named:
            before[other].append(str(entry["name"].text))
    for circle in circles(before):
        told = " builds on ".join(shown(name) for name in reversed(circle))
        findings.add(named[circle[0]]["builds_on"], f"makes a circle: {told}")


WHAT_IF_CHECKS = (what_ifs_build_on_one_another,)
