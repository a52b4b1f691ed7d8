"""Building a model heeds the time allowed, and what cannot fit by counting slots needs no search."""

from __future__ import annotations

import ctypes
import gc
import os
import subprocess
import sys
import weakref
from itertools import count

import pytest

from sequencer import SolveSettings, StopSignal, build_instance, scenario_from_data, solve
from sequencer.solver.deadline import Deadline, OutOfTime
from sequencer.solver.model import build_model, prepare
from tests.builders import Data

DAILY = {"Mon": [1], "Tue": [1], "Wed": [1], "Thu": [1], "Fri": [1]}


def one_class(lessons: int, **more: object) -> Data:
    """A class that meets daily for 20 weeks, with lessons that nothing puts in order."""
    listed = [{"id": f"l{number}", "load": 1 + number % 3, **more} for number in range(lessons)]
    return {
        "format": 1,
        "term": {"first": "2026-09-07", "last": "2027-01-22"},
        "units": [{"id": "u", "lessons": listed}],
        "classes": [{"id": "c", "units": ["u"], "timetable": DAILY}],
    }


def test_no_time_at_all_gives_no_answer_and_says_why() -> None:
    answer = solve(scenario_from_data(one_class(30)), SolveSettings(seconds=0))
    assert (answer.status, answer.sequence, answer.run.stopped_by) == ("unknown", None, "time")
    assert not answer.run.repeatable


def test_a_hand_stops_building() -> None:
    stop = StopSignal()
    stop.stop()
    answer = solve(scenario_from_data(one_class(30)), SolveSettings(seconds=60), stop=stop)
    assert (answer.status, answer.run.stopped_by) == ("unknown", "hand")


@pytest.mark.parametrize("looks", [0, 5, 20])
def test_a_model_half_built_is_left(looks: int) -> None:
    """A deadline that is over at some later look ends the building there."""
    prepared = prepare(build_instance(scenario_from_data(one_class(60))))
    seen = count()
    with pytest.raises(OutOfTime) as over:
        build_model(prepared, (0,), deadline=Deadline(stopped=lambda: "hand" if next(seen) >= looks else None))
    assert over.value.by == "hand"
    assert next(seen) == looks + 1


def test_preparing_heeds_the_deadline() -> None:
    with pytest.raises(OutOfTime) as over:
        prepare(build_instance(scenario_from_data(one_class(30))), deadline=Deadline(ends=0.0))
    assert over.value.by == "time"


@pytest.mark.parametrize(("lessons", "fits"), [(5, True), (6, False)])
def test_more_lessons_than_slots_between_two_dates_leave_no_start(lessons: int, fits: bool) -> None:
    """A week has five slots: five lessons fit into it, and of six it is known without search that they do not."""
    dates = {"not_before": "2026-10-05", "not_after": "2026-10-09"}
    prepared = prepare(build_instance(scenario_from_data(one_class(lessons, **dates))))
    assert all(bool(starts) is fits for starts in prepared.domains.starts)


def test_where_lessons_cannot_fit_the_model_is_small() -> None:
    """40 dense lessons without practice could only hold the last slot: nothing is built for the 60 others either."""
    data = one_class(100)
    for lesson in data["units"][0]["lessons"][:40]:
        lesson["load"] = 5
    prepared = prepare(build_instance(scenario_from_data(data)))
    assert not any(prepared.domains.starts)
    assert len(build_model(prepared, (0,)).parts.posting.model.proto.variables) < 1000
    assert solve(scenario_from_data(data)).status == "infeasible"


def test_a_model_that_nobody_holds_is_freed_at_once() -> None:
    gc.disable()
    try:
        model = build_model(prepare(build_instance(scenario_from_data(one_class(3)))), (0,)).parts.posting.model
        copy = model.clone()
        assert not vars(model) and not vars(copy)
        assert len(copy.proto.constraints) == len(model.proto.constraints) > 0
        held = weakref.ref(model), weakref.ref(copy)
        del model, copy
        assert [each() for each in held] == [None, None]
    finally:
        gc.enable()


GLIBC = sys.platform == "linux" and hasattr(ctypes.CDLL(None), "malloc_info")


@pytest.mark.skipif(not GLIBC, reason="only glibc has a heap for each thread")
@pytest.mark.parametrize("shared", [True, False])
def test_threads_share_one_heap(shared: bool) -> None:
    """In a process of its own, three threads that ask for memory at the same time, by what the C library says of itself."""
    code = f"""
import ctypes, tempfile, threading
from sequencer.solver.prices.one_heap import share_one_heap
if {shared}:
    share_one_heap()
together = threading.Barrier(4)
def ask():
    held = bytearray(50_000)
    together.wait()
    together.wait()
for _ in range(3):
    threading.Thread(target=ask).start()
together.wait()
library = ctypes.CDLL(None)
library.fopen.restype = ctypes.c_void_p
with tempfile.NamedTemporaryFile() as told:
    into = ctypes.c_void_p(library.fopen(told.name.encode(), b"w"))
    library.malloc_info(0, into)
    library.fclose(into)
    print(told.read().count(b"<heap nr"))
together.wait()
"""
    usual = {name: value for name, value in os.environ.items() if not name.startswith(("MALLOC_", "GLIBC_"))}
    heaps = subprocess.run([sys.executable, "-c", code], env=usual, check=True, capture_output=True, text=True).stdout
    assert (int(heaps) == 1) == shared
