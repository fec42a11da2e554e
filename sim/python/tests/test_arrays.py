"""Arrays in, tables out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

import chirrup

TIME = np.arange(400) * 0.05
STATIC = 90_000.0 - 20.0 * TIME + np.sin(31.0 * TIME)
TAS = 30.0 + np.sin(TIME)


@pytest.fixture(scope="module")
def columns() -> chirrup.Columns:
    return chirrup.replay(TIME, STATIC, tas=TAS)


def same(one: chirrup.Columns, other: chirrup.Columns) -> bool:
    assert list(one) == list(other)
    for name in one:
        np.testing.assert_array_equal(one[name], other[name])
    return True


def test_any_kind_of_numbers_is_taken(columns: chirrup.Columns) -> None:
    frame = pd.DataFrame({"t": TIME, "p": STATIC, "v": TAS})
    assert same(chirrup.replay(frame["t"], frame["p"], tas=frame["v"]), columns)
    table = pl.DataFrame({"t": TIME, "p": STATIC, "v": TAS})
    assert same(chirrup.replay(table["t"], table["p"], tas=table["v"]), columns)
    arrow = pa.table({"t": TIME, "p": STATIC, "v": TAS})
    assert same(chirrup.replay(arrow["t"], arrow["p"], tas=arrow["v"]), columns)
    # Not in one piece, and not of this machine's order.
    wide = np.stack([TIME, STATIC, TAS], axis=1)
    assert same(chirrup.replay(wide[:, 0], wide[:, 1].astype(">f8"), tas=wide[:, 2]), columns)
    lists = chirrup.replay(TIME.tolist(), STATIC.tolist(), tas=TAS.tolist())
    assert same(lists, columns)
    whole = chirrup.replay(np.arange(400), STATIC.astype(np.float32))
    assert whole["time_s"][-1] == 399.0


WHOLE = ["int8", "uint8", "int16", "uint16", "int32", "uint32", "int64", "uint64"]


@pytest.mark.parametrize("kind", [*WHOLE, "float16", "float32", "longdouble"])
def test_any_real_numbers_are_taken_in_and_out(kind: str, columns: chirrup.Columns) -> None:
    numbers = np.arange(100).astype(kind)
    alike = chirrup.replay(TIME, STATIC, tas=np.repeat(np.arange(100.0), 4))
    assert same(chirrup.replay(TIME, STATIC, tas=np.repeat(numbers, 4)), alike)
    ways = [numbers.astype(numbers.dtype.newbyteorder(">")), np.repeat(numbers, 2)[::2], numbers]
    for array in ways:
        stream = chirrup.Columns({"time_s": np.arange(100.0), "mine": array})
        back = pa.RecordBatchReader.from_stream(stream).read_all()["mine"]
        assert back.to_pylist() == list(range(100))
        if kind in WHOLE:
            assert back.type == kind
    if kind != "longdouble":
        arrow = pa.array(numbers)
        assert same(
            chirrup.replay(TIME, STATIC, tas=pa.chunked_array([arrow] * 4)), replayed(arrow)
        )


def replayed(arrow: Any) -> chirrup.Columns:
    return chirrup.replay(TIME, STATIC, tas=np.tile(np.asarray(arrow).astype(np.float64), 4))


@pytest.mark.parametrize("kind", ["int8", "uint8", "int32", "int64", "uint64", "float"])
def test_nulls_of_arrow_are_absent(kind: str) -> None:
    arrow = pa.array([None if place < 100 else 30 for place in range(400)], kind)
    tas = np.where(np.arange(400) < 100, np.nan, 30.0)
    expected = chirrup.replay(TIME, STATIC, tas=tas, nan_is_absent=True)
    assert same(chirrup.replay(TIME, STATIC, tas=arrow, nan_is_absent=True), expected)


@pytest.mark.parametrize(
    ("array", "line"),
    [
        (np.zeros(3, complex), "mine: found dtype complex128, expected real numbers, truth values"),
        (np.zeros(3, "datetime64[s]"), r"mine: found dtype datetime64\[s\], expected real"),
        (np.array([1, None, 2]), "mine: found dtype object, expected real numbers"),
        (np.zeros((3, 2)), r"mine: found shape \(3, 2\), expected one dimension"),
        (np.zeros((3, 2), np.uint8), r"mine: found shape \(3, 2\), expected one dimension"),
    ],
)
def test_what_arrow_cannot_have_is_refused_in_one_line(array: Any, line: str) -> None:
    with pytest.raises(chirrup.Error, match=line) as refused:
        pa.RecordBatchReader.from_stream(chirrup.Columns({"mine": array}))
    assert "\n" not in str(refused.value)


def test_masked_values_are_absent() -> None:
    mask = np.zeros(400, bool)
    mask[100:200] = True
    masked = np.ma.MaskedArray(TAS, mask=mask)
    with_nan = chirrup.replay(TIME, STATIC, tas=np.where(mask, np.nan, TAS), nan_is_absent=True)
    assert same(chirrup.replay(TIME, STATIC, tas=masked), with_nan)
    assert not same_tas(with_nan)


@pytest.mark.parametrize("function", [chirrup.replay, chirrup.render])
def test_a_masked_channel_is_no_leave_for_nan_elsewhere(function: Any) -> None:
    masked = np.ma.MaskedArray(TAS, mask=TAS > 30.9)
    static, oat = STATIC.copy(), np.ma.MaskedArray(TIME.copy(), mask=TIME < 3.0)
    static[7] = np.nan
    with pytest.raises(chirrup.Error, match=r"^static\[7\]: found NaN") as refused:
        function(TIME, static, tas=masked)
    with pytest.raises(chirrup.Error) as without_mask:
        function(TIME, static, tas=TAS)
    assert str(refused.value) == str(without_mask.value)
    function(TIME, static, tas=masked, nan_is_absent=True)
    # One that the mask does not cover is no better in a masked array.
    oat.data[[5, 100]] = np.nan
    with pytest.raises(chirrup.Error, match=r"^oat\[100\]: found NaN"):
        function(TIME, STATIC, tas=masked, oat=oat)
    oat[100] = np.ma.masked
    function(TIME, STATIC, tas=masked, oat=oat)
    with pytest.raises(chirrup.Error, match="static: found 399 values"):
        function(TIME, STATIC[1:], tas=masked)
    with pytest.raises(chirrup.Error, match=r"time\[60\]: found NaN"):
        function(np.ma.MaskedArray(TIME, mask=np.arange(400) == 60), STATIC)


def same_tas(columns: chirrup.Columns) -> bool:
    return bool(np.all(columns["tas_mps"] > 0.0))


def awkward(values: Any) -> dict[str, Any]:
    """The same numbers in ways in which arrays may lie in memory, or in none."""
    beside = np.zeros(len(values), dtype=[("byte", "u1"), ("value", "f8")])
    beside["value"] = values
    return {
        "backward": values[::-1].copy()[::-1],
        "every other": np.repeat(values, 2)[::2],
        "unaligned": np.frombuffer(b"x" + values.tobytes(), dtype=np.float64, offset=1),
        "field": beside["value"],
        "other order": values.astype(">f8"),
        "list": values.tolist(),
        "tuple": tuple(values.tolist()),
        "long": values.astype(np.longdouble),
        "series": pd.Series(values),
    }


@pytest.mark.parametrize("way", awkward(TIME))
def test_arrays_may_lie_as_they_like(way: str, columns: chirrup.Columns) -> None:
    time, static, tas = (awkward(values)[way] for values in (TIME, STATIC, TAS))
    assert same(chirrup.replay(time, static, tas=tas), columns)


@pytest.mark.parametrize("way", awkward(TIME))
def test_what_is_put_into_a_trace_may_lie_as_it_likes(way: str) -> None:
    trace = chirrup.fly("pull-ups", sensor_rate_hz=5)
    readings, sound = trace.replay(), trace.render(rate_hz=8_000)
    for name in trace:
        trace[name] = awkward(trace[name])[way]
    assert same(trace.replay(), readings)
    np.testing.assert_array_equal(trace.render(rate_hz=8_000).samples, sound.samples)


def test_whole_numbers_and_masked_ones_can_be_put_into_a_trace() -> None:
    trace = chirrup.fly("pull-ups", sensor_rate_hz=5)
    static, is_lost = np.round(trace["static_pa"]), trace["time_s"] < 20.0
    trace["static_pa"], trace["tas_mps"] = static, np.where(is_lost, np.nan, 30.0)
    del trace["dynamic_pa"]
    readings = trace.replay()
    trace["static_pa"] = static.astype(np.int64)
    trace["tas_mps"] = np.ma.MaskedArray(np.full(len(static), 30.0), mask=is_lost)
    assert same(trace.replay(), readings)


def test_a_sample_in_which_nothing_is_given_has_no_row() -> None:
    static, tas = STATIC.copy(), TAS.copy()
    static[40:50] = tas[45:50] = np.nan
    columns = chirrup.replay(TIME, static, tas=tas, nan_is_absent=True)
    given = pd.DataFrame({"time_s": np.round(TIME, 6), "place": range(400)})
    joined = pd.merge(given, pd.DataFrame(columns), on="time_s")
    assert joined["place"].tolist() == [*range(45), *range(50, 400)]


def test_the_arrays_given_are_not_written_to() -> None:
    time, static = TIME.copy(), STATIC.copy()
    time.flags.writeable = static.flags.writeable = False
    chirrup.replay(time, static)
    chirrup.render(time, static)


def test_columns_have_their_kinds(columns: chirrup.Columns) -> None:
    kinds = {name: column.dtype for name, column in columns.items()}
    assert kinds["time_s"] == np.float64
    assert kinds["te_vertical_speed_mps"] == np.float32
    assert kinds["sounding"] == np.bool_
    assert set(columns["status"]) <= {"ok", "settling", "no_compensation", "suspect"}
    assert "400 rows" in repr(columns)
    assert np.isnan(columns["netto_mps"]).all()


def test_tables_of_others_take_them(columns: chirrup.Columns) -> None:
    frame, table, arrow = pd.DataFrame(columns), pl.DataFrame(columns), pa.table(dict(columns))
    assert list(frame) == table.columns == arrow.column_names == list(columns)
    assert frame.shape == table.shape == arrow.shape == (400, len(columns))
    for name in ("time_s", "te_vertical_speed_mps"):
        np.testing.assert_array_equal(frame[name].to_numpy(), columns[name])
        np.testing.assert_array_equal(table[name].to_numpy(), columns[name])
    assert table["status"].to_list() == frame["status"].tolist() == columns["status"].tolist()


def test_an_arrow_stream_has_nulls_for_what_is_absent(columns: chirrup.Columns) -> None:
    arrow = pa.RecordBatchReader.from_stream(columns).read_all()
    assert arrow.column_names == list(columns)
    assert arrow["netto_mps"].null_count == 400
    assert arrow["time_s"].null_count == 0
    assert arrow["status"].to_pylist() == columns["status"].tolist()
    assert arrow["sounding"].to_pylist() == columns["sounding"].tolist()
    frame = arrow.to_pandas()
    np.testing.assert_array_equal(frame["average_mps"].to_numpy(), columns["average_mps"])
    broken = chirrup.Columns({**columns, "short": np.zeros(3)})
    with pytest.raises(chirrup.Error, match="no Arrow table"):
        pa.RecordBatchReader.from_stream(broken)


def test_parquet_is_a_line_and_comes_back(columns: chirrup.Columns, tmp_path: Path) -> None:
    file = tmp_path / "readings.parquet"
    pq.write_table(pa.RecordBatchReader.from_stream(columns).read_all(), file)
    back = pd.read_parquet(file)
    np.testing.assert_array_equal(back["average_mps"].to_numpy(), columns["average_mps"])


def test_sound_is_a_file_and_a_player(tmp_path: Path) -> None:
    sound = chirrup.render(TIME, STATIC)
    samples, rate_hz = sound
    assert samples.dtype == np.int16
    assert abs(len(samples) / rate_hz - 20.0) < 0.1
    sound.write(tmp_path / "sound.wav")
    assert (tmp_path / "sound.wav").read_bytes() == sound.wav()
    assert sound._repr_html_().startswith("<audio controls")


def test_a_trace_keeps_what_the_recording_says(recordings: Path, tmp_path: Path) -> None:
    csv = tmp_path / "log.csv"
    csv.write_text("time_s,static_pa\n0,90000\n1,none\n2,90001\n3,90002\n")
    trace = chirrup.read_trace(csv)
    assert trace.skipped == [(3, "no number in static_pa", "none")]
    assert (trace.format, trace.date, trace.skipped_count) == ("csv", None, 1)
    named = tmp_path / "named.csv"
    named.write_text("ms,baro\n0,900\n1000,900.01\n2000,900.02\n")
    trace = chirrup.read_trace(named, columns="time=ms,static=baro:hPa")
    np.testing.assert_allclose(trace["static_pa"], [90_000, 90_001, 90_002])
    with pytest.raises(chirrup.Error, match="columns"):
        chirrup.read_trace(named, columns="static")
