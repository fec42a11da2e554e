"""Arrays through the instrument."""

from __future__ import annotations

from typing import Unpack

from ._arrays import Channel, Channels, prepared
from ._columns import Columns
from ._native import Error
from ._native import render as _render
from ._native import replay as _replay
from ._settings import Given, native_of
from ._sound import Sound

_LOWEST_HZ, _HIGHEST_HZ = 8_000, 192_000


def replay(
    time: Channel,
    static: Channel,
    dynamic: Channel = None,
    *,
    settings: Given = None,
    nan_is_absent: bool = False,
    **others: Unpack[Channels],
) -> Columns:
    """The readings of samples: what ``chirrup replay --csv`` writes, not rounded.

    All arrays have the shape (n,). float64 and float32 in one piece are read where they are,
    others are copied. The work is done without the interpreter's lock, and Ctrl-C ends it; no
    thread may write to the arrays meanwhile.

    Args:
        time: Time of each sample, s, float64. It may not go back.
        static: Static pressure, Pa, usable from 5 000 to 115 000.
        dynamic: Impact pressure, pitot minus static, Pa.
        settings: The instrument's settings: `Settings`, a dict of changes of the defaults, a file
            or ``"key=value"``.
        nan_is_absent: Take NaN for what the sensor did not give. Otherwise NaN is refused.
            Masked values of a masked array are absent in any case.
        **others: More channels: `ias`, `tas`, `te`, `oat` and those of an inertial sensor and of
            a satellite receiver; see `Channels`.

    Returns:
        Columns named as in the program's CSV: ``time_s`` (float64), figures (float32, NaN where
        there is none), ``sounding`` (bool), ``status`` (words). With an inertial sensor also its
        own. `DECIMALS` has the decimals to which the CSV rounds them. A sample in which nothing is
        given has no row: join on ``time_s``, which is ``numpy.round(time, 6)``.

    Raises:
        Error: One line: an array of another shape or kind, NaN, infinity, a time that goes back,
            no usable sample, or settings that cannot be.
    """
    arrays, nan_is_absent = prepared(time, static, dynamic, others, nan_is_absent)
    return Columns(_replay(arrays, native_of(settings), nan_is_absent, False))


def render(
    time: Channel,
    static: Channel,
    dynamic: Channel = None,
    *,
    settings: Given = None,
    rate_hz: int = 24_000,
    nan_is_absent: bool = False,
    **others: Unpack[Channels],
) -> Sound:
    """The sound of samples: what ``chirrup replay --wav`` writes.

    Args:
        time: As the other channels in `replay`.
        static: See `replay`.
        dynamic: See `replay`.
        settings: See `replay`.
        rate_hz: Samples of sound a second, 8000 to 192000.
        nan_is_absent: See `replay`.
        **others: More channels; see `Channels`.

    Returns:
        16-bit samples and their rate: ``samples, rate_hz = render(...)``.

    Raises:
        Error: As `replay`, and for more than 1 GB of sound.
    """
    arrays, nan_is_absent = prepared(time, static, dynamic, others, nan_is_absent)
    rate_hz = checked_rate(rate_hz)
    samples = _render(arrays, native_of(settings), rate_hz, nan_is_absent, False)
    return Sound(samples, rate_hz)


def checked_rate(rate_hz: int) -> int:
    """The rate, if sound can have it."""
    if not _LOWEST_HZ <= rate_hz <= _HIGHEST_HZ or rate_hz != int(rate_hz):
        raise Error(
            f"rate_hz: found {rate_hz}, expected a whole number from {_LOWEST_HZ} to {_HIGHEST_HZ}"
        )
    return int(rate_hz)
