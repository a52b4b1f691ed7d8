"""The environment is read once, and what cannot be used is said."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import api
import sequencer
from api.__main__ import main
from api.settings import BadSetting, Settings, variables


def test_an_empty_environment_gives_the_defaults() -> None:
    assert Settings.from_environment({"SEQUENCER_PORT": "", "PORT": "1"}) == Settings()
    usual = Settings()
    assert (usual.host, usual.port, usual.body_bytes) == ("127.0.0.1", 8000, 2_000_000)
    assert usual.running >= 1


def test_every_field_has_a_variable() -> None:
    stated = {
        "SEQUENCER_HOST": "::1",
        "SEQUENCER_PORT": "81",
        "SEQUENCER_BODY_BYTES": "1000",
        "SEQUENCER_ARRIVING_BYTES": "2000",
        "SEQUENCER_BODY_SECONDS": "2.5",
        "SEQUENCER_SECONDS": "5",
        "SEQUENCER_MOST_SECONDS": "6",
        "SEQUENCER_GRACE": "1.5",
        "SEQUENCER_MOST_READING_SECONDS": "8.5",
        "SEQUENCER_WORKERS": "1",
        "SEQUENCER_MOST_WORKERS": "2",
        "SEQUENCER_MOST_CLASSES": "7",
        "SEQUENCER_MOST_LESSONS": "8",
        "SEQUENCER_MOST_SLOTS": "9",
        "SEQUENCER_MOST_WHAT_IFS": "10",
        "SEQUENCER_MOST_DEPTH": "11",
        "SEQUENCER_MOST_MEMORY": "500",
        "SEQUENCER_RUNNING": "2",
        "SEQUENCER_WAITING": "0",
        "SEQUENCER_RETRY_AFTER": "3",
        "SEQUENCER_KEYS": "one,two",
        "SEQUENCER_KEYS_FILE": "keys",
        "SEQUENCER_ORIGINS": "https://one",
        "SEQUENCER_HEARTBEAT": "4.5",
        "SEQUENCER_HOSTS": "planner.example",
        "SEQUENCER_HEAD_SECONDS": "7.5",
        "SEQUENCER_TAKING_SECONDS": "8.5",
        "SEQUENCER_CONNECTIONS": "9",
        "SEQUENCER_STORE": "terms.db",
        "SEQUENCER_USES_A_MINUTE": "60",
        "SEQUENCER_FORGET_DAYS": "400",
    }
    settings = Settings.from_environment(stated)
    first = ("::1", 81, 1000, 2000, 2.5, 5.0, 6.0, 1.5, 8.5, 1, 2, 7, 8, 9, 10, 11, 500, 2, 0, 3)
    last = (4.5, "planner.example", 7.5, 8.5, 9, "terms.db", 60, 400)
    assert settings == Settings(*first, "one,two", "keys", "https://one", *last)
    assert re.findall(r"^ +(\w+)", variables(), re.MULTILINE) == list(stated)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("SEQUENCER_PORT", "http"),
        ("SEQUENCER_PORT", "65536"),
        ("SEQUENCER_PORT", "80.5"),
        ("SEQUENCER_SECONDS", "nan"),
        ("SEQUENCER_SECONDS", "inf"),
        ("SEQUENCER_SECONDS", "0"),
        ("SEQUENCER_RUNNING", "0"),
        ("SEQUENCER_WAITING", "-1"),
        ("SEQUENCER_BODY_BYTES", "2000001"),
        ("SEQUENCER_MOST_MEMORY", "100"),
    ],
)
def test_what_cannot_be_used_is_named(
    name: str, text: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(BadSetting, match=f"{name} .*{re.escape(text)}"):
        Settings.from_environment({name: text})
    monkeypatch.setenv(name, text)
    assert main([]) == 2
    assert name in capsys.readouterr().err


def test_the_service_uses_public_names_only() -> None:
    files = sorted(Path(api.__file__).parent.rglob("*.py"))
    assert len(files) > 10
    taken = set()
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "sequencer":
                public = node.module in ("sequencer", "sequencer.words")
                assert public or (node.module or "").startswith("sequencer.workers"), f"{file}: {node.module}"
                taken |= {alias.name for alias in node.names} if node.module == "sequencer" else set()
            if isinstance(node, ast.Import):
                assert not any(alias.name.startswith("sequencer") for alias in node.names), file
    assert "solve" in taken
    assert taken <= set(sequencer.__all__)
