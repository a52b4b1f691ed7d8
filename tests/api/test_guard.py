"""Keys, what browsers are told, and a log without content."""

from __future__ import annotations

import json
import logging
import os
from pathlib import Path

import pytest

from api.__main__ import main
from api.app import create_app
from api.settings import BadSetting, Settings
from tests.api.service import SMALL, YAML, InThisProcess, ask, problem


def test_without_a_known_key_nothing_is_answered_but_health(tmp_path: Path) -> None:
    file = tmp_path / "keys"
    file.write_text("# who may call\nthird\n\n", encoding="utf-8")
    settings = Settings(keys="first, second", keys_file=str(file))
    for key in ("first", "second", "third"):
        assert ask("POST", "/v1/sequences", SMALL, YAML, settings, authorization=f"Bearer {key}").status_code == 200
    for header in ("Bearer fourth", "Bearer ", "Bearer", "Basic first", "first", "Bearer first second", "Bearer # who may call"):
        refused = ask("POST", "/v1/sequences", SMALL, YAML, settings, authorization=header)
        assert problem(refused, 401)["type"] == "/v1/problems/no-key"
        assert refused.headers["www-authenticate"] == "Bearer"
    assert ask("GET", "/openapi.json", settings=settings).status_code == 401
    assert ask("GET", "/healthz", settings=settings).status_code == 200


def test_keys_that_are_asked_for_but_not_there_lock_nobody_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    empty = tmp_path / "keys"
    empty.write_text("\ufeff# none\n  # none here\n \n", encoding="utf-8")
    for settings in (Settings(keys_file=str(empty)), Settings(keys_file=str(tmp_path / "missing")), Settings(keys=" , ,")):
        with pytest.raises(BadSetting):
            create_app(settings)
    for name in ("SEQUENCER_KEYS", "SEQUENCER_KEYS_FILE"):
        for text in ("", "  "):
            with monkeypatch.context() as patch:
                patch.setenv(name, text)
                assert main([]) == 2
            assert f"{name} is set but empty" in capsys.readouterr().err


def test_keys_are_the_bytes_that_they_are(tmp_path: Path) -> None:
    file = tmp_path / "keys"
    file.write_bytes(b"\xef\xbb\xbffirst\nsch\xfcssel\n" + "\u043a\u043b\u044e\u0447\n".encode())
    settings = Settings(keys=os.fsdecode(b"tr\xe9s,\xc3\xa9"), keys_file=str(file))
    for key in (b"first", b"sch\xfcssel", "\u043a\u043b\u044e\u0447".encode(), b"tr\xe9s", b"\xc3\xa9"):
        assert ask("GET", "/v1/formats", settings=settings, authorization=b"Bearer " + key).status_code == 200
    for key in (b"\xef\xbb\xbffirst", "sch\u00fcssel".encode(), b"\xe9", b"\xff\xfe"):
        problem(ask("GET", "/v1/formats", settings=settings, authorization=b"Bearer " + key), 401)


def test_browsers_are_told_what_they_may_do(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("api.work.solve", fails)
    responses = [ask("GET", "/healthz"), ask("GET", "/nothing"), ask("POST", "/v1/sequences", SMALL, YAML, workers=InThisProcess)]
    assert [response.status_code for response in responses] == [200, 404, 500]
    for response in responses:
        assert response.headers["x-content-type-options"] == "nosniff"
        assert response.headers["x-frame-options"] == "DENY"
        # No page of another origin may read an answer.
        assert "access-control-allow-origin" not in response.headers
    assert len({response.headers["x-request-id"] for response in responses}) == 3


def test_the_log_has_a_request_id_and_no_content(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.INFO, "api.requests"):
        response = ask("POST", "/v1/sequences?format=text&teacher=Mr%20Ash", SMALL, YAML)
        ask("GET", "/Mr-Ash")
    first, second = (json.loads(record.getMessage()) for record in caplog.records if record.name == "api.requests")
    assert first["request"] == response.headers["x-request-id"]
    assert (first["path"], first["status"], first["bytes"]) == ("/v1/sequences", response.status_code, len(response.content))
    assert (second["path"], second["status"]) == (None, 404)
    assert "Ash" not in caplog.text
