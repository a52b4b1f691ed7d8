"""What counts as done, what is replaced, and what never is."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import pytest

from sequencer import FORMATS, load_sequence, read_plan_sequence, read_scenario
from sequencer.workers.batch import job as jobs
from sequencer.workers.batch.job import NOT_KEPT, BatchSettings
from sequencer.workers.batch.results import ENDINGS, Results
from tests.batch.folder import IMPOSSIBLE, SETTINGS, SMALL, Here, batch, ended, put
from tests.builders import scenario, teach

OTHER = scenario([teach("a"), teach("b")])


def begun(folder: Path, settings: BatchSettings = SETTINGS, again: bool = False) -> list[str]:
    """Run a batch and return the names of what was solved."""
    here = Here()
    batch(folder, here, settings, again)
    return here.names


def test_what_is_done_is_not_done_again(tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    put(tmp_path, "none.json", IMPOSSIBLE)
    first = batch(tmp_path)
    assert ended(first) == {"a.json": "optimal", "none.json": "infeasible"}
    here = Here()
    second = batch(tmp_path, here)
    assert here.names == []
    assert [replace(each, before=False, body=None) for each in second.outcomes] == list(first.outcomes)
    assert all(each.before for each in second.outcomes)
    assert begun(tmp_path, again=True) == ["a.json", "none.json"]


@pytest.mark.parametrize(
    "settings",
    [replace(SETTINGS, seconds=11), replace(SETTINGS, seed=1), replace(SETTINGS, workers=2), replace(SETTINGS, forms=("csv",))],
)
def test_other_settings_are_another_result(settings: BatchSettings, tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    assert begun(tmp_path) == ["a.json"]
    assert begun(tmp_path, settings) == ["a.json"]
    assert begun(tmp_path, settings) == []


def test_another_version_is_another_result(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put(tmp_path, "a.json")
    batch(tmp_path)
    monkeypatch.setattr(jobs, "versions", lambda: ("0.0.0", "9.15"))
    assert begun(tmp_path) == ["a.json"]


def test_a_changed_scenario_is_solved_anew_and_another_is_not(tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    put(tmp_path, "b.json")
    batch(tmp_path)
    put(tmp_path, "b.json", OTHER)
    assert begun(tmp_path) == ["b.json"]


def test_a_result_that_is_not_whole_is_not_done(tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    settings = replace(SETTINGS, forms=("csv",))
    batch(tmp_path, settings=settings)
    (tmp_path / "results" / "a.json.csv").unlink()
    assert begun(tmp_path, settings) == ["a.json"]
    assert (tmp_path / "results" / "a.json.csv").exists()


def test_a_write_that_fails_leaves_what_was_there_and_the_others_go_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put(tmp_path, "a.json")
    put(tmp_path, "b.json")
    batch(tmp_path)
    before = (tmp_path / "results" / "a.json.json").read_bytes()
    put(tmp_path, "a.json", OTHER)
    put(tmp_path, "b.json", OTHER)
    errors = [OSError(28, "No space left on device", "a.json")]

    def full_at_first(_descriptor: int) -> None:
        if errors:
            raise errors.pop()

    monkeypatch.setattr(os, "fsync", full_at_first)
    found = batch(tmp_path)
    assert ended(found) == {"a.json": NOT_KEPT, "b.json": "optimal"}
    assert found.outcomes[0].reason == f"{tmp_path}/results/a.json.json: cannot be written: No space left on device"
    assert (tmp_path / "results" / "a.json.json").read_bytes() == before
    assert sorted(file.name for file in (tmp_path / "results").iterdir()) == ["a.json.json", "b.json.json"]
    monkeypatch.undo()
    assert begun(tmp_path) == ["a.json"]


def test_a_result_that_is_broken_off_between_its_files_is_made_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settings = replace(SETTINGS, forms=("csv", "text"))
    kept = Results(tmp_path / "results")
    replacing = Path.replace
    for content in (SMALL, OTHER):
        # The second time there is a result from before.
        put(tmp_path, "a.json", content)

        def broken_off(part: Path, file: Path) -> Path:
            if file == kept.file("a.json", "json"):
                raise OSError(28, "No space left on device", str(file))
            return replacing(part, file)

        monkeypatch.setattr(Path, "replace", broken_off)
        assert ended(batch(tmp_path, settings=settings)) == {"a.json": NOT_KEPT}
        assert kept.file("a.json", "csv").exists()
        monkeypatch.undo()
        assert ended(batch(tmp_path, settings=settings)) == {"a.json": "optimal"}
        assert sorted(file.name for file in kept.folder.iterdir()) == ["a.json.csv", "a.json.json", "a.json.txt"]


def test_what_is_changed_after_a_result_was_broken_off_is_somebodys_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settings = replace(SETTINGS, forms=("csv",))
    put(tmp_path, "a.json")
    kept = Results(tmp_path / "results")
    replacing = Path.replace

    def broken_off(part: Path, file: Path) -> Path:
        if file == kept.file("a.json", "json"):
            raise OSError(28, "No space left on device", str(file))
        return replacing(part, file)

    monkeypatch.setattr(Path, "replace", broken_off)
    batch(tmp_path, settings=settings)
    monkeypatch.undo()
    kept.file("a.json", "csv").write_text("mine", encoding="utf-8")
    found = batch(tmp_path, settings=settings)
    assert ended(found) == {"a.json": NOT_KEPT}
    assert found.outcomes[0].details == (str(kept.file("a.json", "csv")),)
    assert kept.file("a.json", "csv").read_text(encoding="utf-8") == "mine"


def test_a_result_that_has_no_place_does_not_hold_up_the_others(tmp_path: Path) -> None:
    longest = f"{'x' * 249}.json"
    for name in ("a.json", "b.json", longest):
        put(tmp_path, name)
    folder = tmp_path / "results" / "a.json.json"
    folder.mkdir(parents=True)
    found = batch(tmp_path)
    assert ended(found) == {"a.json": NOT_KEPT, "b.json": "optimal", longest: NOT_KEPT}
    assert [outcome.reason.rpartition(": ")[2] for outcome in found.outcomes if outcome.failed] == [
        "Is a directory",
        "File name too long",
    ]


def test_one_name_in_several_folders_and_with_several_endings(tmp_path: Path) -> None:
    for name in ("a.json", "x/a.json", "y/a.json", "a.yaml"):
        put(tmp_path, name, SMALL if name != "y/a.json" else OTHER)
    batch(tmp_path, settings=replace(SETTINGS, forms=("csv",)))
    results = tmp_path / "results"
    files = sorted(file.relative_to(results).as_posix() for file in results.rglob("*") if file.is_file())
    assert files == sorted(
        f"{name}{ending}" for name in ("a.json", "x/a.json", "y/a.json", "a.yaml") for ending in (".json", ".csv")
    )
    assert json.loads((results / "y/a.json.json").read_bytes())["batch"]["scenario"] == "y/a.json"


def test_forms_are_whole_files_that_are_read_back(tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    put(tmp_path, "none.json", IMPOSSIBLE)
    forms = tuple(each.name for each in FORMATS if each.name != "json")
    batch(tmp_path, settings=replace(SETTINGS, forms=forms))
    kept = Results(tmp_path / "results")
    assert all(kept.file("a.json", form).stat().st_size > 100 for form in ENDINGS)
    assert {form for form in ENDINGS if kept.file("none.json", form).exists()} == {"json", "text"}
    scenario = read_scenario(tmp_path / "a.json")
    sequence = load_sequence(scenario, kept.file("a.json", "json").read_bytes())
    assert len(sequence.placements) == 2
    assert sequence.placements == read_plan_sequence(scenario, kept.file("a.json", "csv")).placements


def test_a_new_result_takes_the_place_of_all_files_of_the_old_one(tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    batch(tmp_path, settings=replace(SETTINGS, forms=("csv", "sheet")))
    put(tmp_path, "a.json", OTHER)
    batch(tmp_path, settings=replace(SETTINGS, forms=("csv",)))
    assert sorted(file.name for file in (tmp_path / "results").iterdir()) == ["a.json.csv", "a.json.json"]


@pytest.mark.parametrize("form", ["csv", "json"])
def test_what_was_changed_by_hand_is_never_replaced(form: str, tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    settings = replace(SETTINGS, forms=("csv",))
    batch(tmp_path, settings=settings)
    file = Results(tmp_path / "results").file("a.json", form)
    text = file.read_text(encoding="utf-8")
    if form == "json":
        body = json.loads(text)
        body["lessons"][0]["what"] = "delivered"
        text = json.dumps(body)
    else:
        text += "9B\n"
    file.write_text(text, encoding="utf-8")
    assert begun(tmp_path, settings) == []
    put(tmp_path, "a.json", OTHER)
    found = batch(tmp_path, settings=settings)
    assert ended(found) == {"a.json": NOT_KEPT}
    assert found.outcomes[0].details == (str(file),)
    assert file.read_text(encoding="utf-8") == text
    for form_there in ("csv", "json"):  # without its answer nobody knows whose the table is
        Results(tmp_path / "results").file("a.json", form_there).unlink()
    assert begun(tmp_path, settings) == ["a.json"]


def test_a_file_that_no_batch_wrote_is_not_replaced(tmp_path: Path) -> None:
    put(tmp_path, "a.json")
    own = put(tmp_path / "results", "a.json.json", {"mine": True})
    assert ended(batch(tmp_path)) == {"a.json": NOT_KEPT}
    assert json.loads(own.read_bytes()) == {"mine": True}


def test_every_form_has_an_ending_of_its_own() -> None:
    assert set(ENDINGS) == {each.name for each in FORMATS}
    assert len(set(ENDINGS.values())) == len(ENDINGS)
