"""Simulated flights."""

from __future__ import annotations

import json
import os
import tempfile
from typing import Any

from . import _native
from ._trace import Trace, named


class Flight(Trace):
    """The trace of a simulated flight, with the account of it."""

    report: dict[str, Any]
    """What ``chirrup fly --json`` prints."""


def fly(
    scenario: str | os.PathLike[str],
    *,
    text: str | None = None,
    seed: int | None = None,
    sensor_rate_hz: float | None = None,
    ideal: bool = False,
    calm: bool = False,
    truth: bool = True,
    output: str | os.PathLike[str] | None = None,
) -> Flight:
    """Simulates a flight; the same scenario and seed give the same numbers on every machine.

    Args:
        scenario: The name of a built-in scenario, see `scenarios`, or a TOML file.
        text: A scenario's text, in place of a file; `scenario` is then its name in messages.
        seed: Random seed of flight and sensor noise; the scenario's where absent.
        sensor_rate_hz: Samples a second, 0.1 to 200; the scenario's where absent.
        ideal: Perfect sensors: no noise, no lag, no fault.
        calm: No turbulence.
        truth: Whether the true values stand beside those of the sensors.
        output: Where to write the trace as CSV, if it is to be kept.

    Returns:
        The trace as `read_trace` reads it from the program's file.

    Raises:
        Error: No such scenario, one that cannot be flown, a number out of range.
    """
    if seed is not None and not 0 <= seed < 2**64:
        raise _native.Error(f"seed: found {seed}, expected a whole number from 0 to 2^64 - 1")
    changes = {
        "seed": seed,
        "sensor_rate_hz": sensor_rate_hz,
        "ideal": ideal,
        "calm": calm,
        "truth": truth,
    }
    if output is not None and os.path.realpath(output) == os.path.realpath(scenario):
        raise _native.Error(
            f"the output {os.fspath(output)} is the scenario itself; give it another name"
        )
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "flight.csv") if output is None else named(output)
        report = _native.fly(os.fspath(scenario), text, changes, path)
        columns, facts = _native.read_trace(path, None)
    flight = Flight(columns, facts)
    flight.report = json.loads(report)
    return flight


def scenarios() -> list[dict[str, Any]]:
    """The built-in scenarios: their names and what they show."""
    made: list[dict[str, Any]] = json.loads(_native.scenarios())
    return made


def scenario(name: str) -> str:
    """The text of a scenario, to begin one of your own from.

    Args:
        name: A built-in scenario, or a file.

    Raises:
        Error: There is neither.
    """
    return _native.scenario(name)
