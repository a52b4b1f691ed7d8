"""Set-up: what README says to type gives the program and its script; the new environment is made by name, with ``-m slow``."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_script_runs_the_command_line(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    scripts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["scripts"]
    module, function = scripts["unit-sequencer"].split(":")
    monkeypatch.setattr("sequencer.__main__.leave_when_interrupted", lambda: None)
    monkeypatch.setattr(sys, "unraisablehook", sys.unraisablehook)
    monkeypatch.setattr(sys, "argv", ["unit-sequencer", "slots", str(ROOT / "scenarios" / "small.yaml")])
    assert getattr(import_module(module), function)() == 0
    assert "8P: 11 periods" in capsys.readouterr().out


def test_the_commands_for_powershell_are_its_own() -> None:
    """No operator that its older version lacks, no path or command of Unix shells; quotes as it takes them."""
    commands = re.findall(r"^py -m venv .*$", README, re.MULTILINE)
    assert len(commands) == 2
    for command in commands:
        assert "&&" not in command and "source" not in command and "/bin/" not in command and "python3" not in command
        assert command.count(r".venv\Scripts\python -m") == 2 and '"' not in command


@pytest.mark.slow
def test_the_first_command_sets_up_a_new_environment(tmp_path: Path) -> None:
    """In a copy of what is kept, as somebody gets it; then the script that it brought."""
    kept = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout.decode().split("\0")
    for name in filter(None, kept):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, tmp_path / name)
    unix = re.findall(r"^python3 -m venv .*$", README, re.MULTILINE)[0]
    environment = {name: value for name, value in os.environ.items() if name not in ("VIRTUAL_ENV", "PYTHONPATH")}
    script = f"{unix} && unit-sequencer slots scenarios/small.yaml && python -m api --make-icon ."
    ran = subprocess.run(["sh", "-ec", script], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    assert "Referee: every rule holds." in ran.stdout and "8P: 11 periods" in ran.stdout
    assert list(tmp_path.glob("Unit sequencer.*"))
