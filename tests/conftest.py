"""What tests of several modules share; failures inside shared helpers show the values compared, as those inside tests do."""

import compileall
import shutil
from pathlib import Path

import pytest

pytest.register_assert_rewrite("tests.builders", "tests.rules.helpers")

ROOT = Path(__file__).parents[1]


def pytest_configure(config: pytest.Config) -> None:
    """Compile the product once, before the tests: also where Python keeps nothing compiled, each process they start reads it."""
    if not hasattr(config, "workerinput"):
        for room in ("sequencer", "api"):
            compileall.compile_dir(ROOT / room, quiet=2)


@pytest.fixture(name="a_blank_workbook", scope="session")
def written_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the workbook as it comes, which nobody changes."""
    from sequencer import write_blank  # here, so that the rewriting above comes before what it rewrites is imported

    path = tmp_path_factory.mktemp("blank") / "plan.xlsx"
    write_blank(path)
    return path


@pytest.fixture(name="blank")
def a_copy_of_it(a_blank_workbook: Path, tmp_path: Path) -> Path:
    """Return a copy of the workbook as it comes."""
    return Path(shutil.copy(a_blank_workbook, tmp_path))
