"""What surrounds a sequence: exam dates, preparation, specifications, starters."""

from __future__ import annotations

from tests.malformed.small import in_yaml

AROUND = (
    in_yaml(
        "an exam on the first day of term",
        ("    teacher: T1\n", "    teacher: T1\n    exam_date: 2026-11-02\n"),
        says=("60:16 classes[0].exam_date must lie after the first day of term, 2026-11-02 (got 2026-11-02)",),
    ),
    in_yaml(
        "material that is nowhere, or ready and yet to be made",
        ("load: 4\n", "load: 4\n        prepare: {status: ready-made elsewhere}\n"),
        ("practises: r1\n", "practises: r1\n        prepare: {status: ready, made_by: T2, outside_specialism_minutes: 5}\n"),
        ("requires: r1\n", "requires: r1\n        prepare: {notice: [{what: kit, days: 5}, {what: kit, days: 2}, {days: 0}]}\n"),
        says=(
            "38:27 units[0].lessons[0].prepare.status must say where it is (where)",
            "42:34 units[0].lessons[1].prepare.made_by says nothing of material that is ready",
            "42:47 units[0].lessons[1].prepare.outside_specialism_minutes says nothing of material that is ready",
            '45:57 units[0].lessons[2].prepare.notice[1].what is asked for already ("kit")',
            "45:72 units[0].lessons[2].prepare.notice[2] must have the key what",
            "45:79 units[0].lessons[2].prepare.notice[2].days must be at least 1 (got 0)",
        ),
    ),
    in_yaml(
        "scripts that nobody has counted",
        ("kind: assessment\n", "kind: assessment\n        marking_minutes_per_script: 3\n"),
        says=("54:37 units[1].lessons[1].marking_minutes_per_script needs the number of scripts: state the size of class 9B",),
    ),
)
