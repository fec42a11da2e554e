"""What the program prints as JSON."""

from __future__ import annotations

import json
import signal
import threading
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

import chirrup
from conftest import Run


def test_inspect_says_what_the_program_prints(program: Run, recordings: Path) -> None:
    path = recordings / "demo-flight.csv"
    printed = json.loads(program("inspect", path, "--json").stdout)
    assert [chirrup.inspect(path)] == printed


def test_tune_recommends_what_the_program_recommends(
    program: Run, recordings: Path, tmp_path: Path
) -> None:
    path, tuned = recordings / "demo-flight.csv", tmp_path / "tuned.toml"
    limits = ("--most-lag", "1.5s", "--settings", "response_s=2.5")
    ran = program("tune", path, "--json", "-o", tuned, *limits)
    assert ran.returncode == 0, ran.stderr
    printed = json.loads(ran.stdout)
    result = chirrup.tune(path, most_lag_s=1.5, settings="response_s=2.5")
    assert {**printed, "outputs": []} == result.report
    assert result.settings == chirrup.Settings(tuned)


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        ({"most_lag_s": -1.0}, "a number from 0"),
        ({"most_lag_s": float("inf")}, "a number from 0"),
        ({"most_false_beeps_per_min": float("nan")}, "a number from 0"),
        ({"false_beep_costs_mps": -1.0}, "a number from 0"),
        ({"missed_costs_mps": "1"}, "a number from 0"),
        ({"most_missed_share": 1.001}, "a number from 0 to 1"),
        ({"segment": 0}, "a whole number from 1"),
        ({"segment": 1.5}, "a whole number from 1"),
        ({"segment": 2**70}, "a whole number from 1"),
    ],
)
def test_what_cannot_be_wanted_is_refused_by_its_name(
    recordings: Path, wanted: dict[str, Any], expected: str
) -> None:
    with pytest.raises(chirrup.Error) as refused:
        chirrup.tune(recordings / "pull-ups.csv", **wanted)
    ((name, value),) = wanted.items()
    assert str(refused.value) == f"{name}: found {value!r}, expected {expected}"


@pytest.mark.parametrize("function", [chirrup.inspect, chirrup.tune])
def test_a_segment_that_is_not_there_is_named_as_in_python(function: Any, recordings: Path) -> None:
    path = recordings / "pull-ups.csv"
    with pytest.raises(chirrup.Error) as refused:
        function(path, segment=9)
    assert str(refused.value) == f"segment=9: {path} has 1 segment, from 1"


def test_ctrl_c_ends_a_long_tuning(recordings: Path) -> None:
    traces = sorted(recordings.glob("*.csv"))[:8]
    before = signal.getsignal(signal.SIGALRM)

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGALRM, interrupt)
    signal.setitimer(signal.ITIMER_REAL, 0.2)
    try:
        with pytest.raises(KeyboardInterrupt):
            chirrup.tune(*traces)
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


def test_others_run_while_it_works(recordings: Path) -> None:
    trace = chirrup.read_trace(recordings / "demo-flight.csv")
    counted, stop = [0], threading.Event()

    def count() -> None:
        while not stop.is_set():
            counted[0] += 1

    other = threading.Thread(target=count)
    other.start()
    try:
        before = counted[0]
        # One call: with the lock held nothing could be counted until it returns.
        trace.render(rate_hz=192_000)
        after = counted[0]
    finally:
        stop.set()
        other.join()
    assert after > before
