"""Arrays in, tables out."""

from __future__ import annotations

from pathlib import Path

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


def test_masked_values_are_absent() -> None:
    mask = np.zeros(400, bool)
    mask[100:200] = True
    masked = np.ma.MaskedArray(TAS, mask=mask)
    with_nan = chirrup.replay(TIME, STATIC, tas=np.where(mask, np.nan, TAS), nan_is_absent=True)
    assert same(chirrup.replay(TIME, STATIC, tas=masked), with_nan)
    assert not same_tas(with_nan)


def same_tas(columns: chirrup.Columns) -> bool:
    return bool(np.all(columns["tas_mps"] > 0.0))


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
