"""The list of outside checks (``tests/README.md``) names files that exist, and every file that names a source."""

from __future__ import annotations

import re
from pathlib import Path

TESTS = Path(__file__).parent
LIST = (TESTS / "README.md").read_text(encoding="utf-8")
NAMED = set(re.findall(r"`((?:\w+/)*\w+\.py)`", LIST))

SOURCE = re.compile(
    r"RFC \d{4}|ISO 8601|WCAG|CSPLib|OEIS|SI 1999/3181|(?:19|20)\d\d, Psychological"
    r"|^(?:from|import) (?:highspy|jsonschema|openapi_spec_validator|vobject|icalendar|dateutil|openpyxl|distributed)\b"
    r"|^(?:from|import) (?:holidays|govuk_bank_holidays)\b",
    re.MULTILINE,
)
"""What shows that a test rests on something outside."""


def test_what_is_named_exists() -> None:
    assert len(NAMED) > 30
    assert [name for name in sorted(NAMED) if not (TESTS / name).is_file()] == []


def test_every_test_that_names_a_source_is_listed() -> None:
    resting = {
        file.relative_to(TESTS).as_posix()
        for file in TESTS.rglob("test_*.py")
        if file != Path(__file__) and SOURCE.search(file.read_text(encoding="utf-8"))
    }
    assert "test_published.py" in resting
    assert sorted(resting - NAMED) == []
