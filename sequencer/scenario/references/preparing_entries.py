"""What has to be got ready for lessons: where it is, what is asked for once, and classes whose scripts are counted."""

from __future__ import annotations

from sequencer.scenario.places import Path, shown
from sequencer.scenario.preparing_schema import ELSEWHERE, READY
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.names import classes_in_words
from sequencer.scenario.references.outline import Outline


def material_is_somewhere(outline: Outline, findings: Findings) -> None:
    """What is ready-made elsewhere says where, what is ready leaves nothing to do, and nothing is asked for twice."""
    for lesson in outline.lessons.values():
        prepare = lesson["prepare"]
        status = prepare["status"].value
        if status == ELSEWHERE and "where" not in prepare:
            findings.add(prepare["status"], "must say where it is (where)")
        for key in ("made_by", "outside_specialism_minutes"):
            if status == READY and prepare[key].value not in (None, 0):
                findings.add(prepare[key], "says nothing of material that is ready", on_key=True)
        asked: set[str] = set()
        for notice in prepare["notice"].mappings():
            what = notice["what"].text
            if what is not None and what in asked:
                findings.add(notice["what"], f"is asked for already ({shown(what)})")
            asked.add(what or "")


def scripts_are_counted(outline: Outline, findings: Findings) -> None:
    """Minutes per script need the number of scripts: the size of every class that takes the lesson."""
    lacking: dict[Path, tuple[Entry, list[str]]] = {}
    for taught in outline.taught():
        minutes = taught.lesson["marking_minutes_per_script"]
        if taught.class_ is None or taught.class_id is None or not minutes.number or "size" in taught.class_:
            continue
        names = lacking.setdefault(minutes.path, (minutes, []))[1]
        if taught.class_id not in names:
            names.append(taught.class_id)
    for minutes, names in lacking.values():
        findings.add(minutes, f"needs the number of scripts: state the size of {classes_in_words(names)}")


PREPARING_CHECKS = (material_is_somewhere, scripts_are_counted)
