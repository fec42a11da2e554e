"""Columns of a replay: a dict that tables of other libraries take as it is."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from . import _native
from ._arrays import in_one_piece

_PLAIN = ["f4", "f8", "i1", "i2", "i4", "i8", "u1", "u2", "u4", "u8"]

DECIMALS: dict[str, int] = _native.decimals()
"""Decimals with which the program's CSV writes each column of numbers."""


class Columns(dict[str, NDArray[Any]]):
    """Arrays of one length by name, the unit at the end of each name.

    ``pandas.DataFrame(columns)``, ``polars.DataFrame(columns)`` and ``pyarrow.table(columns)``
    take it as it is, with NaN for absent numbers. What reads Arrow streams gets nulls in their
    place: ``pyarrow.RecordBatchReader.from_stream(columns).read_all()``.
    """

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        """The columns as an Arrow stream of one batch; NaN and None are nulls.

        Args:
            requested_schema: Not looked at, as the protocol allows.

        Returns:
            A capsule named ``arrow_array_stream``.

        Raises:
            Error: A column that is no array of real numbers, truth values or words, or columns of
                different lengths.
        """
        return _native.arrow_stream({name: _of_a_kind(name, self[name]) for name in self})

    def __repr__(self) -> str:
        rows = len(next(iter(self.values()), ()))
        return f"<{type(self).__name__}: {rows} rows of {', '.join(self)}>"


def _of_a_kind(name: str, column: Any) -> Any:
    """The column as an array of a kind that Arrow has: other floats become float64."""
    array = np.asarray(column)
    is_plain = array.dtype.str[1:] in _PLAIN and array.dtype.isnative
    if array.dtype.kind not in "fiu" or is_plain:
        return column
    if array.dtype.kind == "f":
        return in_one_piece(name, array)
    return array.astype(array.dtype.newbyteorder("="))
