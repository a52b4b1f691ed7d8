"""What tests of several modules share; failures inside shared helpers show the values compared, as those inside tests do."""

from pathlib import Path

import pytest

pytest.register_assert_rewrite("tests.builders", "tests.rules.helpers")


@pytest.fixture(name="blank")
def a_blank_workbook(tmp_path: Path) -> Path:
    """Return the workbook as it comes."""
    from sequencer import write_blank  # here, so that the rewriting above comes before what it rewrites is imported

    path = tmp_path / "plan.xlsx"
    write_blank(path)
    return path
