"""Scenarios that cannot be read, and exactly what is said of each.

Most entries change one small scenario that can be read. The reading, the web interface and the command line are all held
to this table: ``MALFORMED``.
"""

from __future__ import annotations

from tests.malformed.around import AROUND
from tests.malformed.calendar import CALENDAR
from tests.malformed.form import FORM
from tests.malformed.in_json import IN_JSON
from tests.malformed.lessons import LESSONS
from tests.malformed.names import NAMES
from tests.malformed.patterns import PATTERNS
from tests.malformed.record import RECORD
from tests.malformed.retrieval import RETRIEVAL
from tests.malformed.rules import RULES
from tests.malformed.small import Malformed
from tests.malformed.texts import TEXTS
from tests.malformed.writing import WRITING

MALFORMED: tuple[Malformed, ...] = (
    *TEXTS,
    *WRITING,
    *IN_JSON,
    *FORM,
    *NAMES,
    *LESSONS,
    *CALENDAR,
    *RULES,
    *PATTERNS,
    *RETRIEVAL,
    *RECORD,
    *AROUND,
)
