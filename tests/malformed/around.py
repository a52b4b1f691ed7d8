"""What surrounds a sequence: exam dates, preparation, specifications, starters."""

from __future__ import annotations

from tests.malformed.small import in_yaml

AROUND = (
    in_yaml(
        "an exam on the first day of term",
        ("    teacher: T1\n", "    teacher: T1\n    exam_date: 2026-11-02\n"),
        says=("60:16 classes[0].exam_date must lie after the first day of term, 2026-11-02 (got 2026-11-02)",),
    ),
)
