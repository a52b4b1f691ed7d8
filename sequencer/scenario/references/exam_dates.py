"""The date on which what a class is taught is to be known."""

from __future__ import annotations

from sequencer.scenario.references.entries import Findings
from sequencer.scenario.references.outline import Outline


def exams_come_after_lessons(outline: Outline, findings: Findings) -> None:
    """Something of the term is taught before the date on which it is to be known."""
    for class_ in outline.root["classes"].mappings():
        exam = class_["exam_date"]
        if exam.day is not None and outline.first is not None and exam.day <= outline.first:
            findings.add(exam, f"must lie after the first day of term, {outline.first} (got {exam.day})")


EXAM_CHECKS = (exams_come_after_lessons,)
