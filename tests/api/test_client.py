"""A client that a general-purpose generator makes of the description does the main job against the running service."""

from __future__ import annotations

import importlib
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from types import ModuleType

import pytest

from api.settings import Settings
from sequencer import check, guide_text, load_scenario, parse_document, scenario_from_data, sequence_from_data
from tests.api.browser import serving
from tests.api.service import SCENARIOS, SMALL, description


@pytest.fixture(scope="module", name="client")
def the_client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ModuleType]:
    """Return the package that the generator writes."""
    folder = tmp_path_factory.mktemp("generated")
    (folder / "openapi.json").write_text(json.dumps(description()), encoding="utf-8")
    # As the generator writes it, some of it is no valid Python yet.
    (folder / "config.yml").write_text(json.dumps({"post_hooks": [f"{sys.executable} -m ruff format ."]}), encoding="utf-8")
    command = [sys.executable, "-m", "openapi_python_client", "generate", "--path", "openapi.json", "--config", "config.yml"]
    command += ["--meta", "none", "--output-path", "sequencer_client"]
    subprocess.run(command, cwd=folder, check=True, capture_output=True)
    sys.path.insert(0, str(folder))
    try:
        yield importlib.import_module("sequencer_client")
    finally:
        sys.path.remove(str(folder))


def test_it_makes_a_sequence_and_has_it_judged(client: ModuleType) -> None:
    models = importlib.import_module("sequencer_client.models")
    sequences = importlib.import_module("sequencer_client.api.scenarios.make_sequence_v1_sequences_post")
    checks = importlib.import_module("sequencer_client.api.scenarios.check_sequence_v1_checks_post")
    data = parse_document(SMALL)[0]
    with serving(Settings(keys="one")) as address:
        with client.AuthenticatedClient(base_url=address, token="one") as service:
            answer = sequences.sync(client=service, body=models.Scenario.from_dict(data), seconds=20)
            assert isinstance(answer, models.Answer)
            assert answer.status == "optimal"
            assert [lesson.lesson for lesson in answer.lessons][:2] == ["sites", "growth"]
            assert all(aim.proven for aim in answer.aims)
            scenario = load_scenario(SMALL)
            assert check(scenario, sequence_from_data(scenario, answer.to_dict())).sound

            whole = models.Check.from_dict({"scenario": data, "sequence": answer.to_dict()})
            verdict = checks.sync(client=service, body=whole)
            assert isinstance(verdict, models.Checked)
            assert verdict.sound and verdict.breaches == []

            wrong = sequences.sync(client=service, body=models.Scenario.from_dict({**data, "units": []}))
            assert isinstance(wrong, models.UnusableInputProblem)
            assert wrong.problems[0].pointer.startswith("/")
        with client.Client(base_url=address) as nobody:
            refused = sequences.sync(client=nobody, body=models.Scenario.from_dict(data))
        assert isinstance(refused, models.ProblemDocument)
        assert (refused.status, refused.type_) == (401, "/v1/problems/no-key")


@pytest.mark.parametrize("name", ["half-term", "exam-year", "six-classes", "department"])
def test_it_says_whole_scenarios_as_they_are(client: ModuleType, name: str) -> None:
    models = importlib.import_module("sequencer_client.models")
    file = SCENARIOS / f"{name}.yaml"
    said = models.Scenario.from_dict(parse_document(file.read_bytes())[0]).to_dict()
    assert scenario_from_data(said) == load_scenario(file.read_bytes())


def test_the_readme_shows_what_it_does(client: ModuleType, capsys: pytest.CaptureFixture[str]) -> None:
    assert client.__name__ == "sequencer_client"
    readme = guide_text("service") or ""
    shown = re.search(r"```python\n(from sequencer_client .*?)```", readme, re.DOTALL)
    assert shown is not None
    with serving(Settings()) as address:
        exec(shown[1].replace("http://127.0.0.1:8000", address), {})
    said = capsys.readouterr().out.splitlines()
    assert said[:3] == ["optimal", "2026-11-02 period 1: From source to mouth", "2026-11-03 period 3: task"]
