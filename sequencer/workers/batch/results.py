"""The folder of results: what is done stays done, over interruptions, for as long as it belongs to the same scenario.

Beside ``plans/9B.yaml`` of the folder of scenarios stands ``plans/9B.yaml.json`` there: the answer as JSON, with what the batch
keeps under ``batch``; and its other forms, such as ``plans/9B.yaml.sheet.html``. The whole name is kept, so that neither
folders nor endings clash. What somebody has changed by hand since is never replaced.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sequencer.render.written_forms import FORMATS
from sequencer.scenario.whole_files import write_whole
from sequencer.workers.batch.job import SETTLED, Job, ScenarioOutcome, digest_of
from sequencer.workers.batch.scenario_work import can_be_written, told_by

ENDINGS = {each.name: each.ending if each.ending != ".html" else f".{each.name}.html" for each in FORMATS}
"""How the file of each form ends; forms that end alike say which they are."""

_KEPT = "batch"
"""The key of an answer under which the batch keeps what it was made from."""


@dataclass(frozen=True)
class _Stored:
    """A result that is there: what it was made from, and the digests of its files when they were written."""

    digest: str
    seconds: float
    files: Mapping[str, str]
    body: dict[str, Any]


class Results:
    """Results under names of scenarios."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def file(self, name: str, form: str) -> Path:
        """Where a scenario's answer stands in a form."""
        return self.folder / f"{name}{ENDINGS[form]}"

    def done(self, job: Job) -> ScenarioOutcome | None:
        """What came of a scenario before, if that is settled, of the scenario as it is now, and there in every form asked for."""
        stored = self._stored(job.name)
        if stored is None or stored.digest != job.digest:
            return None
        try:
            outcome = told_by(job.name, stored.body, stored.seconds, {}, before=True)
        except (KeyError, TypeError, IndexError):
            return None  # somebody has changed it beyond use
        wanted = [form for form in job.settings.forms if can_be_written(outcome.ended, form)]
        missing = any(form not in stored.files or not self.file(job.name, form).exists() for form in wanted)
        return None if missing or outcome.ended not in SETTLED else outcome

    def in_the_way(self, job: Job) -> list[str]:
        """The files that a result would replace and that are not as a batch wrote them."""
        stored, begun = self._stored(job.name), self._begun(job.name)
        return [
            str(self.file(job.name, form))
            for form in ("json", *job.settings.forms)
            if self._is_somebodys_own(self.file(job.name, form), stored.files.get(form) if stored is not None else None)
            and (form not in begun or self._is_somebodys_own(self.file(job.name, form), begun[form]))
        ]

    def keep(self, job: Job, outcome: ScenarioOutcome) -> None:
        """Write what came of a scenario: each file whole or not at all, and last the one that says that it is done.

        Raises
        ------
        OSError
            When it cannot be written.
        """
        assert outcome.body is not None, "what has no answer is not kept"
        stored = self._stored(job.name)
        digests = {form: digest_of(content) for form, content in outcome.files.items()}
        if digests:
            # Where this is broken off, the forms written already are told from those of other people by this.
            _write_whole(self._begun_file(job.name), json.dumps({**self._begun(job.name), **digests}).encode())
        for form, content in outcome.files.items():
            _write_whole(self.file(job.name, form), content)
        about = {"scenario": job.name, "digest": job.digest, "seconds": outcome.seconds}
        digests["json"] = _digest_of_body(outcome.body)
        body = {**outcome.body, _KEPT: {**about, "files": digests}}
        _write_whole(self.file(job.name, "json"), f"{json.dumps(body, indent=2, ensure_ascii=False)}\n".encode())
        for old in self._outdated(job.name, stored, digests):
            old.unlink(missing_ok=True)
        self._begun_file(job.name).unlink(missing_ok=True)

    def _outdated(self, name: str, stored: _Stored | None, digests: Mapping[str, str]) -> Iterator[Path]:
        """Files of the result before this one that it has no like of, if nobody has made them his own."""
        for form in stored.files if stored is not None else ():
            file = self.file(name, form)
            if form not in digests and stored is not None and not self._is_somebodys_own(file, stored.files[form]):
                yield file

    def _stored(self, name: str) -> _Stored | None:
        try:
            body = json.loads(self.file(name, "json").read_bytes())
            kept = body.pop(_KEPT)
            return _Stored(kept["digest"], kept["seconds"], {form: kept["files"][form] for form in kept["files"]}, body)
        except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
            return None

    def _begun_file(self, name: str) -> Path:
        """Where it is noted which forms of a result are being written; hidden, and gone when all are."""
        file = self.file(name, "json")
        return file.with_name(f".{file.name}.begun")

    def _begun(self, name: str) -> dict[str, str]:
        """The digests of forms whose writing was begun, and perhaps not ended; none where that cannot be read."""
        try:
            noted = json.loads(self._begun_file(name).read_bytes())
        except (OSError, ValueError, RecursionError):
            return {}
        return {form: str(noted[form]) for form in ENDINGS if form in noted} if isinstance(noted, dict) else {}

    def _is_somebodys_own(self, file: Path, written: str | None) -> bool:
        if not file.exists():
            return False
        content = file.read_bytes()
        if file.name.endswith(ENDINGS["json"]):
            try:
                body = json.loads(content)
                del body[_KEPT]
            except (ValueError, TypeError, KeyError):
                return True
            return _digest_of_body(body) != written
        return digest_of(content) != written


def _digest_of_body(body: dict[str, Any]) -> str:
    return digest_of(json.dumps(body, ensure_ascii=False, sort_keys=True).encode())


def _write_whole(file: Path, content: bytes) -> None:
    """Write a file, in a folder that may not be there yet."""
    file.parent.mkdir(parents=True, exist_ok=True)
    write_whole(file, content)
