"""Recordings as columns."""

from __future__ import annotations

import os
from typing import Any, NamedTuple

from numpy.typing import NDArray

from . import _native
from ._arrays import in_one_piece
from ._columns import Columns
from ._replay import checked_rate
from ._settings import Given, native_of
from ._sound import Sound

# The channels that readings are made of, by the columns of a trace.
_CHANNELS = {
    "time_s": "time",
    "static_pa": "static",
    "dynamic_pa": "dynamic",
    "ias_mps": "ias",
    "tas_mps": "tas",
    "te_pa": "te",
    "oat_c": "oat",
    "accel_x_mps2": "accel_x",
    "accel_y_mps2": "accel_y",
    "accel_z_mps2": "accel_z",
    "gyro_x_radps": "gyro_x",
    "gyro_y_radps": "gyro_y",
    "gyro_z_radps": "gyro_z",
    "accel_largest_mps2": "accel_largest",
    "accel_deviation_mps2": "accel_deviation",
    "gyro_largest_radps": "gyro_largest",
    "gyro_deviation_radps": "gyro_deviation",
    "gnss_vn_mps": "gnss_vn",
    "gnss_ve_mps": "gnss_ve",
    "gnss_vd_mps": "gnss_vd",
    "gnss_age_s": "gnss_age",
}


class Skipped(NamedTuple):
    """A line of a trace that could not be used."""

    line: int
    """Its number in the file, the first being 1."""
    reason: str
    """Why."""
    found: str
    """The text found there, shortened."""


class Trace(Columns):
    """A recording: float64 columns named as in a CSV that the program reads, NaN where absent.

    ``time_s`` and ``static_pa`` are always there, others where the recording has them; a simulated
    flight has also ``truth_air_mps``, ``truth_vertical_mps`` and ``truth_climb_mps``.
    """

    format: str
    """``"csv"`` or ``"igc"``."""
    date: str | None
    """The day as YYYY-MM-DD, where the recording knows."""
    utc_at_zero_s: float | None
    """UTC of time 0, s after midnight, where the recording knows."""
    notes: list[str]
    """Things worth knowing about it."""
    skipped: list[Skipped]
    """Lines that could not be used, the first thousand."""
    skipped_count: int
    """How many there are in all."""

    def __init__(self, columns: dict[str, NDArray[Any]], facts: dict[str, Any]) -> None:
        super().__init__(columns)
        self.format = facts["format"]
        self.date = facts["date"]
        self.utc_at_zero_s = facts["utc_at_zero_s"]
        self.notes = facts["notes"]
        self.skipped = [Skipped(*one) for one in facts["skipped"]]
        self.skipped_count = facts["skipped_count"]

    def channels(self) -> dict[str, NDArray[Any]]:
        """The columns that readings are made of, by the names that `replay` gives them.

        Columns that are in one piece are not copied; what else was put in their place becomes
        such an array.
        """
        return {
            channel: in_one_piece(name, self[name])
            for name, channel in _CHANNELS.items()
            if name in self
        }

    def replay(self, settings: Given = None) -> Columns:
        """The readings of the recording; see `chirrup.replay`.

        Unlike there, NaN and times that go back are taken as the recorder's own. To hear or to see
        a part, replay all of it and cut the result: a filter that starts anew settles first.

        Args:
            settings: The instrument's settings.

        Raises:
            Error: No usable sample, or settings that cannot be.
        """
        return Columns(_native.replay(self.channels(), native_of(settings), True, True))

    def render(self, settings: Given = None, *, rate_hz: int = 24_000) -> Sound:
        """The sound of the recording; see `chirrup.render`.

        Args:
            settings: The instrument's settings.
            rate_hz: Samples of sound a second, 8000 to 192000.

        Raises:
            Error: As `replay`, and for more than 1 GB of sound.
        """
        rate_hz = checked_rate(rate_hz)
        native = native_of(settings)
        return Sound(_native.render(self.channels(), native, rate_hz, True, True), rate_hz)


def named(path: str | os.PathLike[str]) -> str:
    """The name of a file; "-" is one too, and not standard input.

    Raises:
        TypeError: What names no file, with what would.
    """
    if isinstance(path, Columns):
        raise TypeError(
            f"found a {type(path).__name__}, expected the path of a file; give the one that was "
            "read, or that fly(..., output=path) wrote"
        )
    if isinstance(path, list | tuple | set):
        raise TypeError(
            f"found a {type(path).__name__}, expected the path of a file; give several to tune "
            "as tune(*paths)"
        )
    if not isinstance(path, str | bytes | os.PathLike):
        raise TypeError(f"found {path!r:.60}, expected the path of a file")
    name = os.fsdecode(path)
    return os.path.join(".", name) if name == "-" else name


def read_trace(path: str | os.PathLike[str], *, columns: str | None = None) -> Trace:
    """Reads a recording as the program does: CSV, IGC, and either compressed by gzip.

    Rows are put in order, units found, time stamps spread and unusable lines skipped as there.

    Args:
        path: The file.
        columns: Names of a CSV's columns where they are not Chirrup's own, as for the option
            ``--columns``: ``"time=t_ms,static=baro:hPa"``.

    Raises:
        Error: One line: no such file, another kind of file, a header that cannot be used.
    """
    return Trace(*_native.read_trace(named(path), columns))
