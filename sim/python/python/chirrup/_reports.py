"""What a recording is like, and the settings that suit it."""

from __future__ import annotations

import json
import operator
import os
from numbers import Real
from typing import Any, NamedTuple

from . import _native
from ._forks import refuse_without_threads
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
    segment = _segment(segment)
    text = _native.inspect(named(path), columns, segment, native)
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
    """The best settings for recordings, with the reasons; Ctrl-C ends it.

    It takes a fraction of a second for a recording of some minutes, in threads of its own. A
    process that was forked after a first call has none of them and is refused: make processes by
    ``multiprocessing.get_context("spawn")``.

    Args:
        *paths: The files of the recordings: CSV or IGC.
        columns: Names of a CSV's columns, as in `read_trace`.
        segment: The segment to use where a trace has several, the first being 1.
        settings: The present settings, with which others are compared.
        most_false_beeps_per_min: Recommend only what beeps falsely at most so often.
        most_lag_s: Recommend only what is at most so late.
        most_missed_share: Recommend only what misses at most this share of the climbs, 0 to 1.
        false_beep_costs_mps: What one false beep a minute costs, m/s of error; 0.02 if absent.
        missed_costs_mps: What it costs to miss every climb, m/s of error; 0.5 if absent.

    Raises:
        Error: A recording that cannot be used, a number out of range, a process that was forked
            after a first call.
        TypeError: Something that names no file, such as a `Trace`.
        KeyboardInterrupt: Ctrl-C.
    """
    wish = {
        "most_false_beeps_per_min": _number("most_false_beeps_per_min", most_false_beeps_per_min),
        "most_lag_s": _number("most_lag_s", most_lag_s),
        "most_missed_share": _number("most_missed_share", most_missed_share, most=1.0),
        "false_beep_mps": _number("false_beep_costs_mps", false_beep_costs_mps),
        "missed_mps": _number("missed_costs_mps", missed_costs_mps),
    }
    if not paths:
        raise _native.Error("found no recordings, expected one or more")
    files = [named(path) for path in paths]
    segment, present = _segment(segment), native_of(settings)
    refuse_without_threads("tune")
    text, native = _native.tune(files, columns, segment, present, wish)
    return Tuning(json.loads(text), Settings._of(native))


def _segment(number: int | None) -> int | None:
    if number is None:
        return None
    try:
        whole = operator.index(number)
    except TypeError:
        whole = 0
    # The program's own is a machine word.
    if not 1 <= whole < 2**32:
        raise _native.Error(f"segment: found {number!r}, expected a whole number from 1")
    return whole


def _number(name: str, value: float | None, most: float | None = None) -> float | None:
    if value is None:
        return None
    highest = float("inf") if most is None else most
    if not isinstance(value, Real) or not 0.0 <= value <= highest or value == float("inf"):
        range_of_it = "from 0" if most is None else f"from 0 to {most:g}"
        raise _native.Error(f"{name}: found {value!r}, expected a number {range_of_it}")
    return float(value)
