"""What users give as channels, as arrays that need no more than a look."""

from __future__ import annotations

from typing import Any, TypeAlias, TypedDict, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ._native import Error

Channel: TypeAlias = ArrayLike | None


class Channels(TypedDict, total=False):
    """The channels of a trace beside time, static and dynamic pressure; shape (n,) each.

    Of the airspeeds `dynamic`, `ias` and `tas` one may be given. The six of the inertial sensor
    come together, the four of its spread, and the three velocities.
    """

    ias: Channel
    """Calibrated airspeed, m/s."""
    tas: Channel
    """True airspeed, m/s."""
    te: Channel
    """Pressure at a total-energy probe, Pa."""
    oat: Channel
    """Outside air temperature, degrees Celsius."""
    accel_x: Channel
    """Specific force forward, m/s2."""
    accel_y: Channel
    """Specific force to the right, m/s2."""
    accel_z: Channel
    """Specific force down, m/s2: -9.8 at rest."""
    gyro_x: Channel
    """Turn rate about the axis forward, rad/s, right-handed."""
    gyro_y: Channel
    """Turn rate about the axis to the right, rad/s."""
    gyro_z: Channel
    """Turn rate about the axis down, rad/s."""
    accel_largest: Channel
    """Largest force on one axis in what a sample averages, m/s2."""
    accel_deviation: Channel
    """Standard deviation of the force in what a sample averages, m/s2."""
    gyro_largest: Channel
    """Largest turn rate about one axis in what a sample averages, rad/s."""
    gyro_deviation: Channel
    """Standard deviation of the turn rate in what a sample averages, rad/s."""
    gnss_vn: Channel
    """Velocity over the ground to the north, m/s."""
    gnss_ve: Channel
    """Velocity over the ground to the east, m/s."""
    gnss_vd: Channel
    """Velocity over the ground down, m/s."""
    gnss_age: Channel
    """How long before the sample that velocity was true, s."""


def prepared(
    time: Channel, static: Channel, dynamic: Channel, others: Channels, nan_is_absent: bool
) -> tuple[dict[str, NDArray[Any] | None], bool]:
    """The channels as arrays in one piece, and whether NaN in them stands for absent.

    Arrays that are in one piece already are not copied. Masked values are absent, which is NaN;
    any other NaN, in the same or another channel, is refused unless `nan_is_absent`.

    Raises:
        Error: NaN that is not masked, where others are.
    """
    unknown = set(others) - set(Channels.__annotations__)
    if unknown:
        known = ", ".join(Channels.__annotations__)
        raise TypeError(f"unknown channel {', '.join(sorted(unknown))}; there are {known}")
    given: dict[str, Channel] = {"time": time, "static": static, "dynamic": dynamic}
    given.update(cast("dict[str, Channel]", others))
    arrays = {
        name: None if value is None else in_one_piece(name, value) for name, value in given.items()
    }
    if nan_is_absent or not any(isinstance(value, np.ma.MaskedArray) for value in given.values()):
        return arrays, nan_is_absent
    for name, array in arrays.items():
        # Times that are NaN are refused in any case.
        if array is not None and name != "time":
            _refuse_nan(name, array, np.ma.getmaskarray(cast("Any", given[name])))
    return arrays, True


def _refuse_nan(name: str, array: NDArray[Any], mask: NDArray[np.bool_]) -> None:
    """Refuses NaN that is not masked, in the words of `_native`, which cannot see the mask."""
    if array.ndim != 1 or array.dtype.kind != "f":
        return
    places = np.flatnonzero(np.isnan(array) & ~mask)
    if len(places) > 0:
        raise Error(
            f"{name}[{places[0]}]: found NaN, expected a number; with nan_is_absent=True NaN "
            "stands for what the sensor did not give"
        )


def in_one_piece(name: str, value: ArrayLike) -> NDArray[Any]:
    """An array that is contiguous, aligned and of this machine's byte order.

    One that is so already is not copied. Whole numbers become float64, masked values NaN.

    Raises:
        Error: Numbers that float64 does not have, in the channel or column `name`.
    """
    array: NDArray[Any] = np.asarray(value)
    if array.dtype.kind in "fiu" and array.dtype not in (np.float32, np.float64):
        array = _doubles(name, array, np.ma.getmask(value))
    if isinstance(value, np.ma.MaskedArray) and array.dtype.kind == "f":
        array = np.where(np.ma.getmaskarray(value), np.nan, array)
    return np.require(array, requirements=["C", "A"])


def _doubles(name: str, array: NDArray[Any], mask: Any) -> NDArray[np.float64]:
    """The same numbers as float64; `mask` has those that nobody reads."""
    with np.errstate(over="ignore"):
        doubles = array.astype(np.float64)
    if array.dtype.itemsize < 8:
        return doubles
    is_kept = _is_kept(array, doubles) | mask
    if not is_kept.all():
        place = int(np.flatnonzero(~is_kept.ravel())[0])
        raise Error(
            f"{name}: found {array.ravel()[place]} as {array.dtype}, which float64 does not have "
            "exactly; expected numbers that it has"
        )
    return doubles


def _is_kept(array: NDArray[Any], doubles: NDArray[np.float64]) -> Any:
    if array.dtype.kind == "f":
        return (doubles == array) | np.isnan(array)
    # Beyond the range of the type the way back would be undefined.
    ends = np.iinfo(array.dtype)
    is_within = (doubles >= float(ends.min)) & (doubles < float(ends.max))
    back = np.where(is_within, doubles, 0.0).astype(array.dtype)
    return is_within & (back == array)
