"""Interrupts ``sequence`` and ``batch`` at random moments: ``python -m tests.interrupts [--each 20] [--seed 0]``.

A program that is interrupted ends with the exit code 130, or with the best sequence so far where it holds one, and says nothing
of its own insides. A file that it was to replace is as it was, or whole. A batch goes on from there when it is run again.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

SCENARIOS = Path(__file__).parents[1] / "scenarios"

BEGUN = 0.05
"""Seconds before which no interrupt comes."""

KEPT = "The search was stopped by hand"


@dataclass(frozen=True)
class Ended:
    """How a program ended that was interrupted after so many seconds."""

    seconds: float
    code: int
    told: str
    kept: bool = False

    @property
    def as_it_should(self) -> bool:
        """Whether it ended by the interrupt, or with what it held or had done, without a word of its own insides."""
        quiet = "Traceback" not in self.told and "Error" not in self.told
        return quiet and (self.code == 130 or (self.code == 0 and self.kept))


def interrupted(arguments: Sequence[str], seconds: float) -> Ended:
    """Run the program, and interrupt it so many seconds after it was begun; a little later where it was not ours yet.

    Python itself ends with a word about an interrupt that comes before it has begun the first module it was given.
    """
    while True:
        ended = _interrupted(arguments, seconds)
        if ended.code == 130 or "/sequencer/" in ended.told or not ("Traceback" in ended.told or ended.code == -signal.SIGINT):
            return ended
        seconds += BEGUN


def _interrupted(arguments: Sequence[str], seconds: float) -> Ended:
    process = subprocess.Popen(
        [sys.executable, "-m", "sequencer", *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True, cwd=SCENARIOS.parent,
    )  # fmt: skip
    time.sleep(seconds)
    process.send_signal(signal.SIGINT)
    out, told = process.communicate(timeout=120)
    return Ended(seconds, process.returncode, told, KEPT in out or "Referee" in out)


def sequences(moments: Sequence[float], folder: Path) -> list[Ended]:
    """Interrupt ``sequence`` at these moments, half of the times while it is to replace a file."""
    found = []
    for number, seconds in enumerate(moments):
        asked = ["sequence", str(SCENARIOS / "six-classes.yaml"), "--seconds", "20"]
        if number % 2 == 0:
            found.append(interrupted(asked, seconds))
            continue
        file = folder / "plan.txt"
        file.write_text("as it was", encoding="utf-8")
        ended = interrupted([*asked, "--output", str(file)], seconds)
        text = file.read_text(encoding="utf-8")
        whole = text == "as it was" if ended.code == 130 else "Referee" in text
        left = [each.name for each in folder.iterdir() if each != file]
        found.append(Ended(seconds, ended.code, ended.told if whole and not left else f"Error: {text[:60]!r}, {left}", whole))
    return found


def batches(moments: Sequence[float], folder: Path, count: int = 40) -> list[Ended]:
    """Interrupt a ``batch`` of so many at these moments, each time going on from what was done; at last it is let through."""
    for number in range(count):
        data = (SCENARIOS / "small.yaml").read_text(encoding="utf-8")
        (folder / f"{number:02}.yaml").write_text(data, encoding="utf-8")
    found, done = [], 0
    for seconds in moments:
        ended = interrupted(["batch", str(folder), "--processes", "2", "--seconds", "20"], seconds)
        results = [*(folder / "results").glob("*.json")] if (folder / "results").is_dir() else []
        whole = all(json.loads(each.read_text(encoding="utf-8"))["status"] == "optimal" for each in results)
        told = ended.told if whole and len(results) >= done else f"Error: {len(results)} results, {done} before"
        found.append(Ended(seconds, ended.code, told, ended.code == 0))
        done = len(results)
        if done == count:
            shutil.rmtree(folder / "results")
            done = 0
    last = subprocess.run(
        [sys.executable, "-m", "sequencer", "batch", str(folder), "--seconds", "20", "--summary", "json"],
        capture_output=True, text=True, check=False, cwd=SCENARIOS.parent,
    )  # fmt: skip
    listed = json.loads(last.stdout)["scenarios"] if last.returncode == 0 else []
    assert len(listed) == count and sum(each["before"] for each in listed) >= done, last.stderr
    return found


def moments_of(random_source: random.Random, count: int, most: float) -> list[float]:
    """Random moments up to so many seconds."""
    return [random_source.uniform(BEGUN, most) for _ in range(count)]


def main() -> int:
    """Interrupt, and print what came of it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--each", type=int, default=20, help="interrupts of each command (default: 20)")
    parser.add_argument("--seed", type=int, default=0, help="seed of the moments (default: 0)")
    parser.add_argument("--most", type=float, default=12.0, help="seconds after which no interrupt comes (default: 12)")
    options = parser.parse_args()
    source = random.Random(options.seed)
    wrong = []
    for name, run in (("sequence", sequences), ("batch", batches)):
        with tempfile.TemporaryDirectory() as folder:
            found = run(moments_of(source, options.each, options.most), Path(folder))
        codes = Counter(ended.code for ended in found)
        print(f"{name}: {len(found)} interrupts, exit codes {dict(sorted(codes.items()))}")
        wrong += [ended for ended in found if not ended.as_it_should]
    for ended in wrong:
        print(f"after {ended.seconds:.3f} s: exit code {ended.code}: {ended.told}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
