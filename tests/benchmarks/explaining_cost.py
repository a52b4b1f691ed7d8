"""What explaining costs solving: one possible scenario, solved by turns with its modules and with empty ones in their place.

An empty module has every name that is asked for, and answers every call with nothing. Each solve has a process of its own: its
time is that from the first import to the answer, as a teacher waits for it.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from statistics import median, quantiles

SCENARIO = Path(__file__).resolve().parents[2] / "scenarios" / "half-term.yaml"

ONE_SOLVE = """
import sys, time
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec

class Empty(Loader):
    def exec_module(self, module):
        module.__path__ = []
        module.__getattr__ = lambda name: type(name, (), {"__new__": lambda *_, **__: []})

class Finder(MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        return ModuleSpec(name, Empty(), is_package=True) if (name + ".").startswith("sequencer.questions.explaining.") else None

if sys.argv[2] == "without":
    sys.meta_path.insert(0, Finder())
began = time.perf_counter()
import sequencer
answer = sequencer.questions.solve(sequencer.read_scenario(sys.argv[1]))
took = time.perf_counter() - began
assert answer.status == "optimal", answer.status
emptied = isinstance(sys.modules["sequencer.questions.explaining.explain"].__spec__.loader, Empty)
assert emptied == (sys.argv[2] == "without")
print(took)
"""


def one_solve(which: str) -> float:
    """Seconds for one solve ``with`` or ``without`` the modules that explain."""
    command = [sys.executable, "-c", ONE_SOLVE, str(SCENARIO), which]
    return float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def print_cost(pairs: int) -> None:
    """The ratio of the times with and without, pair by pair; which comes first changes from pair to pair."""
    for which in ("with", "without"):
        one_solve(which)  # files are read and compiled
    ratios = []
    for number in range(pairs):
        order = ("with", "without") if number % 2 else ("without", "with")
        times = {which: one_solve(which) for which in order}
        ratios.append(times["with"] / times["without"])
        print(f"with {times['with']:.2f} s, without {times['without']:.2f} s: {ratios[-1]:.3f}", flush=True)
    low, _, high = quantiles(ratios, n=4)
    print(f"{pairs} pairs: median ratio {median(ratios):.3f}, half of them from {low:.3f} to {high:.3f}")
