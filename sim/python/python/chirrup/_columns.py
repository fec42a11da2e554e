"""Columns of a replay: a dict that tables of other libraries take as it is."""

from __future__ import annotations

from typing import Any

from numpy.typing import NDArray

from . import _native

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
            Error: A column that is no array of numbers, truth values or words, or columns of
                different lengths.
        """
        return _native.arrow_stream(self)

    def __repr__(self) -> str:
        rows = len(next(iter(self.values()), ()))
        return f"<{type(self).__name__}: {rows} rows of {', '.join(self)}>"
