"""The answers that the description shows as examples: ``python -m tests.api.kept_answers`` keeps them as they are now."""

from __future__ import annotations

import json
import re
from pathlib import Path

import api
from api.examples import ASKED, ExampleRequest, shortened
from tests.api.service import JSON, YAML, ask

KEPT = Path(api.__file__).parent / "answers"

STEADY = (
    (re.compile(r"DTSTAMP:\d{8}T\d{6}Z"), "DTSTAMP:20261102T080000Z"),
    (re.compile(r'"(seconds|build_seconds)":[0-9.]+'), r'"\1":0.02'),
    (re.compile(r"\b[0-9.]+ s\b"), "0.02 s"),
)
"""What differs from run to run, and what stands there instead."""


def answered(asked: ExampleRequest) -> str:
    """Return what the service answers, without what differs from run to run, in the form in which it is kept."""
    query = f"?{asked.query}" if asked.query else ""
    response = ask("POST", asked.path + query, asked.body, YAML, accept=asked.media_type)
    assert response.status_code == 200, response.text
    assert response.headers["content-type"].split(";")[0] == asked.media_type
    # Whatever the platform ends its lines with, a file is read with one kind of end.
    text = response.text.replace("\r\n", "\n")
    for changing, steady in STEADY:
        text = changing.sub(steady, text)
    return json.dumps(json.loads(text), indent=1, ensure_ascii=False) + "\n" if asked.media_type == JSON else shortened(text)


if __name__ == "__main__":
    KEPT.mkdir(exist_ok=True)
    for file in KEPT.glob("*"):
        file.unlink()
    for each in ASKED:
        (KEPT / each.file).write_text(answered(each), encoding="utf-8")
