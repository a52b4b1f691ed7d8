"""What lessons open with: distances that differ and can be kept."""

from __future__ import annotations

from sequencer.scenario.openings_schema import DISTANCES, HEAVIER
from sequencer.scenario.references.entries import Findings
from sequencer.scenario.references.outline import Outline
from sequencer.words import count_text


def distances_can_be_kept(outline: Outline, findings: Findings) -> None:
    """No distance is stated twice, and none is shorter than the soonest that a topic is met again."""
    for openings in (outline.root["openings"], *(class_["openings"] for class_ in outline.root["classes"].mappings())):
        if not openings.stated:
            continue
        soonest = openings["soonest"].number or 1
        seen: set[int] = set()
        for key, usual in (("distances", DISTANCES), ("heavier", HEAVIER)):
            for entry in openings[key].listed():
                if entry.number is None:
                    continue
                if entry.number in seen:
                    findings.add(entry, f"is in the list already ({entry.number})")
                elif entry.number < soonest:
                    findings.add(entry, f"is less than soonest, {soonest} (got {entry.number})")
                seen.add(entry.number)
            shorter = [days for days in usual if days < soonest]
            if not openings[key].stated and shorter:
                findings.add(
                    openings["soonest"],
                    f"is more than {count_text(shorter[0], 'day')}, which {key} holds unless stated (got {soonest})",
                )


OPENINGS_CHECKS = (distances_can_be_kept,)
