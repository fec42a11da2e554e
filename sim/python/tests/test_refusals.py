"""Whatever is given: one clear line, and never a panic."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

import chirrup

TIME = np.arange(50) * 0.1
STATIC = np.full(50, 90_000.0) + np.sin(TIME)


def with_value(array: Any, place: int, value: float) -> Any:
    array = array.copy()
    array[place] = value
    return array


@pytest.mark.parametrize(
    ("given", "line"),
    [
        ({"static": STATIC[:-1]}, "static: found 49 values, expected 50 as in time"),
        ({"static": STATIC.reshape(5, 10)}, r"static: found shape \(5, 10\), expected one dim"),
        ({"static": 90_000.0}, r"static: found shape \(\), expected one dimension"),
        ({"static": STATIC.astype(str)}, "static: found dtype <U"),
        ({"static": STATIC > 0}, "static: found dtype bool, expected float64 or float32"),
        ({"static": STATIC.astype(complex)}, "static: found dtype complex128"),
        ({"static": None}, "there is no static pressure"),
        ({"static": with_value(STATIC, 7, np.nan)}, r"static\[7\]: found NaN.*nan_is_absent"),
        ({"static": with_value(STATIC, 7, np.inf)}, r"static\[7\]: found inf"),
        ({"oat": with_value(STATIC, 7, -1e300)}, r"oat\[7\]: found -1"),
        ({"time": with_value(TIME, 7, np.nan)}, r"time\[7\]: found NaN"),
        ({"time": with_value(TIME, 7, 1e13)}, r"time\[7\]: found 1.*within 1e12"),
        ({"time": with_value(TIME, 7, 0.05)}, r"time\[7\]: found 0.05 s after 0.6"),
        ({"time": TIME.astype(np.float32)}, "time: found dtype float32.*expected float64"),
        ({"time": TIME.astype("datetime64[s]")}, "time: found dtype datetime64.*timedelta64"),
        ({"ias": STATIC, "tas": STATIC}, "found ias and tas together, expected one airspeed"),
        ({"accel_x": STATIC, "accel_y": STATIC}, "found no accel_z, gyro_x, gyro_y, gyro_z"),
        ({"static": STATIC / 100.0}, "no usable sample.*in Pa, not in hPa"),
        ({"time": TIME[:0], "static": STATIC[:0]}, "found no samples"),
        ({"settings": {"response_s": 99}}, "response_s"),
        ({"settings": 7}, "settings: found int"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_line(given: dict[str, Any], line: str) -> None:
    arguments: dict[str, Any] = {"time": TIME, "static": STATIC, **given}
    for function in (chirrup.replay, chirrup.render):
        with pytest.raises(chirrup.Error, match=line) as refused:
            function(**arguments)
        assert "\n" not in str(refused.value)


def test_a_channel_that_is_none_of_ours_is_named() -> None:
    with pytest.raises(TypeError, match="unknown channel statik"):
        chirrup.replay(TIME, STATIC, statik=STATIC)  # type: ignore[call-arg]


def test_more_sound_than_memory_is_refused() -> None:
    day = np.arange(0.0, 86_400.0, 30.0)
    with pytest.raises(chirrup.Error, match="GB of sound, more than 1 GB"):
        chirrup.render(day, np.full(len(day), 9e4), rate_hz=192_000)
    for rate_hz in (0, 7_999, 192_001, 24_000.5):
        with pytest.raises(chirrup.Error, match="rate_hz"):
            chirrup.render(TIME, STATIC, rate_hz=rate_hz)  # type: ignore[arg-type]


def test_files_that_cannot_be_read_are_refused(tmp_path: Path) -> None:
    binary = tmp_path / "log.csv"
    binary.write_bytes(bytes(range(256)))
    for path, line in [
        (tmp_path / "none.csv", "no such file"),
        (tmp_path, "folder"),
        (binary, "not text"),
    ]:
        for function in (chirrup.read_trace, chirrup.inspect, chirrup.tune):
            with pytest.raises(chirrup.Error, match=line):
                function(path)
    with pytest.raises(chirrup.Error, match="unknown scenario moon"):
        chirrup.fly("moon")
    with pytest.raises(chirrup.Error, match="sensor_rate_hz"):
        chirrup.fly("pull-ups", sensor_rate_hz=1e9)
    mine = tmp_path / "mine.toml"
    mine.write_text(chirrup.scenario("pull-ups"))
    with pytest.raises(chirrup.Error, match="is the scenario itself"):
        chirrup.fly(mine, output=mine)
    with pytest.raises(chirrup.Error, match="no such file"):
        chirrup.read_trace("-")
    with pytest.raises(chirrup.Error, match="seed"):
        chirrup.fly("pull-ups", seed=-1)


SHELL = re.compile(r"--[a-z]|`chirrup ")
NAMELESS = "a,b c\n0,90000\n0.5,90001\n1,90002\n"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("Baro,Vario\n1,2\n", 'as in columns="time=Baro"'),
        ("time_s,b c\n0,1\n1,2\n", 'columns="static=b c'),
        ("time_s,pilot's\n0,1\n1,2\n", "columns=\"static=pilot's"),
        (NAMELESS, "columns="),
    ],
)
def test_columns_to_name_are_shown_as_an_argument(tmp_path: Path, text: str, line: str) -> None:
    log = tmp_path / "log.csv"
    log.write_text(text)
    for function in (chirrup.read_trace, chirrup.inspect, chirrup.tune):
        with pytest.raises(chirrup.Error) as refused:
            function(log)
        assert line in str(refused.value)
        assert not SHELL.search(str(refused.value))


def test_errors_name_functions_and_arguments_of_python(tmp_path: Path) -> None:
    trace = tmp_path / "t.csv"
    trace.write_text("time_s,static_pa\n0,90000\n1,90001\n2,90002\n")
    broken = tmp_path / "broken.toml"
    broken.write_text("x = 1\n")
    calls: list[Callable[[], object]] = [
        lambda: chirrup.fly("moon"),
        lambda: chirrup.fly(broken),
        lambda: chirrup.scenario("moon"),
        lambda: chirrup.Settings("no_such_setting=1"),
        lambda: chirrup.Settings(no_such_setting=1),
        lambda: chirrup.read_trace(trace, columns="static=nowhere"),
        lambda: chirrup.read_trace(trace, columns="static=static_pa:furlong"),
        lambda: chirrup.read_trace(trace, columns="static"),
        lambda: chirrup.inspect(trace, segment=7),
    ]
    said = []
    for call in calls:
        with pytest.raises(chirrup.Error) as refused:
            call()
        said.append(str(refused.value))
    assert not [line for line in said if SHELL.search(line)]
    assert said[0].endswith("no such file; chirrup.scenarios() lists them")
    assert chirrup.scenarios()


def test_notes_name_arguments_too(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    rows = "".join(f"{i / 10},{90_000 + i},0.1,0.2\n" for i in range(40))
    log.write_text("time_s,static_pa,accel_x_mps2,accel_y_mps2\n" + rows)
    notes = chirrup.read_trace(log).notes
    assert any("give those with columns" in note for note in notes), notes
    assert not [note for note in notes if SHELL.search(note)]


def test_what_names_no_file_is_refused_with_what_would() -> None:
    trace = chirrup.fly("pull-ups", sensor_rate_hz=5)
    for function in (chirrup.tune, chirrup.inspect, chirrup.read_trace):
        for named, line in [
            (trace, r"found a Flight, expected the path of a file; give the one that was read"),
            (["a.csv", "b.csv"], r"found a list, expected the path.*tune\(\*paths\)"),
            (3, "found 3, expected the path of a file"),
        ]:
            with pytest.raises(TypeError, match=line):
                function(named)  # type: ignore[arg-type]
    with pytest.raises(chirrup.Error, match="found no recordings, expected one or more"):
        chirrup.tune()


@pytest.mark.parametrize("dtype", [np.int64, np.uint64, np.longdouble])
def test_numbers_that_a_double_does_not_have_are_refused(dtype: Any) -> None:
    static = STATIC.astype(dtype)
    chirrup.replay(TIME, np.round(static))
    for odd in (2**53 + 1, 2**63 - 1):
        static = np.round(STATIC).astype(dtype)
        static[7] = odd
        if dtype is np.longdouble:
            static[7] = dtype(90_000) + dtype(1e-14)
            if float(static[7]) == static[7]:
                pytest.skip("longdouble is no longer than double here")
        with pytest.raises(chirrup.Error, match=r"^static: found .* float64 does not have exactly"):
            chirrup.replay(TIME, static)


ANY_FLOATS = hnp.arrays(
    dtype=st.sampled_from([np.float64, np.float32, np.int32, np.uint64, np.bool_, np.float16]),
    shape=hnp.array_shapes(min_dims=0, max_dims=2, min_side=0, max_side=30),
)


@given(time=ANY_FLOATS, static=ANY_FLOATS, tas=st.none() | ANY_FLOATS, nan=st.booleans())
def test_no_arrays_at_all_make_it_panic(time: Any, static: Any, tas: Any, nan: bool) -> None:
    try:
        columns = chirrup.replay(time, static, tas=tas, nan_is_absent=nan)
        assert len(columns["time_s"]) <= len(time)
    except chirrup.Error as error:
        assert "\n" not in str(error)
        assert "fault in chirrup" not in str(error)
