"""What the service writes down names requests, sizes and times, and nothing of what was sent, whatever becomes of it."""

from __future__ import annotations

import gzip
import io
import json
import logging
from pathlib import Path
from typing import Any

from api.server import handler_of
from sequencer import parse_document
from sequencer.workers.serving import Raised, attempted
from tests.api.live import started, until
from tests.api.service import JSON, SMALL, YAML

MARK = "Zanzibar"


def marked() -> dict[str, Any]:
    """Return a scenario with a mark wherever people write words of their own."""
    data = parse_document(SMALL.decode().replace("8P", f"{MARK}-8P").replace("settlements", f"{MARK}-settlements"))[0]
    data["title"] = f"{MARK} title"
    data["classes"][0]["teacher"] = f"Ms {MARK}"
    data["units"][0]["lessons"][0]["private_notes"] = f"{MARK} notes"
    return data


def lines(log: Path) -> list[dict[str, Any]]:
    """Return the lines about requests."""
    found = []
    for line in log.read_text(encoding="utf-8").splitlines():
        if " api.requests " in line:
            found.append(json.loads(line[line.index("{") :]))
    return found


def test_a_running_service_writes_down_nothing_of_what_is_sent(tmp_path: Path) -> None:
    log, good = tmp_path / "log", json.dumps(marked()).encode()
    bad = json.dumps({**marked(), f"{MARK}key": MARK}).encode()
    deep = json.dumps({"title": json.loads("[" * 40 + f'"{MARK}"' + "]" * 40)}).encode()
    with started(log, WORKERS="1") as service:
        sent = [
            ("/v1/sequences", good, {"Content-Type": JSON}, 200),
            (f"/v1/sequences?format=csv&class={MARK}-8P", good, {"Content-Type": JSON}, 200),
            ("/v1/sequences", good, {"Content-Type": JSON, "Accept": "text/event-stream"}, 200),
            ("/v1/explanations", good, {"Content-Type": JSON, "Authorization": f"Bearer {MARK}"}, 200),
            ("/v1/sequences", bad, {"Content-Type": JSON}, 422),
            ("/v1/sequences", good[:-9], {"Content-Type": YAML}, 422),
            ("/v1/checks", deep, {"Content-Type": JSON}, 413),
            ("/v1/sequences", gzip.compress(good)[:-4], {"Content-Type": JSON, "Content-Encoding": "gzip"}, 400),
            (f"/v1/sequences?{MARK}=1", good, {"Content-Type": JSON}, 400),
            (f"/{MARK}", good, {"Content-Type": JSON, "Cookie": MARK}, 404),
        ]
        answers = [service.client.post(path, content=body, headers=headers) for path, body, headers, _ in sent]
        assert [answer.status_code for answer in answers] == [status for *_, status in sent]
        assert any(MARK in answer.text for answer in answers)
        until(lambda: len(lines(log)) == len(sent))  # a line is written when its answer is out
        told = lines(log)
        assert [each["request"] for each in told] == [answer.headers["x-request-id"] for answer in answers]
        assert [each["status"] for each in told] == [status for *_, status in sent]
    assert MARK.lower() not in log.read_text(encoding="utf-8").lower()


def test_a_defect_is_written_down_without_what_it_says() -> None:
    def fails() -> None:
        raise ValueError(MARK) from KeyError(MARK)

    outcome = attempted(fails)
    assert isinstance(outcome, Raised)
    assert "ValueError" in outcome.where and "test_log.py" in outcome.where
    assert MARK not in outcome.where and MARK not in str(outcome.error)


def test_no_character_of_a_line_does_anything() -> None:
    stream = io.StringIO()
    log = logging.Logger("of this test")
    log.addHandler(handler_of(stream))
    try:
        raise ValueError("\x1b[31m")
    except ValueError:
        log.exception("begun\r\nforged %s", "\u202e")
    (line,) = stream.getvalue().splitlines()
    assert line.isprintable() and "\\x1b[31m" in line and "begun\\r\\nforged \\u202e" in line
