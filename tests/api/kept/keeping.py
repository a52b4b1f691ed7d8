"""A service that keeps terms, in memory, and a term of two classes with nothing of either in the other."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI

from api.app import create_app
from api.settings import Settings
from api.store.database import Database
from api.store.keys import make_key
from sequencer import parse_document
from tests.api.service import JSON, Borrowed

TWO_CLASSES = """\
format: 1
title: Rivers and ZZ coasts
closures:
  - {name: ZZ trip, on: 2026-11-18, classes: [ZZ9]}
  - {name: Snow, on: 2026-11-17}
remote_spells: [{name: ZZ at home, on: 2026-11-19, classes: [ZZ9]}]
restricted_days: [{name: ZZ tests, on: 2026-11-16, classes: [ZZ9], refuses: {high_load: true}}]
teachers: [{name: ZZ Elm, dense_a_day: 3}]
what_ifs: [{name: ZZ flood, changes: [{change: add closure, closure: {name: ZZ water, on: 2026-11-03}}]}]
term: {first: 2026-11-02, last: 2026-11-20}
time_zone: Europe/London
periods:
  - {number: 1, starts: "09:00", ends: "10:00"}
  - {number: 2, starts: "10:00", ends: "11:00"}
  - {number: 3, starts: "11:00", ends: "12:00"}
cohorts:
  - {id: Y9, title: Year 9, subjects: [{name: Geography, classes: [9B]}, {name: ZZ subject, classes: [ZZ9]}]}
units:
  - id: rivers
    lessons:
      - {id: source, title: From source to mouth, notes: [Bring the tray], private_notes: [Watch the back row]}
      - {id: source-task, kind: practice, practises: source}
      - {id: floods, title: Why rivers flood}
      - {id: quiz, kind: assessment, requires: floods}
  - id: zzcoasts
    title: ZZ coasts
    lessons:
      - {id: zzarch, title: ZZ arches, notes: [ZZ bring the slides], private_notes: [ZZ private]}
      - {id: zzspit, title: ZZ spits}
      - {id: zzquiz, title: ZZ quiz, kind: assessment, requires: zzspit}
classes:
  - {id: 9B, teacher: Ms Oak, units: rivers, timetable: {Mon: 1, Tue: 3, Thu: 2}}
  - id: ZZ9
    name: ZZ nine
    teacher: ZZ Elm
    units: zzcoasts
    taught_before: [{id: zzsea, title: ZZ sea, date: 2026-10-01}]
    timetable: {Mon: 2, Wed: 3, Fri: 1}
"""
"""Whatever is of the second class alone says ZZ."""


def _sent(**headers: str) -> dict[str, str]:
    return {name.replace("_", "-"): value for name, value in headers.items()}


class Keeping:
    """A service over a store in a file; each request runs in an event loop of its own, with the store left open."""

    def __init__(self, file: Path | str, **settings: Any) -> None:
        self.file = Path(file)
        self.app: FastAPI = create_app(Settings(store=str(file), **settings), Borrowed)
        self.database: Database = self.app.state.store
        self.app.state.kept.make_ready()

    def ask(self, method: str, path: str, body: Any = None, key: str = "", **headers: str) -> httpx.Response:
        """Send a request; a body that is no text is sent as JSON."""
        sent = _sent(**headers)
        if body is not None:
            sent.setdefault("content-type", JSON)
        if key:
            sent["authorization"] = f"Bearer {key}"

        async def exchange() -> httpx.Response:
            transport = httpx.ASGITransport(self.app, raise_app_exceptions=False)
            async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
                content = json.dumps(body) if isinstance(body, dict | list) else body
                return await client.request(method, path, content=content, headers=sent)

        return asyncio.run(exchange())

    def put(self, name: str, term: Any = None, **headers: str) -> str:
        """Keep a term that is not kept yet, and return its tag."""
        response = self.ask("PUT", f"/v1/terms/{name}", term or parse_document(TWO_CLASSES)[0], if_none_match="*", **headers)
        assert response.status_code == 201, response.text
        return response.headers["etag"]

    def key(self, role: str, *classes: str, terms: tuple[str, ...] = (), name: str = "a key") -> str:
        """Make a key."""
        return make_key(self.database, name, role, terms, classes)[1]


@contextmanager
def keeping(folder: Path, **settings: Any) -> Iterator[Keeping]:
    """A service that keeps terms in a folder."""
    service = Keeping(folder / "terms.db", **settings)
    yield service
    service.database.close()
