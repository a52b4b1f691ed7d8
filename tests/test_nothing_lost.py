"""Whatever goes wrong while a file is written, the old one is there as it was, and the message names it."""

from __future__ import annotations

import ast
import gc
import os
import resource
import signal
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from sequencer.__main__ import main
from sequencer.scenario.whole_files import write_new, write_whole
from tests.writing_commands import OLD, READ, SCENARIOS, WRITINGS, WRITTEN, Writing, called, old, path_arguments, put_old, ready

SMALL = SCENARIOS / "small.yaml"
Captured = pytest.CaptureFixture[str]


@contextmanager
def no_room(most: int = 20) -> Iterator[None]:
    """No file may grow beyond so many bytes: writing fails half way, as on a full disk."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.fixture(name="folder", scope="module")
def a_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("writing")
    ready(folder)
    return folder


# -- every command that writes -----------------------------------------------------------------------------------------


def test_every_argument_that_names_a_file_is_known_to_be_read_or_written() -> None:
    assert path_arguments() == WRITTEN | READ
    assert {writing.command for writing in WRITINGS} == WRITTEN


@pytest.mark.parametrize("writing", WRITINGS, ids=lambda writing: writing.name)
def test_with_room_it_is_written(writing: Writing, folder: Path) -> None:
    put_old(folder, writing)
    code, told = called(folder, writing.arguments)
    assert code == 0, told
    file = folder / writing.file
    assert file.is_dir() or file.read_bytes() != old(folder, writing)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # workbooks are put together in temporary files
@pytest.mark.parametrize("writing", WRITINGS, ids=lambda writing: writing.name)
def test_without_room_the_old_file_stays(writing: Writing, folder: Path) -> None:
    put_old(folder, writing)
    with no_room():
        code, told = called(folder, writing.arguments)
        if ".xlsx" in writing.file or "xlsx" in writing.ways:
            gc.collect()  # what the library could not end is thrown away now, and not during another test
    assert code == 2, told
    assert str(folder / (writing.first or writing.file)) in told or writing.command == ("batch", "results")
    assert "cannot be written: File too large" in told or writing.command == ("batch", "results")
    there = [each.relative_to(folder).as_posix() for each in (folder / "out").iterdir()]
    assert there == ([] if writing.new else [writing.file]), "nothing is left over"
    assert writing.new or (folder / writing.file).read_bytes() == old(folder, writing)


def test_nothing_but_the_one_helper_writes_files() -> None:
    found = set()
    for path in sorted((Path(__file__).parents[1] / "sequencer").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            modes = [
                each.value for each in [*node.args[:2], *(key.value for key in node.keywords)] if isinstance(each, ast.Constant)
            ]
            opens = name == "open" and any(isinstance(mode, str) and set(mode) & set("wxa+") for mode in modes)
            writes = isinstance(node.func, ast.Attribute) and name in ("write_bytes", "write_text", "export_to_file", "to_file")
            if opens or writes:
                found.add(path.name)
    assert found == {"whole_files.py"}


def test_standard_output_without_room_is_told() -> None:
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("this system has no device that is always full")
    with full.open("wb") as stream:
        done = subprocess.run(
            [sys.executable, "-m", "sequencer", "schema"], stdout=stream, stderr=subprocess.PIPE, text=True, check=False
        )
    assert (done.returncode, done.stderr) == (2, "standard output: cannot be written: No space left on device\n")
    assert main(["sequence", str(SMALL), "--output", str(full)]) == 2


# -- the helper --------------------------------------------------------------------------------------------------------


def test_permissions_and_links_stay(tmp_path: Path) -> None:
    file, link = tmp_path / "plan.txt", tmp_path / "link.txt"
    file.write_bytes(OLD)
    file.chmod(0o640)
    link.symlink_to("plan.txt")
    write_whole(link, b"new")
    assert link.is_symlink() and file.read_bytes() == b"new"
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    write_whole(tmp_path / "fresh.txt", b"new")
    mask = os.umask(0)
    os.umask(mask)
    assert stat.S_IMODE((tmp_path / "fresh.txt").stat().st_mode) == 0o666 & ~mask
    dangling = tmp_path / "dangling.txt"
    dangling.symlink_to("not-there.txt")
    write_whole(dangling, b"new")
    assert dangling.is_symlink() and (tmp_path / "not-there.txt").read_bytes() == b"new"


def test_a_name_as_long_as_a_name_can_be_is_written(tmp_path: Path) -> None:
    file = tmp_path / ("ö" * 125 + ".txt")
    write_whole(file, b"one")
    write_whole(file, b"two")
    assert [each.name for each in tmp_path.iterdir()] == [file.name] and file.read_bytes() == b"two"


def test_a_device_and_a_pipe_are_written_to(tmp_path: Path) -> None:
    write_whole(Path("/dev/null"), b"gone")
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = subprocess.Popen(["cat", str(pipe)], stdout=subprocess.PIPE)
    write_whole(pipe, b"through")
    assert reader.communicate()[0] == b"through"
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_standard_output_by_its_names(tmp_path: Path, capsys: Captured) -> None:
    assert main(["sequence", str(SMALL), "--format", "csv", "--output", "-"]) == 0
    text = capsys.readouterr().out
    assert text.startswith("class,date,")
    file = tmp_path / "out.csv"
    with file.open("wb") as stream:
        done = subprocess.run(
            [sys.executable, "-m", "sequencer", "sequence", str(SMALL), "--format", "csv", "--output", "/dev/stdout"],
            stdout=stream, check=False,
        )  # fmt: skip
    assert done.returncode == 0 and file.read_bytes().decode() == text


@contextmanager
def somebody_else() -> Iterator[Path]:
    """A folder that everybody can reach, while we have the rights of a user who owns nothing (where we are root)."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o777)
        root = os.geteuid() == 0
        if root:
            os.seteuid(65534)
        try:
            yield folder
        finally:
            if root:
                os.seteuid(0)
            folder.chmod(0o777)


def test_what_must_not_be_written_is_not_replaced() -> None:
    with somebody_else() as folder:
        file = folder / "plan.txt"
        file.write_bytes(OLD)
        file.chmod(0o444)
        with pytest.raises(PermissionError, match="cannot be written: Permission denied") as raised:
            write_whole(file, b"new")
        assert raised.value.filename == str(file)
        assert [each.name for each in folder.iterdir()] == ["plan.txt"] and file.read_bytes() == OLD


def test_a_folder_that_takes_no_new_file_keeps_its_old_one() -> None:
    with somebody_else() as folder:
        inner = folder / "inner"
        inner.mkdir()
        file = inner / "plan.txt"
        file.write_bytes(OLD)
        inner.chmod(0o555)
        with pytest.raises(PermissionError, match="its folder takes no new file") as raised:
            write_whole(file, b"new")
        assert raised.value.filename == str(file) and file.read_bytes() == OLD
        with pytest.raises(PermissionError, match="cannot be written: Permission denied"):
            write_new(inner / "new.txt", b"new")
        inner.chmod(0o777)


@pytest.mark.parametrize("unnamed", [True, False])
def test_killed_half_way_the_old_file_stays(unnamed: bool, tmp_path: Path) -> None:
    file = tmp_path / "plan.txt"
    file.write_bytes(OLD)
    code = "import os, pathlib, signal, sys; from sequencer.scenario import whole_files as files\n"
    code += "" if unnamed else "del os.O_TMPFILE\n"
    code += "os.fsync = lambda opened: os.kill(os.getpid(), signal.SIGKILL)\nfiles.write_whole(pathlib.Path(sys.argv[1]), b'new')"
    done = subprocess.run([sys.executable, "-c", code, str(file)], check=False)
    assert done.returncode == -signal.SIGKILL
    assert file.read_bytes() == OLD
    left = [each for each in tmp_path.iterdir() if each != file]
    assert len(left) == (0 if unnamed and hasattr(os, "O_TMPFILE") else 1)
    write_whole(file, b"new")
    assert file.read_bytes() == b"new"


# -- a plan is not lost to less, nor to itself -------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["text", "json", "csv"])
def test_a_plan_is_not_replaced_where_time_ran_out(form: str, tmp_path: Path, capsys: Captured) -> None:
    file = tmp_path / "plan"
    file.write_bytes(OLD)
    asked = ["sequence", str(SMALL), "--seconds", "0.000001", "--format", form, "--output", str(file)]
    assert main(asked) == 3
    assert capsys.readouterr().err == f"{file} stays as it was: time ran out before a sequence was found.\n"
    assert file.read_bytes() == OLD


def test_nor_is_it_by_one_that_is_made_again(folder: Path, tmp_path: Path, capsys: Captured) -> None:
    file = tmp_path / "plan"
    file.write_bytes(OLD)
    asked = ["replan", str(SMALL), "--previous", str(folder / "answer.json"), "--seconds", "0.000001", "--output", str(file)]
    for ways in ([], ["--trade-off"], ["--format", "notice"]):
        assert main([*asked, *ways]) == 3
        assert f"{file} stays as it was" in capsys.readouterr().err
        assert file.read_bytes() == OLD


def test_what_is_read_is_not_written_over(folder: Path, tmp_path: Path, capsys: Captured) -> None:
    scenario, other = tmp_path / "small.yaml", tmp_path / "link.yaml"
    text = SMALL.read_bytes()
    scenario.write_bytes(text)
    other.symlink_to("small.yaml")
    answer = tmp_path / "answer.json"
    answer.write_bytes((folder / "answer.json").read_bytes())
    plans = tmp_path / "plans"
    plans.mkdir()
    (plans / "small.yaml").write_bytes(text)
    sheets = tmp_path / "sheets"
    assert main(["start", str(sheets)]) == 0
    asked: list[list[object]] = [
        ["sequence", scenario, "--output", scenario],
        ["sequence", scenario, "--output", other],
        ["sequence", sheets, "--output", sheets / "Lessons.csv"],
        ["replan", scenario, "--previous", answer, "--format", "json", "--output", answer],
        ["export", scenario, "--output", tmp_path / "plans" / ".." / "small.yaml"],
        ["redate", scenario, other, "--output", scenario],
        ["next", scenario, answer, "--first", "2026-11-30", "--last", "2026-12-18", "--output", scenario],
        ["batch", plans, "--output", plans / "small.yaml"],
    ]
    capsys.readouterr()
    for each in asked:
        before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
        assert main([str(part) for part in each]) == 2, each
        assert "name another file, so that it is not lost" in capsys.readouterr().err
        assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


def test_a_table_of_a_batch_may_stand_in_its_folder(tmp_path: Path) -> None:
    (tmp_path / "small.yaml").write_bytes(SMALL.read_bytes())
    for _ in range(2):
        assert main(["batch", str(tmp_path), "--summary", "csv", "--output", str(tmp_path / "table.csv")]) == 0
