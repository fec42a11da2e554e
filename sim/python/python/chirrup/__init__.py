"""The bench of the Chirrup audio variometer: pressures in, vertical speed and sound out.

The functions are those of the program ``chirrup`` and give its numbers bit for bit. Arrays are
numpy's, units are in the names, and NaN stands for absent.

Chirrup is a hobby instrument: not certified, and never the primary reference of a flight.

Example:
    >>> import chirrup
    >>> trace = chirrup.fly("pull-ups")
    >>> columns = chirrup.replay(trace["time_s"], trace["static_pa"], trace["dynamic_pa"])
    >>> columns["te_vertical_speed_mps"].dtype
    dtype('float32')
"""

from __future__ import annotations

from importlib.metadata import version as _version

from ._arrays import Channels
from ._columns import DECIMALS, Columns
from ._flights import Flight, fly, scenario, scenarios
from ._native import Error
from ._replay import render, replay
from ._reports import Tuning, inspect, tune
from ._settings import Settings
from ._sound import Sound
from ._trace import Trace, read_trace

__version__: str = _version("chirrup")
"""The version of the package, which is that of the program."""

__all__ = [
    "DECIMALS",
    "Channels",
    "Columns",
    "Error",
    "Flight",
    "Settings",
    "Sound",
    "Trace",
    "Tuning",
    "__version__",
    "fly",
    "inspect",
    "read_trace",
    "render",
    "replay",
    "scenario",
    "scenarios",
    "tune",
]
