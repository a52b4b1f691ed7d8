"""The page opens once the service answers, and a file to double-click opens it on each system."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from api.__main__ import main
from api.desktop import already_serves, page_address, write_icon
from api.settings import Settings
from tests.api.browser import serving
from tests.api.service import PATIENCE, SCENARIOS

_BROWSER = "import sys, urllib.request; open(sys.argv[1], 'w').write(urllib.request.urlopen(sys.argv[2]).read().decode())"


def test_the_browser_is_opened_once_the_page_can_be_had(tmp_path: Path) -> None:
    """The browser is a script that keeps what it gets."""
    script, got = tmp_path / "browser.py", tmp_path / "page.html"
    script.write_text(_BROWSER, encoding="utf-8")
    environment = os.environ | {"BROWSER": f"{sys.executable} {script} {got} %s"}
    command = [sys.executable, "-m", "api", "--open", "--port", "0"]
    log = tmp_path / "log"
    with (
        log.open("w", encoding="utf-8") as out,
        subprocess.Popen(command, cwd=SCENARIOS.parent, env=environment, stdout=out, stderr=out) as service,
    ):
        end = time.monotonic() + PATIENCE
        while not (got.exists() and got.stat().st_size) and time.monotonic() < end and service.poll() is None:
            time.sleep(0.1)
        service.kill()
    assert "<title>" in got.read_text(encoding="utf-8"), log.read_text(encoding="utf-8")
    assert "The page is http://127.0.0.1:" in log.read_text(encoding="utf-8")


def test_where_it_is_served_already_it_is_shown(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    opened: list[str] = []
    monkeypatch.setattr("webbrowser.open", opened.append)
    with serving(Settings()) as address:
        assert already_serves(f"{address}/")
        assert main(["--open", "--port", address.rsplit(":", 1)[1]]) == 0
    assert opened == [f"{address}/"] and "served already" in capsys.readouterr().out
    assert not already_serves(f"{address}/")


def test_its_address_is_one_that_a_browser_here_can_ask() -> None:
    said = {"127.0.0.1": "127.0.0.1", "0.0.0.0": "127.0.0.1", "::1": "[::1]", "::": "[::1]", "planner": "planner"}
    assert {host: page_address(host, 81) for host in said} == {host: f"http://{name}:81/" for host, name in said.items()}


@pytest.mark.parametrize(
    ("system", "python", "name", "line"),
    [
        ("win32", r"C:\100% mine\python.exe", "Unit sequencer.cmd", r'"C:\100%% mine\python.exe" -m api --open' + "\r\n"),
        ("darwin", "/Users/it's/python", "Unit sequencer.command", "exec '/Users/it'\"'\"'s/python' -m api --open\n"),
        ("linux", "/home/a $b/100%/python", "Unit sequencer.desktop", 'Exec="/home/a \\\\$b/100%%/python" -m api --open\n'),
    ],
)
def test_a_file_to_double_click(tmp_path: Path, system: str, python: str, name: str, line: str) -> None:
    file = write_icon(tmp_path, system, python)
    assert file.name == name and line in file.read_bytes().decode()
    assert os.name == "nt" or file.stat().st_mode & 0o111


def test_a_folder_that_is_not_there_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--make-icon", str(tmp_path)]) == 0
    assert f"{tmp_path / 'Unit sequencer'}" in capsys.readouterr().out
    assert main(["--make-icon", str(tmp_path / "none")]) == 2
    assert "none: No such file or directory. Name a folder that is there" in capsys.readouterr().err
