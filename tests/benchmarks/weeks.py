"""``python -m tests.benchmarks.weeks``: three Fridays of six classes by command, each in a process of its own, and the next term.

A line for each command: its seconds of the processor, and by the clock. LibreOffice, where there is one, saves in between.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from sequencer import term_of, term_written
from tests.terms.fridays import MOVED, fridays, six_classes


def measured(command: list[str]) -> tuple[float, float, str]:
    """What a command takes of the processor and by the clock, and the first line of what it says."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run([sys.executable, "-m", "sequencer", *command], check=False, capture_output=True, text=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    said = [
        line for line in (done.stdout + done.stderr).splitlines() if line.startswith(("Planned", "There is no", "No sequence"))
    ]
    return used, time.perf_counter() - began, said[0] if said else ""


def main() -> None:
    """Measure every command."""
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "autumn.xlsx"
        book.write_bytes(term_written(term_of(six_classes())))
        for command in fridays(book, MOVED):
            used, clock, said = measured(command)
            print(f"{command[0]:5} {command[-1][-10:]:10} {used:5.1f} s, {clock:5.1f} by the clock  {said}", flush=True)


if __name__ == "__main__":
    main()
