"""What a recording is like, and the settings that suit it."""

from __future__ import annotations

import json
import os
from typing import Any, NamedTuple

from . import _native
from ._settings import Given, Settings, native_of
from ._trace import named


def inspect(
    path: str | os.PathLike[str],
    *,
    columns: str | None = None,
    segment: int | None = None,
    settings: Given = None,
) -> dict[str, Any]:
    """Sample rate, noise, gaps, launch and compensation of a recording.

    Args:
        path: The recording: CSV or IGC.
        columns: Names of a CSV's columns, as in `read_trace`.
        segment: The segment to look at where a trace has several, the first being 1.
        settings: Settings with the glider's polar make the fit of the compensation better.

    Returns:
        What ``chirrup inspect --json`` prints of it; units are in the names.

    Raises:
        Error: A recording that cannot be used.
    """
    native = native_of(settings)
    text = _native.inspect(named(path), columns, _whole("segment", segment), native)
    made: dict[str, Any] = json.loads(text)
    return made


class Tuning(NamedTuple):
    """The result of tuning."""

    report: dict[str, Any]
    """What ``chirrup tune --json`` prints."""
    settings: Settings
    """The recommended settings; the present ones where nothing else is recommended."""


def tune(
    *paths: str | os.PathLike[str],
    columns: str | None = None,
    segment: int | None = None,
    settings: Given = None,
    most_false_beeps_per_min: float | None = None,
    most_lag_s: float | None = None,
    most_missed_share: float | None = None,
    false_beep_costs_mps: float | None = None,
    missed_costs_mps: float | None = None,
) -> Tuning:
    """The best settings for recordings, with the reasons; minutes of work, which Ctrl-C ends.

    Args:
        *paths: The recordings: CSV or IGC.
        columns: Names of a CSV's columns, as in `read_trace`.
        segment: The segment to use where a trace has several, the first being 1.
        settings: The present settings, with which others are compared.
        most_false_beeps_per_min: Recommend only what beeps falsely at most so often.
        most_lag_s: Recommend only what is at most so late.
        most_missed_share: Recommend only what misses at most this share of the climbs, 0 to 1.
        false_beep_costs_mps: What one false beep a minute costs, m/s of error; 0.02 if absent.
        missed_costs_mps: What it costs to miss every climb, m/s of error; 0.5 if absent.

    Raises:
        Error: A recording that cannot be used.
        KeyboardInterrupt: Ctrl-C.
    """
    wish = {
        "most_false_beeps_per_min": most_false_beeps_per_min,
        "most_lag_s": most_lag_s,
        "most_missed_share": most_missed_share,
        "false_beep_mps": false_beep_costs_mps,
        "missed_mps": missed_costs_mps,
    }
    for name, value in wish.items():
        if value is not None and not 0.0 <= value < float("inf"):
            raise _native.Error(f"{name}: found {value}, expected a number from 0")
    if not paths:
        raise _native.Error("found no recordings, expected one or more")
    files = [named(path) for path in paths]
    text, native = _native.tune(
        files, columns, _whole("segment", segment), native_of(settings), wish
    )
    return Tuning(json.loads(text), Settings._of(native))


def _whole(name: str, number: int | None) -> int | None:
    if number is not None and number < 1:
        raise _native.Error(f"{name}: found {number}, expected a whole number from 1")
    return number
